"""Keeping the analysis in step with what the user corrects.

Whenever the open document has corrections that no analysis follows yet, the workshop is asked for
one; when it comes, the session shows it. An analysis that fails or is cancelled leaves the
correction in force, and can be asked for again.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from analysis.errors import OverstaveError
from analysis.marks import Analysis, Corrections
from analysis.reading.sources import Source
from app.interface_words import said
from app.session import Session
from app.worker.workshop import Workshop


class Deriving(QObject):
    """Asks for analyses of the open document and hands them to the session.

    Parameters
    ----------
    source
        Gives the open score's source; None while there is none.
    """

    #: A line for the status bar.
    told = Signal(str)
    #: Whether what is shown waits for an analysis has changed.
    changed = Signal()

    def __init__(
        self,
        parent: QObject,
        session: Session,
        workshop: Workshop,
        source: Callable[[], Source | None],
    ) -> None:
        super().__init__(parent)
        self._session = session
        self._workshop = workshop
        self._source = source
        self._asked: Corrections | None = None

    @property
    def stalled(self) -> bool:
        """Whether an analysis is due and nobody is making it."""
        return self._session.pending and self._asked is None

    def follow(self) -> None:
        """Ask for an analysis where the shown one does not follow the corrections."""
        document = self._session.document
        if document is None or not self._session.pending:
            self._asked = None
        elif document.corrections != self._asked:
            self._ask(document.corrections)

    def analyse_again(self) -> None:
        """Ask once more for an analysis that failed or was cancelled."""
        if self._session.document is not None:
            self._ask(self._session.document.corrections)

    def take(self, corrections: Corrections, analysis: Analysis) -> None:
        """Show an analysis that was asked for."""
        if corrections == self._asked:
            self._asked = None
        self._session.take_analysis(corrections, analysis)
        self.changed.emit()

    def take_failure(self, error: OverstaveError) -> None:
        """Say that the marks do not follow the last correction."""
        self._asked = None
        self.told.emit(said("The marks do not follow your last correction yet: {why}", why=error))
        self.changed.emit()

    def take_cancellation(self) -> None:
        """Nothing more will come of what was asked for."""
        self._asked = None
        self.changed.emit()

    def _ask(self, corrections: Corrections) -> None:
        source = self._source()
        if source is not None:
            self._asked = corrections
            self._workshop.derive(source, corrections)
            self.changed.emit()
