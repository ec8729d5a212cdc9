"""Marks of lines: each found line with its sentence, its evidence and the words sung over it."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from typing import Final

from analysis.lines.line_finds import LineFind, Voice
from analysis.lines.line_wording import line_label, line_sentence, motion_text
from analysis.marks import (
    DEFAULT_CONFIDENCE,
    ChordFact,
    Evidence,
    KeyRegion,
    Line,
    Mark,
    MarkKind,
    mark_id,
)
from analysis.score import Score
from analysis.vocabulary.chord_rows import ChordRow
from analysis.vocabulary.voices import HeldNote, SungWord, join_words, sung_words

_KIND: Final[dict[Voice, MarkKind]] = {
    "bass": "line",
    "inner": "line",
    "guide tones": "line",
    "pedal": "pedal",
    "common tone": "pedal",
}


def sure_lines(finds: Sequence[LineFind]) -> tuple[Line, ...]:
    """The lines that are shown by default, as facts in order of time."""
    lines = [find.line for find in finds if find.confidence >= DEFAULT_CONFIDENCE]
    return tuple(sorted(lines, key=lambda line: (line.span, line.part, line.notes)))


def make_line_marks(
    score: Score,
    finds: Sequence[LineFind],
    melody: Sequence[HeldNote],
    chords: Sequence[ChordFact],
    regions: Sequence[KeyRegion],
    words: Sequence[SungWord | None] | None = None,
) -> tuple[Mark, ...]:
    """One mark a line, in order of time; ``melody`` gives the words sung over it."""
    row = ChordRow(chords, regions)
    onsets = [float(note.onset) for note in melody]
    words = sung_words(melody) if words is None else words
    names = {part.id: part.name for part in score.parts}
    marks = []
    for find in finds:
        line = find.line
        first, last = (bisect_left(onsets, float(at)) for at in (line.span.start, line.span.end))
        sung = join_words(words[first:last])
        key = row.key_at(line.span.start)
        motion = tuple(Evidence(text, line.elements) for text in motion_text(find.against))
        elements = tuple(dict.fromkeys(one for one in line.elements if one))
        marks.append(
            Mark(
                id=mark_id("line", line.kind, line.part, line.span.start, line.notes),
                kind=_KIND[find.voice],
                span=line.span,
                parts=(line.part,) if line.part else (),
                elements=elements,
                label=line_label(find),
                sentence=line_sentence(find, key, names.get(line.part, ""), sung),
                evidence=(*motion, *line.evidence),
                confidence=find.confidence,
                fact=line,
                words=sung,
            )
        )
    return tuple(sorted(marks, key=lambda mark: (mark.span, mark.id)))
