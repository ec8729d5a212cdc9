"""The signs of marks as paths: what stands around a note, over a stretch, under a label.

Kinds differ by shape: a ring for a note foreign to its chord, a pointed frame for a blue note, a
cap for other notes that are no chord tones, a peak for a turning point, brackets over stretches,
joined strokes along a line. States differ by the stroke: dashed is open, whole is accepted, whole
with a notch is edited. Lengths are page units; ``mark`` becomes the shapes' ``element``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

from app.engraving.layouts import STAFF_SPACE
from app.engraving.pages import Box, PathShape
from app.review.document import State

#: Control points of a quarter circle by one cubic curve: 4/3 (sqrt 2 - 1).
_KAPPA: Final = 0.5522847498
#: Widths of strokes: around notes, brackets and lines, under labels.
FRAME: Final = 3.2
STROKE: Final = 2.4
FINE: Final = 1.8
_DASH: Final = (7.0, 5.0)
#: How far a frame stays from the note head.
_CLEAR: Final = 0.36 * STAFF_SPACE


def dash_of(state: State | None) -> tuple[float, ...]:
    """Dashes of an open mark; none for any other, and none where states are not shown (None)."""
    return _DASH if state == "open" else ()


def ring(mark: str, box: Box, state: State | None) -> Iterator[PathShape]:
    """An ellipse around a note head."""
    x, y, width, height = _grown(box, _CLEAR)
    across, down = width / 2, height / 2
    middle_x, middle_y = x + across, y + down
    kx, ky = across * _KAPPA, down * _KAPPA
    right, bottom = x + width, y + height
    points = (
        (x, middle_y),
        (x, middle_y - ky, middle_x - kx, y, middle_x, y),
        (middle_x + kx, y, right, middle_y - ky, right, middle_y),
        (right, middle_y + ky, middle_x + kx, bottom, middle_x, bottom),
        (middle_x - kx, bottom, x, middle_y + ky, x, middle_y),
    )
    flat = tuple(number for point in points for number in point)
    yield _stroked(mark, "MCCCCZ", flat, FRAME, state)
    yield from _edited(mark, middle_x + across * 0.72, middle_y - down * 0.72, state)


def pointed(mark: str, box: Box, state: State | None) -> Iterator[PathShape]:
    """A frame around a note with its accidental, pointed at both sides."""
    x, y, width, height = _grown(box, _CLEAR * 0.6)
    point = 0.42 * STAFF_SPACE
    right, bottom, middle = x + width, y + height, y + height / 2
    points = (
        *(x - point, middle, x, y, right, y),
        *(right + point, middle, right, bottom, x, bottom),
    )
    yield _stroked(mark, "MLLLLLZ", points, FRAME, state)
    yield from _edited(mark, right, y, state)


def cap(mark: str, box: Box, state: State | None) -> Iterator[PathShape]:
    """A flat arc over a note head."""
    x, y, width, _ = _grown(box, _CLEAR)
    rise = 0.7 * STAFF_SPACE
    points = (x, y, x + width * 0.25, y - rise, x + width * 0.75, y - rise, x + width, y)
    yield _stroked(mark, "MC", points, FRAME, state)
    yield from _edited(mark, x + width, y - rise, state)


def peak(mark: str, box: Box, state: State | None) -> Iterator[PathShape]:
    """An upward angle over a note head."""
    x, y, width, _ = _grown(box, _CLEAR)
    rise = 0.6 * STAFF_SPACE
    points = (x, y, x + width / 2, y - rise, x + width, y)
    yield _stroked(mark, "MLL", points, FRAME, state)
    yield from _edited(mark, x + width, y - rise, state)


def bracket(
    mark: str,
    ends: tuple[float, float],
    y: float,
    text: tuple[float, float] | None,
    drop: float,
    state: State | None,
    *,
    opened: tuple[bool, bool] = (False, False),
) -> Iterator[PathShape]:
    """A line over a stretch with its ends turned down.

    ``text`` is the stretch of the line that a text takes, ``drop`` the height of the ends, and
    ``opened`` says at which ends the stretch goes on elsewhere, so that they stay straight.
    """
    left, right = ends
    if not opened[0]:
        yield _stroked(mark, "ML", (left, y + drop, left, y), STROKE, None)
    if not opened[1]:
        yield _stroked(mark, "ML", (right, y, right, y + drop), STROKE, None)
    pieces = [(left, right)] if text is None else [(left, text[0]), (text[1], right)]
    for start, end in pieces:
        if end > start:
            yield _stroked(mark, "ML", (start, y, end, y), STROKE, state)
    yield from _edited(mark, right - drop, y, state)


def joined(
    mark: str, points: Sequence[tuple[float, float]], clear: float, state: State | None
) -> Iterator[PathShape]:
    """Straight strokes from point to point, each stopping ``clear`` before it."""
    for (x1, y1), (x2, y2) in pairwise(points):
        length = math.hypot(x2 - x1, y2 - y1)
        if length <= 2 * clear:
            continue
        ux, uy = (x2 - x1) / length * clear, (y2 - y1) / length * clear
        yield _stroked(mark, "ML", (x1 + ux, y1 + uy, x2 - ux, y2 - uy), FRAME, state, cap="round")
    if len(points) > 1:
        (x1, y1), (x2, y2) = points[-2:]
        yield from _edited(mark, (x1 + x2) / 2, (y1 + y2) / 2, state)


def underline(
    mark: str, left: float, right: float, y: float, state: State | None
) -> Iterator[PathShape]:
    """The stroke under a label: none for an open mark."""
    if state in ("accepted", "edited"):
        yield _stroked(mark, "ML", (left, y, right, y), FINE, None)
        yield from _edited(mark, right, y, state)


def rule(mark: str, x1: float, y1: float, x2: float, y2: float) -> PathShape:
    """A fine straight line: a leader from a label to its place, the bar before a key's name."""
    return _stroked(mark, "ML", (x1, y1, x2, y2), FINE, None)


