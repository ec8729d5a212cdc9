"""Where things stand on the timeline: arithmetic without a window.

Time runs down, in quarter notes to scale, as the systems of the score do. From left to right stand
measure numbers, sections, keys, the three rails of the functions, and a lane for each kind of mark.
All lengths are in pixels; `em` is the height of the text.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from analysis.marks import ChordFact, MarkKind, Repeat
from analysis.score import Measure
from analysis.timebase import Offset, Span
from app.review.document import Document, ReviewedMark

#: Kinds that the fixed columns show; all others get a lane of their own, in this order.
COLUMN_KINDS: Final[tuple[MarkKind, ...]] = ("section", "key", "chord")
LANE_ORDER: Final[tuple[MarkKind, ...]] = (
    "cadence",
    "melody",
    "mixed third",
    "passage",
    "repeat",
    "echo",
    "line",
    "pedal",
    "loop",
    "rhythm",
    "shape",
    "query",
)
FUNCTIONS: Final = ("T", "S", "D")
#: Width of a lane in ems.
LANE: Final = 1.32


@dataclass(frozen=True, slots=True)
class Scale:
    """Offsets to pixels: ``top`` is where offset 0 stands, ``rate`` pixels a quarter note."""

    top: float
    rate: float

    def y(self, offset: Offset | float) -> float:
        """The height of an offset."""
        return self.top + float(offset) * self.rate

    def offset(self, y: float) -> Offset:
        """The offset at a height, never before the start."""
        return Offset(max(0.0, (y - self.top) / self.rate)).limit_denominator(64)


@dataclass(frozen=True, slots=True)
class Columns:
    """Left edges of the columns and the width of all."""

    em: float
    kinds: tuple[MarkKind, ...]

    @property
    def numbers_end(self) -> float:
        """Right edge of the measure numbers."""
        return 2.2 * self.em

    @property
    def sections(self) -> float:
        """Left edge of the sections."""
        return 2.75 * self.em

    @property
    def keys(self) -> float:
        """Left edge of the keys."""
        return self.sections + 7.3 * self.em

    @property
    def rails(self) -> float:
        """Left edge of the functions."""
        return self.keys + 4.0 * self.em

    @property
    def lanes(self) -> float:
        """Left edge of the first lane."""
        return self.rails + 4.7 * self.em

    @property
    def width(self) -> float:
        """Width of all columns."""
        return self.lanes + (len(self.kinds) * LANE + 0.5) * self.em

    def rail(self, function: str) -> float:
        """Middle of the rail of a function."""
        return self.rails + (0.8 + 1.45 * FUNCTIONS.index(function)) * self.em

    def lane(self, kind: MarkKind) -> float:
        """Middle of the lane of a kind."""
        return self.lanes + (0.5 + self.kinds.index(kind)) * LANE * self.em


@dataclass(frozen=True, slots=True)
class LaneSign:
    """A mark in its lane: the height of its sign and the stretches it speaks of."""

    mark: ReviewedMark
    y: float
    stretches: tuple[tuple[float, float], ...]


def lane_kinds(document: Document) -> tuple[MarkKind, ...]:
    """The kinds that have marks to show, in lane order."""
    present = {reviewed.mark.kind for reviewed in document.shown_marks()}
    return tuple(kind for kind in LANE_ORDER if kind in present)


def lane_signs(document: Document, scale: Scale, em: float) -> tuple[LaneSign, ...]:
    """All signs; of a repeat both passes are shown, of a long mark the stretch."""
    signs = []
    for reviewed in document.shown_marks():
        mark = reviewed.mark
        if mark.kind in COLUMN_KINDS:
            continue
        spans: tuple[Span, ...] = (mark.span,)
        if isinstance(mark.fact, Repeat):
            spans = (mark.fact.first, mark.fact.later)
        stretches = tuple((scale.y(s.start), scale.y(s.end)) for s in spans)
        long = tuple(s for s in stretches if s[1] - s[0] > 1.2 * em)
        signs.append(LaneSign(reviewed, scale.y(mark.span.start) + em * 0.5, long))
    return tuple(signs)


def number_step(measures: tuple[Measure, ...], rate: float, em: float) -> int:
    """Every how many measures a number has room: a power of two."""
    if not measures:
        return 1
    typical = float(sorted(measure.length for measure in measures)[len(measures) // 2])
    step = 1
    while step * typical * rate < 1.5 * em and step < 1024:
        step *= 2
    return step


def function_path(document: Document, scale: Scale) -> Iterator[tuple[ChordFact, str, float]]:
    """Chords that have a function, with it and the height of their onset, in order of time."""
    for fact in document.analysis.chords:
        if fact.function in FUNCTIONS:
            yield fact, fact.function, scale.y(fact.span.start)


def measures_span(document: Document, one: Offset, other: Offset) -> Span:
    """The whole measures from one offset to another, in either order."""
    first = document.score.measure_at(min(one, other))
    last = document.score.measure_at(max(one, other))
    return Span(first.span.start, last.span.end)


def visible_measures(document: Document, start: Offset, end: Offset) -> tuple[Measure, ...]:
    """The measures that any part of a stretch falls in."""
    measures = document.score.measures
    first = bisect_left(measures, start, key=lambda measure: measure.span.end)
    last = bisect_left(measures, end, key=lambda measure: measure.onset)
    return measures[first : last + 1]
