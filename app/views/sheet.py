"""Engraved pages on a scrolling sheet: zoom, places in view, and painting from pictures.

A page is painted once for a zoom and kept as a picture, with the parts that whoever builds on this
lays over it, so that selecting, accepting and rejecting never paint notes again. While zooming
the old picture is stretched, and painted anew when the zoom rests. Pages too large to keep are
painted where exposed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Final

from PySide6.QtCore import QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import (
    QColor,
    QFocusEvent,
    QKeyEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QTransform,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QWidget

from app.engraving.layouts import STAFF_HEIGHT
from app.engraving.pages import Box, Page
from app.engraving.painting import Ink, PagePainter
from app.views.looks import LIGHT, Look
from app.views.page_column import ACTUAL_SIZE, GAP, PageColumn, Strip, fitting_zoom
from app.views.page_parts import PagePart
from app.views.page_pictures import PagePictures

ZOOM_STEP: Final = 1.2
#: Pixels around a box that has to be painted again, for frames and smooth edges.
EDGE: Final = 12
#: Height of a staff in the view that pages are made for, in lines of the view's text.
STAFF_LINES: Final = 1.85
#: Widths of pages are multiples of this, in page units, and lie between these.
SHEET_STEP: Final = 100.0
SHEET_WIDTHS: Final = (1300.0, 6000.0)
#: Milliseconds of rest after which the pages beside those in view are made ready.
AHEAD: Final = 30
LEAST_ZOOM: Final = 0.25 * ACTUAL_SIZE
MOST_ZOOM: Final = 8 * ACTUAL_SIZE


class Sheet(QAbstractScrollArea):
    """Shows pages under one another."""

    #: The zoom in per cent of the actual size.
    zoom_changed = Signal(int)
    #: Pages of another width would suit the view better.
    reflow_requested = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.viewport().setMouseTracking(True)
        # Else what stands below would be painted too, and scrolling would move no pixels.
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self._look = LIGHT
        self._painters: list[PagePainter] = []
        self._pages: list[Page] = []
        self._pictures = PagePictures(self)
        self._left_out: frozenset[str] = frozenset()
        self._cuts: Mapping[int, Sequence[tuple[float, float]]] = {}
        self._column = PageColumn((), ACTUAL_SIZE, 0)
        self._zoom = ACTUAL_SIZE
        self._fits_width = True
        self._resting = QTimer(self, singleShot=True, interval=120)
        self._resting.timeout.connect(self.viewport().update)
        self._ahead = QTimer(self, singleShot=True, interval=AHEAD)
        self._ahead.timeout.connect(self._prepare_next)
        self._sized = QTimer(self, singleShot=True, interval=400)
        self._sized.timeout.connect(self._ask_to_reflow)
        for bar in (self.verticalScrollBar(), self.horizontalScrollBar()):
            bar.valueChanged.connect(self.place_moved)

    # Pages

    def show_pages(self, pages: tuple[Page, ...]) -> None:
        """Show other pages, from the first one on; none to take all away."""
        self._pages = list(pages)
        self._make_painters()
        self._cuts = {}
        self.arrange()
        if not pages:
            self.verticalScrollBar().setValue(0)

    def add_page(self, page: Page) -> None:
        """Add a page below the others."""
        self._pages.append(page)
        self._painters.append(self._painter_for(page))
        self.arrange()

    def leave_out(self, roles: frozenset[str]) -> None:
        """Do not print shapes of these roles."""
        if roles != self._left_out:
            self._left_out = roles
            self._make_painters()
            self.viewport().update()

    def drawn(self, page: Page) -> Page:
        """The page as it is printed; whoever builds on this may print it otherwise."""
        return page

    def _make_painters(self) -> None:
        self._painters = [self._painter_for(page) for page in self._pages]
        self._pictures.clear()

    def _painter_for(self, page: Page) -> PagePainter:
        roles = self._left_out
        wanted = (lambda shape: shape.role not in roles) if roles else None
        return PagePainter(self.drawn(page), wanted)

    @property
    def pages(self) -> tuple[Page, ...]:
        """The pages that are shown."""
        return tuple(self._pages)

    def cut(self, cuts: Mapping[int, Sequence[tuple[float, float]]]) -> None:
        """Show these strips of pages only; what is at the top of the view stays there."""
        if cuts == self._cuts:
            return
        held = self.column.to_page(self.column.width / 2, self.top + 1)
        self._cuts = cuts
        self.arrange()
        if held and self.top > 0:
            _, y, _, _ = self.column.to_column(held[0], (0.0, held[2], 0.0, 0.0))
            self.verticalScrollBar().setValue(round(y))

    def set_look(self, look: Look) -> None:
        """Paint in other colours."""
        self._look = look
        self._pictures.set_ink(Ink(look.ink))
        self.viewport().update()

    # Zoom

    @property
    def zoom(self) -> int:
        """Zoom in per cent of the actual size."""
        return round(self._zoom / ACTUAL_SIZE * 100)

    @property
    def sheet_width(self) -> float:
        """The width in page units at which a page that fills the view is easy to read."""
        staff = STAFF_LINES * self.fontMetrics().height()
        width = (self.viewport().width() - 2 * GAP) * STAFF_HEIGHT / staff
        least, most = SHEET_WIDTHS
        return min(max(round(width / SHEET_STEP) * SHEET_STEP, least), most)

    def zoom_in(self) -> None:
        """Enlarge the score about its middle."""
        self.zoom_to(self._zoom * ZOOM_STEP, self._middle())

    def zoom_out(self) -> None:
        """Make the score smaller about its middle."""
        self.zoom_to(self._zoom / ZOOM_STEP, self._middle())

    def zoom_actual(self) -> None:
        """Show the score at the size of print."""
        self.zoom_to(ACTUAL_SIZE, self._middle())

    def fit_width(self) -> None:
        """Let the page be as wide as the view, now and when the view changes."""
        self._fits_width = True
        self.arrange()

    def fit_box(self, box: Box) -> None:
        """Let a box of the column fill the view as far as zoom allows."""
        x, y, width, height = box
        room = self.viewport().size()
        factor = min((room.width() - 2 * GAP) / width, (room.height() - 2 * GAP) / height)
        middle, before = (x + width / 2, y + height / 2), self._zoom
        held = self.column.to_page(*middle)
        self.zoom_to(self._zoom * factor, self._middle())
        at_x, at_y = (at * self._zoom / before for at in middle)
        if held:
            at_x, at_y, _, _ = self.column.to_column(held[0], (*held[1:], 0.0, 0.0))
        room = self.viewport().size()
        self.horizontalScrollBar().setValue(round(at_x - room.width() / 2))
        self.verticalScrollBar().setValue(round(at_y - room.height() / 2))

    def _middle(self) -> QPointF:
        return QPointF(self.viewport().rect().center())

    def zoom_to(self, zoom: float, held: QPointF) -> None:
        """Change the zoom; what is at ``held`` in the viewport stays there."""
        self._fits_width = False
        zoom = min(max(zoom, LEAST_ZOOM), MOST_ZOOM)
        x, y = held.x() + self.left, held.y() + self.top
        at = self.column.to_page(x, y)
        factor = zoom / self._zoom
        self._zoom = zoom
        self.arrange()
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
        return self._column

    @property
    def top(self) -> int:
        """Height of the column at the upper edge of the view."""
        return self.verticalScrollBar().value()

    @property
    def left(self) -> int:
        """The column's x at the left edge of the view."""
        return self.horizontalScrollBar().value()

    def arrange(self) -> None:
        """Work out zoom and scroll ranges after a change of size, zoom or pages."""
        size = self.viewport().size()
        if self._fits_width and self._pages:
            zoom = fitting_zoom(self._pages, size.width(), size.height())
            zoom = min(max(zoom, LEAST_ZOOM), MOST_ZOOM)
            if abs(zoom - self._zoom) > 1e-6:
                self._zoom = zoom
                self._resting.start()
        self._column = PageColumn(tuple(self._pages), self._zoom, size.width(), self._cuts)
        down, across = self.verticalScrollBar(), self.horizontalScrollBar()
        lengths = (self._column.height, size.height()), (self._column.width, size.width())
        for bar, (length, room) in zip((down, across), lengths, strict=True):
            bar.setRange(0, max(0, round(length - room)))
            bar.setPageStep(max(1, round(room * 0.9)))
            bar.setSingleStep(40)
        self.zoom_changed.emit(self.zoom)
        self.viewport().update()
        self.place_moved()

    def place_moved(self) -> None:
        """What is in view may have changed; whoever builds on this says so."""

    def scroll_to(self, box: Box) -> None:
        """Bring a box of the column into view, with some room around it."""
        x, y, width, height = box
        room = self.viewport().height()
        if y < self.top or y + min(height, room * 0.9) > self.top + room:
            self.verticalScrollBar().setValue(round(y - max(24.0, (room - height) / 3)))
        across = self.viewport().width()
        if x < self.left or x + min(width, across * 0.9) > self.left + across:
            self.horizontalScrollBar().setValue(round(x - across / 4))

    def _ask_to_reflow(self) -> None:
        if self._pages and self._fits_width:
            now = max(page.width for page in self._pages)
            if not 0.85 < self.sheet_width / now < 1.18:
                self.reflow_requested.emit()

    # Painting

    def paint_ground(self, painter: QPainter, page: Page) -> None:
        """Paint below the notes of a page, in page units."""

    def parts_over(self, page: Page) -> tuple[PagePart, ...]:
        """What lies over the notes of a page for long; where it changes, as other objects."""
        return ()

    def paint_over(self, painter: QPainter, page: Page) -> None:
        """Paint over the notes and the parts of a page, in page units."""

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the visible strips."""
        painter = QPainter(self.viewport())
        painter.fillRect(event.rect(), QColor(self._look.desk))
        region, bottom = event.region(), self.top + self.viewport().height()
        for strip, (x, y, width, height) in self.column.visible(self.top, bottom):
            # On whole pixels, so that a page's picture can be laid down as it is.
            frame = QRectF(round(x) - self.left, round(y) - self.top, width, height)
            whole = frame.adjusted(0, 0, 0, 1)
            exposed = region.intersected(whole.toAlignedRect()).boundingRect()
            if exposed.isEmpty():
                continue
            painter.save()
            painter.setClipRect(whole)
            painter.fillRect(whole, QColor(self._look.paper))
            self._paint_strip(painter, strip, frame, QRectF(exposed))
            painter.restore()
        if self.hasFocus() and self._pages:
            painter.setPen(QPen(QColor(self._look.accent), 1))
            painter.drawRect(QRectF(self.viewport().rect()).adjusted(0.5, 0.5, -0.5, -0.5))
        painter.end()
        if not self._resting.isActive():
            self._ahead.start()

    def _paint_strip(self, painter: QPainter, strip: Strip, frame: QRectF, exposed: QRectF) -> None:
        page = strip.page
        origin = QPointF(frame.x(), frame.y() - round(strip.top * self._zoom))
        to_page = QTransform.fromScale(1 / self._zoom, 1 / self._zoom)
        to_page.translate(-origin.x(), -origin.y())
        on_page = to_page.mapRect(exposed.intersected(frame))
        painter_of = self._painters[page.index]
        page = painter_of.page
        self._within(painter, origin, lambda: self.paint_ground(painter, page))
        self._pictures.lay_down(
            painter, painter_of, origin, self._zoom, self.parts_over(page), on_page,
            stretched=self._resting.isActive(),
        )  # fmt: skip
        self._within(painter, origin, lambda: self.paint_over(painter, page))

    def prepare(self, page: Page) -> bool:
        """Make ready what will lie over a page; False where nothing was to be done."""
        return False

    def _prepare_next(self) -> None:
        """Make one page beside those in view ready, so that scrolling to it needs no painting."""
        room = self.viewport().height()
        for strip, _ in self.column.visible(self.top - room, self.top + 2 * room):
            painter_of = self._painters[strip.page.index]
            prepared = self.prepare(painter_of.page)
            parts = self.parts_over(painter_of.page)
            if prepared or not self._pictures.has(painter_of, self._zoom, parts):
                self._pictures.whole(painter_of, self._zoom, parts)
                self._ahead.start()
                return

    def update_box(self, page: Page, box: Box) -> None:
        """Have a box of a page painted again."""
        x, y, width, height = box
        ends = [self.column.to_column(page, (x, at, width, 0.0)) for at in (y, y + height)]
        left, top = ends[0][0] - self.left, ends[0][1] - self.top
        rect = QRectF(left, top, ends[1][2], ends[1][1] - ends[0][1])
        self.viewport().update(rect.adjusted(-EDGE, -EDGE, EDGE, EDGE).toAlignedRect())

    def pages_in_view(self) -> list[Page]:
        """The pages of which a part is in view, as they are printed."""
        shown = self.column.visible(self.top, self.top + self.viewport().height())
        return [self._painters[at].page for at in dict.fromkeys(s.page.index for s, _ in shown)]

    def _within(self, painter: QPainter, origin: QPointF, paint: Callable[[], None]) -> None:
        """Paint in the units of the page that has its corner at a point of the viewport."""
        painter.save()
        painter.translate(origin)
        painter.scale(self._zoom, self._zoom)
        paint()
        painter.restore()

    # Events

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        """Move what is painted, so that only what comes into view has to be painted."""
        viewport = self.viewport()
        viewport.scroll(dx, dy)
        if self.hasFocus():  # its frame stays where it is
            size = viewport.size()
            for y in {0, dy, size.height() - 1, size.height() - 1 + dy} if dy else ():
                viewport.update(0, y, size.width(), 1)
            for x in {0, dx, size.width() - 1, size.width() - 1 + dx} if dx else ():
                viewport.update(x, 0, 1, size.height())

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the frame."""
        super().focusInEvent(event)
        self.viewport().update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Take the frame away, before scrolling could move it."""
        super().focusOutEvent(event)
        self.viewport().update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit again."""
        super().resizeEvent(event)
        self.arrange()
        self._sized.start()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom at the pointer with Ctrl, else scroll."""
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            steps = event.angleDelta().y() / 120
            self.zoom_to(self._zoom * ZOOM_STEP**steps, event.position())
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
