"""The list of marks to go through: filter, search, and how much is left."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final, cast

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QColor, QFocusEvent, QFont, QFontMetricsF, QPainter
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QVBoxLayout,
    QWidget,
)

from analysis.marks import MarkKind
from app.review.document import Document, ReviewedMark, State
from app.review.section_edits import sections_of
from app.review.selection import NOTHING, Selection
from app.views.label_painting import paint_label
from app.views.looks import LIGHT, Look
from app.views.mark_rows import MarkFilter, Order, decided, kinds_present, rows
from app.views.places import span_text
from app.views.selections import selection_of_mark
from app.views.signs import KIND_NAMES, SIGNS, STATE_NAMES, STATE_SIGNS, paint_sign

AnyIndex = QModelIndex | QPersistentModelIndex
MARK_ROLE: Final = Qt.ItemDataRole.UserRole
PLACE_ROLE: Final = Qt.ItemDataRole.UserRole + 1


class MarkModel(QAbstractListModel):
    """The rows of one document under one filter."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._document: Document | None = None
        self.rows: tuple[ReviewedMark, ...] = ()

    def show_rows(self, document: Document | None, found: tuple[ReviewedMark, ...]) -> None:
        """Take on other rows; where only decisions differ the list stays as it is."""
        same = [row.id for row in found] == [row.id for row in self.rows]
        self._document = document
        if same:
            changed = [at for at, row in enumerate(found) if row != self.rows[at]]
            self.rows = found
            for at in changed:
                self.dataChanged.emit(self.index(at), self.index(at))
        else:
            self.beginResetModel()
            self.rows = found
            self.endResetModel()

    def rowCount(self, parent: AnyIndex = QModelIndex()) -> int:  # noqa: B008 - Qt's own signature
        """How many marks the list shows."""
        return 0 if parent.isValid() else len(self.rows)

    def data(self, index: AnyIndex, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """A mark in words, for the delegate and for screen readers."""
        if not index.isValid() or self._document is None:
            return None
        row = self.rows[index.row()]
        if role == MARK_ROLE:
            return row
        place = span_text(self._document.score, row.mark.span)
        if role == PLACE_ROLE:
            return place
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            kind, state = KIND_NAMES[row.mark.kind], STATE_NAMES[row.state]
            return f"{place}, {kind}, {row.label}: {row.sentence} {state}."
        if role == Qt.ItemDataRole.ToolTipRole:
            return row.sentence
        return None


class MarkDelegate(QStyledItemDelegate):
    """Paints a mark in two lines: sign, label and place; then the sentence."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.look: Look = LIGHT

    def sizeHint(self, option: QStyleOptionViewItem, index: AnyIndex) -> QSize:
        """Two lines and some air."""
        height = QFontMetricsF(option.font).height()
        return QSize(200, round(2.75 * height))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: AnyIndex) -> None:
        """Paint one row."""
        row = cast("ReviewedMark", index.data(MARK_ROLE))
        look = self.look
        box = QRectF(option.rect)
        font = QFont(option.font)
        line = QFontMetricsF(font).height()
        painter.save()
        selected = bool(option.state & QStyle.StateFlag.State_Selected)
        if selected:
            painter.fillRect(box, QColor(look.wash))
            painter.fillRect(QRectF(box.x(), box.y(), 3, box.height()), QColor(look.accent))
        painter.setPen(QColor(look.rule))
        painter.drawLine(box.bottomLeft(), box.bottomRight())
        rejected = row.state == "rejected"
        ink = QColor(look.quiet if rejected else look.ink)
        pad, top = 0.7 * line, box.y() + 0.35 * line
        sign = QRectF(box.x() + pad, top + 0.08 * line, 0.84 * line, 0.84 * line)
        paint_sign(painter, SIGNS[row.mark.kind], sign, ink)
        left = sign.right() + 0.6 * line
        right = box.right() - pad
        state = QRectF(right - 0.8 * line, top + 0.1 * line, 0.8 * line, 0.8 * line)
        tint = look.ink if row.state in ("accepted", "edited") else look.quiet
        paint_sign(painter, STATE_SIGNS[row.state], state, QColor(tint))
        place = str(index.data(PLACE_ROLE))
        width = QFontMetricsF(font).horizontalAdvance(place)
        place_left = state.left() - 0.6 * line - width
        painter.setPen(QColor(look.quiet))
        painter.setFont(font)
        painter.drawText(QRectF(place_left, top, width + 2, line), 0, place)
        heading = QFont(font)
        heading.setWeight(QFont.Weight.DemiBold)
        heading.setStrikeOut(rejected)
        painter.setFont(heading)
        painter.setPen(ink)
        room = QRectF(left, top, place_left - left - line / 2, line)
        if rejected or not paint_label(painter, room, row.label, ink):
            self._line(painter, left, top, room.width(), row.label)
        painter.setFont(font)
        painter.setPen(QColor(look.ink if selected and not rejected else look.quiet))
        comment = f" — {row.decision.comment}" if row.decision and row.decision.comment else ""
        self._line(painter, left, top + 1.1 * line, right - left, row.sentence + comment)
        painter.restore()

    def _line(self, painter: QPainter, x: float, y: float, width: float, text: str) -> None:
        metrics = painter.fontMetrics()
        short = metrics.elidedText(text, Qt.TextElideMode.ElideRight, int(width))
        painter.drawText(QRectF(x, y, width + 2, metrics.height()), 0, short)


class MarkList(QListView):
    """A list in which coming by with the keyboard selects nothing by itself."""

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Qt would make the first row the current one."""
        model = self.selectionModel()
        if model.currentIndex().isValid():
            super().focusInEvent(event)
            return
        model.blockSignals(True)
        super().focusInEvent(event)
        model.clear()
        model.blockSignals(False)


class MarksView(QWidget):
    """Filter, list and progress; asks for selections."""

    selection_requested = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._document: Document | None = None
        self._filter = MarkFilter()
        self._selected = ""
        self._last_row = 0
        self.model = MarkModel(self)
        self.list = MarkList(self, uniformItemSizes=True)
        self.list.setAccessibleName("Marks")
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setModel(self.model)
        self._delegate = MarkDelegate(self.list)
        self.list.setItemDelegate(self._delegate)
        self.kind_box = _box("Kind of mark", [("All kinds", None)])
        states = [(STATE_NAMES[state], state) for state in STATE_NAMES]
        self.state_box = _box("State", [("All states", None), *states])
        self.section_box = _box("Section", [("All sections", None)])
        self.order_box = _box(
            "Order", [("In order of time", "place"), ("Talking points first", "talking points")]
        )
        levels = [("At least likely", 0.5), ("Fairly sure", 0.75), ("Very sure", 0.9), ("All", 0.0)]
        self.confidence_box = _box("How sure", levels)
        self.search = QLineEdit(self, placeholderText="Find in the marks", clearButtonEnabled=True)
        self.search.setAccessibleName("Find in the marks")
        self.progress = QLabel(self)
        self.progress.setProperty("quiet", True)
        self._lay_out()
        self.list.selectionModel().currentChanged.connect(self._ask_for_current)
        self.search.textChanged.connect(self._refilter)
        self.search.returnPressed.connect(self.list.setFocus)
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
        """Make the selected mark the current row; lift a filter that hides it from view."""
        self._selected = selection.mark
        self._show_current()

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
        else:
            # The row has just left the list, so its successor has taken its place.
            at = self._last_row if step > 0 else self._last_row - 1
        while 0 <= at < len(ids):
            if not only_open or self.model.rows[at].state == "open":
                return ids[at]
            at += step
        return ""

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
        _fill(self.kind_box, [("All kinds", None), *((KIND_NAMES[kind], kind) for kind in kinds)])
        sections = sections_of(self._document) if self._document else ()
        names = [(section.name or section.label, at) for at, section in enumerate(sections)]
        _fill(self.section_box, [("All sections", None), *names])
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

    def _show_rows(self) -> None:
        found = rows(self._document, self._filter) if self._document else ()
        current = self.list.currentIndex()
        if current.isValid():
            self._last_row = current.row()
        self.list.selectionModel().blockSignals(True)
        self.model.show_rows(self._document, found)
        self.list.selectionModel().blockSignals(False)
        self._show_current()
        self._show_progress()

    def _show_current(self) -> None:
        """Point the list at the selected mark without asking for it again."""
        at = next((i for i, row in enumerate(self.model.rows) if row.id == self._selected), None)
        model = self.list.selectionModel()
        model.blockSignals(True)
        if at is None:
            model.clear()
        else:
            self._last_row = at
            self.list.setCurrentIndex(self.model.index(at))
            self.list.scrollTo(self.model.index(at))
        model.blockSignals(False)
        self.list.viewport().update()

    def _show_progress(self) -> None:
        if self._document is None:
            self.progress.setText("")
            return
        done, all_marks = decided(self._document, self._filter.least)
        shown = len(self.model.rows)
        text = f"{done} of {all_marks} decided"
        if done == all_marks and all_marks:
            text = f"All {all_marks} decided"
        self.progress.setText(text if shown == all_marks else f"{text} · {shown} shown")

    def _ask_for_current(self, current: QModelIndex) -> None:
        row = cast("ReviewedMark | None", current.data(MARK_ROLE))
        if row is not None and row.id != self._selected:
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
