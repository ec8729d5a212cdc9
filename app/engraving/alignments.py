"""Two lines of music set one under the other so that what sounds at one time stands in one place.

The task: two passages are engraved each by itself, as well as the engraver can, and then moved
apart sideways until their beats stand under each other.

Method. Every time at which a note or a barline stands in either passage is a column. The distance
of two columns must be at least what each passage has between them; taking the narrowest demands
first and sharing out what a wider one lacks over the columns inside it, in proportion, meets all of
them and spreads the room evenly. A passage is then bent sideways to these columns: a note, its
accidental and its stem move as one, and only the space between notes is stretched, so nothing is
distorted but lines that reach over time, such as beams, slurs and staff lines.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final, Literal, NamedTuple

from analysis.score import Score
from analysis.timebase import Offset
from app.engraving.bounds import shape_box
from app.engraving.layouts import STAFF_SPACE
from app.engraving.pages import (
    Box,
    MeasureBox,
    Page,
    PathShape,
    Shape,
    System,
)

#: A time with what stands there: a barline comes before the notes of the next measure.
Column = tuple[Offset, Literal[0, 1]]

#: What moves as one with a note: so far before its left edge and after it, in page units.
_BEFORE: Final = 1.3 * STAFF_SPACE
_AFTER: Final = 2.2 * STAFF_SPACE
#: At most these shares of a distance move with the note after it and with the note before it,
#: which has its head and its stem there.
_SHARE_BEFORE: Final = 0.3
_SHARE_AFTER: Final = 0.66


class PairLine(NamedTuple):
    """A line of two passages: a page of one system for each that has music there."""

    first: Page | None
    later: Page | None


class Place(NamedTuple):
    """A column and where it stands in one passage as engraved."""

    column: Column
    x: float


def columns_of(page: Page, score: Score, start: Offset) -> list[Place]:
    """The columns of a page's only system, times counted from ``start``, from left to right."""
    found: list[Place] = []
    for measure in page.systems[0].measures:
        begins = score.measures[measure.index].onset - start
        *notes, last = measure.onsets or ((0.0, measure.box[0] + measure.box[2]),)
        for offset, x in notes:
            found.append(Place((begins + _exactly(offset), 1), x))
        found.append(Place((begins + score.measures[measure.index].length, 0), last[1]))
    return [
        place
        for before, place in pairwise([None, *found])
        if place and (before is None or place.x > before.x)
    ]


def common_columns(passages: Sequence[Sequence[Place]], least: float = 0.0) -> dict[Column, float]:
    """Where every column of the passages stands, the first at 0; at least ``least`` wide in all."""
    order = sorted({place.column for places in passages for place in places})
    number = {column: at for at, column in enumerate(order)}
    gaps = [0.0] * max(len(order) - 1, 0)
    demands = [
        (number[one.column], number[other.column], other.x - one.x)
        for places in passages
        for one, other in pairwise(places)
    ]
    for first, last, wanted in sorted(demands, key=lambda demand: demand[1] - demand[0]):
        held = sum(gaps[first:last])
        if held >= wanted:
            continue
        for at in range(first, last):
            gaps[at] = gaps[at] * wanted / held if held > 0 else wanted / (last - first)
    total = sum(gaps)
    factor = max(1.0, least / total) if total else 1.0
    xs, x = [0.0], 0.0
    for gap in gaps:
        x += gap * factor
        xs.append(x)
    return dict(zip(order, xs, strict=False))


@dataclass(frozen=True, slots=True)
class Bend:
    """A map of x by straight pieces; beyond its ends everything is only shifted."""

    sources: tuple[float, ...]
    targets: tuple[float, ...]

    def __call__(self, x: float) -> float:
        """Where an x comes to stand."""
        if not self.sources:
            return x
        at = bisect_right(self.sources, x)
        if at == 0:
            return x + self.targets[0] - self.sources[0]
        if at == len(self.sources):
            return x + self.targets[-1] - self.sources[-1]
        (a, b), (c, d) = self.sources[at - 1 : at + 1], self.targets[at - 1 : at + 1]
        return c + (d - c) * (x - a) / (b - a)


