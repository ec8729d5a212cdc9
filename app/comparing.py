"""Comparing two passages: which, and what of it is shown."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from analysis.errors import OverstaveError
from analysis.reading.sources import Source
from app.engraving.alignments import PairLine
from app.interface_words import said
from app.review.document import Document
from app.session import Session
from app.views.pairs import Pair, differences_of, measures_of, pair_for, pairs_of
from app.views.workbench import Workbench
from app.worker.workshop import Workshop


class Comparing(QObject):
    """The comparison of one window."""

    #: A line for the status bar.
    told = Signal(str)

    def __init__(
        self,
        window: QWidget,
        session: Session,
        workshop: Workshop,
        workbench: Workbench,
        source: Callable[[], Source | None],
    ) -> None:
        super().__init__(window)
        self._session = session
        self._workshop = workshop
        self._workbench = workbench
        self._source = source
        self._pairs: tuple[Pair, ...] = ()
        self._pair: Pair | None = None

    def compare(self) -> None:
        """Compare what the selection is about, or go back to the score."""
        document = self._session.document
        if self._workbench.comparing or document is None:
            self.leave_comparison()
            return
        self._pairs = pairs_of(document)
        if not self._pairs:
            self.told.emit(said("Nothing comes back in this piece: there is nothing to compare"))
            return
        at = pair_for(document, self._session.selection, self._pairs)
        self._workbench.show_comparison(True)
        self._workbench.comparison.show_pairs(self._pairs, at)
        self.show_pair(at)

    def leave_comparison(self) -> None:
        """Go back to the score."""
        self._pair = None
        self._workbench.show_comparison(False)

    def show_pair(self, at: int) -> None:
        """Show one of the pairs."""
        document, source = self._session.document, self._source()
        if document is None or source is None:
            return
        self._pair = pair = self._pairs[at]
        view = self._workbench.comparison
        view.show_pair(document, pair, differences_of(document, pair))
        first, later = measures_of(document, pair.first), measures_of(document, pair.later)
        self._workshop.engrave_pair(
            source, (pair.first.part, *first), (pair.later.part, *later),
            view.picture.wanted_width,
        )  # fmt: skip

    def take_line(self, line: PairLine) -> None:
        """Show a line that has been engraved."""
        if self._pair is not None:
            self._workbench.comparison.picture.add_line(line)

    def take_failure(self, error: OverstaveError) -> None:
        """Say why there is no picture."""
        self.leave_comparison()
        self.told.emit(str(error))

    def show_document(self, document: Document | None) -> None:
        """Follow edits: the same passages with what is now said about them."""
        if self._pair is None:
            return
        if document is None:
            self.leave_comparison()
        else:
            differences = differences_of(document, self._pair)
            self._workbench.comparison.picture.show_document(document, differences)
