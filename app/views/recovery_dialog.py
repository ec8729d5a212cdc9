"""What the program was working on when it ended: to be recovered, discarded, or left for later."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from PySide6.QtCore import QDateTime, QLocale, Qt, Signal
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.interface_words import counted, said
from app.review.journals import Remains
from app.step_words import step_words
from app.views.dialogs import ask, give_size


@dataclass(frozen=True, slots=True)
class Lost:
    """One journal: what can be read of it, or why nothing can."""

    journal: Path
    remains: Remains | None
    trouble: str = ""


class RecoveryDialog(QDialog):
    """Lists journals with what they hold.

    Signals
    -------
    recover_requested, discard_requested
        The journal's `Path`.
    folder_requested
        To see the folder of the journals.
    """

    recover_requested = Signal(object)
    discard_requested = Signal(object)
    folder_requested = Signal()

    def __init__(self, rows: Sequence[Lost], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(said("Recover"))
        heading = QLabel(said("The program ended before these changes were saved."))
        heading.setWordWrap(True)
        self.list = QListWidget()
        self.list.setAccessibleName(said("Reviews with changes that were not saved"))
        self.list.setAlternatingRowColors(True)
        self.list.setWordWrap(True)
        self.list.setSpacing(4)
        more = QLabel(
            said(
                "A recovered review opens as it was after its last change. Nothing is written "
                "over until you save."
            )
        )
        more.setWordWrap(True)
        more.setProperty("quiet", True)
        self.buttons = QDialogButtonBox()
        role = QDialogButtonBox.ButtonRole
        self.recover_button = self.buttons.addButton(said("&Recover"), role.AcceptRole)
        self.discard_button = QPushButton(said("&Discard"))
        self.folder_button = QPushButton(said("Show the &Folder"))
        self.buttons.addButton(self.discard_button, role.DestructiveRole)
        self.buttons.addButton(self.folder_button, role.HelpRole)
        self.buttons.addButton(said("&Not Now"), role.RejectRole)
        layout = QVBoxLayout(self)
        for widget in (heading, self.list, more, self.buttons):
            layout.addWidget(widget)
        give_size(self, 78, 20)
        self.recover_button.setDefault(True)
        self.buttons.accepted.connect(self._recover)
        self.buttons.rejected.connect(self.reject)
        self.discard_button.clicked.connect(self._discard)
        self.folder_button.clicked.connect(self.folder_requested)
        self.list.itemDoubleClicked.connect(self._recover)
        self.list.currentRowChanged.connect(self._follow)
        for row in rows:
            entry = QListWidgetItem(lost_text(row), self.list)
            entry.setData(Qt.ItemDataRole.UserRole, row)
        self.list.setCurrentRow(0)

    @property
    def chosen(self) -> Lost | None:
        """The row that is chosen."""
        entry = self.list.currentItem()
        if self.list.currentRow() < 0:
            return None
        found: Lost = entry.data(Qt.ItemDataRole.UserRole)
        return found

    def _follow(self) -> None:
        chosen = self.chosen
        self.recover_button.setEnabled(chosen is not None and chosen.remains is not None)
        self.discard_button.setEnabled(chosen is not None)

    def _recover(self) -> None:
        chosen = self.chosen
        if chosen is not None and chosen.remains is not None:
            self.accept()
            self.recover_requested.emit(chosen.journal)

    def _discard(self) -> None:
        chosen = self.chosen
        if chosen is not None:
            question = said("Discard these changes?")
            more = said("{changes}\nThey cannot be brought back.", changes=lost_text(chosen))
            ask(self, question, more, {said("Discard"): partial(self._drop, chosen)}, said("Keep"))

    def _drop(self, lost: Lost) -> None:
        self.list.takeItem(self.list.currentRow())
        self.discard_requested.emit(lost.journal)
        if not self.list.count():
            self.reject()


def lost_text(lost: Lost) -> str:
    """What a journal holds, in two lines."""
    remains = lost.remains
    if remains is None:
        return f"{lost.journal.name}\n{lost.trouble}"
    words = [counted("one change", "{count} changes", remains.changes)]
    if not remains.review_file:
        words.append(said("never saved"))
    if remains.last:
        words.append(said("the last: {step}", step=step_words(remains.last)))
    at = QDateTime.fromString(remains.at, Qt.DateFormat.ISODate).toLocalTime()
    when = QLocale().toString(at, QLocale.FormatType.ShortFormat) if at.isValid() else ""
    damaged = "" if remains.whole else said("The end of the journal is damaged and was left out.")
    source = remains.review.source
    return f"{source.name} — {when}\n{', '.join(words)}. {damaged}".rstrip(" ")
