"""What keeps one open document safe: its journal, its claim on the review file, what it overwrites.

Three dangers, three means. The program ends: the journal has every change (`app.review.journals`).
Two windows have the same review open: the first holds a claim on it, the second is told
(`app.review.claims`). Something else wrote the review file meanwhile, such as another machine that
shares the folder: its bytes are compared before it is written over.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from pathlib import Path

import platformdirs

from analysis.errors import ReviewFileError
from analysis.score import Score
from app.review.claims import HeldFile, Holder, claim, holder_of, seize
from app.review.document import Document
from app.review.files import content_of
from app.review.journals import Journal, Remains, find_abandoned, read_journal
from app.review.skeletons import Skeleton, skeleton_of
from app.review.storage import write_review


class ReviewChangedError(ReviewFileError):
    """The review file is no longer what was opened or saved last."""


class ReviewTakenError(ReviewFileError):
    """Another window has taken the review over."""


class JournalError(ReviewFileError):
    """A change could not be put on disk; the document is as it should be."""


def state_folder() -> Path:
    """Where this user's journals and claims are kept, by the platform's conventions."""
    return platformdirs.user_state_path("overstave", appauthor=False)


class Safekeeping:
    """The safety of one window's document. Its folder is made when it is first needed."""

    def __init__(self, folder: Path) -> None:
        self._journals = folder / "journals"
        self._claims = folder / "claims"
        self._journal: Journal | None = None
        self._claim: HeldFile | None = None
        self._claimed: Path | None = None
        self._review_file: Path | None = None
        self._digest = ""
        self._bones: tuple[Score, Skeleton] | None = None

    # The document

    def begin(
        self, document: Document, review_file: Path | None = None, *, unsaved: bool = False
    ) -> None:
        """Keep another document safe from now on; the journal of the one before goes.

        Raises
        ------
        JournalError
            If no journal can be written; changes are then tried one by one.
        """
        self._review_file, self._digest = review_file, _digest(review_file)
        before, self._journal = self._journal, None
        try:
            self._journal = self._begin(document, unsaved=unsaved)
        except OSError as error:
            raise _no_journal(error) from error
        finally:
            if before is not None:
                before.remove()

    def record(self, document: Document, text: str) -> None:
        """Put a change on disk; JournalError where that fails."""
        try:
            if self._journal is None or not self._journal.in_place:
                before, self._journal = self._journal, None
                if before is not None:
                    before.remove()  # its folder was taken away: what is written there is lost
                self._journal = self._begin(document, unsaved=True)
            else:
                self._journal.record(document, text)
        except OSError as error:
            raise _no_journal(error) from error

    def _begin(self, document: Document, *, unsaved: bool) -> Journal:
        return Journal.begin(
            self._journals,
            document,
            self._review_file,
            unsaved=unsaved,
            skeleton=self._bones_of(document.score),
        )

    def _bones_of(self, score: Score) -> Skeleton:
        """The skeleton of the open score, which stays the same from edit to edit."""
        if self._bones is None or self._bones[0] is not score:
            self._bones = score, skeleton_of(score)
        return self._bones[1]

    def sync(self) -> None:
        """Make what was written outlast a power cut; may be called on another thread."""
        journal = self._journal
        if journal is not None:
            with contextlib.suppress(OSError):  # it may have been removed meanwhile
                journal.sync()

    def end(self) -> None:
        """The document is saved or given up: take the journal away and let the review go."""
        if self._journal is not None:
            self._journal.remove()
            self._journal = None
        self._bones = None
        self.release()

    # The review file

    def save(self, document: Document, path: Path, *, overwrite: bool = False) -> None:
        """Write the review file, claim it, and begin the journal anew.

        Parameters
        ----------
        overwrite
            Write over whatever has come to stand there, and take it from another window.

        Raises
        ------
        ReviewTakenError, ReviewChangedError
            If writing would undo what others did; nothing was written.
        ReviewFileError
            If it cannot be written; see `app.review.storage.write_review`.
        JournalError
            If it was saved, but no journal can be written from here on.
        """
        if not overwrite:
            self._check(path)
        write_review(path, document, self._bones_of(document.score))
        self.take_over(path)
        self.begin(document, path)

    def claim(self, path: Path) -> Holder | None:
        """Claim a review file for this window; who has it, where another window does.

        What was claimed before is let go once the new claim stands.
        """
        if path == self._claimed and self._claim is not None and self._claim.in_place:
            return None
        lock = self._lock_of(path)
        try:
            self._claims.mkdir(parents=True, exist_ok=True, mode=0o700)
            held = claim(lock)
        except OSError:
            return None  # without a state folder no window knows of another
        if held is None:
            return holder_of(lock) or Holder(0, "", "")
        self.release()
        self._claim, self._claimed = held, path
        return None

    def holder(self, path: Path) -> Holder | None:
        """Which other window has a review file open; None where none does."""
        if path == self._claimed and self._claim is not None and self._claim.in_place:
            return None
        lock = self._lock_of(path)
        try:
            held = HeldFile.hold(lock)
        except OSError:
            return None
        if held is not None:
            held.remove()
            return None
        return (holder_of(lock) or Holder(0, "", "")) if lock.exists() else None

    def take_over(self, path: Path) -> None:
        """Claim a review file whoever else has it."""
        if self.claim(path) is not None:
            self.release()
            with contextlib.suppress(OSError):
                self._claim, self._claimed = seize(self._lock_of(path)), path

    def release(self) -> None:
        """Let the review file go."""
        if self._claim is not None:
            self._claim.remove()
        self._claim = self._claimed = None

    def _check(self, path: Path) -> None:
        """Raise where saving would undo what another window or program did."""
        ours = path == self._claimed
        if self.claim(path) is not None:
            happened = "taken over by" if ours else "open in"
            raise ReviewTakenError(
                f"{path.name} is {happened} another window. Save under another name, so that "
                "neither loses anything."
            )
        if ours and _digest(path) not in ("", self._digest):
            raise ReviewChangedError(
                f"{path.name} has been changed by another program since it was opened here."
            )

    def _lock_of(self, path: Path) -> Path:
        """A name for the file that is the same from every window."""
        name = hashlib.sha256(os.fsencode(path.resolve())).hexdigest()[:32]
        return self._claims / f"{name}.claim"

    # After a crash

    def abandoned(self) -> list[Path]:
        """Journals of documents whose program ended before they were saved."""
        return find_abandoned(self._journals)

    @property
    def folder(self) -> Path:
        """Where the journals are."""
        return self._journals


def take_journal(path: Path) -> tuple[HeldFile, Remains] | None:
    """Hold an abandoned journal and read it; None where another window was faster.

    Raises
    ------
    ReviewFileError
        If nothing can be had from it.
    """
    held = HeldFile.hold(path)
    if held is None:
        return None
    try:
        return held, read_journal(path)
    except ReviewFileError:
        held.release()
        raise


def _digest(path: Path | None) -> str:
    """SHA-256 of a file; empty where there is none to read."""
    if path is None:
        return ""
    try:
        return hashlib.sha256(content_of(path)).hexdigest()
    except OSError:
        return ""


def _no_journal(error: OSError) -> JournalError:
    return JournalError(
        "Your changes cannot be kept safe against a crash: the journal could not be written "
        f"({error.strerror or error}). Save the review soon.",
        f"{error.filename or ''} {error!r}".strip(),
    )
