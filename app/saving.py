"""Saving the review of one window, and what may stand in its way.

Where saving fails, or would undo what another window or program has done, the user chooses; the
document stays open and its journal keeps it until it is saved or given up.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Final

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QWidget

import sample_scores
from analysis.errors import OverstaveError
from app.interface_words import phrase, said, said_phrase
from app.review.safekeeping import ReviewChangedError, ReviewTakenError
from app.review.storage import SUFFIX, review_path
from app.session import Session
from app.views.dialogs import ask

REVIEW_FILTER: Final = phrase("Reviews (*{ending})")
#: Something to do once all is saved or given up.
Then = Callable[[], object]


class Saving(QObject):
    """The save commands of one window."""

    #: The review has been saved.
    saved = Signal()
    #: A line for the status bar.
    told = Signal(str)

    def __init__(self, window: QWidget, session: Session) -> None:
        super().__init__(window)
        self._window = window
        self._session = session

    def save(self, then: Then = lambda: None) -> None:
        """Save the review, beside the score unless it was saved elsewhere."""
        document = self._session.document
        if document is None:
            return
        path = self._session.path
        score = Path(document.source.path)
        if path is None and (Path(sample_scores.__path__[0]) in score.parents):
            self.save_as(then)
        elif path is None and review_path(score).exists():
            # A review stands there that could not be read, or is another window's.
            self.save_as(then)
        else:
            self._write(path or review_path(score), then)

    def save_as(self, then: Then = lambda: None) -> None:
        """Save the review in a file of the user's choice."""
        document = self._session.document
        if document is None:
            return
        start = str(self._session.path or review_path(Path(document.source.path)))
        name, _ = QFileDialog.getSaveFileName(
            self._window, said("Save Review"), start, said_phrase(REVIEW_FILTER, ending=SUFFIX)
        )
        if name:
            name = name if name.endswith(SUFFIX) else name.removesuffix(".json") + SUFFIX
            self._write(Path(name), then)

    def leave(self, name: str, then: Then) -> None:
        """Do something that ends the open document, once its changes are safe or given up."""
        if not self._session.modified:
            then()
            return
        answers = {said("Save"): lambda: self.save(then), said("Don’t Save"): then}
        question = said("Save the changes to the review of {name}?", name=name)
        more = said("Without saving, the decisions since the last save are lost.")
        ask(self._window, question, more, answers, said("Cancel"))

    def _write(self, path: Path, then: Then, *, overwrite: bool = False) -> None:
        try:
            self._session.write(path, overwrite=overwrite)
        except OverstaveError as error:
            self._ask_what_now(path, error, then)
            return
        self.told.emit(said("Saved {path}", path=path))
        self.saved.emit()
        then()

    def _ask_what_now(self, path: Path, error: OverstaveError, then: Then) -> None:
        """It was not saved: elsewhere, once more, or not."""
        elsewhere = partial(self.save_as, then)
        if isinstance(error, ReviewChangedError | ReviewTakenError):
            more = said("What stands there now would be kept beside it, under another name.")
            again, text = partial(self._write, path, then, overwrite=True), said("Replace It")
        else:
            more = said("Nothing is lost: your changes are also in a journal.")
            again, text = partial(self._write, path, then), said("Try Again")
        answers: dict[str, Then] = {said("Save Elsewhere…"): elsewhere, text: again}
        ask(self._window, str(error), more, answers, said("Cancel"))
