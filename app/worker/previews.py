"""Previews of an export as the window asks for them: the newest wish first, old ones dropped.

One process paints and looks at pictures, one wish at a time. What is to be painted comes before
what is only to be looked at; a newer wish takes the place of an older one that has not begun. The
process starts with the first wish and keeps the document that was sent last.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from PySide6.QtCore import QObject, Signal

from analysis.reading.sources import Source
from app.review.document import Document
from app.worker.export_wishes import PRINTED, Entry, ExportWish
from app.worker.messages import Answer, Answered, Failed, Kept
from app.worker.processes import WorkerProcess

JOBS: Final = "app.worker.preview_jobs"
WORDS: Final = "app.worker.offer_jobs"
#: Seconds that one picture may take.
_LIMIT: Final = 90.0
#: The name under which the process keeps the document.
_OPEN: Final = "open document"


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be painted: an entry; of a reveal one step, or only what it adds."""

    wish: ExportWish
    entry: Entry
    step: int = 0
    added: bool = False


class Previews(QObject):
    """The previews of one window.

    Signals
    -------
    offered
        An `Offer`: what can be made of the document.
    painted
        A `Wanted` and its `Painted`.
    written
        A `Wanted` and the beginning of its text.
    looked
        An `Entry` and its `Facts`.
    failed
        An `Entry`, or None, and an `OverstaveError`.
    """

    offered = Signal(object)
    painted = Signal(object, object)
    written = Signal(object, object)
    looked = Signal(object, object)
    failed = Signal(object, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._process: WorkerProcess | None = None
        self._document: tuple[Source, Document] | None = None
        self._keeper: int | None = None
        self._stale = True
        self._offered = False
        self._wanted: Wanted | None = None
        self._to_look: list[tuple[ExportWish, Entry]] = []
        self._now: tuple[int, Wanted | Entry | None] | None = None

    @property
    def busy(self) -> bool:
        """Whether anything is still to come."""
        return bool(self._now or self._wanted or self._to_look)

    def show_document(self, source: Source, document: Document) -> None:
        """What is exported from now on."""
        self._document = (source, document)
        self._stale, self._offered = True, False
        self._wanted = None
        self._to_look.clear()
        self._go_on()

    def paint(self, wanted: Wanted) -> None:
        """Paint a picture, or write the beginning of a text, next."""
        self._wanted = wanted
        self._go_on()

    def look_at(self, wish: ExportWish, entries: Iterable[Entry]) -> None:
        """Find out what there is to say about pictures, one after the other."""
        self._to_look = [(wish, entry) for entry in entries]
        self._go_on()

    def rest(self) -> None:
        """Begin nothing more."""
        self._wanted = None
        self._to_look.clear()

    def close(self) -> None:
        """End the process; another document starts another."""
        self.rest()
        self._now = self._document = None
        if self._process is not None:
            self._process.close()
            self._process.deleteLater()
            self._process = None

    def _go_on(self) -> None:
        if self._now is not None or self._document is None:
            return
        if self._process is None:
            self._process = WorkerProcess("preview", (f"{JOBS}:warm",), self)
            self._process.answered.connect(self._hear)
        if self._stale or self._keeper != self._process.pid:
            self._ask(None, f"{JOBS}:take_document", *self._document)
            # The process may have been started by this very request.
            self._stale, self._keeper = False, self._process.pid
        elif self._wanted is not None:
            wanted, self._wanted = self._wanted, None
            entry = wanted.entry
            if entry.name.endswith(PRINTED):
                self.written.emit(wanted, "")
                self._go_on()
            elif "/" in entry.name:
                about = (Kept(_OPEN), wanted.wish, entry.sort, entry.key)
                self._ask(wanted, f"{JOBS}:paint", *about, wanted.step, wanted.added)
            else:
                self._ask(wanted, f"{WORDS}:write_text", Kept(_OPEN), wanted.wish, entry.key)
        elif not self._offered:
            self._offered = True
            self._ask(None, f"{WORDS}:offer", Kept(_OPEN))
        elif self._to_look:
            wish, entry = self._to_look.pop(0)
            about = (Kept(_OPEN), wish, entry.sort, entry.key)
            self._ask(entry, f"{JOBS}:look_at", *about)

    def _ask(self, what: Wanted | Entry | None, job: str, *arguments: Any) -> None:
        assert self._process is not None
        number = self._process.request(job, *arguments, limit=_LIMIT)
        self._now = (number, what)

    def _hear(self, message: Answered) -> None:
        if self._now is None or message.request != self._now[0]:
            return
        what = self._now[1]
        if isinstance(message, Answer):
            self._tell(what, message.value)
            return
        self._now = None
        if isinstance(message, Failed):
            if what is None:
                self._document = None  # it cannot be shown, now or at another try
            entry = what.entry if isinstance(what, Wanted) else what
            self.failed.emit(entry, message.error)
        self._go_on()

    def _tell(self, what: Wanted | Entry | None, value: object) -> None:
        if isinstance(what, Entry):
            self.looked.emit(what, value)
        elif what is None:
            self.offered.emit(value)
        elif isinstance(value, str):
            self.written.emit(what, value)
        else:
            self.painted.emit(what, value)
