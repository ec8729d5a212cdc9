"""Labels of marks in lists, set as on the page: stacked figures, music signs."""

from __future__ import annotations

from functools import lru_cache

from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QFontInfo, QPainter

from app.engraving.metrics import CAP_HEIGHT, UNITS_PER_EM
from app.engraving.musictext import SetText, set_text
from app.engraving.painting import paint_shapes


def paint_label(painter: QPainter, box: QRectF, text: str, colour: QColor) -> bool:
    """Paint a label at the left of a box in the painter's text size; False if it has no room."""
    size = QFontInfo(painter.font()).pixelSize()
    label = _set(text, size)
    if label.width > box.width():
        return False
    baseline = box.center().y() + CAP_HEIGHT / UNITS_PER_EM * size / 2
    paint_shapes(painter, label.shapes(box.x(), baseline), colour)
    return True


@lru_cache(maxsize=2048)
def _set(text: str, size: int) -> SetText:
    return set_text(text, float(size), "semibold")
