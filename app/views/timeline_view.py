"""The timeline: the form of the piece running down beside the score, measures to scale.

Sections, keys and marks stand at their time. The functions of the chords are letters on three
rails, tonic, subdominant and dominant, joined by a thread, so that the course of the harmony is a
line with a shape. A frame on the measure numbers says what the score shows at the moment.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QToolTip, QWidget

from analysis.marks import MarkKind
from analysis.timebase import Offset, Span
from app.review.document import Document
from app.review.selection import NOTHING, Selection
from app.views.looks import LIGHT, Look
from app.views.places import element_text, place_text, span_text
from app.views.selections import (
    selection_at,
    selection_of_mark,
    selection_of_section,
)
from app.views.signs import KIND_NAMES
from app.views.timeline_layout import (
    LANE,
    Columns,
    LaneSign,
    Scale,
    lane_kinds,
    lane_signs,
    measures_span,
)
from app.views.timeline_painting import TimelinePainter
from app.views.typing_line import Check, Take, TypingLine

#: Pixels a quarter note at most, and how much one step of the wheel changes.
MOST_RATE: Final = 60.0
ZOOM_STEP: Final = 1.2


class TimelineView(QAbstractScrollArea):
    """Shows where in time everything is; asks for selections and for the score to scroll."""

    selection_requested = Signal(object)
    place_requested = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Timeline")
        self.setAccessibleDescription("Sections, keys, functions and marks over time")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
        self.viewport().setMouseTracking(True)
        self._look = LIGHT
        self._document: Document | None = None
        self._selection = NOTHING
        self._shown: Span | None = None
        self._rate = 0.0
        self._fits = True
        self._signs: tuple[LaneSign, ...] = ()
        self._kinds: tuple[MarkKind, ...] = ()
        self._drag_from: Offset | None = None
        self.typing = TypingLine(self.viewport())
        self.typing.closed.connect(self.setFocus)
        self.verticalScrollBar().valueChanged.connect(self.typing.drop)

    def show_document(self, document: Document | None) -> None:
        """Show another document, or another state of the same one."""
        is_other = document is None or self._document is None
        is_other = is_other or document.score is not self._document.score  # type: ignore[union-attr]
        self._document = document
        self._kinds = lane_kinds(document) if document else ()
        if is_other:
            self._fits = True
        self._arrange()

    def show_selection(self, selection: Selection) -> None:
        """Mark the selected place, and bring it into view."""
        self._selection = selection
        if selection.span is not None:
            self._reveal(selection.span)
        self.viewport().update()

    def show_place(self, span: Span | None) -> None:
        """Frame the stretch that the score shows."""
        self._shown = span
        self.viewport().update()

    def set_look(self, look: Look) -> None:
        """Paint in other colours."""
        self._look = look
        self.viewport().update()

    def ask_text(self, span: Span, what: str, text: str, check: Check, take: Take) -> None:
        """Let the user type something about a place."""
        self._reveal(span)
        at = QPoint(round(self.columns.sections), round(self.scale.y(span.start) + 0.2 * self._em))
        self.typing.ask(at, what, text, check, take)

    def zoom_in(self) -> None:
        """Show less time in more detail."""
        self._zoom(ZOOM_STEP, self.viewport().height() / 2)

    def zoom_out(self) -> None:
        """Show more time."""
        self._zoom(1 / ZOOM_STEP, self.viewport().height() / 2)

    def fit(self) -> None:
        """Show the whole piece."""
        self._fits = True
        self._arrange()

    @property
    def columns(self) -> Columns:
        """Where the columns stand."""
        return Columns(self._em, self._kinds)

    @property
    def scale(self) -> Scale:
        """Where times stand in the viewport."""
        return Scale(self._head - self.verticalScrollBar().value(), self._rate)

    def sizeHint(self) -> QSize:
        """As wide as the columns."""
        return QSize(int(self.columns.width + 2 * self._em), 400)

    @property
    def _em(self) -> float:
        return float(self.fontMetrics().height()) * 0.86

    @property
    def _head(self) -> float:
        """Height of the heading, which stays where it is."""
        return 2.0 * self._em

    def _arrange(self) -> None:
        """Work out scale and scroll range after a change of size, zoom or document."""
        length = float(self._document.score.end) if self._document else 0.0
        room = self.viewport().height() - self._head - self._em
        least = self._least_rate()
        if self._fits and length:
            # A piece too long to fit legibly is shown at the least legible scale and scrolls.
            self._rate = min(MOST_RATE, max(least, room / length))
        self._rate = max(self._rate, room / length if length else 1.0, 0.01)
        height = self._rate * length
        bar = self.verticalScrollBar()
        bar.setRange(0, max(0, round(height - room)))
        bar.setPageStep(max(1, round(room)))
        bar.setSingleStep(max(1, round(2 * self._em)))
        across = self.horizontalScrollBar()
        across.setRange(0, max(0, round(self.columns.width - self.viewport().width())))
        across.setPageStep(self.viewport().width())
        self._signs = ()
        if self._document:
            self._signs = lane_signs(self._document, Scale(0.0, self._rate), self._em)
        self.updateGeometry()
        self.viewport().update()

    def _least_rate(self) -> float:
        """The scale at which a measure still has the height of half a line of text."""
        if not self._document or not self._document.score.measures:
            return 1.0
        lengths = sorted(measure.length for measure in self._document.score.measures)
        return 0.6 * self._em / max(float(lengths[len(lengths) // 2]), 0.25)

    def _zoom(self, factor: float, y: float) -> None:
        """Change the scale; the time at height ``y`` stays there."""
        if not self._document:
            return
        held = self.scale.offset(y)
        self._fits = False
        self._rate = min(MOST_RATE, self._rate * factor)
        self._arrange()
        self.verticalScrollBar().setValue(round(self._head + float(held) * self._rate - y))

    def _reveal(self, span: Span) -> None:
        bar = self.verticalScrollBar()
        scale = self.scale
        top, bottom = scale.y(span.start), scale.y(span.end)
        if top < self._head or min(bottom, top + self._em) > self.viewport().height():
            middle = (self._head + self.viewport().height()) / 2
            bar.setValue(bar.value() + round(top - middle))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint what is visible."""
        painter = QPainter(self.viewport())
        painter.fillRect(event.rect(), QColor(self._look.frame))
        if self._document and self._document.score.measures:
            painter.translate(-self.horizontalScrollBar().value(), 0)
            TimelinePainter(
                painter=painter,
                font=self.font(),
                look=self._look,
                document=self._document,
                columns=self.columns,
                scale=self.scale,
                signs=self._signs,
                selection=self._selection,
                shown=self._shown,
                head=self._head,
                height=float(self.viewport().height()),
            ).paint()
        if self.hasFocus():
            painter.resetTransform()
            painter.setPen(QPen(QColor(self._look.accent), 1))
            painter.drawRect(QRectF(self.viewport().rect()).adjusted(0.5, 0.5, -0.5, -0.5))
        painter.end()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the whole piece in view where it was."""
        super().resizeEvent(event)
        self._arrange()

    def changeEvent(self, event: QEvent) -> None:
        """Follow a change of the text size."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._arrange()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom at the pointer with Ctrl, else scroll."""
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            steps = event.angleDelta().y() / 120
            self._zoom(ZOOM_STEP**steps, event.position().y())
            event.accept()
        else:
            super().wheelEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Select what is under the pointer; a drag from there selects whole measures."""
        if event.button() != Qt.MouseButton.LeftButton or not self._document:
            return
        at = self._content_point(event.position())
        if at.y() < self._head:
            return
        self._drag_from = self.scale.offset(at.y())
        selection = self._selection_at(at)
        if selection is not None:
            self.selection_requested.emit(selection)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Extend the selected stretch measure by measure."""
        if self._document is None or self._drag_from is None:
            return
        if not event.buttons() & Qt.MouseButton.LeftButton:
            return
        offset = self.scale.offset(event.position().y())
        span = measures_span(self._document, self._drag_from, offset)
        if offset not in measures_span(self._document, self._drag_from, self._drag_from):
            self.selection_requested.emit(Selection(span=span))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End the drag."""
        self._drag_from = None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go by measures with the arrow keys, by sections with the page keys; Shift extends."""
        steps = {
            Qt.Key.Key_Down: (1, False),
            Qt.Key.Key_Up: (-1, False),
            Qt.Key.Key_PageDown: (1, True),
            Qt.Key.Key_PageUp: (-1, True),
        }
        step = steps.get(Qt.Key(event.key()))
        if step is None or self._document is None or not self._document.score.measures:
            super().keyPressEvent(event)
            return
        extend = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        self.selection_requested.emit(Selection(span=self._moved_span(*step, extend=extend)))

    def _moved_span(self, step: int, by_section: bool, *, extend: bool) -> Span:
        assert self._document
        score = self._document.score
        now = self._selection.span
        if now is None:
            return score.measures[0].span
        spans = [section.span for section in self._document.analysis.sections]
        if not by_section or not spans:
            spans = [measure.span for measure in score.measures]
        last_moment = max(now.start, now.end - Fraction(1, 1024))
        edge = last_moment if extend and step > 0 else now.start
        at = next((i for i, span in enumerate(spans) if edge in span), 0)
        target = spans[min(max(at + step, 0), len(spans) - 1)]
        if not extend:
            return target
        return Span(min(now.start, target.start), max(now.end, target.end))

    def viewportEvent(self, event: QEvent) -> bool:
        """Say what is under the pointer."""
        if isinstance(event, QHelpEvent):
            text = self._tip(self._content_point(QPointF(event.pos())))
            if text:
                QToolTip.showText(event.globalPos(), text, self)
            else:
                QToolTip.hideText()
            return True
        return super().viewportEvent(event)

    def _content_point(self, point: QPointF) -> QPointF:
        return point + QPointF(QPoint(self.horizontalScrollBar().value(), 0))

    def _sign_at(self, point: QPointF) -> LaneSign | None:
        """The sign under a point, or else the one whose stretch is."""
        columns, em = self.columns, self._em
        y = point.y() - self.scale.top
        in_lane = [
            sign
            for sign in self._signs
            if abs(columns.lane(sign.mark.mark.kind) - point.x()) < LANE / 2 * em
        ]
        near = [sign for sign in in_lane if abs(sign.y - y) < 0.8 * em]
        if near:
            return min(near, key=lambda sign: abs(sign.y - y))
        over = [sign for sign in in_lane if any(a <= y < b for a, b in sign.stretches)]
        return over[0] if over else None

    def _selection_at(self, point: QPointF) -> Selection | None:
        assert self._document
        columns, offset = self.columns, self.scale.offset(point.y())
        if offset >= self._document.score.end:
            return None
        if point.x() >= columns.lanes:
            sign = self._sign_at(point)
            return selection_of_mark(sign.mark) if sign else None
        if point.x() >= columns.rails:
            return selection_at(self._document, offset)
        if point.x() >= columns.keys:
            for reviewed in self._document.marks():
                if reviewed.mark.kind == "key" and offset in reviewed.mark.span:
                    return selection_of_mark(reviewed)
        elif point.x() >= columns.sections:
            for section in self._document.analysis.sections:
                if offset in section.span:
                    return selection_of_section(self._document, section)
        return Selection(span=self._document.score.measure_at(offset).span)

    def _tip(self, point: QPointF) -> str:
        if not self._document or not self._document.score.measures:
            return ""
        columns, score = self.columns, self._document.score
        if point.y() < self._head:
            for kind in columns.kinds:
                if abs(columns.lane(kind) - point.x()) < LANE / 2 * self._em:
                    return KIND_NAMES[kind]
            return ""
        offset = self.scale.offset(point.y())
        if offset >= score.end:
            return ""
        if point.x() >= columns.lanes:
            sign = self._sign_at(point)
            if sign:
                return f"{span_text(score, sign.mark.mark.span)}: {sign.mark.sentence}"
        elif point.x() >= columns.rails:
            for fact in self._document.analysis.chords:
                if offset in fact.span and fact.numeral:
                    return element_text(self._document, fact.symbol)
        elif point.x() >= columns.sections:
            for section in self._document.analysis.sections:
                if offset in section.span:
                    return f"{section.name or section.label}, {span_text(score, section.span)}"
        return place_text(score, offset)
