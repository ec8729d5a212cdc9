"""Asks for a mark by hand: its kind and what it says."""

from __future__ import annotations

from typing import NamedTuple, cast

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QIcon, QKeyEvent
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QVBoxLayout,
    QWidget,
)

from analysis.marks import MarkKind
from app.interface_words import said, said_phrase
from app.views.signs import KIND_NAMES, SIGNS, sign_picture


class MarkWords(NamedTuple):
    """What a mark is and says."""

    kind: MarkKind
    label: str
    sentence: str
    comment: str


class MarkDialog(QDialog):
    """The same fields as a found mark has; `mark_requested` carries `MarkWords`."""

    mark_requested = Signal(object)

    def __init__(self, place: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(said("New Mark"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.kind_box = QComboBox()
        self.kind_box.setAccessibleName(said("Kind of mark"))
        for kind, name in KIND_NAMES.items():
            self.kind_box.addItem(self._icon(kind), said_phrase(name), kind)
        self.kind_box.setCurrentIndex(self.kind_box.findData("melody"))
        self.label_field = QLineEdit(placeholderText=said("As short as it stands on the page"))
        self.label_field.setAccessibleName(said("Label"))
        self.sentence_field = QPlainTextEdit(tabChangesFocus=True)
        self.sentence_field.setPlaceholderText(said("What you would tell a viewer"))
        self.sentence_field.setAccessibleName(said("Sentence"))
        self.comment_field = QPlainTextEdit(tabChangesFocus=True)
        self.comment_field.setPlaceholderText(said("A note to yourself"))
        self.comment_field.setAccessibleName(said("Comment"))
        line = self.fontMetrics().lineSpacing()
        self.sentence_field.setFixedHeight(round(4.2 * line))
        self.comment_field.setFixedHeight(round(2.9 * line))
        self.label_field.setMinimumWidth(self.fontMetrics().averageCharWidth() * 48)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.add_button = buttons.addButton(said("&Add"), QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.accepted.connect(self._ask)
        buttons.rejected.connect(self.reject)
        form = QFormLayout()
        form.addRow(said("Place"), QLabel(place))
        form.addRow(said("&Kind"), self.kind_box)
        form.addRow(said("&Label"), self.label_field)
        form.addRow(said("&Sentence"), self.sentence_field)
        form.addRow(said("&Comment"), self.comment_field)
        layout = QVBoxLayout(self)
        layout.addLayout(form)
        layout.addWidget(buttons)
        self.label_field.textChanged.connect(self._check)
        self.sentence_field.textChanged.connect(self._check)
        self._check()
        for field in (self.sentence_field, self.comment_field):
            field.installEventFilter(self)
        self.label_field.setFocus()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Enter adds the mark, with Shift it is a new line."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            plain = not event.modifiers() & Qt.KeyboardModifier.ShiftModifier
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and plain:
                self.add_button.click()
                return True
        return super().eventFilter(watched, event)

    def _icon(self, kind: MarkKind) -> QIcon:
        ink = self.palette().text().color()
        return QIcon(sign_picture(SIGNS[kind], self.fontMetrics().height(), ink))

    def _check(self) -> None:
        words = self.label_field.text().strip() or self.sentence_field.toPlainText().strip()
        self.add_button.setEnabled(bool(words))

    def _ask(self) -> None:
        sentence = " ".join(self.sentence_field.toPlainText().split())
        words = MarkWords(
            cast("MarkKind", self.kind_box.currentData()),
            self.label_field.text().strip(),
            sentence,
            self.comment_field.toPlainText().strip(),
        )
        self.accept()
        self.mark_requested.emit(words)
