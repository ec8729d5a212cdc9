"""Places for short texts beside notes: the nearest one that holds nothing.

The search is exhaustive over a small lattice of places around the note, nearest first, against the
boxes of all ink. Slanted and curved shapes (beams, slurs, ties, hairpins) are cut into upright
slices first, since one box around a long slur would forbid the free space under it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import cache
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from app.engraving.bounds import path_commands, shape_box
from app.engraving.layouts import STAFF_SPACE
from app.engraving.pages import Box, Page, PathShape

_SLANTED: Final = frozenset({"beam", "slur", "tie", "hairpin", "gliss", "lv", "phrase"})
_SLICE: Final = 1.0 * STAFF_SPACE
#: How far a text may stand from its note, and the steps of the search, in staff spaces.
_REACH: Final = 7.0
_STEP: Final = 0.5
#: How much farther off a text may stand, in staff spaces, to spare its leader one crossing.
_CROSSING: Final = 1.5
#: How much nearer a place under a note must be than one over it, where lyrics seldom are.
_LYRICS: Final = 4.0
_MARGIN: Final = 0.25 * STAFF_SPACE
_POINTS: Final = 24


class FreeSpace:
    """What of a page is taken, and where there is room left.

    Parameters
    ----------
    boxes
        Boxes of all that must not be covered.
    """

    def __init__(self, boxes: Iterable[Box]) -> None:
        self._edges = _edges(boxes)
        # A leader may run over lines of a staff: they are too low for it to hide anything.
        self._flat = (self._edges[:, 3] - self._edges[:, 1]) < 0.3 * STAFF_SPACE

    def take(self, boxes: Iterable[Box]) -> None:
        """Mark boxes as taken."""
        added = _edges(boxes)
        self._edges = np.concatenate([self._edges, added])
        self._flat = np.concatenate([self._flat, np.zeros(len(added), dtype=bool)])

    def stay_within(self, width: float, height: float) -> None:
        """Take all that lies outside a page of a size."""
        far = _REACH * STAFF_SPACE + max(width, height)
        across, down = width + 2 * far, height + 2 * far
        self.take(
            [
                (-far, -far, across, far),
                (-far, height, across, far),
                (-far, -far, far, down),
                (width, -far, far, down),
            ]
        )

    def is_free(self, box: Box) -> bool:
        """Whether a box, with a little space around it, holds nothing."""
        x, y, width, height = box
        grown = (x - _MARGIN, y - _MARGIN, width + 2 * _MARGIN, height + 2 * _MARGIN)
        return not _hits(self._edges, grown).any()

    def place_near(self, box: Box, width: float, height: float) -> Box | None:
        """The best free place of a size beside a box: near, with a leader that crosses little.

        Of two that are equally near the upper one is taken; None where nothing near is free.
        """
        x, y, box_width, box_height = box
        reach = _REACH * STAFF_SPACE
        around = (
            *(x - reach - width, y - reach - height),
            *(box_width + 2 * (reach + width), box_height + 2 * (reach + height)),
        )
        inside = _hits(self._edges, around)
        near, solid = self._edges[inside], self._edges[inside & ~self._flat]
        middle_x, middle_y = x + box_width / 2, y + box_height / 2
        best, best_cost = None, math.inf
        for distance, across, down in _moves((box_width + width) / 2, (box_height + height) / 2):
            if distance >= best_cost:
                break
            left, top = middle_x + across - width / 2, middle_y + down - height / 2
            grown = (left - _MARGIN, top - _MARGIN, width + 2 * _MARGIN, height + 2 * _MARGIN)
            if _hits(near, grown).any():
                continue
            place = (left, top, width, height)
            cost = distance + _CROSSING * _crossed(solid, box, place)
            if cost < best_cost:
                best, best_cost = place, cost
        return best


def ink_pieces(page: Page) -> Iterator[Box]:
    """Boxes that together hold all ink of a page: one a shape, slices for what is slanted."""
    for shape in page.shapes:
        if isinstance(shape, PathShape) and shape.role in _SLANTED:
            yield from _slices(shape)
        else:
            yield shape_box(shape)


def _edges(boxes: Iterable[Box]) -> NDArray[np.float64]:
    rows = [(x, y, x + width, y + height) for x, y, width, height in boxes]
    return np.array(rows, dtype=np.float64).reshape(-1, 4)


def _hits(edges: NDArray[np.float64], box: Box) -> NDArray[np.bool_]:
    """Which rows of (left, top, right, bottom) share more than a border with a box."""
    x, y, width, height = box
    inside: NDArray[np.bool_] = (
        (edges[:, 0] < x + width)
        & (edges[:, 2] > x)
        & (edges[:, 1] < y + height)
        & (edges[:, 3] > y)
    )
    return inside


@cache
def _lattice() -> tuple[tuple[int, int], ...]:
    """Steps across and down, the best first."""
    reach = int(_REACH / _STEP)
    steps = [(i, j) for i in range(-reach, reach + 1) for j in range(-reach, reach + 1)]
    return tuple(sorted(steps, key=lambda step: (_far(*step), step)))


def _far(across: int, down: int) -> float:
    return math.hypot(1.2 * across, down) + (_LYRICS / _STEP if down > 0 else 0.0)


def _moves(beside: float, over: float) -> Iterator[tuple[float, float, float]]:
    """Moves of a text's middle from a box's middle that clear the box, nearest first.

    Each is (distance in staff spaces, across, down).
    """
    step = _STEP * STAFF_SPACE
    for i, j in _lattice():
        across, down, distance = i * step, j * step, _STEP * _far(i, j)
        # The lattice starts where the text just touches the box, above, below or beside it.
        yield distance, across, down + math.copysign(over, down or -1)
        if j == 0 and i:
            yield distance, across + math.copysign(beside, across), 0.0


def _crossed(edges: NDArray[np.float64], box: Box, place: Box) -> int:
    """How many boxes the straight way from a box to a place runs through, their own left out."""
    ax, ay = place[0] + place[2] / 2, place[1] + place[3] / 2
    start_x, start_y = nearest_point(box, ax, ay)
    end_x, end_y = nearest_point(place, start_x, start_y)
    lows, highs = np.zeros(len(edges)), np.ones(len(edges))
    for start, end, low, high in (
        (start_x, end_x, edges[:, 0], edges[:, 2]),
        (start_y, end_y, edges[:, 1], edges[:, 3]),
    ):
        length = end - start or 1e-9
        first, second = (low - start) / length, (high - start) / length
        lows = np.maximum(lows, np.minimum(first, second))
        highs = np.minimum(highs, np.maximum(first, second))
    return int((lows < highs - 1e-6).sum())


def nearest_point(box: Box, x: float, y: float) -> tuple[float, float]:
    """The point of a box nearest to another point."""
    left, top, width, height = box
    return min(max(x, left), left + width), min(max(y, top), top + height)


def _slices(shape: PathShape) -> Iterator[Box]:
    """Upright slices around a path, as high as the path is in each."""
    half = shape.stroke / 2
    points = list(_points(shape))
    left = min(x for x, _ in points)
    columns: dict[int, list[float]] = {}
    for (x1, y1), (x2, y2) in pairwise([*points, points[0]]):
        first, last = sorted((x1 - left, x2 - left))
        borders = range(math.floor(first / _SLICE) + 1, math.ceil(last / _SLICE))
        cuts = [first, *(_SLICE * border for border in borders), last]
        slope = (y2 - y1) / (x2 - x1) if x2 != x1 else 0.0
        for start, end in pairwise(cuts):
            heights = columns.setdefault(math.floor((start + end) / 2 / _SLICE), [])
            heights += [y1 + slope * (x + left - x1) for x in (start, end)]
            if x1 == x2:
                heights.append(y2)
    for column, ys in columns.items():
        top, bottom = min(ys) - half, max(ys) + half
        yield (left + column * _SLICE - half, top, _SLICE + 2 * half, bottom - top)


def _points(shape: PathShape) -> Iterator[tuple[float, float]]:
    x = y = 0.0
    for name, *numbers in path_commands(shape):
        if name == "C":
            x1, y1, x2, y2, x3, y3 = numbers
            for at in range(1, _POINTS + 1):
                t = at / _POINTS
                s = 1 - t
                weights = (s**3, 3 * s * s * t, 3 * s * t * t, t**3)
                yield (
                    sum(w * p for w, p in zip(weights, (x, x1, x2, x3), strict=True)),
                    sum(w * p for w, p in zip(weights, (y, y1, y2, y3), strict=True)),
                )
            x, y = x3, y3
        elif name != "Z":
            x, y = numbers
            yield (x, y)
