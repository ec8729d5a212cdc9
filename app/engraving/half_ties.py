"""Ties that cross the ends of an excerpt, drawn as far as its first or last note.

Verovio drops a tie without its other note; but a note held over from before is not struck, and the
reader must see it. The half is a short bow beside the note head, above it where the stem points
down: from the middle line up, or in the upper half of a chord (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from app.engraving.bounds import Edges
from app.engraving.drawings import MeasureDrawing
from app.engraving.excerpts import Side
from app.engraving.layouts import STAFF_SPACE
from app.engraving.pages import PathShape

#: Width of a half tie, at least where there is little room, its gap to the note head, and its
#: height without and with its thickness.
_WIDTH: Final = 1.7 * STAFF_SPACE
_LEAST: Final = 0.8 * STAFF_SPACE
_GAP: Final = 0.2 * STAFF_SPACE
_LOW: Final = 0.45 * STAFF_SPACE
_HIGH: Final = 0.7 * STAFF_SPACE
_LINE: Final = 0.9


def half_ties(
    heads: dict[str, Edges],
    measure: MeasureDrawing,
    side: Side,
) -> Iterator[PathShape]:
    """Half ties of notes that one end of the excerpt cuts from their other note.

    Parameters
    ----------
    heads
        Edges of the note heads by element.
    measure
        The first or the last measure of the excerpt.
    side
        Where the other notes would be.
    """
    lines = measure.staves
    for element, (left, top, right, bottom) in heads.items():
        middle = (top + bottom) / 2
        others = [
            (other[1] + other[3]) / 2
            for name, other in heads.items()
            if name != element and _nearest(lines, other) == _nearest(lines, heads[element])
        ]
        if others:
            above = middle <= (min([*others, middle]) + max([*others, middle])) / 2
        else:
            staff = lines[_nearest(lines, heads[element])] if lines else heads[element]
            above = middle <= (staff[1] + staff[3]) / 2 + 1.0
        way = -1.0 if above else 1.0
        if side == "after":
            yield _bow(element, right + _GAP, _WIDTH, middle, way)
        else:
            free = min(left - edge for edge in [*measure.signatures, -_WIDTH] if edge < left)
            width = min(_WIDTH, max(_LEAST, free - 2 * _GAP))
            yield _bow(element, left - _GAP - width, width, middle, way)


def _nearest(staves: list[Edges], head: Edges) -> int:
    """Index of the staff whose middle is nearest to a note head; -1 where there is none."""
    middle = head[1] + head[3]
    distances = [abs(staff[1] + staff[3] - middle) for staff in staves]
    return distances.index(min(distances)) if distances else -1


def _bow(element: str, x: float, width: float, y: float, way: float) -> PathShape:
    near, far = x + width * 0.3, x + width * 0.7
    base = y + way * 0.35 * STAFF_SPACE
    points = (
        x, base,
        near, base + way * _HIGH, far, base + way * _HIGH, x + width, base,
        far, base + way * _LOW, near, base + way * _LOW, x, base,
    )  # fmt: skip
    return PathShape(element, "tie", "MCC", points, True, _LINE, cap="round")
