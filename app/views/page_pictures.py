"""Pages painted once for a zoom and kept as pictures, as many as fit into a limit.

Of a page two pictures are kept: its notes, and its notes with the parts that lie over them. Where
another part comes, only what the old and the new one cover is painted again, over the notes that
are there already. Large pages are kept without the parts.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPixmap, QRegion, QTransform
from PySide6.QtWidgets import QWidget

from app.engraving.pages import Page
from app.engraving.painting import LIGHT, Ink, PagePainter
from app.views.page_parts import PagePart

#: Device pixels of the largest page that is kept, alone and with its parts, and of all pictures.
LARGEST: Final = 16_000_000
LARGEST_WHOLE: Final = 4_000_000
MOST: Final = 48_000_000


@dataclass(slots=True)
class _Whole:
    """A page with its parts, and what it was made from."""

    notes: QPixmap
    parts: tuple[PagePart, ...]
    picture: QPixmap


class PagePictures:
    """Pictures by page index, on transparent ground, for the screen of one widget."""

    def __init__(self, widget: QWidget) -> None:
        self._widget = widget
        self._ink = LIGHT
        self._notes: dict[int, QPixmap] = {}
        self._wholes: dict[int, _Whole] = {}

    def clear(self) -> None:
        """Let all go."""
        self._notes.clear()
        self._wholes.clear()

    def let_go(self, page: Page) -> None:
        """Let the pictures of one page go."""
        self._notes.pop(page.index, None)
        self._wholes.pop(page.index, None)

    def set_ink(self, ink: Ink) -> None:
        """Paint in another colour from now on."""
        self._ink = ink
        self.clear()

    def has(self, page_painter: PagePainter, zoom: float, parts: Sequence[PagePart]) -> bool:
        """Whether the pictures for a zoom are there, or would be too large to keep."""
        width, height = self._size(page_painter, zoom)
        if width * height > LARGEST:
            return True
        at = page_painter.page.index
        notes, whole = self._notes.get(at), self._wholes.get(at)
        if notes is None or notes.width() != width:
            return False
        if not parts or width * height > LARGEST_WHOLE:
            return True
        return whole is not None and whole.notes is notes and whole.parts == tuple(parts)

    def notes(
        self, page_painter: PagePainter, zoom: float, *, stretched: bool = False
    ) -> QPixmap | None:
        """The notes of a page at a zoom, in pixels a unit; None if it is too large to keep.

        With ``stretched`` a picture made for another zoom will do.
        """
        page = page_painter.page
        width, height = self._size(page_painter, zoom)
        picture = self._notes.pop(page.index, None)
        if picture is None or not (stretched or picture.width() == width):
            self._wholes.pop(page.index, None)
            if width * height > LARGEST:
                return None
            ratio = self._widget.devicePixelRatioF()
            picture = QPixmap(width, height)
            picture.fill(Qt.GlobalColor.transparent)
            painter = QPainter(picture)
            painter.scale(zoom * ratio, zoom * ratio)
            page_painter.paint(painter, Ink(self._ink.colour))
            painter.end()
            picture.setDevicePixelRatio(ratio)
            self._notes[page.index] = picture
            self._drop()
        self._notes[page.index] = picture  # the last one used stands last
        return picture

    def whole(
        self,
        page_painter: PagePainter,
        zoom: float,
        parts: Sequence[PagePart],
        *,
        stretched: bool = False,
    ) -> QPixmap | None:
        """The notes of a page with the parts over them; None if it is too large to keep."""
        notes = self.notes(page_painter, zoom, stretched=stretched)
        if notes is None or notes.width() * notes.height() > LARGEST_WHOLE:
            return None
        parts = tuple(parts)
        if not parts:
            return notes
        at = page_painter.page.index
        before = self._wholes.get(at)
        if before is not None and before.notes is notes:
            if before.parts != parts:
                changed = set(before.parts).symmetric_difference(parts)
                _paint_again(before.picture, page_painter.page, notes, parts, changed)
        else:
            before = self._wholes[at] = _Whole(notes, (), notes.copy())
            _paint_again(before.picture, page_painter.page, None, parts, parts)
            self._drop()
        self._wholes[at] = _Whole(notes, parts, before.picture)
        return before.picture

    def lay_down(
        self,
        painter: QPainter,
        page_painter: PagePainter,
        origin: QPointF,
        zoom: float,
        parts: Sequence[PagePart],
        exposed: QRectF,
        *,
        stretched: bool = False,
    ) -> None:
        """Show a page with its upper left corner at a point, painted anew where it is too large.

        Parameters
        ----------
        exposed
            In page units, what must be shown at least.
        stretched
            Whether pictures made for another zoom will do.
        """
        page = page_painter.page
        box = QRectF(origin.x(), origin.y(), page.width * zoom, page.height * zoom)
        whole = self.whole(page_painter, zoom, parts, stretched=stretched)
        if whole is not None:
            _lay_down(painter, whole, box)
            return
        notes = self.notes(page_painter, zoom, stretched=stretched)
        if notes is not None:
            _lay_down(painter, notes, box)
        painter.save()
        painter.translate(origin)
        painter.scale(zoom, zoom)
        if notes is None:
            page_painter.paint(painter, Ink(self._ink.colour), exposed)
        for part in parts:
            part.paint(painter, exposed)
        painter.restore()

    def _size(self, page_painter: PagePainter, zoom: float) -> tuple[int, int]:
        """Width and height of a page's picture in device pixels."""
        scale = zoom * self._widget.devicePixelRatioF()
        return round(page_painter.page.width * scale), round(page_painter.page.height * scale)

    def _drop(self) -> None:
        """Let go of the pages not used for longest, down to the limit."""
        sizes = {at: kept.width() * kept.height() for at, kept in self._notes.items()}
        for at in self._wholes:
            sizes[at] *= 2
        while sum(sizes.values()) > MOST and len(sizes) > 1:
            oldest = next(iter(sizes))
            del sizes[oldest], self._notes[oldest]
            self._wholes.pop(oldest, None)


def _lay_down(painter: QPainter, picture: QPixmap, box: QRectF) -> None:
    """A page's picture in its place, stretched where it was made for another zoom."""
    if abs(picture.deviceIndependentSize().width() - box.width()) < 1:
        painter.drawPixmap(box.topLeft(), picture)
    else:
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.drawPixmap(box, picture, QRectF(picture.rect()))


def _paint_again(
    picture: QPixmap,
    page: Page,
    notes: QPixmap | None,
    parts: Iterable[PagePart],
    changed: Iterable[PagePart],
) -> None:
    """Paint what the changed parts cover, over the notes where the picture has more than those."""
    # Pixels are counted as they are, so that edges of what is painted again fall between two.
    ratio = picture.devicePixelRatio()
    picture.setDevicePixelRatio(1.0)
    zoom = QTransform.fromScale(picture.width() / page.width, picture.height() / page.height)
    region = QRegion()
    for part in changed:
        region |= QRegion(zoom.mapRect(part.box).toAlignedRect())
    painter = QPainter(picture)
    painter.setClipRegion(region)
    if notes is not None:
        painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Source)
        painter.drawPixmap(QRectF(picture.rect()), notes, QRectF(notes.rect()))
        painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_SourceOver)
    painter.setTransform(zoom)
    exposed = zoom.inverted()[0].mapRect(QRectF(region.boundingRect()))
    for part in parts:
        part.paint(painter, exposed)
    painter.end()
    picture.setDevicePixelRatio(ratio)
