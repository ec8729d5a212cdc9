"""Labels of a column of text: plain, quiet, headings."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import (
    QLabel,
    QPushButton,
    QSizePolicy,
    QStyle,
    QStyleOptionButton,
    QStylePainter,
    QWidget,
)

#: How the text of a button stands that is broken into lines.
_LINES: Final = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop
#: Pixels above and below it.
_ROOM: Final = 2


def plain_label(text: str = "") -> QLabel:
    """Text in lines, taken as it is."""
    label = QLabel(text, wordWrap=True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label


def quiet_label(text: str = "") -> QLabel:
    """The same in the softer ink."""
    label = plain_label(text)
    label.setProperty("quiet", True)
    return label


def heading(text: str) -> QLabel:
    """A line in bold above others."""
    label = QLabel(text)
    font = label.font()
    font.setBold(True)
    label.setFont(font)
    return label


class LinesButton(QPushButton):
    """A flat button whose text is broken into lines, like a label's."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent, flat=True)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def heightForWidth(self, width: int) -> int:
        """The height of its lines."""
        room = QRect(0, 0, max(width, 1), 0)
        return self.fontMetrics().boundingRect(room, _LINES.value, self.text()).height() + 2 * _ROOM

    def sizeHint(self) -> QSize:
        """Its text in one line."""
        return QSize(self.fontMetrics().horizontalAdvance(self.text()), self.heightForWidth(9999))

    def minimumSizeHint(self) -> QSize:
        """A line as narrow as one may ask for."""
        return QSize(0, self.heightForWidth(9999))

    def paintEvent(self, event: QPaintEvent) -> None:
        """The button without text, and the lines of it."""
        painter, option = QStylePainter(self), QStyleOptionButton()
        self.initStyleOption(option)
        option.text = ""
        painter.drawControl(QStyle.ControlElement.CE_PushButton, option)
        room = self.rect().adjusted(0, _ROOM, 0, -_ROOM)
        painter.drawItemText(
            room, _LINES.value, self.palette(), self.isEnabled(), self.text(),
            self.foregroundRole(),
        )  # fmt: skip


def show_if(widget: QWidget, wanted: bool) -> None:
    """Show or hide; Qt would work on its layout even where nothing changes."""
    if widget.isHidden() == wanted:
        widget.setVisible(wanted)


@contextmanager
def laid_out_once(*widgets: QWidget) -> Iterator[None]:
    """Lay widgets out when all in them is changed, inner ones first, not at each change."""
    layouts = [layout for widget in widgets if (layout := widget.layout())]
    for layout in layouts:
        layout.setEnabled(False)
    try:
        yield
    finally:
        for layout in layouts:
            layout.setEnabled(True)
            layout.activate()
