"""What became of a review when its transcription came back changed, each entry one click away.

The window stays beside the score. A row that is chosen is shown in the score; what found no place
can be put on the mark that is selected there, or taken out of the review.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHeaderView,
    QLabel,
    QPushButton,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.interface_words import Phrase, phrase, said, said_phrase
from app.review.carry_reports import GROUPS, CarryReport, Entry, Group, leftover_entries
from app.review.document import Document
from app.review.leftover_edits import DropLeftover, PlaceLeftover
from app.review.selection import NOTHING, Selection
from app.views.dialogs import give_size

_TITLES: Final[dict[Group, Phrase]] = {
    "unplaced": phrase("Could not be placed ({count})"),
    "changed": phrase("Changed under a decision ({count})"),
    "moved": phrase("Moved ({count})"),
    "returned": phrase("Back in place ({count})"),
}
_ENTRY: Final = Qt.ItemDataRole.UserRole


class CarryReportDialog(QDialog):
    """The report of one carrying over, and what is still left over.

    Signals
    -------
    selection_requested
        The `Selection` of the chosen entry.
    edit_requested
        An `Edit` of what is left over.
    """

    selection_requested = Signal(object)
    edit_requested = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(said("Carried Over"))
        self._report: CarryReport | None = None
        self._document: Document | None = None
        self._selection = NOTHING
        self._sized = False
        self.told = QLabel(wordWrap=True)
        self.tree = QTreeWidget()
        self.tree.setAccessibleName(said("What moved, what changed, what has no place"))
        self.tree.setHeaderLabels([said("Mark"), said("Measure"), said("What happened")])
        self.tree.setWordWrap(True)
        self.tree.setRootIsDecorated(True)
        header = self.tree.header()
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
        header.setStretchLastSection(True)
        self.hint = QLabel(wordWrap=True)
        self.hint.setProperty("quiet", True)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        self.place_button = QPushButton(said("&Place on the Selected Mark"))
        self.drop_button = QPushButton(said("&Remove from the Review"))
        for button in (self.place_button, self.drop_button):
            button.setAutoDefault(False)
            buttons.addButton(button, QDialogButtonBox.ButtonRole.ActionRole)
        layout = QVBoxLayout(self)
        for widget in (self.told, self.tree, self.hint, buttons):
            layout.addWidget(widget)
        buttons.rejected.connect(self.reject)
        self.tree.currentItemChanged.connect(self._follow)
        self.place_button.clicked.connect(self._place)
        self.drop_button.clicked.connect(self._drop)

    @property
    def entry(self) -> Entry | None:
        """The entry of the chosen row; None for a heading."""
        row = self.tree.currentItem()
        found: Entry | None = row.data(0, _ENTRY) if self.tree.topLevelItemCount() and row else None
        return found

    def showEvent(self, event: QShowEvent) -> None:
        """Take a size by the letters that there are now: the dialog is made with the window."""
        if not self._sized:
            give_size(self, 96, 28)
            self._sized = True
        super().showEvent(event)

    def show_report(self, report: CarryReport | None, document: Document) -> None:
        """Show a report, or only what is left over where there is none."""
        self._report = report
        self._document = document
        self._fill()

    def show_document(self, document: Document | None) -> None:
        """Follow an edit: what is no longer left over is no longer listed."""
        before, self._document = self._document, document
        if document is None:
            self.reject()
        elif before is None or before.leftovers != document.leftovers:
            self._fill()
        self._enable()

    def show_selection(self, selection: Selection) -> None:
        """Know which mark is selected in the score."""
        self._selection = selection
        self._enable()

    def _fill(self) -> None:
        """List all anew."""
        document = self._document
        if document is None:
            return
        if self._report is None:
            self.told.setText(said("These decisions found no place when the score had changed."))
        else:
            self.told.setText("\n".join((*self._report.statements, self._report.summary)))
        entries = list(_listed(self._report, document))
        self.tree.clear()
        for group in GROUPS:
            rows = [entry for entry in entries if entry.group == group]
            if rows:
                self._add(group, rows)
        self._enable()

    def _add(self, group: Group, entries: list[Entry]) -> None:
        heading = QTreeWidgetItem(self.tree, [said_phrase(_TITLES[group], count=len(entries))])
        heading.setFirstColumnSpanned(True)
        font = heading.font(0)
        font.setBold(True)
        heading.setFont(0, font)
        for entry in entries:
            where = entry.was
            if entry.now:
                where = entry.now if entry.now == entry.was else f"{entry.was} → {entry.now}"
            row = QTreeWidgetItem(heading, [entry.name, where, entry.sentence])
            row.setData(0, _ENTRY, entry)
            row.setToolTip(2, entry.sentence)
        # What moved needs no attention; it is there for whoever looks for it.
        heading.setExpanded(group != "moved")

    def _follow(self) -> None:
        self._enable()
        entry = self.entry
        if entry is not None and entry.selection != NOTHING:
            self.selection_requested.emit(entry.selection)

    def _enable(self) -> None:
        entry, document = self.entry, self._document
        left = entry is not None and bool(entry.left[1])
        decision = left and document is not None and _has_decision(document, entry)
        mark = self._selection.mark
        free = bool(mark) and document is not None and mark not in document.decisions
        self.place_button.setEnabled(decision and free)
        self.drop_button.setEnabled(left)
        told = [entry.sentence] if entry is not None else []
        if decision and not free:
            told.append(said("To place it, select a mark about which nothing is decided yet."))
        elif entry is not None and entry.group == "unplaced":
            told.append(
                said("It stays in the review file until it finds its place or you remove it.")
            )
        self.hint.setText(" ".join(told))

    def _place(self) -> None:
        entry = self.entry
        if entry is not None:
            self.edit_requested.emit(PlaceLeftover(*entry.left, self._selection.mark))

    def _drop(self) -> None:
        entry = self.entry
        if entry is not None:
            self.edit_requested.emit(DropLeftover(*entry.left))


def _listed(report: CarryReport | None, document: Document) -> Iterator[Entry]:
    """The report's entries that still hold, and what else is left over."""
    left = {entry.left: entry for entry in leftover_entries(document)}
    for entry in report.entries if report else ():
        if not entry.left[1] or left.pop(entry.left, None) is not None:
            yield entry
    yield from left.values()


def _has_decision(document: Document, entry: Entry | None) -> bool:
    """Whether an entry is about a decision, which can be placed; a hand-made mark cannot."""
    return entry is not None and any(
        left.source.digest == entry.left[0] and entry.left[1] in left.decisions
        for left in document.leftovers
    )
