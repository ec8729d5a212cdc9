"""The engraved score with the marks on it, as a column of pages.

A page is painted once for a zoom and kept as a picture; marks and the selection are painted over
it, so that selecting, accepting and rejecting never paint notes again. While zooming the old
picture is stretched, and painted anew when the zoom rests. Pages too large to keep are painted
where exposed.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import (
    QColor,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QTransform,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QToolTip, QWidget

from analysis.timebase import Offset, Span
from app.engraving.pages import Box, Page
from app.engraving.painting import Ink, PagePainter
from app.review.document import Document
from app.review.selection import NOTHING, Selection
from app.views.hits import Hit
from app.views.looks import LIGHT, Look
from app.views.page_column import (
    ACTUAL_SIZE,
    PageColumn,
    element_at,
    fitting_zoom,
    offset_at,
    page_of,
    shown_span,
    span_boxes,
)
from app.views.page_marks import Layers, PageMarks
from app.views.page_pictures import PagePictures
from app.views.timeline_layout import measures_span

ZOOM_STEP: Final = 1.2
LEAST_ZOOM: Final = 0.25 * ACTUAL_SIZE
MOST_ZOOM: Final = 8 * ACTUAL_SIZE


class ScoreView(QAbstractScrollArea):
    """Shows pages, marks and the selection; asks for selections."""

    selection_requested = Signal(object)
    #: The stretch of time in view, a `Span` or None.
    place_changed = Signal(object)
    #: The zoom in per cent of the actual size.
    zoom_changed = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Score")
        self.setAccessibleDescription("The engraved score with the marks on it")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.viewport().setMouseTracking(True)
        self._look = LIGHT
        self._painters: list[PagePainter] = []
        self._pages: list[Page] = []
        self._pictures = PagePictures(self)
        self._document: Document | None = None
        self._elements: frozenset[str] = frozenset()
        self._selection = NOTHING
        self._hovered = ""
        self.marks = PageMarks()
        self._zoom = ACTUAL_SIZE
        self._fits_width = True
        self._drag_from: Offset | None = None
        self._pan_from: QPointF | None = None
        self._resting = QTimer(self, singleShot=True, interval=120)
        self._resting.timeout.connect(self.viewport().update)
        for bar in (self.verticalScrollBar(), self.horizontalScrollBar()):
            bar.valueChanged.connect(self._tell_place)

    def show_pages(self, pages: tuple[Page, ...]) -> None:
        """Show other pages, from the first one on; none to take all away."""
        self._pages = list(pages)
        self._painters = [PagePainter(page) for page in pages]
        self._pictures.clear()
        self.marks.show_pages()
        self._arrange()
        if not pages:
            self.verticalScrollBar().setValue(0)

    def add_page(self, page: Page) -> None:
        """Add a page below the others."""
        self._pages.append(page)
        self._painters.append(PagePainter(page))
        self._arrange()

    @property
    def pages(self) -> tuple[Page, ...]:
        """The pages that are shown."""
        return tuple(self._pages)

    def show_document(self, document: Document | None) -> None:
        """Show the marks of a document."""
        if document is None:
            self._elements = frozenset()
        elif self._document is None or document.score is not self._document.score:
            notes = {note.id for part in document.score.parts for note in part.notes}
            self._elements = frozenset(notes | {s.id for s in document.score.chord_symbols})
        self._document = document
        self.marks.show_document(document)
        self.viewport().update()
        self._tell_place()

    def show_selection(self, selection: Selection) -> None:
        """Light what is selected, and bring it into view."""
        self._selection = selection
        if selection.span is not None:
            self.show_place(selection.span)
        self.viewport().update()

    def show_place(self, span: Span) -> None:
        """Scroll to where a span begins, unless it is in view."""
        if not self._document or not self._document.score.measures:
            return
        score = self._document.score
        page = page_of(self._pages, score, span)
        box = next(iter(span_boxes(score, page, span)), None) if page else None
        if page and box:
            self._scroll_to(self.column.to_column(page, box))

    def set_layers(self, layers: Layers) -> None:
        """Show or hide kinds of mark."""
        self.marks.set_layers(layers)
        self.viewport().update()

    def set_look(self, look: Look) -> None:
        """Paint in other colours."""
        self._look = look
        self.marks.set_look(look)
        self._pictures.set_ink(Ink(look.ink))
        self.viewport().update()

    @property
    def zoom(self) -> int:
        """Zoom in per cent of the actual size."""
        return round(self._zoom / ACTUAL_SIZE * 100)

    def zoom_in(self) -> None:
        """Enlarge the score about its middle."""
        self._zoom_to(self._zoom * ZOOM_STEP, self._middle())

    def zoom_out(self) -> None:
        """Make the score smaller about its middle."""
        self._zoom_to(self._zoom / ZOOM_STEP, self._middle())

    def zoom_actual(self) -> None:
        """Show the score at the size of print."""
        self._zoom_to(ACTUAL_SIZE, self._middle())

    def fit_width(self) -> None:
        """Let the page be as wide as the view, now and when the view changes."""
        self._fits_width = True
        self._arrange()

    def _middle(self) -> QPointF:
        return QPointF(self.viewport().rect().center())

    def _zoom_to(self, zoom: float, held: QPointF) -> None:
        """Change the zoom; what is at ``held`` in the viewport stays there."""
        self._fits_width = False
        zoom = min(max(zoom, LEAST_ZOOM), MOST_ZOOM)
        column = self.column
        x, y = held.x() + self._left, held.y() + self._top
        at = column.to_page(x, y)
        factor = zoom / self._zoom
        self._zoom = zoom
        self._arrange()
        left, top = x * factor, y * factor
        if at:
            left, top, _, _ = self.column.to_column(at[0], (*at[1:], 0, 0))
        self.horizontalScrollBar().setValue(round(left - held.x()))
        self.verticalScrollBar().setValue(round(top - held.y()))
        self._resting.start()

    # Arrangement

    @property
    def column(self) -> PageColumn:
        """Where the pages stand."""
        return PageColumn(self._pages, self._zoom, self.viewport().width())

    @property
    def _top(self) -> int:
        return self.verticalScrollBar().value()

    @property
    def _left(self) -> int:
        return self.horizontalScrollBar().value()

    def _arrange(self) -> None:
        """Work out zoom and scroll ranges after a change of size, zoom or pages."""
        if self._fits_width and self._pages:
            zoom = min(
                max(
                    fitting_zoom(self._pages, self.viewport().width(), self.viewport().height()),
                    LEAST_ZOOM,
                ),
                MOST_ZOOM,
            )
            if abs(zoom - self._zoom) > 1e-6:
                self._zoom = zoom
                self._resting.start()
        column, size = self.column, self.viewport().size()
        down, across = self.verticalScrollBar(), self.horizontalScrollBar()
        lengths = (column.height, size.height()), (column.width, size.width())
        for bar, (length, room) in zip((down, across), lengths, strict=True):
            bar.setRange(0, max(0, round(length - room)))
            bar.setPageStep(max(1, round(room * 0.9)))
            bar.setSingleStep(40)
        self.zoom_changed.emit(self.zoom)
        self.viewport().update()
        self._tell_place()

    def _scroll_to(self, box: Box) -> None:
        """Bring a box of the column into view, with some room around it."""
        x, y, width, height = box
        room = self.viewport().height()
        if y < self._top or y + min(height, room * 0.9) > self._top + room:
            self.verticalScrollBar().setValue(round(y - max(24.0, (room - height) / 3)))
        across = self.viewport().width()
        if x < self._left or x + min(width, across * 0.9) > self._left + across:
            self.horizontalScrollBar().setValue(round(x - across / 4))

    def _tell_place(self) -> None:
        """Say what stretch of time is in view: the systems of which the middle is."""
        if self._document is None:
            self.place_changed.emit(None)
            return
        systems = self.column.systems(self._top, self._top + self.viewport().height())
        self.place_changed.emit(shown_span(self._document.score, systems))

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the visible pages."""
        painter = QPainter(self.viewport())
        painter.fillRect(event.rect(), QColor(self._look.desk))
        bottom = self._top + self.viewport().height()
        for page, (x, y, width, height) in self.column.visible(self._top, bottom):
            # On whole pixels, so that a page's picture can be laid down as it is.
            frame = QRectF(round(x) - self._left, round(y) - self._top, width, height)
            painter.fillRect(frame, QColor(self._look.paper))
            self._paint_page(painter, page, frame, QRectF(event.rect()))
        if self.hasFocus() and self._pages:
            painter.setPen(QPen(QColor(self._look.accent), 1))
            painter.drawRect(QRectF(self.viewport().rect()).adjusted(0.5, 0.5, -0.5, -0.5))
        painter.end()

    def _paint_page(self, painter: QPainter, page: Page, frame: QRectF, exposed: QRectF) -> None:
        """Paint wash, notes, marks and lit elements of one page."""
        to_page = QTransform.fromScale(1 / self._zoom, 1 / self._zoom)
        to_page.translate(-frame.x(), -frame.y())
        on_page = to_page.mapRect(exposed.intersected(frame))
        self._within(
            painter, frame, lambda: self.marks.paint_ground(painter, page, self._selection.span)
        )
        painter_of = self._painters[page.index]
        picture = self._pictures.picture(painter_of, self._zoom, stretched=self._resting.isActive())
        if picture is None:
            ink = Ink(self._look.ink)
            self._within(painter, frame, lambda: painter_of.paint(painter, ink, on_page))
        elif abs(picture.deviceIndependentSize().width() - frame.width()) < 1:
            painter.drawPixmap(frame.topLeft(), picture)
        else:
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            painter.drawPixmap(frame, picture, QRectF(picture.rect()))
        self._within(
            painter,
            frame,
            lambda: self.marks.paint(painter, page, self._selection, self._hovered, on_page),
        )

    def _within(self, painter: QPainter, frame: QRectF, paint: Callable[[], None]) -> None:
        """Paint in the units of the page in a frame."""
        painter.save()
        painter.translate(frame.topLeft())
        painter.scale(self._zoom, self._zoom)
        paint()
        painter.restore()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit again."""
        super().resizeEvent(event)
        self._arrange()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom at the pointer with Ctrl, else scroll."""
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            steps = event.angleDelta().y() / 120
            self._zoom_to(self._zoom * ZOOM_STEP**steps, event.position())
            event.accept()
        else:
            super().wheelEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Page with the space bar and the page keys, home and end."""
        bar = self.verticalScrollBar()
        if event.key() == Qt.Key.Key_Home:
            bar.setValue(0)
        elif event.key() == Qt.Key.Key_End:
            bar.setValue(bar.maximum())
        elif event.key() == Qt.Key.Key_Space:
            back = event.modifiers() & Qt.KeyboardModifier.ShiftModifier
            bar.setValue(bar.value() + (-1 if back else 1) * bar.pageStep())
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Select what is under the pointer; with the middle button, take hold of the paper."""
        if event.button() == Qt.MouseButton.MiddleButton:
            self._pan_from = event.position()
            self.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)
        elif event.button() == Qt.MouseButton.LeftButton and self._document:
            under = self._under(event.position())
            self._drag_from = under.offset
            self.selection_requested.emit(under.selection(self._document))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag a selection over whole measures, or the paper; else show what can be clicked."""
        if self._pan_from is not None:
            moved = event.position() - self._pan_from
            self._pan_from = event.position()
            self.horizontalScrollBar().setValue(self._left - round(moved.x()))
            self.verticalScrollBar().setValue(self._top - round(moved.y()))
        elif self._drag_from is not None and event.buttons() & Qt.MouseButton.LeftButton:
            self._drag_to(event.position())
        else:
            under = self._under(event.position())
            hand, arrow = Qt.CursorShape.PointingHandCursor, Qt.CursorShape.ArrowCursor
            self.viewport().setCursor(hand if under.mark or under.element else arrow)
            self._hover(under.element if not under.mark else "")

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End a drag."""
        self._drag_from = None
        self._pan_from = None
        self.viewport().unsetCursor()

    def viewportEvent(self, event: QEvent) -> bool:
        """Say what is under the pointer."""
        if isinstance(event, QHelpEvent):
            under = self._under(QPointF(event.pos()))
            text = under.tip(self._document) if self._document else ""
            if text:
                QToolTip.showText(event.globalPos(), text, self)
            else:
                QToolTip.hideText()
            return True
        return super().viewportEvent(event)

    def leaveEvent(self, event: QEvent) -> None:
        """Nothing is under the pointer any more."""
        self._hover("")

    def _hover(self, element: str) -> None:
        if element != self._hovered:
            self._hovered = element
            self.viewport().update()

    def _drag_to(self, point: QPointF) -> None:
        assert self._document
        offset = self._under(point).offset
        if offset is None or self._drag_from is None:
            return
        if offset not in measures_span(self._document, self._drag_from, self._drag_from):
            span = measures_span(self._document, self._drag_from, offset)
            self.selection_requested.emit(Selection(span=span))

    def _under(self, point: QPointF) -> Hit:
        """What lies under a point of the viewport."""
        at = self.column.to_page(point.x() + self._left, point.y() + self._top)
        if at is None or self._document is None:
            return Hit()
        page, x, y = at
        return Hit(
            mark=self.marks.mark_at(page, x, y),
            element=element_at(page, x, y, self._elements),
            offset=offset_at(self._document.score, page, x, y),
        )
