"""The whole piece beside a timeline that shows a part of it: a click or a drag goes there."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from app.interface_words import said
from app.review.document import Document
from app.review.section_edits import sections_of
from app.views.looks import LIGHT, Look
from app.views.timeline_scale import Scale

WIDTH = 14


class TimelineOverview(QWidget):
    """Sections as ticks from top to bottom, and a frame around what is in view."""

    #: The middle of what shall be in view, as a share of the whole, 0 to 1.
    share_requested = Signal(float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(said("The whole piece"))
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self._look = LIGHT
        self._document: Document | None = None
        self._scale = Scale(0.0, 1.0, ())
        self._view = (0.0, 1.0)
        self._selected: tuple[float, float] | None = None

    def sizeHint(self) -> QSize:
        """Narrow."""
        return QSize(WIDTH, 200)

    def set_look(self, look: Look) -> None:
        """Paint in other colours."""
        self._look = look
        self.update()

    def show_state(
        self,
        document: Document | None,
        scale: Scale,
        view: tuple[float, float],
        selected: tuple[float, float] | None,
    ) -> None:
        """Show a piece, the part in view and the selected part, as shares of the whole."""
        before = self._document, self._scale, self._view, self._selected
        if before != (document, scale, view, selected):
            self._document, self._scale = document, scale
            self._view, self._selected = view, selected
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint it all."""
        painter = QPainter(self)
        look, height = self._look, float(self.height())
        painter.fillRect(self.rect(), QColor(look.frame))
        painter.setPen(QColor(look.rule))
        painter.drawLine(QPointF(0.5, 0), QPointF(0.5, height))
        if self._selected:
            top, bottom = self._selected
            box = QRectF(1, top * height, WIDTH - 1, max(2.0, (bottom - top) * height))
            painter.fillRect(box, QColor(look.wash))
        length = float(self._scale.length) or 1.0
        if self._document:
            for run in self._scale.runs:
                for section in sections_of(self._document):
                    if section.span.overlaps(run.written):
                        into = max(float(section.span.start - run.written.start), 0.0)
                        y = (float(run.at) + into) / length * height
                        colour = self._document.section_colours.get(section.label, look.quiet)
                        painter.setPen(QPen(QColor(colour), 1.6))
                        painter.drawLine(QPointF(3, y + 1), QPointF(WIDTH - 3, y + 1))
        top, bottom = self._view
        painter.setPen(QPen(QColor(look.accent), 1.4))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        box = QRectF(1.5, top * height + 0.5, WIDTH - 3, max((bottom - top) * height - 1, 6.0))
        painter.drawRoundedRect(box, 2, 2)
        painter.end()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Go there."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._ask(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the pointer."""
        if event.buttons() & Qt.MouseButton.LeftButton:
            self._ask(event)

    def _ask(self, event: QMouseEvent) -> None:
        self.share_requested.emit(min(max(event.position().y() / max(self.height(), 1), 0.0), 1.0))
