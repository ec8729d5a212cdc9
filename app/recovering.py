"""After a crash: offering what the journals of dead windows hold."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject, QUrl, Signal
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QWidget

from analysis.errors import OverstaveError
from app.interface_words import said
from app.review.claims import HeldFile
from app.review.journals import read_journal
from app.review.safekeeping import Safekeeping
from app.views.recovery_dialog import Lost, RecoveryDialog


class Recovering(QObject):
    """The recovery of one window."""

    #: The `Path` of a journal whose review is to be opened.
    recover_requested = Signal(object)
    #: A line for the status bar.
    told = Signal(str)

    def __init__(self, window: QWidget, keeper: Safekeeping) -> None:
        super().__init__(window)
        self._window = window
        self._keeper = keeper

    def offer(self) -> bool:
        """Show what can be recovered; False where there is nothing."""
        rows = [_lost(path) for path in self._keeper.abandoned()]
        rows.sort(key=lambda lost: lost.remains is None)  # what can be recovered comes first
        if not rows:
            return False
        dialog = RecoveryDialog(rows, self._window)
        dialog.recover_requested.connect(self.recover_requested)
        dialog.discard_requested.connect(self.discard)
        dialog.folder_requested.connect(self._show_folder)
        dialog.open()
        return True

    def recover(self) -> None:
        """Offer it again, or say that there is nothing."""
        if not self.offer():
            self.told.emit(said("There is nothing to recover"))

    def discard(self, journal: Path) -> None:
        """Give up what a journal holds."""
        try:
            held = HeldFile.hold(journal)
        except OSError as error:
            self.told.emit(
                said("{file} could not be removed: {why}", file=journal.name, why=error.strerror)
            )
            return
        if held is not None:
            held.remove()

    def _show_folder(self) -> None:
        QDesktopServices.openUrl(QUrl.fromLocalFile(str(self._keeper.folder)))


def _lost(journal: Path) -> Lost:
    try:
        return Lost(journal, read_journal(journal))
    except OverstaveError as error:
        return Lost(journal, None, str(error))
