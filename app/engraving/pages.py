"""Engraved pages as values: shapes keyed by the id of the source element they draw.

Units are page units: 1 unit is one tenth of a millimetre at 100 % (verovio's own unit before its
scale), so a staff is 72 units high and a staff space 18. The origin is the top left corner of the
page, x to the right, y down. Everything here can be pickled, so pages cross from the engraving
process to the window; shapes are bare tuples because a page has thousands of them.

A shape belongs to the nearest ancestor in verovio's drawing that stands for a source element: a
stem to its note, the stem shared by the notes of a chord to its measure, a syllable to its note.
Its ``role`` says what it is, in the words of that drawing: what belongs to a note is notehead,
stem, flag, accid, dots, artic or syl; others are staff, ledgerLines, barLine, clef, keyAccid,
meterSig, beam, tie, slur, rest, harm (a chord symbol), reh, dir, dynam, tempo, mNum, label, ….
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from typing import NamedTuple

#: x, y, width, height.
Box = tuple[float, float, float, float]
#: 2×3 affine matrix (a, b, c, d, e, f) as in SVG: x' = ax + cy + e, y' = bx + dy + f.
Transform = tuple[float, float, float, float, float, float]
#: ("M", x, y) ("L", x, y) ("C", x1, y1, x2, y2, x, y) ("Z",), absolute, curves all cubic.
PathCommand = tuple[str, *tuple[float, ...]]


class GlyphShape(NamedTuple):
    """A sign of the music font.

    ``code`` is its SMuFL code point in hexadecimal (`app.engraving.metrics.sign` has its outline),
    ``x, y`` its origin on the page, ``scale`` page units to one unit of the font (1000 to the em),
    ``angle`` a turn about the origin in degrees, clockwise on the page.
    """

    element: str
    role: str
    code: str
    x: float
    y: float
    scale: float
    angle: float = 0.0


class PathShape(NamedTuple):
    """A drawn path: staff lines, stems, beams, slurs.

    ``commands`` is a string over M, L, C and Z; ``points`` its coordinates one after the other, two
    for M and L, six for C, none for Z. ``stroke`` is the width of its line, 0 for none; ``dash``
    lengths on and off in page units; ``cap`` one of butt, round (corners too), square.
    """

    element: str
    role: str
    commands: str
    points: tuple[float, ...]
    filled: bool
    stroke: float = 0.0
    dash: tuple[float, ...] = ()
    cap: str = "butt"


class TextShape(NamedTuple):
    """A run of text, set in the text font (`app.engraving.metrics.letter`).

    ``x, y`` is the left end of its baseline, ``size`` page units to the em, ``squeeze`` a factor of
    its width, 1 or a little less where it would leave the room that the engraver kept for it.
    """

    element: str
    role: str
    text: str
    x: float
    y: float
    size: float
    face: str = "regular"
    squeeze: float = 1.0


Shape = GlyphShape | PathShape | TextShape


class StaffBox(NamedTuple):
    """One staff of one measure: the box of its lines. ``staff`` is 1-based over all shown parts."""

    staff: int
    box: Box


@dataclass(frozen=True, slots=True)
class MeasureBox:
    """One measure on the page.

    ``index`` counts the source's measures from 0; ``element`` is the id of the measure in the
    source's first part, ``box`` spans all staves from barline to barline. ``onsets`` are (offset
    into the measure in quarter notes, x of the left edge of the notes that begin there), in order;
    the last one is the measure's end.
    """

    index: int
    element: str
    box: Box
    staves: tuple[StaffBox, ...]
    onsets: tuple[tuple[float, float], ...] = ()

    def x_at(self, offset: float) -> float:
        """Where a time lies: ``offset`` in quarter notes from the measure's start, interpolated."""
        if not self.onsets:
            return self.box[0]
        at = bisect_right(self.onsets, offset, key=lambda onset: onset[0])
        if at == 0:
            return self.onsets[0][1]
        if at == len(self.onsets):
            return self.onsets[-1][1]
        (start, left), (end, right) = self.onsets[at - 1], self.onsets[at]
        return left + (right - left) * (offset - start) / (end - start)


class System(NamedTuple):
    """One line of music. ``box`` holds all its ink; measures in order."""

    box: Box
    measures: tuple[MeasureBox, ...]


@dataclass(frozen=True, slots=True)
class Page:
    """One engraved page.

    ``shapes`` are in painting order. ``boxes`` maps each element id on the page to the box that one
    points at: the heads of a note (its stem and accidental left out), the sign of a rest, the
    printed text of a chord symbol or direction, a part's staves in a measure. An element that
    prints nothing, such as a hidden rest, has a box without width at its place.
    """

    index: int
    width: float
    height: float
    shapes: tuple[Shape, ...]
    systems: tuple[System, ...]
    boxes: dict[str, Box] = field(hash=False, compare=False)


@dataclass(frozen=True, slots=True)
class Engraving:
    """All pages of one layout, in order."""

    pages: tuple[Page, ...]

    def page_of(self, element: str) -> int | None:
        """Index of the page that shows the element; None where none does."""
        for page in self.pages:
            if element in page.boxes:
                return page.index
        return None
