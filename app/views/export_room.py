"""The export room: what will be made, how it will look, when it stands, and the making of it.

A window of its own beside the score. At the left is the list of files, at the right the chosen one
as it will be, under it what can be chosen about it; at the foot the folder and the progress. The
room paints nothing that is exported: it asks for pictures and shows what comes.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QFrame,
    QListWidget,
    QScrollArea,
    QSplitter,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from analysis.errors import OverstaveError
from app.export.reveal_steps import STEPS, USUAL
from app.interface_words import said
from app.review.document import Document
from app.review.selection import Selection
from app.review.writing import PLAIN
from app.views.dialogs import OF_SCREEN
from app.views.export_room_contents import ContentsPanel, StepsPanel
from app.views.export_room_foot import ExportFoot
from app.views.export_room_list import ExportList
from app.views.export_room_looks import LooksPanel
from app.views.export_room_names import NamesPanel
from app.views.export_room_preview import PreviewPane
from app.views.export_room_texts import TextsPanel
from app.views.export_room_ticks import outlined
from app.views.export_room_times import TimesPanel
from app.views.looks import Look
from app.views.selections import selection_of_mark
from app.worker.export_wishes import (
    POINT_SORTS,
    Entry,
    ExportWish,
    Offer,
    Sort,
    entries_of,
)
from app.worker.messages import Facts, Painted
from app.worker.previews import Wanted

#: Milliseconds after the last change until pictures are asked for anew.
_PAUSE: Final = 120
#: A step beyond those of any reveal.
_LAST: Final = 10**6


class ExportRoom(QDialog):
    """Asks for previews, edits and exports.

    Signals
    -------
    edit_requested, selection_requested, undo_requested, redo_requested
        As of other views.
    paint_requested
        A `Wanted`.
    look_requested
        An `ExportWish`, and the entries about which something is to be found out.
    export_requested
        An `ExportWish`.
    cancel_requested
        The export is to stop.
    folder_requested
        A folder is to be shown.
    """

    edit_requested = Signal(object)
    selection_requested = Signal(object)
    undo_requested = Signal()
    redo_requested = Signal()
    paint_requested = Signal(object)
    look_requested = Signal(object, object)
    export_requested = Signal(object)
    cancel_requested = Signal()
    folder_requested = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(said("Export"))
        self.setWindowFlag(Qt.WindowType.WindowMaximizeButtonHint)
        #: How the document that is shown is written.
        self.writing = PLAIN
        self._document: Document | None = None
        self._offer: Offer | None = None
        self._painted: tuple[Sort, str] | None = None
        self._step = 0
        self.list = ExportList()
        self.preview = PreviewPane()
        self.looks = LooksPanel()
        self.contents = ContentsPanel()
        self.steps = StepsPanel()
        self.texts = TextsPanel()
        self.times = TimesPanel()
        self.tabs = QTabWidget(documentMode=True)
        self._panels: list[QWidget] = []
        self.names = NamesPanel()
        self.foot = ExportFoot()
        self._pause = QTimer(self, singleShot=True, interval=_PAUSE)
        self._lay_out()
        self._connect()
        self._add_keys()
        self.resize(QSize(1360, 860).boundedTo(self.screen().availableSize() * OF_SCREEN))

    # What is shown

    @property
    def wish(self) -> ExportWish:
        """What is chosen now."""
        return ExportWish(
            self.foot.path,
            left_out=self.list.left_out,
            frame=self.looks.frame_wanted,
            contents=self.contents.contents,
            steps=self.steps.steps,
            endings=self.looks.endings,
            time=self.times.video,
            pattern=self.names.good_pattern,
            numerals=self.looks.numerals,
            writing=self.writing,
            measures=self.names.stretches,
            pages=self._offer.pages if self._offer else (),
        )

    def show_document(self, document: Document | None) -> None:
        """Show what can be made of a document; close without one."""
        if document is None:
            self._document = None
            self.reject()
            return
        before, self._document = self._document, document
        if before is None or before.source != document.source:
            self._offer = None
            self.names.measures.clear()
        self.texts.show_document(document)
        self.times.show_document(document)
        self.contents.show_document(document)
        self._list_entries()

    def show_offer(self, offer: Offer) -> None:
        """What can be made besides pictures of the talking points."""
        self._offer = offer
        self._list_entries()

    def show_selection(self, selection: Selection) -> None:
        """Go to the picture of the mark that is selected in the score, as far as it has one."""
        entry = self.list.entry
        sort: Sort = entry.sort if entry and entry.sort in POINT_SORTS else "stills"
        if selection.mark and not (entry and entry.key == selection.mark):
            self.list.choose((sort, selection.mark))

    def show_painted(self, wanted: Wanted, painted: Painted) -> None:
        """Show a picture, if it is still the chosen one."""
        if self.list.entry is not None and self.list.entry.id == wanted.entry.id:
            self.preview.show_painted(wanted, painted, self.times.stands(wanted.entry.key))
            if wanted.entry.sort == "reveals" or len(painted.facts.steps) == 1:
                self.show_facts(wanted.entry, painted.facts)

    def show_written(self, wanted: Wanted, text: str) -> None:
        """Show the beginning of a text, if it is still the chosen one."""
        if self.list.entry is not None and self.list.entry.id == wanted.entry.id:
            self.preview.show_text(text)

    def show_facts(self, entry: Entry, facts: Facts) -> None:
        """Note what would be hard to read."""
        self.list.show_facts(entry, facts, self.times.stands(entry.key))

    def show_failure(self, entry: Entry | None, error: OverstaveError) -> None:
        """Say why there is no picture."""
        if entry is not None:
            self.list.show_failure(entry, str(error))
        if entry is None or (self.list.entry and self.list.entry.id == entry.id):
            self.preview.show_nothing(str(error))

    @property
    def panel(self) -> QWidget:
        """The panel in front."""
        return self._panels[self.tabs.currentIndex()]

    def show_panel(self, panel: QWidget) -> None:
        """Bring a panel to the front."""
        self.tabs.setCurrentIndex(self._panels.index(panel))

    def set_look(self, look: Look) -> None:
        """Take other colours."""
        for part in (self.list, self.preview, self.times):
            part.set_look(look)
        for box in (*self.findChildren(QCheckBox), *self.findChildren(QListWidget)):
            box.setPalette(outlined(look))

    # Exporting

    def export(self) -> None:
        """Ask for what is chosen."""
        if self.foot.running:
            return
        self.texts.commit()
        wanted = self._wanted_entries()
        if not wanted:
            self.foot.show_idle(said("Nothing is ticked."), warning=True)
        elif not self.foot.folder.text().strip():
            self.foot.show_idle(said("Name a folder to export into."), warning=True)
        else:
            self.foot.begin(len(wanted))
            self.export_requested.emit(self.wish)

    def _wanted_entries(self) -> list[Entry]:
        left_out = self.list.left_out
        return [entry for entry in self.list.entries if entry.id not in left_out]

    # Choosing

    def state(self) -> dict[str, Any]:
        """What is chosen, for the next start."""
        return {
            "looks": self.looks.state(),
            "contents": self.contents.state(),
            "steps": list(self.steps.steps),
            "pattern": self.names.good_pattern,
            "left out": self.list.ticks(),
        }

    def show_state(self, state: dict[str, Any]) -> None:
        """Choose what was chosen; what makes no sense is as usual."""
        for panel, name in ((self.looks, "looks"), (self.contents, "contents")):
            chosen = state.get(name)
            panel.show_state(chosen if isinstance(chosen, dict) else {})
        if isinstance(steps := state.get("steps"), list):
            self.steps.show_steps(tuple(step for step in steps if step in STEPS) or USUAL)
        if isinstance(pattern := state.get("pattern"), str):
            self.names.pattern.setText(pattern)
        if isinstance(left_out := state.get("left out"), list):
            self.list.show_ticks(left_out)

    def _list_entries(self) -> None:
        """List all anew, and ask for what is not known of it."""
        document = self._document
        if document is None:
            return
        self.names.read(document)
        entries = list(entries_of(document, self.wish, self._offer))
        self.list.show_entries(entries)
        if self.list.entry is None and entries:
            self.list.choose(entries[0].id)
        self._pause.start()

    def _ask(self) -> None:
        """Ask for the picture, and for what there is to note about the others."""
        wish = self.wish
        self._paint()
        pictures = [entry for entry in self._wanted_entries() if "/" in entry.name]
        self.look_requested.emit(wish, pictures)

    def _paint(self) -> None:
        """Ask for the picture; a reveal is first shown as it looks at the end."""
        entry = self.list.entry
        if entry is None:
            return
        if entry.id != self._painted:
            self._painted, self._step = entry.id, _LAST if entry.sort == "reveals" else 0
        added = entry.sort == "reveals" and self.preview.added_box.isChecked()
        self.paint_requested.emit(Wanted(self.wish, entry, self._step, added))

    def _choose_step(self) -> None:
        self._step = self.preview.step
        self._paint()

    def _choose(self, entry: Entry | None) -> None:
        if entry is None:
            return
        if entry.sort in POINT_SORTS and self._document is not None:
            self.texts.show_mark(entry.key)
            self.times.show_mark(entry.key)
            self.selection_requested.emit(selection_of_mark(self._document.mark(entry.key)))
        else:
            self.texts.show_mark("")
        self._paint()

    def _choose_mark(self, mark_id: str) -> None:
        """A row of the times was gone to."""
        entry = self.list.entry
        sort: Sort = entry.sort if entry and entry.sort in POINT_SORTS else "stills"
        self.list.choose((sort, mark_id))

    # Building

    def _connect(self) -> None:
        self._pause.timeout.connect(self._ask)
        for panel in (self.names, self.looks, self.contents, self.steps, self.times):
            panel.changed.connect(self._list_entries)
        self.list.chosen.connect(self._choose)
        self.list.ticked.connect(self._pause.start)
        self.preview.step_chosen.connect(self._choose_step)
        self.times.mark_chosen.connect(self._choose_mark)
        for view in (self.texts, self.times):
            view.edit_requested.connect(self.edit_requested)
        self.foot.export_requested.connect(self.export)
        self.foot.cancel_requested.connect(self.cancel_requested)
        self.foot.folder_requested.connect(self.folder_requested)

    def _add_keys(self) -> None:
        keys = QKeySequence.StandardKey
        wishes: tuple[tuple[tuple[str | QKeySequence.StandardKey, ...], Callable[[], object]], ...]
        wishes = (
            ((keys.Undo,), self.undo_requested.emit),
            ((keys.Redo, "Ctrl+Shift+Z"), self.redo_requested.emit),
            (("Ctrl+Return", "Ctrl+Enter"), self.export),
            ((keys.Close,), self.reject),
            *(
                ((f"Alt+{at + 1}",), lambda at=at: self.tabs.setCurrentIndex(at))
                for at in range(self.tabs.count())
            ),
        )
        for sequences, do in wishes:
            action = QAction(self)
            action.setShortcuts([QKeySequence(one) for one in sequences])
            action.triggered.connect(lambda _=False, do=do: do())
            self.addAction(action)

    def _lay_out(self) -> None:
        for name, panel in (
            (said("Look"), self.looks), (said("Shown"), self.contents),
            (said("Reveals"), self.steps),
            (said("Words"), self.texts), (said("Times"), self.times),
        ):  # fmt: skip
            at = self.tabs.addTab(_scrolled(panel), name)
            self._panels.append(panel)
            keys = QKeySequence(f"Alt+{at + 1}")
            self.tabs.setTabToolTip(at, keys.toString(QKeySequence.SequenceFormat.NativeText))
        left = QWidget()
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.list, 1)
        column.addWidget(self.names)
        left.setMinimumWidth(self.fontMetrics().averageCharWidth() * 32)
        right = QSplitter(Qt.Orientation.Vertical, childrenCollapsible=False)
        right.addWidget(self.preview)
        right.addWidget(self.tabs)
        right.setStretchFactor(0, 1)
        right.setSizes([520, 240])
        across = QSplitter(Qt.Orientation.Horizontal, childrenCollapsible=False)
        across.addWidget(left)
        across.addWidget(right)
        across.setStretchFactor(1, 1)
        across.setSizes([520, 840])
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(across, 1)
        layout.addWidget(self.foot)


def _scrolled(panel: QWidget) -> QScrollArea:
    """A panel that can be reached to its edges in a small room and in large letters."""
    area = QScrollArea(widgetResizable=True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setWidget(panel)
    return area
