"""The list of marks to go through: filter, search, and how much is left."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, cast

from PySide6.QtCore import (
    QModelIndex,
    Qt,
    Signal,
)
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListView,
    QVBoxLayout,
    QWidget,
)

from analysis.marks import MarkKind
from app.interface_words import said, said_phrase
from app.review.document import Document, ReviewedMark, State
from app.review.section_edits import sections_of
from app.review.selection import NOTHING, Selection
from app.views.looks import Look
from app.views.mark_lists import MARK_ROLE, MarkDelegate, MarkList, MarkModel
from app.views.mark_rows import MarkFilter, Order, decided, kinds_present, rows
from app.views.selections import selection_of_mark
from app.views.signs import KIND_NAMES, STATE_NAMES


class MarksView(QWidget):
    """Filter, list and progress; asks for selections."""

    selection_requested = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._document: Document | None = None
        self._filter = MarkFilter()
        self._selected = ""
        self._last_row = 0
        #: Whether the selected mark was in the list when the filter or the selection last changed.
        self._was_listed = True
        #: Whether the list is being made to follow, so that what it says of it is nobody's wish.
        self._following = False
        self.model = MarkModel(self)
        self.list = MarkList(self, uniformItemSizes=True)
        self.list.setAccessibleName(said("Marks"))
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setVerticalScrollMode(QListView.ScrollMode.ScrollPerPixel)
        self.list.setModel(self.model)
        self._delegate = MarkDelegate(self.list)
        self.list.setItemDelegate(self._delegate)
        self.kind_box = _box(said("Kind of mark"), [(said("All kinds"), None)])
        states = [(said_phrase(name), state) for state, name in STATE_NAMES.items()]
        self.state_box = _box(said("State"), [(said("All states"), None), *states])
        self.section_box = _box(said("Section"), [(said("All sections"), None)])
        self.order_box = _box(
            said("Order"),
            [(said("In order of time"), "place"), (said("Talking points first"), "talking points")],
        )
        levels = [
            (said("At least likely"), 0.5),
            (said("Fairly sure"), 0.75),
            (said("Very sure"), 0.9),
            (said("All"), 0.0),
        ]
        self.confidence_box = _box(said("How sure"), levels)
        self.search = QLineEdit(self, clearButtonEnabled=True)
        self.search.setPlaceholderText(said("Find in the marks"))
        self.search.setAccessibleName(said("Find in the marks"))
        self.progress = QLabel(self)
        self.progress.setProperty("quiet", True)
        self._lay_out()
        self.list.selectionModel().currentChanged.connect(self._ask_for_current)
        self.search.textChanged.connect(self._refilter)
        self.search.returnPressed.connect(self._go_to_found)
        for box in self._boxes:
            box.activated.connect(self._refilter)

    @property
    def stations(self) -> tuple[QWidget, ...]:
        """What the Tab key goes through, in order."""
        return (self.search, *self._boxes, self.list)

    @property
    def _boxes(self) -> tuple[QComboBox, ...]:
        return (
            self.kind_box,
            self.state_box,
            self.section_box,
            self.confidence_box,
            self.order_box,
        )

    def show_document(self, document: Document | None) -> None:
        """Show the marks of a document."""
        is_other = (
            document is None
            or self._document is None
            or document.analysis is not self._document.analysis
        )
        self._document = document
        if is_other:
            self._fill_boxes()
        self._show_rows()

    def show_selection(self, selection: Selection) -> None:
        """Make the selected mark the current row, where the filter lets it through."""
        self._selected = selection.mark
        self._show_current()
        self._was_listed = self.list.currentIndex().isValid()

    def set_look(self, look: Look) -> None:
        """Paint in other colours."""
        self._delegate.look = look
        self.list.viewport().update()

    def show_filter(self, wanted: MarkFilter) -> None:
        """Set the filter from outside."""
        for box, value in (
            (self.kind_box, wanted.kind),
            (self.state_box, wanted.state),
            (self.section_box, wanted.section),
            (self.confidence_box, wanted.least),
            (self.order_box, wanted.order),
        ):
            box.setCurrentIndex(max(0, box.findData(value)))
        self.search.setText(wanted.text)
        self._refilter()

    def show_talking_points(self) -> None:
        """Put the list into the order of the talking points."""
        self.order_box.setCurrentIndex(self.order_box.findData("talking points"))
        self._refilter()

    def mark_after(self, mark_id: str, step: int = 1, *, only_open: bool = False) -> str:
        """The next mark in the list; empty at its end. Without a current mark, the first."""
        ids = [row.id for row in self.model.rows]
        if mark_id in ids:
            at = ids.index(mark_id) + step
        elif not mark_id:
            at = 0 if step > 0 else len(ids) - 1
        elif not self._was_listed:
            # The filter hides it, so that what comes after it in time is meant, or what is left.
            at = self._place_of(mark_id) + (0 if step > 0 else -1)
            at = max(0, min(at, len(ids) - 1))
        else:
            # The row has just left the list, so its successor has taken its place.
            at = self._last_row if step > 0 else self._last_row - 1
        while 0 <= at < len(ids):
            if not only_open or self.model.rows[at].state == "open":
                return ids[at]
            at += step
        return ""

    def _place_of(self, mark_id: str) -> int:
        """The row that a mark which the filter hides would have in a list in order of time."""
        document = self._document
        if document is None or not document.has_mark(mark_id) or self._filter.order != "place":
            return 0
        start = document.mark(mark_id).mark.span.start
        return sum(row.mark.span.start < start for row in self.model.rows)

    def selection_of(self, mark_id: str) -> Selection:
        """The selection that a row of the list stands for; nothing where it is not listed."""
        rows_of = [row for row in self.model.rows if row.id == mark_id]
        return selection_of_mark(rows_of[0]) if rows_of else NOTHING

    def focus_search(self) -> None:
        """Put the caret into the search field."""
        self.search.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.search.selectAll()

    def _lay_out(self) -> None:
        boxes = QHBoxLayout()
        boxes.addWidget(self.kind_box)
        boxes.addWidget(self.state_box)
        more = QHBoxLayout()
        more.addWidget(self.section_box)
        more.addWidget(self.confidence_box)
        head = QVBoxLayout()
        head.setContentsMargins(8, 8, 8, 6)
        head.setSpacing(6)
        head.addWidget(self.search)
        head.addLayout(boxes)
        head.addLayout(more)
        last = QHBoxLayout()
        last.addWidget(self.progress, 1)
        last.addWidget(self.order_box, 1)
        head.addLayout(last)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addLayout(head)
        layout.addWidget(self.list, 1)

    def _fill_boxes(self) -> None:
        kinds = kinds_present(self._document) if self._document else ()
        named = [(said_phrase(KIND_NAMES[kind]), kind) for kind in kinds]
        _fill(self.kind_box, [(said("All kinds"), None), *named])
        sections = sections_of(self._document) if self._document else ()
        names = [(section.name or section.label, at) for at, section in enumerate(sections)]
        _fill(self.section_box, [(said("All sections"), None), *names])
        self._read_filter()

    def _read_filter(self) -> None:
        self._filter = replace(
            self._filter,
            kind=cast("MarkKind | None", self.kind_box.currentData()),
            state=cast("State | None", self.state_box.currentData()),
            section=cast("int | None", self.section_box.currentData()),
            least=cast("float", self.confidence_box.currentData()),
            order=cast("Order", self.order_box.currentData()),
            text=self.search.text(),
        )

    def _refilter(self) -> None:
        self._read_filter()
        self._show_rows()
        self._was_listed = self.list.currentIndex().isValid()

    def _go_to_found(self) -> None:
        """Go on in the list, at a mark that was found."""
        if not self.list.currentIndex().isValid():
            found = self.mark_after(self._selected)
            at = next((at for at, row in enumerate(self.model.rows) if row.id == found), None)
            if at is not None:
                self.list.setCurrentIndex(self.model.index(at, 0))
        self.list.setFocus()

    def _show_rows(self) -> None:
        found = rows(self._document, self._filter) if self._document else ()
        current = self.list.currentIndex()
        if current.isValid():
            self._last_row = current.row()
        self._following = True
        self.model.show_rows(self._document, found)
        self._following = False
        self._show_current()
        self._show_progress()

    def _show_current(self) -> None:
        """Point the list at the selected mark without asking for it again."""
        rows_of = enumerate(self.model.rows)
        at = next((at for at, row in rows_of if row.mark.id == self._selected), None)
        self._following = True
        if at is None:
            self.list.selectionModel().clear()
        else:
            self._last_row = at
            self.list.setCurrentIndex(self.model.index(at))
            self.list.scrollTo(self.model.index(at))
        self._following = False

    def _show_progress(self) -> None:
        if self._document is None:
            self.progress.setText("")
            return
        done, all_marks = decided(self._document, self._filter.least)
        shown = len(self.model.rows)
        text = said("{done} of {count} decided", done=done, count=all_marks)
        if done == all_marks and all_marks:
            text = said("All {count} decided", count=all_marks)
        if shown != all_marks:
            text = said("{progress} · {count} shown", progress=text, count=shown)
        self.progress.setText(text)

    def _ask_for_current(self, current: QModelIndex) -> None:
        row = cast("ReviewedMark | None", current.data(MARK_ROLE))
        if row is not None and row.id != self._selected and not self._following:
            self.selection_requested.emit(selection_of_mark(row))


def _box(name: str, choices: list[tuple[str, Any]]) -> QComboBox:
    box = QComboBox()
    box.setAccessibleName(name)
    box.setToolTip(name)
    box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    box.setMinimumContentsLength(8)
    _fill(box, choices)
    return box


def _fill(box: QComboBox, choices: list[tuple[str, Any]]) -> None:
    """Offer other choices, keeping the chosen one where it is still there."""
    chosen = box.currentData()
    box.clear()
    for text, value in choices:
        box.addItem(text, value)
    box.setCurrentIndex(max(0, box.findData(chosen)))
