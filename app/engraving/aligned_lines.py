"""The lines of a comparison: both passages with their notes over each other, and where times stand.

Each line holds, for either passage that has music there, its page as engraved, how that is bent to
the common columns, and a reading of times as places. The meter is printed in the first line only.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

from analysis.score import Score
from analysis.timebase import Offset, Span
from app.engraving.alignments import (
    Bend,
    Column,
    PairLine,
    Place,
    bend_to,
    columns_of,
    common_columns,
)
from app.engraving.bounds import shape_edges
from app.engraving.layouts import STAFF_SPACE
from app.engraving.pages import Page

#: How far before a note a stretch begins that is not parted from the one before by a barline.
REACH: Final = 0.95 * STAFF_SPACE
#: A line as full as this is stretched to the whole width, one alone by no more than this.
_FULL: Final = 0.66
_STRETCH: Final = 1.25
_SIGNATURES: Final = frozenset({"clef", "keyAccid", "keySig"})
_METER: Final = "meterSig"


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two passages: what it is called, where it is, and the part that has it."""

    name: str
    span: Span
    part: str


@dataclass(frozen=True, slots=True)
class AlignedLine:
    """One line of one passage: its page, how that is bent to the columns, and its times.

    Times are counted from the start of its passage.
    """

    side: Side
    page: Page
    bend: Bend
    columns: Mapping[Column, float]
    span: Span

    def x_at(self, time: Offset) -> float:
        """Where a time from the start of the passage stands."""
        if (time, 1) in self.columns:
            return self.columns[time, 1]
        before = [c for c in self.columns if c <= (time, 1)]
        after = [c for c in self.columns if c > (time, 1)]
        if not before or not after:
            edge = max(before) if before else min(after)
            return self.columns[edge]
        low, high = max(before), min(after)
        share = float((time - low[0]) / (high[0] - low[0])) if high[0] > low[0] else 0.0
        return self.columns[low] + share * (self.columns[high] - self.columns[low])

    def border(self, time: Offset) -> float:
        """Where one stretch ends and another begins: at a barline, else before what begins."""
        if (time, 0) in self.columns:
            return self.columns[time, 0]
        return self.x_at(time) - REACH


class _Engraved(NamedTuple):
    """A passage's line before it is aligned.

    ``staff`` is the left end of its staff, ``signature`` the right end of its clef and signatures,
    ``lead`` the space from there to its first note.
    """

    side: Side
    page: Page
    places: list[Place]
    staff: float
    signature: float
    lead: float


def _engraved(side: Side, page: Page, score: Score, *, meter: bool) -> _Engraved:
    """A line with its columns; without its meter where that has been said before."""
    places = columns_of(page, score, side.span.start)
    staff = page.systems[0].measures[0].box[0]
    signature = _right_of(page, _SIGNATURES | {_METER}, places[0].x, staff)
    lead = places[0].x - signature
    if not meter:
        signature = _right_of(page, _SIGNATURES, places[0].x, staff)
        kept = tuple(
            shape
            for shape in page.shapes
            if shape.role != _METER or shape_edges(shape)[2] > places[0].x
        )
        page = replace(page, shapes=kept)
    return _Engraved(side, page, places, staff, signature, lead)


def _demand(row: Sequence[tuple[Offset, float]], ends: Column) -> list[Place]:
    """The places that a row of labels asks for; one that changes under a note has its own."""
    places, x = [], 0.0
    for time, width in row:
        if (time, 1) < ends:
            places.append(Place((time, 1), x))
            x += width
    return [*places, Place(ends, x)] if places else []


def _right_of(page: Page, roles: frozenset[str], limit: float, least: float) -> float:
    """Right end of all shapes of these roles before a limit."""
    edges = (shape_edges(shape)[2] for shape in page.shapes if shape.role in roles)
    return max((edge for edge in edges if edge < limit), default=least)


def align(
    sides: Sequence[Side],
    lines: Sequence[PairLine],
    score: Score,
    width: float,
    border: float,
    labels: Sequence[Sequence[tuple[Offset, float]]] = (),
) -> list[list[AlignedLine]]:
    """The lines of a comparison, for each the passages that have music there.

    Parameters
    ----------
    sides, lines
        The passages and their engraved lines.
    width, border
        Width of the picture and its free edges left and right, in page units.
    labels
        Rows of labels, each with its time from the start of the passages and its width: notes
        stand as far from each other as neighbours in a row need.
    """
    found, stretch = [], 0.0
    for at, line in enumerate(lines):
        last = at == len(lines) - 1
        aligned, stretch = _align(
            [
                _engraved(side, page, score, meter=not at)
                for side, page in zip(sides, line, strict=True)
                if page is not None
            ],
            width,
            border,
            stretch,
            labels,
            last=last,
        )
        found.append(aligned)
    return found


def _align(
    found: Sequence[_Engraved],
    width: float,
    border: float,
    stretch: float,
    labels: Sequence[Sequence[tuple[Offset, float]]],
    *,
    last: bool,
) -> tuple[list[AlignedLine], float]:
    """One line, and how much it was stretched unless lines before it say so."""
    if not found:
        return [], stretch
    head = max(one.signature - one.staff + one.lead for one in found)
    demands = [one.places for one in found]
    ends = max(place.column for places in demands for place in places)
    demands += [_demand(row, ends) for row in labels]
    natural = max(common_columns(demands).values())
    room = width - 2 * border - head
    if last and natural < _FULL * room:
        # As wide as the lines before it, or a little wider than it must be.
        room = min(room, natural * (stretch or _STRETCH))
    stretch = stretch or max(1.0, room / natural if natural else 1.0)
    columns = {column: x + head + border for column, x in common_columns(demands, room).items()}
    lines = []
    for one in found:
        end = one.signature
        bend = bend_to(one.places, columns, end, end - one.staff + border)
        times = Span(one.places[0].column[0], one.places[-1].column[0])
        lines.append(AlignedLine(one.side, one.page, bend, columns, times))
    return lines, stretch
