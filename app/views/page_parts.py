"""A part of what lies over a page, made ready for painting.

Parts are compared by identity: what has changed is another part, so that whoever keeps a picture of
a page knows what to paint again.
"""

from __future__ import annotations

from itertools import groupby
from typing import Final

from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QPainter

from app.engraving.bounds import to_box
from app.engraving.labels import Overlay
from app.engraving.painting import Drawing
from app.engraving.palettes import Palette

#: Room around what is painted, for smooth edges, in page units.
AIR: Final = 8.0


class PagePart:
    """What one overlay paints, in the colours of a palette.

    Parameters
    ----------
    overlay
        What lies over a page, or a part of that.
    palette
        Its colours.
    """

    def __init__(self, overlay: Overlay, palette: Palette) -> None:
        self.overlay = overlay
        #: Shapes of one tone after another, in painting order.
        self._runs = [
            (QColor(palette.colour(tone)), Drawing(stroke.shape for stroke in run))
            for tone, run in groupby(overlay.strokes, key=lambda stroke: stroke.tone)
        ]
        #: What is painted, with some air; empty where nothing is.
        self.box = QRectF()
        for _, drawing in self._runs:
            self.box |= QRectF(*to_box(drawing.edges)).adjusted(-AIR, -AIR, AIR, AIR)

    def paint(self, painter: QPainter, exposed: QRectF | None = None) -> None:
        """Paint in page units what is exposed; all for None."""
        if exposed is None or self.box.intersects(exposed):
            for colour, drawing in self._runs:
                drawing.paint(painter, colour, exposed)
