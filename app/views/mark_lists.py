"""The rows of the list of marks: what they say, how they are painted, how the list behaves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final, cast

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QRectF,
    QSize,
    Qt,
    QTimer,
)
from PySide6.QtGui import (
    QAccessible,
    QAccessibleTableModelChangeEvent,
    QColor,
    QFocusEvent,
    QFont,
    QFontMetricsF,
    QPainter,
    QPaintEvent,
    QPixmap,
)
from PySide6.QtWidgets import (
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from app.interface_words import said, said_phrase
from app.review.document import Decision, Document, ReviewedMark, State
from app.views.label_painting import paint_label
from app.views.looks import LIGHT, Look
from app.views.places import span_text
from app.views.signs import KIND_NAMES, SIGNS, STATE_NAMES, STATE_SIGNS, paint_sign

AnyIndex = QModelIndex | QPersistentModelIndex
#: How many pictures of rows are kept.
PICTURES: Final = 300
#: Milliseconds of rest after which the rows of the likely next step are painted.
AHEAD: Final = 8
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
        same = [row.mark.id for row in found] == [row.mark.id for row in self.rows]
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
            return said(
                "{place}, {kind}, {label}: {sentence} {state}.",
                place=place,
                kind=said_phrase(KIND_NAMES[row.mark.kind]),
                label=row.label,
                sentence=row.sentence,
                state=said_phrase(STATE_NAMES[row.state]),
            )
        if role == Qt.ItemDataRole.ToolTipRole:
            return row.sentence
        return None


class MarkDelegate(QStyledItemDelegate):
    """Paints a mark in two lines: sign, label and place; then the sentence."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.look: Look = LIGHT
        #: Size, font and pixel ratio of the rows.
        self._form: tuple[QSize, QFont, float] | None = None
        self._pictures: dict[tuple[str, State, bool], tuple[object, QPixmap]] = {}

    def sizeHint(self, option: QStyleOptionViewItem, index: AnyIndex) -> QSize:
        """Two lines and some air."""
        height = QFontMetricsF(option.font).height()
        return QSize(200, round(2.75 * height))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: AnyIndex) -> None:
        """Lay down the picture of a row, painted when it first looks so."""
        row = cast("ReviewedMark", index.data(MARK_ROLE))
        selected = bool(option.state & QStyle.StateFlag.State_Selected)
        place = str(index.data(PLACE_ROLE))
        ratio = painter.device().devicePixelRatioF()
        self._form = (option.rect.size(), QFont(option.font), ratio)
        painter.drawPixmap(option.rect.topLeft(), self._picture(row, place, selected=selected))

    def prepare(self, row: ReviewedMark, place: str, *, selected: bool) -> None:
        """Paint the picture of a row that will be shown next, where it is not there."""
        if self._form is not None:
            self._picture(row, place, selected=selected)

    def _picture(self, row: ReviewedMark, place: str, *, selected: bool) -> QPixmap:
        assert self._form
        size, font, ratio = self._form
        form = (size.width(), size.height(), font.key(), ratio)
        given = (row.mark.kind, row.state, row.label, row.sentence, row.comment, place, form)
        key = (row.id, row.state, selected)
        before, picture = self._pictures.pop(key, (None, QPixmap()))
        if before != (given, self.look):
            picture = QPixmap(size * ratio)
            picture.setDevicePixelRatio(ratio)
            picture.fill(QColor(self.look.paper))
            own = QPainter(picture)
            box = QRectF(0, 0, size.width(), size.height())
            self._paint_row(own, QFont(font), box, row, place, selected=selected)
            own.end()
        self._pictures[key] = ((given, self.look), picture)
        if len(self._pictures) > PICTURES:
            del self._pictures[next(iter(self._pictures))]
        return picture

    def _paint_row(
        self,
        painter: QPainter,
        font: QFont,
        box: QRectF,
        row: ReviewedMark,
        place: str,
        *,
        selected: bool,
    ) -> None:
        look = self.look
        line = QFontMetricsF(font).height()
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

    def _line(self, painter: QPainter, x: float, y: float, width: float, text: str) -> None:
        metrics = painter.fontMetrics()
        short = metrics.elidedText(text, Qt.TextElideMode.ElideRight, int(width))
        painter.drawText(QRectF(x, y, width + 2, metrics.height()), 0, short)


class MarkList(QListView):
    """A list in which coming by with the keyboard selects nothing by itself."""

    def __init__(self, parent: QWidget | None = None, **settings: Any) -> None:
        super().__init__(parent, **settings)
        # Qt moves what is painted only where it knows that nothing shines through.
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self._ahead = QTimer(self, singleShot=True, interval=AHEAD)
        self._ahead.timeout.connect(self._prepare_next)

    def _prepare_next(self) -> None:
        """Paint ahead what the likely next step shows: the current row decided, those beside it."""
        delegate, current = self.itemDelegate(), self.currentIndex()
        if not isinstance(delegate, MarkDelegate) or not current.isValid():
            return
        row, place = cast("ReviewedMark", current.data(MARK_ROLE)), str(current.data(PLACE_ROLE))
        delegate.prepare(row, place, selected=False)
        decision, states = row.decision or Decision("open"), ("accepted", "rejected")
        for state in cast("tuple[State, ...]", states):
            decided = ReviewedMark(row.mark, replace(decision, state=state))
            delegate.prepare(decided, place, selected=False)
        for step in (1, -1):
            beside = current.siblingAtRow(current.row() + step)
            if beside.isValid():
                row, place = beside.data(MARK_ROLE), str(beside.data(PLACE_ROLE))
                delegate.prepare(row, place, selected=True)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the rows on the ground of a list."""
        painter = QPainter(self.viewport())
        painter.fillRect(event.rect(), self.palette().base())
        painter.end()
        super().paintEvent(event)
        self._ahead.start()

    def dataChanged(self, first: AnyIndex, last: AnyIndex, roles: Sequence[int] = (), /) -> None:
        """Paint the rows again; Qt would lay out all rows, which are of one height."""
        for row in range(first.row(), last.row() + 1):
            self.update(self.model().index(row, 0))
        if QAccessible.isActive():
            kind = QAccessibleTableModelChangeEvent.ModelChangeType.DataChanged
            QAccessible.updateAccessibility(QAccessibleTableModelChangeEvent(self, kind))

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
