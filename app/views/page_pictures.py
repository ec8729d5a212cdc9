"""Pages painted once for a zoom and kept as pictures, as many as fit into a limit."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter, QPixmap
from PySide6.QtWidgets import QWidget

from app.engraving.painting import LIGHT, Ink, PagePainter

#: Device pixels of the largest page that is kept, and of all pages kept together.
LARGEST: Final = 16_000_000
MOST: Final = 48_000_000


class PagePictures:
    """Pictures by page index, on transparent ground, for the screen of one widget."""

    def __init__(self, widget: QWidget) -> None:
        self._widget = widget
        self._ink = LIGHT
        self._pictures: dict[int, QPixmap] = {}

    def clear(self) -> None:
        """Let all go."""
        self._pictures.clear()

    def set_ink(self, ink: Ink) -> None:
        """Paint in another colour from now on."""
        self._ink = ink
        self.clear()

    def has(self, page_painter: PagePainter, zoom: float) -> bool:
        """Whether a picture for a zoom is there, or would be too large to keep."""
        width, height = self._size(page_painter, zoom)
        picture = self._pictures.get(page_painter.page.index)
        return (picture is not None and picture.width() == width) or width * height > LARGEST

    def picture(
        self, page_painter: PagePainter, zoom: float, *, stretched: bool = False
    ) -> QPixmap | None:
        """The notes of a page at a zoom, in pixels a unit; None if it is too large to keep.

        With ``stretched`` a picture made for another zoom will do.
        """
        page = page_painter.page
        scale = zoom * self._widget.devicePixelRatioF()
        width, height = self._size(page_painter, zoom)
        picture = self._pictures.pop(page.index, None)
        if picture is None or not (stretched or picture.width() == width):
            if width * height > LARGEST:
                return None
            picture = QPixmap(width, height)
            picture.fill(Qt.GlobalColor.transparent)
            painter = QPainter(picture)
            painter.scale(scale, scale)
            page_painter.paint(painter, Ink(self._ink.colour))
            painter.end()
            picture.setDevicePixelRatio(self._widget.devicePixelRatioF())
        self._pictures[page.index] = picture  # the last one used stands last
        self._drop()
        return picture

    def _size(self, page_painter: PagePainter, zoom: float) -> tuple[int, int]:
        """Width and height of a page's picture in device pixels."""
        scale = zoom * self._widget.devicePixelRatioF()
        return round(page_painter.page.width * scale), round(page_painter.page.height * scale)

    def _drop(self) -> None:
        """Let go of the pictures not used for longest, down to the limit."""
        sizes = {at: kept.width() * kept.height() for at, kept in self._pictures.items()}
        while sum(sizes.values()) > MOST and len(sizes) > 1:
            oldest = next(iter(sizes))
            del sizes[oldest], self._pictures[oldest]
