"""Engraved pages painted by Qt: crisp at every zoom, in any ink.

Everything is painted as outlines in page units; the caller sets the painter's transform, which
makes zoom and high resolution free. Signs and letters come from `app.engraving.metrics`, not from
the machine's fonts, so pictures are alike everywhere.

Method: most of a page is staff lines, stems and barlines, which are painted as rectangles, all in
one call; then signs and words, each an outline that is shared by all its copies; the rest, such as
slurs and beams, are paths of their own. That is three times as fast as joining the outlines of
neighbours into large paths, and needs next to no time to prepare.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final, NamedTuple

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen, QTransform

from app.engraving import bounds
from app.engraving.bounds import Edges
from app.engraving.metrics import UNITS_PER_EM, Face, kerning, letter, sign
from app.engraving.pages import GlyphShape, Page, PathCommand, PathShape, Shape, TextShape

_CAPS: Final = {
    "butt": Qt.PenCapStyle.FlatCap,
    "round": Qt.PenCapStyle.RoundCap,
    "square": Qt.PenCapStyle.SquareCap,
}
#: Where the ends of lines are round, so are their corners.
_JOINS: Final = {"round": Qt.PenJoinStyle.RoundJoin}


@dataclass(frozen=True, slots=True)
class Ink:
    """The colours of a page: what is printed, and the paper, None for a transparent one."""

    colour: str = "#000000"
    paper: str | None = None


LIGHT: Final = Ink("#1a1a1a", "#ffffff")
DARK: Final = Ink("#e8e6e3", "#1b1d21")


class PagePainter:
    """Paints one page, keeping what it needs between repaints.

    Parameters
    ----------
    page
        The page.
    wanted
        Which of its shapes to paint; None for all.
    """

    def __init__(self, page: Page, wanted: Callable[[Shape], bool] | None = None) -> None:
        self.page = page
        self.rect = QRectF(0.0, 0.0, page.width, page.height)
        shapes = page.shapes if wanted is None else [s for s in page.shapes if wanted(s)]
        self._drawing = Drawing(shapes)
        self._of: dict[str, list[Shape]] | None = None

    def paint(
        self,
        painter: QPainter,
        ink: Ink,
        exposed: QRectF | None = None,
        accents: Mapping[str, str] | None = None,
    ) -> None:
        """Paint the page with its origin at the painter's.

        Parameters
        ----------
        painter
            Its transform maps page units to the device.
        ink
            The colours.
        exposed
            In page units, what must be painted at least; None for all.
        accents
            Colours of single elements by id, painted over the ink.
        """
        if ink.paper is not None:
            painter.fillRect(self.rect, QColor(ink.paper))
        self._drawing.paint(painter, QColor(ink.colour), exposed)
        for element, colour in (accents or {}).items():
            Drawing(self.shapes_of(element)).paint(painter, QColor(colour), exposed)

    def shapes_of(self, element: str) -> list[Shape]:
        """The shapes that draw an element, in painting order."""
        if self._of is None:
            self._of = {}
            for shape in self.page.shapes:
                self._of.setdefault(shape.element, []).append(shape)
        return self._of.get(element, [])


def paint_page(
    painter: QPainter,
    page: Page,
    ink: Ink,
    *,
    exposed: QRectF | None = None,
    accents: Mapping[str, str] | None = None,
    without: Collection[str] = (),
) -> None:
    """Paint a page once. ``without`` names roles to leave out, such as ``harm`` or ``mNum``."""
    wanted = (lambda shape: shape.role not in without) if without else None
    PagePainter(page, wanted).paint(painter, ink, exposed, accents)


def paint_shapes(painter: QPainter, shapes: Iterable[Shape], colour: QColor) -> None:
    """Paint any shapes, such as those of a label, in one colour."""
    Drawing(shapes).paint(painter, colour, None)


def shape_path(shape: Shape) -> QPainterPath:
    """The outline of a shape in page units, its line not widened."""
    if isinstance(shape, PathShape):
        return _outline(bounds.path_commands(shape))
    return _path(shape).translated(shape.x, shape.y)


class _Placed(NamedTuple):
    """A shared outline in page units, where its origin is placed and what it covers."""

    path: QPainterPath
    x: float
    y: float
    edges: Edges


class _Own(NamedTuple):
    """An outline of one shape. ``pen`` is None for one that is filled."""

    path: QPainterPath
    pen: QPen | None
    edges: Edges


class Drawing:
    """Shapes made ready for painting in one colour.

    Parameters
    ----------
    shapes
        In painting order.
    """

    def __init__(self, shapes: Iterable[Shape]) -> None:
        self.bars: list[QRectF] = []
        self.placed: list[_Placed] = []
        self.own: list[_Own] = []
        for shape in shapes:
            if not isinstance(shape, PathShape):
                edges = bounds.shape_edges(shape)
                self.placed.append(_Placed(_path(shape), shape.x, shape.y, edges))
                continue
            bars = _bars(shape)
            if bars:
                self.bars += bars
                continue
            path, edges = shape_path(shape), bounds.path_edges(shape)
            if shape.filled:
                self.own.append(_Own(path, None, edges))
            if shape.stroke:
                self.own.append(_Own(path, _pen(shape), edges))

    @property
    def edges(self) -> Edges:
        """The edges around all ink; all zeros where there is none."""
        bars = ((one.left(), one.top(), one.right(), one.bottom()) for one in self.bars)
        drawn: list[_Placed | _Own] = [*self.placed, *self.own]
        return bounds.union((*bars, *(one.edges for one in drawn)))

    def paint(self, painter: QPainter, colour: QColor, exposed: QRectF | None) -> None:
        """Paint in page units what touches the exposed region; all for None."""
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        brush = QBrush(colour)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(brush)
        left, top, right, bottom = _limits(exposed)
        if self.bars:
            painter.drawRects(self.bars)
        for path, pen, (x, y, x_end, y_end) in self.own:
            if x < right and x_end > left and y < bottom and y_end > top:
                if pen is None:
                    painter.fillPath(path, brush)
                else:
                    pen.setColor(colour)
                    painter.strokePath(path, pen)
        at_x = at_y = 0.0
        for path, to_x, to_y, (x, y, x_end, y_end) in self.placed:
            if x < right and x_end > left and y < bottom and y_end > top:
                painter.translate(to_x - at_x, to_y - at_y)
                at_x, at_y = to_x, to_y
                painter.fillPath(path, brush)
        painter.restore()


def _limits(exposed: QRectF | None) -> Edges:
    if exposed is None:
        return (float("-inf"), float("-inf"), float("inf"), float("inf"))
    return (exposed.left(), exposed.top(), exposed.right(), exposed.bottom())


def _bars(shape: PathShape) -> list[QRectF]:
    """Upright and level lines as rectangles; none where the shape is anything else."""
    count = len(shape.points) // 4
    if shape.filled or shape.dash or shape.cap != "butt" or shape.commands != "ML" * count:
        return []
    half = shape.stroke / 2
    bars = []
    for at in range(0, 4 * count, 4):
        x, y, x_end, y_end = shape.points[at : at + 4]
        if y == y_end:
            bars.append(QRectF(min(x, x_end), y - half, abs(x_end - x), shape.stroke))
        elif x == x_end:
            bars.append(QRectF(x - half, min(y, y_end), shape.stroke, abs(y_end - y)))
        else:
            return []
    return bars


def _pen(shape: PathShape) -> QPen:
    pen = QPen()
    pen.setWidthF(shape.stroke)
    pen.setCapStyle(_CAPS[shape.cap])
    pen.setJoinStyle(_JOINS.get(shape.cap, Qt.PenJoinStyle.SvgMiterJoin))
    if shape.dash:
        pen.setDashPattern([max(length / shape.stroke, 0.01) for length in shape.dash])
    return pen


def _path(shape: GlyphShape | TextShape) -> QPainterPath:
    """The outline at its size with its origin at zero; shared by all shapes alike."""
    if isinstance(shape, TextShape):
        return _text_path(shape.text, shape.face, shape.size, shape.squeeze)
    return _sign_path(shape.code, shape.scale, shape.angle)


def _outline(commands: Iterable[PathCommand]) -> QPainterPath:
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.WindingFill)
    for name, *numbers in commands:
        if name == "M":
            path.moveTo(*numbers)
        elif name == "L":
            path.lineTo(*numbers)
        elif name == "C":
            path.cubicTo(*numbers)
        else:
            path.closeSubpath()
    return path


@cache
def _sign_path(code: str, scale: float, angle: float) -> QPainterPath:
    return QTransform().rotate(angle).scale(scale, scale).map(_outline(sign(code).outline))


@cache
def _letter_path(character: str, face: Face) -> QPainterPath:
    return _outline(letter(character, face).outline)


@cache
def _text_path(text: str, face: Face, size: float, squeeze: float) -> QPainterPath:
    path, x = QPainterPath(), 0.0
    path.setFillRule(Qt.FillRule.WindingFill)
    for at, character in enumerate(text):
        glyph = letter(character, face)
        path.addPath(_letter_path(character, face).translated(x, 0.0))
        x += glyph.advance + (kerning(character, text[at + 1], face) if at + 1 < len(text) else 0)
    scale = size / UNITS_PER_EM
    return QTransform.fromScale(scale * squeeze, scale).map(path)
