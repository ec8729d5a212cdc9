"""Opening and closing: what passes between files, the workshop and the session.

Opening keeps the document that was open until the new one is read and analysed; where that fails,
nothing has changed. A review file beside the score is opened with it.
"""

from __future__ import annotations

import ctypes
import os
from collections.abc import Callable
from pathlib import Path
from typing import Final

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QWidget

import sample_scores
from analysis.errors import OverstaveError
from analysis.marks import Analysis
from analysis.reading.sources import Source
from analysis.score import Score
from app.changed_sources import ChangedSources
from app.engraving.layouts import Layout
from app.engraving.overlay import room
from app.engraving.pages import Page
from app.interface_words import said, said_phrase
from app.openings import (
    SCORE_FILTER,
    Opening,
    ask_about_holder,
    ask_about_review,
    ask_where_score_is,
)
from app.preferences import Preferences
from app.review.carrying import Carried
from app.review.document import Document, SourceInfo
from app.review.safekeeping import take_journal
from app.review.storage import SUFFIX, document_of, read_review, review_path, score_of
from app.saving import Saving
from app.session import Session
from app.views.dialogs import show_error
from app.views.workbench import Workbench
from app.worker.workshop import Workshop

SAMPLE: Final = "wednesday-table.musicxml"
#: A screen has no edge to be cut off, so the sheet is set closer than print (see `Layout`).
MARGIN: Final = 28.0
STAFF_GAP: Final = 90.0
STRETCH: Final = 0.15


