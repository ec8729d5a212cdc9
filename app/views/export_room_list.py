"""The list of what will be made: a row a file with a tick, its name, and what to note about it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QColor, QResizeEvent
from PySide6.QtWidgets import QHeaderView, QTreeWidget, QTreeWidgetItem, QWidget

from app.interface_words import counted, said, said_phrase
from app.views.export_room_ticks import outlined
from app.views.export_room_words import SORT_WORDS, note_text
from app.views.looks import LIGHT, Look
from app.worker.export_wishes import POINT_SORTS, SORTS, Entry, Sort
from app.worker.messages import Facts

_ENTRY: Final = Qt.ItemDataRole.UserRole
FILE, SHOWS, NOTE = range(3)
Id = tuple[Sort, str]
#: Stands for all keys of a sort.
_ALL: Final = "*"
#: What is left out until the user wants it: much to make, or for programs.
_UNUSUAL: Final[frozenset[Id]] = frozenset(
    {("reveals", _ALL), ("form", _ALL), ("pages", _ALL), ("tables", _ALL),
     ("timeline", "-timeline.edl"), ("timeline", "-timeline.xml")}
)  # fmt: skip


class ExportList(QTreeWidget):
    """Entries by sort; a tick on a sort is one on all of it."""

    #: An `Entry`, or None for a heading.
    chosen = Signal(object)
    #: What is left out has changed.
    ticked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(said("What will be made"))
        self.setHeaderLabels([said("File"), said("Shows"), said("To note")])
        self.setRootIsDecorated(True)
        self.setUniformRowHeights(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTextElideMode(Qt.TextElideMode.ElideRight)
        header = self.header()
        header.setStretchLastSection(True)
        header.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        self._look = LIGHT
        self._rows: dict[Id, QTreeWidgetItem] = {}
        self._headings: dict[Sort, QTreeWidgetItem] = {}
        self._notes: dict[Id, tuple[str, ...]] = {}
        self._known: set[Id] = set()
        self._left_out: set[Id] = set()
        self._unwanted = set(_UNUSUAL)
        self._filling = False
        self.currentItemChanged.connect(self._tell_chosen)
        self.itemChanged.connect(self._tell_ticked)

    @property
    def entry(self) -> Entry | None:
        """The entry of the current row; None for a heading."""
        row = self.currentItem()
        entry: Entry | None = row.data(FILE, _ENTRY) if row is not None else None
        return entry

    @property
    def entries(self) -> list[Entry]:
        """All entries, in order."""
        return [row.data(FILE, _ENTRY) for row in self._rows.values()]

    @property
    def left_out(self) -> frozenset[Id]:
        """The ids of the entries without a tick."""
        return frozenset(self._left_out)

    def ticks(self) -> list[list[str]]:
        """What is left out, for the next start: whole sorts, and files that each song has."""
        found: list[list[str]] = []
        for sort in SORTS:
            own = {entry_id for entry_id in self._rows if entry_id[0] == sort}
            if own and own <= self._left_out:
                found.append([sort, _ALL])
            elif own and sort not in POINT_SORTS:
                found.extend([sort, key] for _, key in sorted(own & self._left_out))
        return found

    def show_ticks(self, state: list[object]) -> None:
        """Leave out what was left out; holds for what is listed from now on."""
        self._unwanted = {
            (one[0], str(one[1]))
            for one in state
            if isinstance(one, list) and len(one) == 2 and one[0] in SORTS
        }

    def set_look(self, look: Look) -> None:
        """Take the colour of warnings."""
        self._look = look
        self.setPalette(outlined(look))
        for entry_id in self._rows:
            self._show_note(entry_id)

    def show_entries(self, entries: Iterable[Entry]) -> None:
        """List entries; rows that stay keep their notes and their places."""
        entries = list(entries)
        new = {entry.id for entry in entries} - self._known
        self._known |= new
        self._left_out |= {
            one for one in new if one in self._unwanted or (one[0], _ALL) in self._unwanted
        }
        self._filling = True
        if [entry.id for entry in entries] != list(self._rows):
            self._build(entries)
        for entry in entries:
            row = self._rows[entry.id]
            row.setData(FILE, _ENTRY, entry)
            row.setText(FILE, entry.name.rpartition("/")[2])
            row.setToolTip(FILE, entry.name)
            row.setText(SHOWS, entry.shows)
            wanted = entry.id not in self._left_out
            row.setCheckState(FILE, Qt.CheckState.Checked if wanted else Qt.CheckState.Unchecked)
        self._filling = False
        self._count()

    def show_facts(self, entry: Entry, facts: Facts, stands: float | None) -> None:
        """Note beside an entry what would be hard to read; it stands for so many seconds."""
        self._notes[entry.id] = (note_text(facts, stands), *facts.warnings)
        self._show_note(entry.id)

    def show_failure(self, entry: Entry, sentence: str) -> None:
        """Note beside an entry why it cannot be made."""
        self._notes[entry.id] = (sentence, sentence)
        self._show_note(entry.id)

    def choose(self, entry_id: Id) -> bool:
        """Go to an entry; False where there is none."""
        row = self._rows.get(entry_id)
        if row is not None:
            self.setCurrentItem(row)
        return row is not None

    def tick(self, entry_id: Id, ticked: bool) -> None:
        """Tick an entry, or leave it out."""
        state = Qt.CheckState.Checked if ticked else Qt.CheckState.Unchecked
        self._rows[entry_id].setCheckState(FILE, state)

    def tick_all(self, sort: Sort, ticked: bool) -> None:
        """Tick, or leave out, all of a sort."""
        state = Qt.CheckState.Checked if ticked else Qt.CheckState.Unchecked
        if sort in self._headings:
            self._headings[sort].setCheckState(FILE, state)

    def notes(self, entry_id: Id) -> tuple[str, ...]:
        """What is noted of an entry, in whole sentences."""
        return self._notes.get(entry_id, ())[1:]

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share out the width as before: at first names, then what to note."""
        super().resizeEvent(event)
        before, now = event.oldSize().width(), event.size().width()
        for column, share in ((FILE, 0.46), (SHOWS, 0.24)):
            width = self.columnWidth(column) * now / before if before > 0 else share * now
            self.setColumnWidth(column, round(width))

    def _build(self, entries: list[Entry]) -> None:
        current = self.entry
        folded = {sort for sort, row in self._headings.items() if not row.isExpanded()}
        known = set(self._headings)
        self.clear()
        self._rows.clear()
        self._headings.clear()
        for entry in sorted(entries, key=lambda entry: SORTS.index(entry.sort)):
            heading = self._headings.get(entry.sort)
            if heading is None:
                heading = QTreeWidgetItem(self, [said_phrase(SORT_WORDS[entry.sort])])
                font = heading.font(FILE)
                font.setBold(True)
                heading.setFont(FILE, font)
                heading.setSizeHint(FILE, QSize(0, self._row_height))
                ticks = Qt.ItemFlag.ItemIsUserCheckable | Qt.ItemFlag.ItemIsAutoTristate
                heading.setFlags(heading.flags() | ticks)
                heading.setExpanded(
                    entry.sort not in folded
                    if entry.sort in known
                    else (entry.sort, _ALL) not in self._unwanted
                )
                self._headings[entry.sort] = heading
            row = QTreeWidgetItem(heading)
            row.setFlags(row.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            row.setSizeHint(FILE, QSize(0, self._row_height))
            self._rows[entry.id] = row
        self._notes = {one: notes for one, notes in self._notes.items() if one in self._rows}
        for entry_id in self._notes:
            self._show_note(entry_id)
        if current is not None:
            self.choose(current.id)

    @property
    def _row_height(self) -> int:
        return round(self.fontMetrics().height() * 1.4)

    def _show_note(self, entry_id: Id) -> None:
        row = self._rows.get(entry_id)
        if row is None:
            return
        notes = self._notes.get(entry_id, ())
        filling, self._filling = self._filling, True
        row.setText(NOTE, notes[0] if notes else "")
        row.setToolTip(NOTE, "\n".join(notes[1:]))
        row.setData(NOTE, Qt.ItemDataRole.AccessibleTextRole, " ".join(notes[1:]))
        row.setForeground(NOTE, QColor(self._look.warning))
        self._filling = filling
        self._count()

    def _count(self) -> None:
        """Beside each heading how many of its files are made, and how many have a note."""
        if self._filling:
            return
        self._filling = True
        for sort, heading in self._headings.items():
            rows = [row for one, row in self._rows.items() if one[0] == sort]
            ticked = sum(row.checkState(FILE) == Qt.CheckState.Checked for row in rows)
            noted = sum(bool(row.text(NOTE)) for row in rows)
            heading.setText(SHOWS, said("{ticked} of {count}", ticked=ticked, count=len(rows)))
            heading.setText(
                NOTE, counted("{count} to look at", "{count} to look at", noted) if noted else ""
            )
            heading.setForeground(NOTE, QColor(self._look.warning))
        self._filling = False

    def _tell_chosen(self) -> None:
        if not self._filling:
            self.chosen.emit(self.entry)

    def _tell_ticked(self, _: QTreeWidgetItem, column: int) -> None:
        if not self._filling and column == FILE:
            ticks = {one: row.checkState(FILE) for one, row in self._rows.items()}
            for entry_id, tick in ticks.items():
                if tick == Qt.CheckState.Unchecked:
                    self._left_out.add(entry_id)
                else:
                    self._left_out.discard(entry_id)
            self._count()
            self.ticked.emit()
