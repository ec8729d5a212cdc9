"""The engraved score with the marks on it: what is under the pointer, what is selected.

Marks and the selection are painted over the pages of a `Sheet`. A click selects what is there, with
Ctrl it adds notes; a drag selects measures.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import QHelpEvent, QKeyEvent, QMouseEvent, QPainter
from PySide6.QtWidgets import QToolTip, QWidget

from analysis.timebase import Offset, Span
from analysis.vocabulary.chord_names import symbol_text
from app.engraving.corrected_symbols import Symbols, corrected_symbols
from app.engraving.pages import Page
from app.interface_words import said
from app.review.document import Document
from app.review.selection import NOTHING, Selection
from app.review.writing import Writing
from app.views.hits import Hit
from app.views.looks import Look
from app.views.page_column import element_at, offset_at, page_of, shown_span, span_boxes
from app.views.page_marks import Layers, PageMarks
from app.views.page_names import with_symbols
from app.views.page_parts import PagePart
from app.views.selections import with_element
from app.views.sheet import Sheet
from app.views.timeline_layout import measures_span
from app.views.typing_line import Check, Take, TypingLine
from app.views.walks import step_across, step_along

#: Milliseconds after a selection in which nobody decides yet.
EXPECT: Final = 12
#: Pixels between what is typed and the labels that it is about.
_GAP: Final = 4


class ScoreView(Sheet):
    """Shows pages, marks and the selection; asks for selections."""

    selection_requested = Signal(object)
    #: The stretch of time in view, a `Span` or None.
    place_changed = Signal(object)
    #: A double click, as a `Hit`.
    hit_twice = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        self._document: Document | None = None
        self._writing = Writing()
        self._symbols: Symbols = ()
        super().__init__(parent)
        self.setAccessibleName(said("Score"))
        self.setAccessibleDescription(said("The engraved score with the marks on it"))
        self._elements: frozenset[str] = frozenset()
        self._selection = NOTHING
        self._hovered = ""
        self.marks = PageMarks()
        self._drag_from: Offset | None = None
        self._pan_from: QPointF | None = None
        self._expecting = QTimer(self, singleShot=True, interval=EXPECT)
        self._expecting.timeout.connect(self._expect_decision)
        self.typing = TypingLine(self.viewport())
        self.typing.closed.connect(self.setFocus)
        self.verticalScrollBar().valueChanged.connect(self.typing.drop)

    def show_pages(self, pages: tuple[Page, ...]) -> None:
        """Show other pages, from the first one on; none to take all away."""
        self.marks.show_pages()
        super().show_pages(pages)
        self._cut()

    def add_page(self, page: Page) -> None:
        """Add a page below the others."""
        super().add_page(page)
        self._cut()

    def show_document(self, document: Document | None) -> None:
        """Show the marks of a document."""
        if document is None:
            self._elements = frozenset()
        elif self._document is None or document.score is not self._document.score:
            notes = {note.id for part in document.score.parts for note in part.notes}
            self._elements = frozenset(notes | {s.id for s in document.score.chord_symbols})
            self._document = document
            if self._writing.naming != "english":
                self._make_painters()
                self.marks.show_pages()
        self._show_symbols(corrected_symbols(document) if document else ())
        is_other = self._document is not document
        self._document = document
        changes = self.marks.show_document(document, self.pages_in_view())
        self._cut()
        if changes is None:
            self.viewport().update()
        for page, box in changes or ():
            self.update_box(page, box)
        if is_other:
            self.place_moved()

    def _show_symbols(self, symbols: Symbols) -> None:
        """Draw the chord symbols that were set otherwise than the source has them."""
        changed = {element for element, _ in {*symbols} ^ {*self._symbols}}
        self._symbols = symbols
        for at, page in enumerate(self._pages if changed else ()):
            if any(element in page.boxes for element in changed):
                self._painters[at] = self._painter_for(page)
                self._pictures.let_go(page)
                self.marks.let_go(page)

    def show_selection(self, selection: Selection) -> None:
        """Light what is selected, and bring it into view."""
        before, self._selection = self._selection, selection
        if selection.span is not None:
            self.show_place(selection.span)
        for one in (before, selection):
            self._update_selected(one)
        self._expecting.start()

    def _expect_decision(self) -> None:
        """While the selected mark is looked at, get ready for what will be decided."""
        mark = self._selection.mark
        if mark and self._document is not None and self._document.mark(mark).state == "open":
            for page in self.pages_in_view():
                self.marks.expect_decision(page, mark)

    def _update_selected(self, selection: Selection, hovered: str = "") -> None:
        """Have what shows a selection, or an element under the pointer, painted again."""
        for page in self.pages_in_view():
            for box in self.marks.boxes_of(page, selection, hovered):
                self.update_box(page, box)

    def show_place(self, span: Span) -> None:
        """Scroll to where a span begins, unless it is in view."""
        if not self._document or not self._document.score.measures:
            return
        score = self._document.score
        page = page_of(self._pages, score, span)
        box = next(iter(span_boxes(score, page, span)), None) if page else None
        if page and box:
            self.scroll_to(self.column.to_column(page, box))

    def fit_span(self, span: Span) -> None:
        """Let a stretch of the score fill the view as far as zoom allows."""
        if self._document is None:
            return
        whole = QRectF()
        for page in self._pages:
            for box in span_boxes(self._document.score, page, span):
                whole |= QRectF(*self.column.to_column(page, box))
        if not whole.isEmpty():
            self.fit_box((whole.x(), whole.y(), whole.width(), whole.height()))

    def ask_text(
        self, span: Span, mark: str, what: str, text: str, check: Check, take: Take
    ) -> None:
        """Let the user type something about a place, beside the labels that it has."""
        self.show_place(span)
        x, y, height = self._labels_at(span, mark)
        at = QPoint(round(x) - self.left, round(y + height) - self.top + _GAP)
        self.typing.ask(at, what, text, check, take, round(height) + 2 * _GAP)

    def _labels_at(self, span: Span, mark: str) -> tuple[float, float, float]:
        """Left, top and height of the labels under a place, or of a mark's own."""
        assert self._document
        page = page_of(self._pages, self._document.score, span)
        if page is None:
            return 0.0, 0.0, 0.0
        overlay = self.marks.overlay(page)
        boxes = overlay.boxes_of(mark) if mark else []
        place = next(iter(boxes or span_boxes(self._document.score, page, span)))
        foot = place[1] if boxes else place[1] + place[3]
        below = min((s.box[1] for s in page.systems if s.box[1] > foot), default=math.inf)
        rows = [
            label.box
            for label in overlay.labels
            if label.mark == mark or self._document.mark(label.mark).mark.span.start in span
        ]
        rows = [box for box in rows if foot <= box[1] < below]
        top = min((box[1] for box in rows), default=foot)
        bottom = max((box[1] + box[3] for box in rows), default=place[1] + place[3])
        x, y, _, height = self.column.to_column(page, (place[0], top, place[2], bottom - top))
        return x, y, height

    def set_layers(self, layers: Layers) -> None:
        """Show or hide kinds of mark."""
        self.marks.set_layers(layers)
        self._cut()
        self.viewport().update()

    def set_look(self, look: Look) -> None:
        """Paint in other colours."""
        self.marks.set_look(look)
        super().set_look(look)

    def set_degrees(self, words: Callable[[str], str] | None) -> None:
        """Show the melody's degrees of the scale, written so; None for not."""
        self.marks.set_degrees(words)
        self.viewport().update()

    def set_writing(self, writing: Writing) -> None:
        """Write names of notes in another way."""
        if writing != self._writing:
            self._writing = writing
            self._make_painters()
            self.marks.show_pages()
            self.viewport().update()

    def drawn(self, page: Page) -> Page:
        """The page with its chord symbols as the user has set them, in the user's letters."""
        symbols: dict[str, str] = {}
        if self._writing.naming != "english" and self._document is not None:
            symbols = {
                one.id: symbol_text(one.root, one.kind, one.degrees, one.bass, one.text)
                for one in self._document.score.chord_symbols
                if one.root is not None and one.id in page.boxes
            }
        symbols |= {one: text for one, text in self._symbols if one in page.boxes}
        return with_symbols(page, symbols, self._writing.naming) if symbols else page

    def _cut(self) -> None:
        """Cut out the room around systems in which nothing stands."""
        self.cut(self.marks.cuts(self._pages))

    def place_moved(self) -> None:
        """Say what stretch of time is in view: the systems of which the middle is."""
        if self._document is None:
            self.place_changed.emit(None)
            return
        systems = self.column.systems(self.top, self.top + self.viewport().height())
        self.place_changed.emit(shown_span(self._document.score, systems))

    # Painting

    def paint_ground(self, painter: QPainter, page: Page) -> None:
        """The ground of the selected place."""
        self.marks.paint_ground(painter, page, self._selection.span)

    def parts_over(self, page: Page) -> tuple[PagePart, ...]:
        """The marks of a page."""
        return self.marks.parts(page)

    def paint_over(self, painter: QPainter, page: Page) -> None:
        """What is selected and what is under the pointer."""
        self.marks.paint_over(painter, page, self._selection, self._hovered)

    def prepare(self, page: Page) -> bool:
        """Lay the marks of a page out before it is seen."""
        return self.marks.prepare(page)

    # Events

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Walk with the arrow keys: along the chords or the notes of a part, across the parts."""
        along = {Qt.Key.Key_Right: 1, Qt.Key.Key_Left: -1}.get(Qt.Key(event.key()))
        across = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1}.get(Qt.Key(event.key()))
        if self._document is None or event.modifiers() or not (along or across):
            super().keyPressEvent(event)
            return
        walk, step = (step_along, along) if along else (step_across, across)
        self.selection_requested.emit(walk(self._document, self._selection, step or 0))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Select what is under the pointer; with the middle button, take hold of the paper."""
        if event.button() == Qt.MouseButton.MiddleButton:
            self._pan_from = event.position()
            self.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)
        elif event.button() == Qt.MouseButton.LeftButton and self._document:
            under = self.under(event.position())
            self._drag_from = under.offset
            if event.modifiers() & Qt.KeyboardModifier.ControlModifier and under.element:
                self._drag_from = None
                more = with_element(self._document, self._selection, under.element)
                self.selection_requested.emit(more)
            else:
                self.selection_requested.emit(under.selection(self._document))

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Say what was meant."""
        if event.button() == Qt.MouseButton.LeftButton and self._document:
            self._drag_from = None
            self.hit_twice.emit(self.under(event.position()))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag a selection over whole measures, or the paper; else show what can be clicked."""
        if self._pan_from is not None:
            moved = event.position() - self._pan_from
            self._pan_from = event.position()
            self.horizontalScrollBar().setValue(self.left - round(moved.x()))
            self.verticalScrollBar().setValue(self.top - round(moved.y()))
        elif self._drag_from is not None and event.buttons() & Qt.MouseButton.LeftButton:
            self._drag_to(event.position())
        else:
            under = self.under(event.position())
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
            under = self.under(QPointF(event.pos()))
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
            before, self._hovered = self._hovered, element
            for one in (before, element):
                self._update_selected(NOTHING, one)

    def _drag_to(self, point: QPointF) -> None:
        assert self._document
        offset = self.under(point).offset
        if offset is None or self._drag_from is None:
            return
        if offset not in measures_span(self._document, self._drag_from, self._drag_from):
            span = measures_span(self._document, self._drag_from, offset)
            self.selection_requested.emit(Selection(span=span))

    def under(self, point: QPointF) -> Hit:
        """What lies under a point of the viewport."""
        at = self.column.to_page(point.x() + self.left, point.y() + self.top)
        if at is None or self._document is None:
            return Hit()
        page, x, y = at
        return Hit(
            mark=self.marks.mark_at(page, x, y),
            element=element_at(page, x, y, self._elements),
            offset=offset_at(self._document.score, page, x, y),
        )
