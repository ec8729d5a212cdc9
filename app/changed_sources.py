"""Noticing that the open score has been exported again meanwhile, and offering to open it anew."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

from PySide6.QtCore import QEvent, QObject, Signal
from PySide6.QtWidgets import QApplication, QWidget

from app.interface_words import said
from app.review.files import content_of
from app.session import Session
from app.views.dialogs import ask


class ChangedSources(QObject):
    """Looks at the open score's file whenever the user comes back to the window.

    What is open stays as it is, also in exports, until the user opens the file again; the review is
    then carried over. Each state of the file is asked about once. A file that is gone is no change:
    all that is needed of it is in memory.
    """

    #: The `Path` to open: the review file where there is one, so that it stays the one in use.
    reopen_requested = Signal(object)

    def __init__(self, window: QWidget, session: Session) -> None:
        super().__init__(window)
        self._window = window
        self._session = session
        #: What the file's entry said, so that it is read only where that has changed.
        self._stamp: tuple[str, int, int, int] | None = None
        self._asked = ""
        window.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Look when the window becomes the active one."""
        if event.type() == QEvent.Type.WindowActivate:
            self.look()
        return super().eventFilter(watched, event)

    def look(self) -> None:
        """Ask, where the file holds another score than the one that is open."""
        document = self._session.document
        if document is None or QApplication.activeModalWidget() is not None:
            return
        path = Path(document.source.path)
        try:
            state = os.stat(path)
            stamp = (str(path), state.st_ino, state.st_mtime_ns, state.st_size)
            if stamp == self._stamp:
                return
            digest = hashlib.sha256(content_of(path)).hexdigest()
        except OSError:
            return
        self._stamp = stamp
        if digest not in (document.source.digest, self._asked):
            self._asked = digest
            self._ask(path)

    def _ask(self, path: Path) -> None:
        review = self._session.path
        again = review if review is not None and review.exists() else path
        ask(
            self._window,
            said("{file} has been changed since it was opened here.", file=path.name),
            said(
                "Open it again, and your review is carried over. Until then you see, and export, "
                "the score as it was."
            ),
            {said("Open It Again"): lambda: self.reopen_requested.emit(again)},
            said("Not Now"),
        )
