"""Find an action by a word of its name, and do it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QDialog, QLineEdit, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from app.interface_words import said
from app.views.dialogs import give_size

#: Name of an action, what the list shows of it.
Choice = tuple[str, str]


class ActionFinder(QDialog):
    """A line to type in over a list of what matches; Enter does the chosen one."""

    #: The name of an action.
    action_requested = Signal(str)

    def __init__(self, choices: Sequence[Choice], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(said("Find an Action"))
        self._choices = choices
        self.line = QLineEdit(placeholderText=said("What do you want to do?"))
        self.line.setAccessibleName(said("Words of the action"))
        self.line.installEventFilter(self)
        self.list = QListWidget()
        self.list.setAccessibleName(said("Actions"))
        self.list.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        layout = QVBoxLayout(self)
        layout.addWidget(self.line)
        layout.addWidget(self.list)
        give_size(self, 64, 22)
        self.line.textChanged.connect(self._show_matches)
        self.line.returnPressed.connect(self._take)
        self.list.itemClicked.connect(self._take)
        self._show_matches("")

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let the arrow keys walk the list while the caret stays in the line."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            step = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1}.get(Qt.Key(event.key()))
            if step is not None and self.list.count():
                row = (self.list.currentRow() + step) % self.list.count()
                self.list.setCurrentRow(row)
                return True
        return super().eventFilter(watched, event)

    def _show_matches(self, typed: str) -> None:
        words = typed.casefold().split()
        self.list.clear()
        for name, text in self._choices:
            if all(word in text.casefold() for word in words):
                row = QListWidgetItem(text, self.list)
                row.setData(Qt.ItemDataRole.UserRole, name)
        self.list.setCurrentRow(0)

    def _take(self) -> None:
        row = self.list.currentItem()
        if row is not None:
            self.accept()
            self.action_requested.emit(str(row.data(Qt.ItemDataRole.UserRole)))
