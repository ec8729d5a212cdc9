"""Opening, saving, closing and exporting: what passes between files, the workshop and the session.

Opening keeps the document that was open until the new one is read and analysed; where that fails,
nothing has changed. A review file beside the score is opened with it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from PySide6.QtCore import QObject, QUrl, Signal
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QFileDialog, QWidget

import sample_scores
from analysis.errors import OverstaveError
from analysis.marks import Analysis
from analysis.score import Score
from analysis.sources import Source
from app.engraving.layouts import Layout
from app.engraving.overlay import room
from app.engraving.pages import Page
from app.preferences import Preferences
from app.review.document import Document, SourceInfo
from app.review.storage import (
    SUFFIX,
    StoredReview,
    document_of,
    previous_copy,
    read_review,
    review_path,
)
from app.session import Session
from app.views.dialogs import ExportDialog, ask, show_error
from app.views.workbench import Workbench
from app.worker.messages import ExportWish
from app.worker.workshop import Workshop

SCORE_FILTER: Final = "Scores and reviews (*.musicxml *.xml *.mxl *.review.json);;All files (*)"
REVIEW_FILTER: Final = f"Reviews (*{SUFFIX})"
SAMPLE: Final = "wednesday-table.musicxml"
#: A screen has no edge to be cut off, so the sheet is set closer than print (see `Layout`).
MARGIN: Final = 28.0
STAFF_GAP: Final = 90.0
STRETCH: Final = 0.15


@dataclass(slots=True)
class Opening:
    """A score that is being opened: what of it has come so far."""

    path: Path
    review: StoredReview | None = None
    review_file: Path | None = None
    source: Source | None = None
    pages: list[Page] = field(default_factory=list)


class Filing(QObject):
    """Files of one window."""

    #: What is open has changed: a source, pages, or nothing any more.
    changed = Signal()
    #: Pages are about to be made for the view, which may not have been on screen yet.
    about_to_open = Signal()
    #: Another `Document` than the session's is in sight for a while, or the session's again.
    document_shown = Signal(object)
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
        self._opening: Opening | None = None
        self._source: Source | None = None
        self._pages: list[Page] = []
        self._long = False

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
            self._window, "Open", self._preferences.folder, SCORE_FILTER
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
            self._open(Opening(path))
            return
        try:
            review = read_review(review_file)
        except OverstaveError as error:
            self._ask_about_review(path, review_file, error, is_review)
            return
        score = _score_of(review_file, review) if is_review else path
        self._open(Opening(score, review, review_file))

    def _ask_about_review(
        self, path: Path, review_file: Path, error: OverstaveError, is_review: bool
    ) -> None:
        """The review cannot be read: the last good copy, without it, or not at all."""
        answers: dict[str, Callable[[], object]] = {}
        copy = previous_copy(review_file)
        try:
            review = read_review(copy)
        except OverstaveError:
            pass
        else:
            score = _score_of(review_file, review) if is_review else path
            # Without a path the copy is saved elsewhere, and the damaged file is left alone.
            answers["Open the Copy Before It"] = lambda: self._open(Opening(score, review))
        if not is_review:
            answers["Open Without It"] = lambda: self._open(Opening(path))
        if answers:
            more = f"The review file {review_file.name} stays as it is."
            ask(self._window, str(error), more, answers, "Cancel")
        else:
            show_error(self._window, str(error), error.details)

    def _open(self, opening: Opening) -> None:
        self._preferences.folder = str(opening.path.parent)
        # Asking cancels what was being opened before; that is no failure of this one.
        self._opening = None
        self.about_to_open.emit()
        self._workshop.open_score(opening.path, self.layout, opening.review)
        self._opening = opening

    def take_source(self, source: Source) -> None:
        """The file is a score."""
        if self._opening:
            self._opening.source = source

    def take_page(self, page: Page) -> None:
        """Show a page as soon as it is engraved."""
        pages = self._opening.pages if self._opening else self._pages
        if page.index == 0:
            pages.clear()
            self._workbench.score.show_pages(())
            if self._opening:
                self.document_shown.emit(None)
        pages.append(page)
        self._workbench.score.add_page(page)
        if page.index == 0:
            self.changed.emit()

    def take_engraved(self) -> None:
        """All pages are there: go back to where the user was before they were engraved anew."""
        span = self._session.selection.span
        if span is not None and self._opening is None:
            self._workbench.score.show_place(span)

    def take_analysis(self, score: Score, analysis: Analysis) -> None:
        """The score is read and analysed: it is now the open document."""
        opening, self._opening = self._opening, None
        if opening is None or opening.source is None:
            return
        self._source, self._pages = opening.source, opening.pages
        if not self._pages:
            # On a busy machine the analysis may be there before the first page.
            self._workbench.score.show_pages(())
        info = SourceInfo(opening.source.name, str(opening.path), opening.source.digest)
        document = Document(info, score, analysis)
        if opening.review:
            document = document_of(opening.review, info, score, analysis)
        self._preferences.add_recent(opening.path)
        self._session.open(document, opening.review_file)
        self.changed.emit()
        if opening.review and opening.review.source.digest != info.digest:
            self.told.emit(
                "The score has changed since it was reviewed; decisions on marks that are still "
                "there are kept."
            )

    def take_failure(self, error: OverstaveError) -> None:
        """Show what went wrong; what was open before is still open."""
        self.take_cancellation()
        self.tell_failure(error)

    def tell_failure(self, error: OverstaveError) -> None:
        """Show what went wrong."""
        show_error(self._window, str(error), error.details)

    def take_cancellation(self) -> None:
        """Nothing more will come of what was being opened."""
        if self._opening is None:
            return
        self._opening = None
        self._workbench.score.show_pages(tuple(self._pages))
        self.document_shown.emit(self._session.document)
        self.changed.emit()

    def toggle_long_system(self) -> None:
        """Engrave as one line of music, or as pages again."""
        self._long = not self._long
        self._engrave_again()

    def reflow(self) -> None:
        """Break the lines of music anew for a view of another width."""
        if not self._long:
            self._engrave_again()

    def _engrave_again(self) -> None:
        if self._source and self._opening is None:
            self._workshop.engrave(self._source, self.layout)

    # Saving and closing

    def save(self, then: Callable[[], object] = lambda: None) -> None:
        """Save the review, beside the score unless it was saved elsewhere."""
        document = self._session.document
        if document is None:
            return
        path = self._session.path
        score = Path(document.source.path)
        if path is None and (Path(sample_scores.__path__[0]) in score.parents):
            self.save_as(then)
        elif path is None and review_path(score).exists():
            # A review stands there that could not be read: do not write over it.
            self.save_as(then)
        elif self._session.save(path or review_path(score)):
            self._tell_saved(then)

    def save_as(self, then: Callable[[], object] = lambda: None) -> None:
        """Save the review in a file of the user's choice."""
        document = self._session.document
        if document is None:
            return
        start = str(self._session.path or review_path(Path(document.source.path)))
        name, _ = QFileDialog.getSaveFileName(self._window, "Save Review", start, REVIEW_FILTER)
        if not name:
            return
        path = Path(name if name.endswith(SUFFIX) else name.removesuffix(".json") + SUFFIX)
        if self._session.save(path):
            self._tell_saved(then)

    def _tell_saved(self, then: Callable[[], object]) -> None:
        self.told.emit(f"Saved {self._session.path}")
        self.changed.emit()
        then()

    def close_document(self) -> None:
        """Close what is open, after asking for unsaved changes."""
        self.leave(self._close)

    def _close(self) -> None:
        self._opening = None
        self._workshop.cancel()
        self._source, self._pages = None, []
        self._workbench.score.show_pages(())
        self._session.close()
        self.changed.emit()

    def leave(self, then: Callable[[], object]) -> None:
        """Do something that ends the open document, once its changes are safe or given up."""
        if not self._session.modified:
            then()
            return
        answers = {"Save": lambda: self.save(then), "Don’t Save": then}
        question = f"Save the changes to the review of {self.title}?"
        more = "Without saving, the decisions since the last save are lost."
        ask(self._window, question, more, answers, "Cancel")

    # Exporting

    def ask_export(self) -> None:
        """Ask what to export."""
        document = self._session.document
        if document is None or self._source is None:
            return
        score = Path(document.source.path)
        dialog = ExportDialog(score.parent / f"{score.stem} export", self._window)
        dialog.export_requested.connect(self.export)
        dialog.open()

    def export(self, wish: ExportWish) -> None:
        """Write what was asked for, elsewhere, while the user goes on."""
        if self._session.document and self._source:
            self._workshop.export(self._source, self._session.document, wish)

    def take_exported(self, paths: list[Path]) -> None:
        """Say what was written, and offer to see it."""
        if not paths:
            return
        count = "One file" if len(paths) == 1 else f"{len(paths)} files"
        folder = paths[0].parent
        show = QUrl.fromLocalFile(str(folder))
        answers: dict[str, Callable[[], object]] = {
            "Show the Folder": lambda: QDesktopServices.openUrl(show)
        }
        self.told.emit(f"{count} written to {folder}")
        ask(self._window, f"{count} written.", str(folder), answers, "Close")


def _score_of(review_file: Path, review: StoredReview) -> Path:
    """Where the score of a review is: where it was, or beside the review."""
    path = Path(review.source.path)
    beside = review_file.with_name(review.source.name)
    return beside if not path.exists() and beside.exists() else path
