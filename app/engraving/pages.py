"""Engraved pages as values: shapes keyed by the id of the source element they draw.

Units are page units: 1 unit is one tenth of a millimetre at 100 % (verovio's own unit before its
scale). The origin is the top left corner of the page, x to the right, y down. Everything here can be
pickled, so pages cross from the engraving process to the window.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

#: x, y, width, height.
Box = tuple[float, float, float, float]
#: 2×3 affine matrix (a, b, c, d, e, f) as in SVG: x' = ax + cy + e, y' = bx + dy + f.
Transform = tuple[float, float, float, float, float, float]
#: ("M", x, y) ("L", x, y) ("C", x1, y1, x2, y2, x, y) ("Z",), absolute, curves all cubic.
PathCommand = tuple[str, *tuple[float, ...]]

IDENTITY: Transform = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Shape:
    """One thing to paint.

    Parameters
    ----------
    kind
        ``path`` (also lines, polygons, rectangles, ellipses turned into paths), ``glyph`` (a path
        shared by name, see `Engraving.glyphs`, placed by ``transform``) or ``text``.
    element
        Id of the source element it belongs to (nearest known ancestor); empty for staff lines etc.
    role
        What it is in verovio's class names: ``note``, ``notehead``, ``stem``, ``harm``, ``syl``,
        ``staff``, ``barLine``, …
    fill, stroke
        None: not painted; ``""``: the ink colour; otherwise ``#rrggbb``.
    """

    kind: Literal["path", "glyph", "text"]
    element: str
    role: str
    path: tuple[PathCommand, ...] = ()
    glyph: str = ""
    transform: Transform = IDENTITY
    fill: str | None = ""
    stroke: str | None = None
    stroke_width: float = 0.0
    dash: tuple[float, ...] = ()
    text: str = ""
    size: float = 0.0
    italic: bool = False
    bold: bool = False
    anchor: Literal["start", "middle", "end"] = "start"


@dataclass(frozen=True, slots=True)
class StaffBox:
    """One staff of one measure: the box of its five lines. ``staff`` is 1-based over all parts."""

    staff: int
    box: Box


@dataclass(frozen=True, slots=True)
class MeasureBox:
    """One measure on the page. ``box`` spans all staves; ``element`` is the measure's source id."""

    index: int
    element: str
    box: Box
    staves: tuple[StaffBox, ...]
    #: (offset into the measure in quarter notes, x) of each onset, in order: for placing by time.
    onsets: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class System:
    """One line of music. ``box`` holds all its ink; measures in order."""

    box: Box
    measures: tuple[MeasureBox, ...]


@dataclass(frozen=True, slots=True)
class Page:
    """One engraved page. ``boxes`` maps each element id on it to its ink box."""

    index: int
    width: float
    height: float
    shapes: tuple[Shape, ...]
    systems: tuple[System, ...]
    boxes: dict[str, Box] = field(hash=False, compare=False)


@dataclass(frozen=True, slots=True)
class Engraving:
    """All pages of one layout. ``glyphs`` maps a glyph's name to its outline, shared by all pages."""

    pages: tuple[Page, ...]
    glyphs: dict[str, tuple[PathCommand, ...]] = field(hash=False, compare=False)

    def page_of(self, element: str) -> int | None:
        """Index of the page that shows the element; None where none does."""
        for page in self.pages:
            if element in page.boxes:
                return page.index
        return None
