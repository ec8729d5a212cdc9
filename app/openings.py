"""A score that is being opened, and the questions that may come before it."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from PySide6.QtCore import QDateTime, QLocale, Qt
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from analysis.errors import OverstaveError
from analysis.reading.sources import Source
from app.engraving.pages import Page
from app.interface_words import phrase, said, said_phrase
from app.review.carrying import Carried
from app.review.claims import HeldFile, Holder
from app.review.storage import (
    SUFFIX,
    StoredReview,
    previous_copy,
    read_review,
    review_path,
    score_of,
)
from app.views.dialogs import ask, show_error

SCORE_FILTER: Final = phrase(
    "Scores and reviews (*.musicxml *.xml *.mxl *.review.json);;All files (*)"
)


@dataclass(slots=True)
class Opening:
    """A score that is being opened: what of it has come so far.

    Parameters
    ----------
    journal
        The journal from which the review comes back after a crash.
    copy
        Whether another window keeps the review, so that this one is saved elsewhere.
    carried
        The review as it fits the score, where it was made about an earlier one.
    """

    path: Path
    review: StoredReview | None = None
    review_file: Path | None = None
    journal: HeldFile | None = None
    copy: bool = False
    carried: Carried | None = None
    source: Source | None = None
    pages: list[Page] = field(default_factory=list)

    @property
    def target(self) -> Path:
        """The review file that saving will write."""
        return self.review_file or review_path(self.path)


#: What goes on with an opening once a question is answered.
Open = Callable[[Opening], object]


def ask_about_review(
    window: QWidget, path: Path, review_file: Path, error: OverstaveError, go_on: Open
) -> None:
    """A review cannot be read: the last good copy, the score without it, or nothing.

    In each case the file stays as it is: what is opened has no review file, so that saving asks for
    a name.
    """
    is_review = path.name.endswith(SUFFIX)
    answers: dict[str, Callable[[], object]] = {}
    try:
        review = read_review(previous_copy(review_file))
    except OverstaveError:
        scores = _scores_of(review_file) if is_review else [path]
    else:
        score = score_of(review_file, review) if is_review else path
        scores = [score]
        copy = Opening(score, review)
        answers[said("Open the Copy Before It")] = lambda: go_on(copy)
    if scores:
        answers[said("Open Without It")] = lambda: go_on(Opening(scores[0]))
    if answers:
        more = said("The review file {file} stays as it is.", file=review_file.name)
        box = ask(window, str(error), more, answers, said("Cancel"))
        if error.details:
            box.setDetailedText(error.details)
    else:
        show_error(window, str(error), error.details)


def ask_about_holder(window: QWidget, opening: Opening, holder: Holder, go_on: Open) -> None:
    """Another window has the review open: a copy, or take it over."""

    def open_copy() -> None:
        opening.copy, opening.review_file = True, None
        go_on(opening)

    since = QDateTime.fromString(holder.since, Qt.DateFormat.ISODate).toLocalTime()
    when = QLocale().toString(since, QLocale.FormatType.ShortFormat)
    answers: dict[str, Callable[[], object]] = {
        said("Open a Copy"): open_copy,
        said("Take It Over"): lambda: go_on(opening),
    }
    question = said("The review of {file} is open in another window.", file=opening.path.name)
    more = said(
        "It has been since {when} (process {process} on {host}).",
        when=when,
        process=holder.pid,
        host=holder.host,
    )
    _release_on_cancel(ask(window, question, more, answers, said("Cancel")), opening)


def ask_where_score_is(
    window: QWidget, opening: Opening, folder: str, go_on: Callable[[], object]
) -> None:
    """The score of a recovered review is gone: find it, or leave all for later."""

    def choose() -> None:
        name, _ = QFileDialog.getOpenFileName(
            window, said("Open"), folder, said_phrase(SCORE_FILTER)
        )
        if name:
            opening.path = Path(name)
            go_on()
        elif opening.journal:
            opening.journal.release()

    question = said("The score {file} is no longer where it was.", file=opening.path.name)
    more = said(
        "It was {path}. What is to be recovered is kept until you find it.", path=opening.path
    )
    answers: dict[str, Callable[[], object]] = {said("Find the Score…"): choose}
    _release_on_cancel(ask(window, question, more, answers, said("Not Now")), opening)


def _scores_of(review_file: Path) -> list[Path]:
    """Scores of the same name beside a review that does not say its own."""
    stem = review_file.name.removesuffix(SUFFIX)
    names = (review_file.with_name(stem + ending) for ending in (".musicxml", ".mxl", ".xml"))
    return [path for path in names if os.path.exists(path)]


def _release_on_cancel(box: QMessageBox, opening: Opening) -> None:
    """Leave a journal for another try where the user goes no further."""
    escape, journal = box.escapeButton(), opening.journal

    def release() -> None:
        if journal is not None and box.clickedButton() in (escape, None):
            journal.release()

    box.finished.connect(release)
