"""Widgets in a row that goes on below where it is too long, as words do."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QWidget


class FlowLayout(QLayout):
    """Keeps the order and the widgets' own sizes; as wide as its widest widget at least.

    Parameters
    ----------
    spacing
        Pixels between widgets, across and down.
    """

    def __init__(self, parent: QWidget | None = None, *, spacing: int = 8) -> None:
        super().__init__(parent)
        self._items: list[QLayoutItem] = []
        #: Heights by width, until something in it changes; Qt asks again and again.
        self._heights: dict[int, int] = {}
        self.setContentsMargins(0, 0, 0, 0)
        self.setSpacing(spacing)

    def addItem(self, item: QLayoutItem) -> None:
        """Put a further one at the end."""
        self._items.append(item)

    def count(self) -> int:
        """How many there are, hidden ones too."""
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        """One of them; None beyond the last, as Qt wants it."""
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        """Take one out; None beyond the last."""
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:
        """None: what is left over stays empty."""
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:
        """It is the higher, the narrower."""
        return True

    def heightForWidth(self, width: int) -> int:
        """How high the rows are at a width."""
        if width not in self._heights:
            self._heights[width] = self._set_rows(QRect(0, 0, width, 0), place=False)
        return self._heights[width]

    def invalidate(self) -> None:
        """Something in it has another size."""
        self._heights.clear()
        super().invalidate()

    def setGeometry(self, rectangle: QRect) -> None:
        """Place all."""
        super().setGeometry(rectangle)
        self._set_rows(rectangle, place=True)

    def sizeHint(self) -> QSize:
        """One row."""
        sizes = [item.sizeHint() for item in self._shown]
        across = sum(size.width() for size in sizes) + self.spacing() * max(len(sizes) - 1, 0)
        return self._with_margins(across, max((size.height() for size in sizes), default=0))

    def minimumSize(self) -> QSize:
        """One widget a row, of which one row must be seen."""
        sizes = [item.minimumSize() for item in self._shown]
        return self._with_margins(
            max((size.width() for size in sizes), default=0),
            max((size.height() for size in sizes), default=0),
        )

    @property
    def _shown(self) -> list[QLayoutItem]:
        return [item for item in self._items if not item.isEmpty()]

    def _with_margins(self, width: int, height: int) -> QSize:
        margins = self.contentsMargins()
        return QSize(
            width + margins.left() + margins.right(), height + margins.top() + margins.bottom()
        )

    def _set_rows(self, rectangle: QRect, *, place: bool) -> int:
        """Go through the rows; how high they are, margins included."""
        margins = self.contentsMargins()
        area = rectangle.marginsRemoved(margins)
        x, y, row = area.x(), area.y(), 0
        for item in self._shown:
            size = item.sizeHint().boundedTo(QSize(max(area.width(), 1), 10**6))
            if x > area.x() and x + size.width() > area.x() + area.width():
                x, y, row = area.x(), y + row + self.spacing(), 0
            if place:
                item.setGeometry(QRect(QPoint(x, y), size))
            x += size.width() + self.spacing()
            row = max(row, size.height())
        return y + row - rectangle.y() + margins.bottom()
