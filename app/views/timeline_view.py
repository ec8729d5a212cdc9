"""The timeline at work: what mouse and keys do on it.

A click selects, a drag selects measures or moves the border of a section from barline to barline,
with Ctrl from beat to beat; the keyboard does the same.
"""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt, Signal
from PySide6.QtGui import QHelpEvent, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QToolTip, QWidget

from analysis.timebase import Fraction, Offset, Span
from app.review.section_edits import MoveBorder, sections_of
from app.review.selection import Selection
from app.views.timeline_frame import TimelineFrame
from app.views.timeline_layout import measures_span, snapped
from app.views.timeline_painting import Dragged

_MOMENT: Final = Fraction(1, 1024)


class TimelineView(TimelineFrame):
    """Asks for selections and for edits of sections."""

    selection_requested = Signal(object)
    edit_requested = Signal(object)
    #: A double click selected something; its words shall be typed.
    rename_requested = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._drag_from: Offset | None = None
        self._pan_from: QPointF | None = None

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of a border or of the timeline itself, or select what is there."""
        if event.button() == Qt.MouseButton.MiddleButton:
            self._pan_from = event.position()
        if event.button() != Qt.MouseButton.LeftButton or not self._document or not self._runs:
            return
        at = self._content_point(event.position())
        if at.y() < self._head:
            return
        border = self.places.border_at(at.x(), at.y())
        if border is not None:
            self._border = Dragged(border, sections_of(self._document)[border].span.start)
            return
        self._drag_from = self.scale.offset(at.y())
        selection = self.places.selection(at.x(), at.y())
        if selection is not None:
            self.selection_requested.emit(selection)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag a border, the timeline, or a selection measure by measure."""
        if self._document is None or not self._runs:
            return
        at = self._content_point(event.position())
        if self._pan_from is not None:
            moved = event.position() - self._pan_from
            self._pan_from = event.position()
            bar = self.verticalScrollBar()
            bar.setValue(bar.value() - round(moved.y()))
        elif self._border is not None:
            beats = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
            to = snapped(self._document, self.scale.offset(at.y()), beats=beats)
            self._border = Dragged(self._border.index, self._between(self._border.index, to))
            self.viewport().update()
        elif self._drag_from is not None and event.buttons() & Qt.MouseButton.LeftButton:
            offset = self.scale.offset(at.y())
            span = measures_span(self._document, self._drag_from, offset)
            if offset not in measures_span(self._document, self._drag_from, self._drag_from):
                self.selection_requested.emit(Selection(span=span))
        else:
            on_border = self.places.border_at(at.x(), at.y()) is not None
            shape = Qt.CursorShape.SizeVerCursor if on_border else Qt.CursorShape.ArrowCursor
            self.viewport().setCursor(shape)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End the drag; a border that was dragged is moved in one step."""
        dragged, self._border = self._border, None
        self._drag_from = self._pan_from = None
        if dragged is not None and self._document is not None:
            before = sections_of(self._document)[dragged.index].span.start
            at = self._content_point(event.position())
            selection = self.places.selection(at.x(), at.y())
            if dragged.to != before:
                self.edit_requested.emit(MoveBorder(dragged.index, dragged.to))
            elif selection is not None:  # a click beside a border means what is there
                self.selection_requested.emit(selection)
            self.viewport().update()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Type what was clicked twice: a section's name or a key."""
        at = self._content_point(event.position())
        self._border = None
        if self._document and self._runs and self._head <= at.y() < self.scale.bottom:
            selection = self.places.selection(at.x(), at.y())
            if selection is not None and at.x() < self.columns.rails:
                self.selection_requested.emit(selection)
                self.rename_requested.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go by measures with the arrow keys, by sections with the page keys; Shift extends.

        With Alt the arrow keys move the border before the selected section, with Ctrl and Alt by
        beats. Home and End go to the ends of the piece.
        """
        if self._document is None or not self._document.score.measures:
            super().keyPressEvent(event)
            return
        down = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1}.get(Qt.Key(event.key()))
        page = {Qt.Key.Key_PageDown: 1, Qt.Key.Key_PageUp: -1}.get(Qt.Key(event.key()))
        extend = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        if down and event.modifiers() & Qt.KeyboardModifier.AltModifier:
            beats = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
            self._move_border(down, beats=beats)
        elif down or page:
            span = self._moved_span(down or page or 1, by_section=not down, extend=extend)
            self.selection_requested.emit(Selection(span=span))
        elif event.key() in (Qt.Key.Key_Home, Qt.Key.Key_End):
            at = 0 if event.key() == Qt.Key.Key_Home else -1
            self.selection_requested.emit(Selection(span=self._document.score.measures[at].span))
        else:
            super().keyPressEvent(event)

    def viewportEvent(self, event: QEvent) -> bool:
        """Say what is under the pointer."""
        if isinstance(event, QHelpEvent):
            at = self._content_point(QPointF(event.pos()))
            text = self.places.tip(at.x(), at.y()) if self._document and self._runs else ""
            if text:
                QToolTip.showText(event.globalPos(), text, self)
            else:
                QToolTip.hideText()
            return True
        return super().viewportEvent(event)

    def _content_point(self, point: QPointF) -> QPointF:
        return point + QPointF(QPoint(self.horizontalScrollBar().value(), 0))

    def _between(self, index: int, to: Offset) -> Offset:
        """A place for a border that leaves both its sections at least a moment."""
        assert self._document
        sections = sections_of(self._document)
        low, high = sections[index - 1].span.start, sections[index].span.end
        return to if low < to < high else sections[index].span.start

    def _move_border(self, step: int, *, beats: bool) -> None:
        """Move the border before the section that holds the selection."""
        assert self._document
        span = self._selection.span
        sections = sections_of(self._document)
        index = next((i for i, one in enumerate(sections) if span and span.start in one.span), 0)
        if not index:
            return
        start = sections[index].span.start
        near = start if step > 0 else start - _MOMENT
        measure = self._document.score.measure_at(near)
        to = start + step * (measure.meter.beat if beats else measure.length)
        to = self._between(index, to)
        if to != start:
            self.edit_requested.emit(MoveBorder(index, to))
            self.selection_requested.emit(Selection(span=self._document.score.measure_at(to).span))

    def _moved_span(self, step: int, *, by_section: bool, extend: bool) -> Span:
        assert self._document
        score = self._document.score
        now = self._selection.span
        if now is None:
            return score.measures[0].span
        spans = [section.span for section in sections_of(self._document)]
        if not by_section or not spans:
            spans = [measure.span for measure in score.measures]
        last_moment = max(now.start, now.end - _MOMENT)
        edge = last_moment if extend and step > 0 else now.start
        at = next((i for i, span in enumerate(spans) if edge in span), 0)
        target = spans[min(max(at + step, 0), len(spans) - 1)]
        if not extend:
            return target
        return Span(min(now.start, target.start), max(now.end, target.end))
