"""Engraved pages painted by Qt: crisp at every zoom, in any ink.

Everything is painted as filled or stroked outlines in page units; the caller sets the painter's
transform, which makes zoom and high resolution free. Signs and letters come from
`app.engraving.metrics`, not from the machine's fonts, so pictures are alike everywhere.

Method: what is filled goes into one path for a handful of neighbours, lines of one width into
another, so that a page is a hundred calls instead of thousands. These paths are made once a page
and kept by `PagePainter`; a repaint takes those that touch the exposed region.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import groupby
from typing import Final

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen, QTransform

from app.engraving import bounds
from app.engraving.metrics import UNITS_PER_EM, kerning, letter, sign
from app.engraving.pages import GlyphShape, Page, PathCommand, PathShape, Shape, TextShape

_CAPS: Final = {
    "butt": Qt.PenCapStyle.FlatCap,
    "round": Qt.PenCapStyle.RoundCap,
    "square": Qt.PenCapStyle.SquareCap,
}


@dataclass(frozen=True, slots=True)
class Ink:
    """The colours of a page: what is printed, and the paper, None for a transparent one."""

    colour: str = "#000000"
    paper: str | None = None


LIGHT: Final = Ink("#1a1a1a", "#ffffff")
DARK: Final = Ink("#e8e6e3", "#1b1d21")


@dataclass(frozen=True, slots=True)
class _Batch:
    """Shapes painted by one call. ``pen`` is None for a filled path."""

    path: QPainterPath
    pen: QPen | None
    area: QRectF


class PagePainter:
    """Paints one page, keeping its paths between repaints.

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
        self._batches = list(_batches(shapes))
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
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if ink.paper is not None:
            painter.fillRect(self.rect, QColor(ink.paper))
        _paint(painter, self._batches, QColor(ink.colour), exposed)
        for element, colour in (accents or {}).items():
            _paint(painter, _batches(self._shapes_of(element)), QColor(colour), exposed)
        painter.restore()

    def _shapes_of(self, element: str) -> list[Shape]:
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
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _paint(painter, _batches(shapes), colour, None)
    painter.restore()


def shape_path(shape: Shape) -> QPainterPath:
    """The outline of a shape in page units, its line not widened."""
    if isinstance(shape, GlyphShape):
        turn = QTransform().translate(shape.x, shape.y).rotate(shape.angle)
        return turn.scale(shape.scale, shape.scale).map(_sign_path(shape.code))
    if isinstance(shape, TextShape):
        scale = shape.size / UNITS_PER_EM
        place = QTransform().translate(shape.x, shape.y).scale(scale * shape.squeeze, scale)
        return place.map(_text_path(shape.text, shape.face))
    return _outline(bounds.path_commands(shape))


def _paint(
    painter: QPainter, batches: Iterable[_Batch], colour: QColor, exposed: QRectF | None
) -> None:
    brush = QBrush(colour)
    for batch in batches:
        if exposed is not None and not batch.area.intersects(exposed):
            continue
        if batch.pen is None:
            painter.fillPath(batch.path, brush)
        else:
            batch.pen.setColor(colour)
            painter.strokePath(batch.path, batch.pen)


def _batches(shapes: Iterable[Shape]) -> Iterator[_Batch]:
    """Neighbouring shapes joined into batches of one area and one way of painting."""
    for _, run in groupby(enumerate(shapes), key=lambda numbered: numbered[0] // 64):
        filled: list[Shape] = []
        lines: dict[tuple[float, str, tuple[float, ...]], list[PathShape]] = {}
        for _, shape in run:
            if not isinstance(shape, PathShape) or shape.filled:
                filled.append(shape)
            if isinstance(shape, PathShape) and shape.stroke:
                lines.setdefault((shape.stroke, shape.cap, shape.dash), []).append(shape)
        if filled:
            yield _Batch(_joined(filled), None, _area(filled))
        for (width, cap, dash), stroked in lines.items():
            yield _Batch(_joined(stroked), _pen(width, cap, dash), _area(stroked))


def _joined(shapes: Iterable[Shape]) -> QPainterPath:
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.WindingFill)
    for shape in shapes:
        path.addPath(shape_path(shape))
    return path


def _area(shapes: Iterable[Shape]) -> QRectF:
    left, top, right, bottom = bounds.union(bounds.shape_edges(shape) for shape in shapes)
    return QRectF(left, top, right - left, bottom - top)


def _pen(width: float, cap: str, dash: tuple[float, ...]) -> QPen:
    pen = QPen()
    pen.setWidthF(width)
    pen.setCapStyle(_CAPS[cap])
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    if dash:
        pen.setDashPattern([max(length / width, 0.01) for length in dash])
    return pen


def _outline(commands: Iterable[PathCommand]) -> QPainterPath:
    path = QPainterPath()
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
def _sign_path(code: str) -> QPainterPath:
    return _outline(sign(code).outline)


@cache
def _text_path(text: str, face: str) -> QPainterPath:
    path, x = QPainterPath(), 0.0
    for at, character in enumerate(text):
        glyph = letter(character, face)
        path.addPath(_outline(glyph.outline).translated(x, 0.0))
        x += glyph.advance + (kerning(character, text[at + 1], face) if at + 1 < len(text) else 0)
    return path
