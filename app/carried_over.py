"""The report on a review that was carried over to a changed transcription, shown on wish."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from app.interface_words import said
from app.review.carry_reports import CarryReport
from app.review.document import Document, SourceInfo
from app.views.carry_report import CarryReportDialog


class CarriedOver(QObject):
    """Keeps the last report of one window and shows it beside the score."""

    #: A line for the status bar.
    told = Signal(str)

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self._document: Document | None = None
        self._source: SourceInfo | None = None
        self._report: CarryReport | None = None
        self.dialog = CarryReportDialog(window)

    def take_report(self, report: CarryReport) -> None:
        """Tell what was done to the open document, and show it where there is more to say."""
        self._report = report
        self.told.emit(
            said("The score has changed since it was reviewed. {what}", what=report.summary)
        )
        if report.entries or report.statements:
            self.show_carry_report()

    def show_carry_report(self) -> None:
        """Show the report, or what is left over from earlier ones."""
        document = self._document
        if document is None:
            return
        if self._report is None and not document.leftovers:
            self.told.emit(said("Nothing was carried over, and nothing is left over"))
            return
        self.dialog.show_report(self._report, document)
        self.dialog.show()
        self.dialog.raise_()

    def show_document(self, document: Document | None) -> None:
        """Follow the open document; another one has no report yet."""
        source = document.source if document else None
        if source != self._source:
            self._source, self._report = source, None
            self.dialog.reject()
        self._document = document
        self.dialog.show_document(document)
