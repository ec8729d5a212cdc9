"""The shape of the melody: range, high point, contour and density, section by section.

The task is to say where the melody lies and how it moves as a whole: lowest and highest note of
each section, whether it rises, falls or arches, how many notes it has a measure, how much higher or
busier it is than the section before; and where the piece has its one high point.

Method
------
Pitches are weighted by length. Contour compares the mean pitch of the three thirds of a section's
sung time; two half steps make a difference. The *climax* is the highest note of the piece where it
is kept for one section (or sounds at most twice): of several the longest, then the last.

Common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from analysis.marks import Section
from analysis.score import Score
from analysis.timebase import Span
from analysis.vocabulary.accents import MetricGrid
from analysis.vocabulary.voices import HeldNote

Contour = Literal["level", "rising", "falling", "arch", "valley"]
_DIFFERENCE: Final = 2.0
#: A pickup alone makes no section's melody.
_LEAST_NOTES: Final = 5


@dataclass(frozen=True, slots=True)
class Shape:
    """The melody of one section.

    ``lowest`` and ``highest`` are the notes themselves (the first of several), ``mean`` is in half
    steps (60 = middle C), ``density`` in notes a measure of sung measures.
    """

    section: Section
    span: Span
    lowest: HeldNote
    highest: HeldNote
    contour: Contour
    mean: float
    density: float
    first: int
    last: int


def find_shapes(
    score: Score, line: Sequence[HeldNote], sections: Sequence[Section]
) -> tuple[Shape, ...]:
    """The shape of every section with a melody, in order of time.

    Parameters
    ----------
    line
        The melody in order of time.
    sections
        Sections in order of time.
    """
    onsets = [note.onset for note in line]
    grid = MetricGrid(score)
    shapes = []
    for section in sections:
        first = bisect_left(onsets, section.span.start)
        last = bisect_left(onsets, section.span.end)
        notes = line[first:last]
        if len(notes) < _LEAST_NOTES:
            continue
        measures = len({grid.measure_at(note.onset).index for note in notes})
        shapes.append(
            Shape(
                section=section,
                span=Span(notes[0].onset, notes[-1].end),
                lowest=min(notes, key=lambda note: note.midi),
                highest=max(notes, key=lambda note: note.midi),
                contour=_contour(notes),
                mean=_mean(notes),
                density=len(notes) / measures,
                first=first,
                last=last - 1,
            )
        )
    return tuple(shapes)


def find_climax(
    line: Sequence[HeldNote], sections: Sequence[Section]
) -> tuple[HeldNote, Section | None] | None:
    """The one high point of the melody and its section; None where no note stands out.

    A melody that comes to its highest note in several sections has no climax in this sense.
    """
    top = max((note.midi for note in line), default=0)
    if len(line) < _LEAST_NOTES or min(note.midi for note in line) == top:
        return None
    highest = [note for note in line if note.midi == top]
    homes = [_section_of(note, sections) for note in highest]
    if len(highest) > 2 and (len(set(homes)) > 1 or len(sections) < 2):
        return None
    if len(set(homes)) > 1:
        return None
    longest = max(highest, key=lambda note: (note.span.duration, note.onset))
    return longest, homes[0] if len(sections) > 1 else None


def _section_of(note: HeldNote, sections: Sequence[Section]) -> Section | None:
    return next((section for section in sections if note.onset in section.span), None)


def _mean(notes: Sequence[HeldNote]) -> float:
    lengths = [float(note.span.duration) for note in notes]
    total = sum(note.midi * length for note, length in zip(notes, lengths, strict=True))
    return total / sum(lengths)


def _contour(notes: Sequence[HeldNote]) -> Contour:
    lengths = [float(note.span.duration) for note in notes]
    total = sum(lengths)
    thirds: list[list[HeldNote]] = [[], [], []]
    sung = 0.0
    for note, length in zip(notes, lengths, strict=True):
        # A hair more, so that sums of thirds do not fall short of their bounds.
        thirds[min(int(3 * (sung + 1e-9) / total), 2)].append(note)
        sung += length
    if not all(thirds):
        return "level"
    start, middle, end = (_mean(third) for third in thirds)
    if middle - max(start, end) >= _DIFFERENCE:
        return "arch"
    if min(start, end) - middle >= _DIFFERENCE:
        return "valley"
    if end - start >= _DIFFERENCE:
        return "rising"
    return "falling" if start - end >= _DIFFERENCE else "level"
