"""The few questions and messages of the window. None of them blocks: each ends in a signal."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QMessageBox,
    QVBoxLayout,
    QWidget,
)

from app.interface_words import said, said_phrase
from app.views.signs import KIND_NAMES, SIGNS, STATE_NAMES, STATE_SIGNS, Sign, sign_picture


def show_error(parent: QWidget, sentence: str, details: str = "") -> QMessageBox:
    """A message in words; what a bug report needs is under Details, to be copied."""
    box = QMessageBox(QMessageBox.Icon.Warning, "Overstave", sentence, parent=parent)
    box.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    if details:
        box.setDetailedText(details)
    _open(box)
    return box


def show_message(parent: QWidget, title: str, text: str) -> QMessageBox:
    """Something to know."""
    box = QMessageBox(QMessageBox.Icon.NoIcon, title, text, parent=parent)
    _open(box)
    return box


def ask(
    parent: QWidget, question: str, more: str, answers: dict[str, Callable[[], object]], safe: str
) -> QMessageBox:
    """A question with an answer a button; ``safe`` is taken by Escape and does nothing."""
    box = QMessageBox(QMessageBox.Icon.Question, "Overstave", question, parent=parent)
    box.setInformativeText(more)
    roles = {}
    for at, (text, then) in enumerate(answers.items()):
        role = (
            QMessageBox.ButtonRole.AcceptRole if not at else QMessageBox.ButtonRole.DestructiveRole
        )
        roles[box.addButton(text, role)] = then
    box.setDefaultButton(next(iter(roles)))
    box.setEscapeButton(box.addButton(safe, QMessageBox.ButtonRole.RejectRole))

    def answer() -> None:
        then = roles.get(box.clickedButton())  # type: ignore[call-overload]
        if then is not None:
            then()

    box.finished.connect(answer)
    _open(box)
    return box


class KeysDialog(QDialog):
    """All keys on one page, and what the signs mean."""

    def __init__(
        self, table: list[tuple[str, list[tuple[str, str]]]], parent: QWidget | None = None
    ) -> None:
        self._pictures: list[tuple[Sign, QLabel]] = []
        super().__init__(parent)
        self.setWindowTitle(said("Keys"))
        columns = QHBoxLayout()
        columns.setSpacing(36)
        for part in _evenly(table, 3):
            column = QVBoxLayout()
            column.setSpacing(6)
            for menu, rows in part:
                heading = QLabel(menu)
                font = heading.font()
                font.setBold(True)
                heading.setFont(font)
                column.addWidget(heading)
                grid = QGridLayout()
                grid.setHorizontalSpacing(18)
                grid.setVerticalSpacing(4)
                for at, (text, keys) in enumerate(rows):
                    grid.addWidget(QLabel(text), at, 0)
                    grid.addWidget(QLabel(keys), at, 1, Qt.AlignmentFlag.AlignRight)
                column.addLayout(grid)
                column.addSpacing(10)
            column.addStretch(1)
            columns.addLayout(column)
        columns.addLayout(self._legend())
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.addLayout(columns)
        layout.addWidget(buttons)

    def _legend(self) -> QVBoxLayout:
        """The signs of kinds and states with their names."""
        column = QVBoxLayout()
        column.setSpacing(6)
        kinds = [(SIGNS[kind], said_phrase(name)) for kind, name in KIND_NAMES.items()]
        states = [(STATE_SIGNS[state], said_phrase(name)) for state, name in STATE_NAMES.items()]
        for title, rows in ((said("Signs"), kinds), (said("States"), states)):
            heading = QLabel(title)
            font = heading.font()
            font.setBold(True)
            heading.setFont(font)
            column.addWidget(heading)
            grid = QGridLayout()
            grid.setHorizontalSpacing(10)
            grid.setVerticalSpacing(4)
            grid.setColumnStretch(1, 1)
            for at, (sign, name) in enumerate(rows):
                picture = QLabel()
                self._pictures.append((sign, picture))
                grid.addWidget(picture, at, 0)
                grid.addWidget(QLabel(name), at, 1)
            column.addLayout(grid)
            column.addSpacing(10)
        column.addStretch(1)
        self._paint_signs()
        return column

    def _paint_signs(self) -> None:
        size, ink = self.fontMetrics().height(), self.palette().text().color()
        for sign, picture in self._pictures:
            picture.setPixmap(sign_picture(sign, size, ink))

    def changeEvent(self, event: QEvent) -> None:
        """Follow a change of look while it is open."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.FontChange):
            self._paint_signs()


def _evenly(
    table: list[tuple[str, list[tuple[str, str]]]], count: int
) -> list[list[tuple[str, list[tuple[str, str]]]]]:
    """The table in columns of about the same length, in order."""
    columns: list[list[tuple[str, list[tuple[str, str]]]]] = [[] for _ in range(count)]
    total = sum(len(rows) + 2 for _, rows in table)
    filled = 0
    for menu, rows in table:
        columns[min(filled * count // total, count - 1)].append((menu, rows))
        filled += len(rows) + 2
    return columns


def _open(box: QMessageBox) -> None:
    box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    box.open()