class Filing(QObject):
    """Files of one window."""

    #: What is open has changed: a source, pages, or nothing any more.
    changed = Signal()
    #: Pages are about to be made for the view, which may not have been on screen yet.
    about_to_open = Signal()
    #: Another `Document` than the session's is in sight for a while, or the session's again.
    document_shown = Signal(object)
    #: A `CarryReport`: the open review was made about an earlier transcription.
    carried_over = Signal(object)
    #: A line for the status bar.
    told = Signal(str)

    def __init__(
        self,
        window: QWidget,
        session: Session,
        workshop: Workshop,
        workbench: Workbench,
        preferences: Preferences,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._session = session
        self._workshop = workshop
        self._workbench = workbench
        self._preferences = preferences
        self.saving = Saving(window, session)
        self.changed_sources = ChangedSources(window, session)
        self.changed_sources.reopen_requested.connect(self.open_path)
        self._opening: Opening | None = None
        self._source: Source | None = None
        self._pages: list[Page] = []
        #: The open score's pages as they were, while it is engraved anew.
        self._pages_before: list[Page] = []
        self._long = False
        #: The same of the pages that are there, whatever is being made of them.
        self._is_long = False

    @property
    def long(self) -> bool:
        """Whether the score is, or is being, engraved as one line of music."""
        return self._long

    @property
    def source(self) -> Source | None:
        """The open score's source."""
        return self._source

    @property
    def opening(self) -> bool:
        """Whether a score that is being opened is already in sight."""
        return self._opening is not None and bool(self._opening.pages)

    @property
    def title(self) -> str:
        """Name of what is open or being opened; empty for nothing."""
        if self._opening and self.opening:
            return self._opening.path.name
        return self._source.name if self._source else ""

    @property
    def layout(self) -> Layout:
        """How the score is engraved for the screen."""
        free = room()
        return Layout(
            page_width=self._workbench.score.sheet_width,
            one_system=self._long,
            fit_height=True,
            margin=MARGIN,
            room_above=free.above,
            room_below=free.below,
            staff_gap=STAFF_GAP,
            stretch=STRETCH,
        )

    # Opening

    def ask_open(self) -> None:
        """Let the user choose a file."""
        name, _ = QFileDialog.getOpenFileName(
            self._window, said("Open"), self._preferences.folder, said_phrase(SCORE_FILTER)
        )
        if name:
            self.open_path(Path(name))

    def open_sample(self) -> None:
        """Open the sample that shows most."""
        self.open_path(Path(sample_scores.__path__[0]) / SAMPLE)

    def open_path(self, path: Path) -> None:
        """Open a score, or the score of a review file, after asking for unsaved changes."""
        self.leave(lambda: self._start(path.absolute()))

    def _start(self, path: Path) -> None:
        is_review = path.name.endswith(SUFFIX)
        review_file = path if is_review else review_path(path)
        if not is_review and not review_file.exists():
            self._ask_and_open(Opening(path))
            return
        try:
            review = read_review(review_file)
        except OverstaveError as error:
            ask_about_review(self._window, path, review_file, error, self._ask_and_open)
            return
        score = score_of(review_file, review) if is_review else path
        self._ask_and_open(Opening(score, review, review_file))

    def open_journal(self, path: Path) -> None:
        """Open what a journal holds, after asking for unsaved changes."""
        self.leave(lambda: self._recover(path))

    def _recover(self, path: Path) -> None:
        try:
            taken = take_journal(path)
        except OverstaveError as error:
            self.tell_failure(error)
            return
        if taken is None:
            self.told.emit(said("Another window has recovered that already"))
            return
        held, remains = taken
        score = Path(remains.review.source.path)
        opening = Opening(score, remains.review, remains.review_file, held)
        if os.path.exists(score):  # which a path that cannot be does not
            self._ask_and_open(opening)
        else:
            ask_where_score_is(
                self._window,
                opening,
                self._preferences.folder,
                lambda: self._ask_and_open(opening),
            )

    def _ask_and_open(self, opening: Opening) -> None:
        """Open it; where another window has its review, ask first."""
        keeper = self._session.keeper
        holder = keeper.holder(opening.target) if keeper else None
        if holder is None:
            self._open(opening)
        else:
            ask_about_holder(self._window, opening, holder, self._open)

    def _open(self, opening: Opening) -> None:
        self._preferences.folder = str(opening.path.parent)
        # Asking cancels what was being opened before; that is no failure of this one.
        self._drop_opening()
        self.about_to_open.emit()
        self._workshop.open_score(opening.path, self.layout, opening.review)
        self._opening = opening

    def _drop_opening(self) -> None:
        """Forget what was being opened; a journal is there for another try."""
        if self._opening and self._opening.journal:
            self._opening.journal.release()
        self._opening = None

    def take_source(self, source: Source) -> None:
        """The file is a score."""
        if self._opening:
            self._opening.source = source

    def take_page(self, page: Page) -> None:
        """Show a page as soon as it is engraved."""
        if page.index == 0:
            self._workbench.score.show_pages(())
            if self._opening is None:
                self._pages_before, self._pages = self._pages_before or self._pages, []
            else:
                self.document_shown.emit(None)
        (self._opening.pages if self._opening else self._pages).append(page)
        self._workbench.score.add_page(page)
        if page.index == 0:
            self.changed.emit()

    def take_engraved(self) -> None:
        """All pages are there: go back to where the user was before they were engraved anew."""
        self._pages_before = []
        if self._opening is None:
            self._is_long = self._long
        span = self._session.selection.span
        if span is not None and self._opening is None:
            self._workbench.score.show_place(span)

    def take_carried(self, carried: Carried) -> None:
        """The review as it fits the score that is being opened."""
        if self._opening:
            self._opening.carried = carried

    def take_analysis(self, score: Score, analysis: Analysis) -> None:
        """The score is read and analysed: it is now the open document."""
        opening, self._opening = self._opening, None
        if opening is None or opening.source is None:
            return
        self._source, self._pages, self._pages_before = opening.source, opening.pages, []
        self._is_long = self._long
        if not self._pages:
            # On a busy machine the analysis may be there before the first page.
            self._workbench.score.show_pages(())
        info = SourceInfo(opening.source.name, str(opening.path), opening.source.digest)
        review = opening.carried.review if opening.carried else opening.review
        document = Document(info, score, analysis)
        if review:
            document = document_of(review, info, score, analysis)
        self._preferences.add_recent(opening.path)
        unsaved = opening.carried is not None or opening.journal is not None
        self._session.open(document, opening.review_file, unsaved=unsaved)
        self._keep_safe(opening)
        self.changed.emit()
        if opening.carried:
            self.carried_over.emit(opening.carried.report)

    def _keep_safe(self, opening: Opening) -> None:
        """Tell other windows whose review this is; an old journal has done its work."""
        keeper = self._session.keeper
        if keeper is not None and opening.copy:
            keeper.release()
        elif keeper is not None:
            keeper.take_over(opening.target)
        if opening.journal is not None:
            opening.journal.remove()

    def take_failure(self, error: OverstaveError) -> None:
        """Show what went wrong; what was open before is still open."""
        self.take_cancellation()
        self.tell_failure(error)

    def tell_failure(self, error: OverstaveError) -> None:
        """Show what went wrong."""
        show_error(self._window, str(error), error.details)

    def take_cancellation(self) -> None:
        """Nothing more will come of what was being opened, or engraved anew."""
        if self._long != self._is_long:
            self._long = self._is_long
            self.changed.emit()
        if self._opening is None and not self._pages_before:
            return
        self._drop_opening()
        self._pages, self._pages_before = self._pages_before or self._pages, []
        self._workbench.score.show_pages(tuple(self._pages))
        self.document_shown.emit(self._session.document)
        self.changed.emit()

    def toggle_long_system(self) -> None:
        """Engrave as one line of music, or as pages again; not while a score is being opened."""
        if self._source and self._opening is None:
            self._long = not self._long
            self._engrave_again()
        self.changed.emit()

    def reflow(self) -> None:
        """Break the lines of music anew for a view of another width."""
        if not self._long:
            self._engrave_again()

    def _engrave_again(self) -> None:
        if self._source and self._opening is None:
            self._workshop.engrave(self._source, self.layout)

    # Closing

    def close_document(self) -> None:
        """Close what is open, after asking for unsaved changes."""
        self.leave(self._close)

    def _close(self) -> None:
        self._drop_opening()
        self._workshop.cancel()
        self._source, self._pages, self._pages_before = None, [], []
        self._workbench.score.show_pages(())
        self._session.close()
        self.changed.emit()
        _give_back_memory()

    def leave(self, then: Callable[[], object]) -> None:
        """Do something that ends the open document, once its changes are safe or given up."""
        self.saving.leave(self.title, then)


def _give_back_memory() -> None:
    """Let the system have what the open document took.

    Answers come in by several threads, and glibc keeps what each of them frees, in pieces: a tenth
    of the resident memory after some rounds. Other C libraries give it back by themselves.
    """
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None) if os.name == "posix" else None
    if trim is not None:
        trim(0)
