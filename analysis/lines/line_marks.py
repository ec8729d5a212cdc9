"""Marks of lines: each found line with its sentence, its evidence and the words sung over it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from analysis.lines.line_finds import LineFind, Voice
from analysis.lines.line_wording import line_label, line_sentence, motion_text
from analysis.marks import (
    DEFAULT_CONFIDENCE,
    Evidence,
    Line,
    Mark,
    MarkKind,
    mark_id,
)
from analysis.pitch import Key
from analysis.score import Score
from analysis.vocabulary.mark_words import SungLine

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
    finds: Sequence[tuple[LineFind, Key | None]],
    sung: SungLine,
) -> tuple[Mark, ...]:
    """One mark a line, in the order of the lines.

    Parameters
    ----------
    finds
        Lines, each with the key in which it begins.
    sung
        The melody, for the words sung over them.
    """
    names = {part.id: part.name for part in score.parts}
    marks = []
    for find, key in finds:
        line = find.line
        words = sung.words_in(line.span)
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
                sentence=line_sentence(find, key, names.get(line.part, ""), words),
                evidence=(*motion, *line.evidence),
                confidence=find.confidence,
                fact=line,
                words=words,
            )
        )
    return tuple(marks)
