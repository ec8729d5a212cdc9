"""The open document: what it is, what is selected in it, how it got there, whether it is saved.

Every change goes through `Session.perform` with an `Edit`. One command class keeps the document
before and after, so undo and redo need no inverse, and an edit that fails changes nothing.

An edit of corrections leaves the analysis as it is and the session `pending`; once someone has
analysed again and handed the result to `Session.take_analysis`, every document with those
corrections is shown with it, whether it is reached by the edit, by undo or by redo. So an analysis
is never a step of its own in the undo list.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Final

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtGui import QUndoCommand, QUndoStack

from analysis.errors import OverstaveError, ReviewFileError
from analysis.marks import Analysis, Corrections
from app.review.document import Document
from app.review.edits import Dragged, Edit
from app.review.safekeeping import JournalError, Safekeeping
from app.review.selection import NOTHING, Selection
from app.review.storage import write_review
from app.step_words import step_words

#: How many analyses are kept for going back and forth in the undo list.
ANALYSES: Final = 24
#: Milliseconds after a change until the disk is asked to keep it, also over a power cut.
SYNC_AFTER: Final = 1000


class Session(QObject):
    """One document with its undo list and selection.

    Signals
    -------
    document_changed
        The `Document`, after each change; None after closing.
    selection_changed
        The `Selection`.
    failed
        A sentence for the user and details to copy.
    """

    document_changed = Signal(object)
    selection_changed = Signal(object)
    failed = Signal(str, str)

    def __init__(self, parent: QObject | None = None, keeper: Safekeeping | None = None) -> None:
        super().__init__(parent)
        self.keeper = keeper
        self._told_unkept = False
        self._sync = QTimer(self, singleShot=True, interval=SYNC_AFTER)
        self._sync.timeout.connect(self._sync_elsewhere)
        self.undo_stack = QUndoStack(self)
        self._document: Document | None = None
        self._selection = NOTHING
        self._path: Path | None = None
        self._analyses: dict[Corrections, Analysis] = {}

    @property
    def document(self) -> Document | None:
        """The open document; None where none is."""
        return self._document

    @property
    def selection(self) -> Selection:
        """What is selected."""
        return self._selection

    @property
    def path(self) -> Path | None:
        """The review file this was opened from or last saved to."""
        return self._path

    @property
    def modified(self) -> bool:
        """Whether there are changes that no file holds."""
        return not self.undo_stack.isClean()

    @property
    def pending(self) -> bool:
        """Whether the analysis that is shown does not follow the corrections yet."""
        return self._document is not None and self._document.corrections not in self._analyses

    def open(self, document: Document, path: Path | None = None, *, unsaved: bool = False) -> None:
        """Show a document; the one before is gone, and so is its undo list.

        ``unsaved`` says that it holds changes that no file has, such as after a crash.
        """
        self._path = path
        self.undo_stack.clear()
        if unsaved:
            self.undo_stack.resetClean()
        if self.keeper is not None:
            self._keep(partial(self.keeper.begin, document, path, unsaved=unsaved))
        self._analyses = {document.corrections: document.analysis}
        self._show(document, NOTHING)

    def close(self) -> None:
        """Have no document."""
        self._path = None
        self.undo_stack.clear()
        if self.keeper is not None:
            self.keeper.end()
        self._show(None, NOTHING)

    def perform(self, edit: Edit, then: Selection | None = None) -> None:
        """Apply an edit as one undoable step; say why where it cannot be done.

        ``then`` is what is selected after it; None for what is selected now.
        """
        if self._document is None:
            return
        try:
            after = edit.apply(self._document)
        except OverstaveError as error:
            self.failed.emit(str(error), error.details)
            return
        if after != self._document:
            drag = edit.drag if isinstance(edit, Dragged) else ""
            command = EditCommand(self, edit.text, self._document, after, drag)
            command.then = then
            self.undo_stack.push(command)

    def take_analysis(self, corrections: Corrections, analysis: Analysis) -> None:
        """Show what the analysis says under these corrections, wherever they hold."""
        self._analyses[corrections] = analysis
        while len(self._analyses) > ANALYSES:
            del self._analyses[next(iter(self._analyses))]
        document = self._document
        if document is not None and document.corrections == corrections:
            self._show(document, _followed(document, analysis, self._selection))

    def select(self, selection: Selection) -> None:
        """Select something else, or `NOTHING`."""
        if selection != self._selection:
            self._selection = selection
            self.selection_changed.emit(selection)

    def save(self, path: Path) -> bool:
        """Write the review file; False, and `failed`, where that was impossible."""
        try:
            self.write(path)
        except OverstaveError as error:
            self.failed.emit(str(error), error.details)
            return False
        return True

    def write(self, path: Path, *, overwrite: bool = False) -> None:
        """Write the review file; what is open is then saved.

        Parameters
        ----------
        overwrite
            Write over what another window or program has put there.

        Raises
        ------
        ReviewFileError
            If that was impossible, or would undo what others did; see `Safekeeping.save`.
        """
        if self._document is None:
            raise ReviewFileError("There is nothing to save.")
        if self.keeper is None:
            write_review(path, self._document)
        else:
            self._keep(partial(self.keeper.save, self._document, path, overwrite=overwrite))
        self._path = path
        self.undo_stack.setClean()

    def _keep(self, keeping: Callable[[], None]) -> None:
        """Keep something safe; where the journal cannot be written, say so once."""
        try:
            keeping()
        except JournalError as error:
            if not self._told_unkept:
                self._told_unkept = True
                self.failed.emit(str(error), error.details)
        else:
            self._told_unkept = False

    def _sync_elsewhere(self) -> None:
        """Have the disk keep the journal, without waiting for it."""
        if self.keeper is not None:
            threading.Thread(target=self.keeper.sync, daemon=True).start()

    def _show(self, document: Document | None, selection: Selection, text: str = "") -> None:
        """Take on a document and say so; at no time is a mark selected that no view can find.

        With a ``text`` it comes of a change of that name, which is on disk before anyone hears.
        """
        known = self._analyses.get(document.corrections) if document else None
        if document and known and known is not document.analysis:
            document = replace(document, analysis=known)
        if not _has_mark(document, self._selection.mark):
            self.select(NOTHING)
        before, self._document = self._document, document
        if text and document and self.keeper:
            self._keep(partial(self.keeper.record, document, text))
            if not self._sync.isActive():
                self._sync.start()
        if _has_mark(before, selection.mark) and _has_mark(document, selection.mark):
            # What is let go of need not be shown as it now is.
            self.select(selection)
        self.document_changed.emit(document)
        self.select(selection if _has_mark(document, selection.mark) else NOTHING)


class EditCommand(QUndoCommand):
    """Any edit, as the documents before and after it and the selection it was made at."""

    def __init__(
        self, session: Session, text: str, before: Document, after: Document, drag: str = ""
    ) -> None:
        super().__init__(step_words(text))
        self._name = text
        self._drag = drag
        self._session = session
        self._before = before
        self._after = after
        self._selection = session.selection
        #: What is selected where the edit is made; None for what was. To do it again selects that.
        self.then: Selection | None = None

    def redo(self) -> None:
        """Show the document after the edit."""
        then, self.then = self.then, None
        self._session._show(self._after, then or self._selection, self._name)

    def undo(self) -> None:
        """Show the document before the edit, where the edit was made."""
        self._session._show(self._before, self._selection, f"Undo {self._name}")

    def id(self) -> int:
        """Equal for the steps of one drag, so that Qt asks whether they are one step."""
        return hash(self._drag) % 2**31 if self._drag else -1

    def mergeWith(self, other: QUndoCommand) -> bool:
        """Take a further step of the same drag into this one."""
        if not isinstance(other, EditCommand) or other._drag != self._drag:
            return False
        self._after = other._after
        return True


def _followed(document: Document, analysis: Analysis, selection: Selection) -> Selection:
    """The selection after a new analysis: a mark that is gone leaves its place to what is there."""
    if not selection.mark:
        return selection
    if replace(document, analysis=analysis).has_mark(selection.mark):
        return selection
    before = document.mark(selection.mark).mark
    for mark in analysis.marks:
        if (mark.kind, mark.parts, mark.span.start) == (
            before.kind,
            before.parts,
            before.span.start,
        ):
            return Selection(mark.id, mark.elements, mark.span)
    return replace(selection, mark="")


def _has_mark(document: Document | None, mark_id: str) -> bool:
    """Whether a selected mark is there; where none is selected, nothing is missing."""
    if not mark_id:
        return True
    return document is not None and document.has_mark(mark_id)