def bend_to(
    places: Sequence[Place], columns: Mapping[Column, float], left: float, head: float
) -> Bend:
    """The map that brings a passage's notes to their columns.

    Parameters
    ----------
    places
        The passage as engraved.
    columns
        Where the columns shall stand.
    left, head
        Right end of its clef and signatures, and where that comes to stand.
    """
    pairs: list[tuple[float, float]] = [(left, head)]
    for at, place in enumerate(places):
        room_before = place.x - (places[at - 1].x if at else left)
        room_after = places[at + 1].x - place.x if at + 1 < len(places) else 2 * _AFTER
        is_note = place.column[1] == 1
        before = min(_BEFORE if is_note else 2.0, _SHARE_BEFORE * room_before)
        after = min(_AFTER if is_note else 2.0, _SHARE_AFTER * room_after)
        x, target = place.x, columns[place.column]
        pairs += [(x - before, target - before), (x + after, target + after)]
    kept = [pairs[0]]
    for source, target in pairs[1:]:
        if source > kept[-1][0] + 1e-6:
            kept.append((source, max(target, kept[-1][1])))
    return Bend(tuple(one for one, _ in kept), tuple(other for _, other in kept))


def bent(page: Page, bend: Bend, down: float, rigid: Collection[str]) -> Page:
    """The page with its shapes moved: sideways by the map, all of it down.

    ``rigid`` are the ids of notes, which move as one with all that belongs to them.
    """
    shifts = {
        element: bend(box[0] + box[2] / 2) - box[0] - box[2] / 2
        for element, box in page.boxes.items()
        if element in rigid
    }
    shapes = tuple(_moved(shape, bend, down, shifts) for shape in page.shapes)
    systems = tuple(
        System(
            _box(system.box, bend, down),
            tuple(_measure(measure, bend, down) for measure in system.measures),
        )
        for system in page.systems
    )
    boxes = {
        element: (
            (box[0] + shifts[element], box[1] + down, box[2], box[3])
            if element in shifts
            else _box(box, bend, down)
        )
        for element, box in page.boxes.items()
    }
    right = max((system.box[0] + system.box[2] for system in systems), default=page.width)
    return Page(page.index, right, page.height + down, shapes, systems, boxes)


def _moved(shape: Shape, bend: Bend, down: float, shifts: Mapping[str, float]) -> Shape:
    if isinstance(shape, PathShape):
        shift = shifts.get(shape.element)
        xs = shape.points[::2]
        moved = [x + shift for x in xs] if shift is not None else [bend(x) for x in xs]
        ys = [y + down for y in shape.points[1::2]]
        points = tuple(number for pair in zip(moved, ys, strict=True) for number in pair)
        return shape._replace(points=points)
    if shape.element in shifts:
        across = shifts[shape.element]
    else:
        x, _, width, _ = shape_box(shape)
        across = bend(x + width / 2) - x - width / 2
    return shape._replace(x=shape.x + across, y=shape.y + down)


def _measure(measure: MeasureBox, bend: Bend, down: float) -> MeasureBox:
    return replace(
        measure,
        box=_box(measure.box, bend, down),
        staves=tuple(staff._replace(box=_box(staff.box, bend, down)) for staff in measure.staves),
        onsets=tuple((offset, bend(x)) for offset, x in measure.onsets),
    )


def _box(box: Box, bend: Bend, down: float) -> Box:
    x, y, width, height = box
    left = bend(x)
    return (left, y + down, bend(x + width) - left, height)


def _exactly(offset: float) -> Offset:
    """An offset of the engraver as a fraction; notes stand on no finer places than these."""
    return Offset(offset).limit_denominator(960)