def frame(mark: str, box: Box, grow: float) -> PathShape:
    """A rectangle with round corners around a box, for what is selected or meant."""
    x, y, width, height = _grown(box, grow)
    right, bottom = x + width, y + height
    corner = min(grow, width / 2, height / 2)
    near = corner * (1 - _KAPPA)
    points = (
        *(x + corner, y, right - corner, y),
        *(right - near, y, right, y + near, right, y + corner, right, bottom - corner),
        *(right, bottom - near, right - near, bottom, right - corner, bottom, x + corner, bottom),
        *(x + near, bottom, x, bottom - near, x, bottom - corner, x, y + corner),
        *(x, y + near, x + near, y, x + corner, y),
    )
    return _stroked(mark, "MLCLCLCLCZ", points, STROKE, None)


def panel(mark: str, box: Box, corner: float) -> PathShape:
    """A filled rectangle with round corners, to lie under other things."""
    x, y, width, height = box
    inner = (x + corner, y + corner, width - 2 * corner, height - 2 * corner)
    return frame(mark, inner, corner)._replace(filled=True, stroke=0.0)


def _edited(mark: str, x: float, y: float, state: State | None) -> Iterator[PathShape]:
    """The notch of an edited mark: a small filled wedge that bites into the stroke from above."""
    if state == "edited":
        half, depth = 0.22 * STAFF_SPACE, 0.36 * STAFF_SPACE
        points = (x - half, y - depth, x + half, y - depth, x, y)
        yield PathShape(mark, "mark", "MLLZ", points, True)


def _stroked(
    mark: str,
    commands: str,
    points: tuple[float, ...],
    width: float,
    state: State | None,
    cap: str = "butt",
) -> PathShape:
    return PathShape(mark, "mark", commands, points, False, width, dash_of(state), cap)


def _grown(box: Box, by: float) -> Box:
    x, y, width, height = box
    return (x - by, y - by, width + 2 * by, height + 2 * by)
