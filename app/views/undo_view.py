"""The undo list: every step, where one is in it, and a click to go there."""

from __future__ import annotations

from PySide6.QtGui import QUndoStack
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QUndoView, QVBoxLayout, QWidget

from app.interface_words import said
from app.views.dialogs import give_size


class UndoHistory(QDialog):
    """Stays open beside the window while one works."""

    def __init__(self, stack: QUndoStack, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(said("Undo History"))
        self.list = QUndoView(stack)
        self.list.setAccessibleName(said("Steps"))
        self.list.setEmptyLabel(said("As opened"))
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.addWidget(self.list)
        layout.addWidget(buttons)
        give_size(self, 44, 26)
