"""The few questions and messages of the window. None of them blocks: each ends in a signal."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFileDialog,
    QFormLayout,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QMessageBox,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.views.signs import KIND_NAMES, SIGNS, STATE_NAMES, STATE_SIGNS, sign_picture
from app.worker.messages import ExportWish

SIZES: Final = ((1920, 1080), (3840, 2160), (1080, 1920), (1080, 1080))


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


class ExportDialog(QDialog):
    """Asks what to export; `export_requested` carries an `ExportWish`."""

    export_requested = Signal(object)

    def __init__(self, folder: Path, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Export")
        self.annotated = QCheckBox("&Annotated score (MusicXML)")
        self.annotated.setChecked(True)
        self.stills = QCheckBox("&Stills of the talking points (PNG with alpha)")
        self.cards = QCheckBox("&Caption cards")
        self.size_box = QComboBox()
        self.size_box.setAccessibleName("Picture size")
        for width, height in SIZES:
            self.size_box.addItem(f"{width} × {height}", (width, height))
        self.folder = QLineEdit(str(folder))
        self.folder.setAccessibleName("Folder")
        self.folder.setMinimumWidth(self.fontMetrics().averageCharWidth() * 50)
        choose = QPushButton("&Choose…", autoDefault=False)
        choose.clicked.connect(self._choose)
        where = QHBoxLayout()
        where.addWidget(self.folder, 1)
        where.addWidget(choose)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.export_button = buttons.addButton("&Export", QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.accepted.connect(self._ask)
        buttons.rejected.connect(self.reject)
        form = QFormLayout()
        form.addRow("Write", self.annotated)
        form.addRow("", self.stills)
        form.addRow("", self.cards)
        form.addRow("Picture size", self.size_box)
        form.addRow("Into", where)
        layout = QVBoxLayout(self)
        layout.addLayout(form)
        layout.addWidget(QLabel("Rejected marks are left out. The score itself is not changed."))
        layout.addWidget(buttons)
        for check in (self.annotated, self.stills, self.cards):
            check.toggled.connect(self._check)

    def _check(self) -> None:
        wanted = any(box.isChecked() for box in (self.annotated, self.stills, self.cards))
        self.export_button.setEnabled(wanted)

    def _choose(self) -> None:
        folder = QFileDialog.getExistingDirectory(self, "Export Into", self.folder.text())
        if folder:
            self.folder.setText(folder)

    def _ask(self) -> None:
        size = self.size_box.currentData()
        wish = ExportWish(
            Path(self.folder.text()).expanduser(),
            self.annotated.isChecked(),
            self.stills.isChecked(),
            self.cards.isChecked(),
            (int(size[0]), int(size[1])),
        )
        self.accept()
        self.export_requested.emit(wish)


class KeysDialog(QDialog):
    """All keys on one page, and what the signs mean."""

    def __init__(
        self, table: list[tuple[str, list[tuple[str, str]]]], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Keys")
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
        size, ink = self.fontMetrics().height(), self.palette().text().color()
        kinds = [(SIGNS[kind], name) for kind, name in KIND_NAMES.items()]
        states = [(STATE_SIGNS[state], name) for state, name in STATE_NAMES.items()]
        for title, rows in (("Signs", kinds), ("States", states)):
            heading = QLabel(title)
            font = heading.font()
            font.setBold(True)
            heading.setFont(font)
            column.addWidget(heading)
            grid = QGridLayout()
            grid.setHorizontalSpacing(10)
            grid.setVerticalSpacing(4)
            for at, (sign, name) in enumerate(rows):
                picture = QLabel()
                picture.setPixmap(sign_picture(sign, size, ink))
                grid.addWidget(picture, at, 0)
                grid.addWidget(QLabel(name), at, 1)
            column.addLayout(grid)
            column.addSpacing(10)
        column.addStretch(1)
        return column


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
