"""The window: builds the views, joins them to the session and the workshop, and has the menus.

This is the place where signals of different objects are connected. A view asks for an edit or a
selection; the session carries it out and tells all views.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import cast

from PySide6.QtCore import Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QCloseEvent,
    QDragEnterEvent,
    QDropEvent,
)
from PySide6.QtWidgets import (
    QApplication,
    QLabel,
    QMainWindow,
    QMenu,
    QPushButton,
    QStackedWidget,
)

from app.actions import Need, choices, enable, fill_menus, key_table, make_actions
from app.appearance import Appearance
from app.carried_over import CarriedOver
from app.comparing import Comparing
from app.correcting import Correcting
from app.deriving import Deriving
from app.exporting import Exporting
from app.filing import Filing
from app.interface_words import phrase, said, said_phrase
from app.preferences import Preferences
from app.recovering import Recovering
from app.review.document import Document
from app.review.safekeeping import Safekeeping, state_folder
from app.review.selection import Selection
from app.review.writing import written
from app.reviewing import Reviewing
from app.session import Session
from app.views.action_finder import ActionFinder
from app.views.dialogs import KeysDialog, show_error, show_message
from app.views.places import selection_text
from app.views.undo_view import UndoHistory
from app.views.welcome_view import WelcomeView
from app.views.workbench import Workbench
from app.worker.workshop import Workshop

ABOUT = phrase(
    "Overstave names what a song does, shows it on the score, and takes it to the video. "
    "An analysis is an opinion: every mark says what it rests on, and the last word is yours."
)


class Window(QMainWindow):
    """One open document with its menus."""

    #: The user wants another window.
    window_requested = Signal()

    def __init__(self, preferences: Preferences, keeper: Safekeeping | None = None) -> None:
        super().__init__()
        self.keeper = keeper or Safekeeping(state_folder())
        self.preferences = preferences
        self.session = Session(self, self.keeper)
        self.workshop = Workshop(self)
        self.workbench = Workbench()
        self.welcome = WelcomeView()
        self.filing = Filing(self, self.session, self.workshop, self.workbench, preferences)
        self.reviewing = Reviewing(self, self.session, self.workbench)
        self.correcting = Correcting(self, self.session, self.workbench)
        self.recovering = Recovering(self, self.keeper)
        self.carried_over = CarriedOver(self)
        source = partial(getattr, self.filing, "source")
        self.deriving = Deriving(self, self.session, self.workshop, source)
        self.comparing = Comparing(self, self.session, self.workshop, self.workbench, source)
        self.exporting = Exporting(self, self.session, self.workshop, preferences, source)
        self._leaving = False
        self._enabled: tuple[set[Need], int] | None = None
        self._stack = QStackedWidget()
        self._stack.addWidget(self.welcome)
        self._stack.addWidget(self.workbench)
        self.setCentralWidget(self._stack)
        self.setAcceptDrops(True)
        self.setMinimumSize(720, 480)
        self.resize(1440, 900)
        self.actions_by_name = make_actions(self, self._slot)
        self.appearance = Appearance(self, preferences, self.workbench, self.actions_by_name)
        menus = fill_menus(self, self.actions_by_name)
        self._recent_menu = QMenu(said("Open &Recent"), self)
        menus["&File"].insertMenu(self.actions_by_name["close_document"], self._recent_menu)
        self._build_status_bar()
        self._connect()
        self._connect_comparison()
        self._connect_safety()
        self._restore()
        self._refresh()

    # Building

    def _build_status_bar(self) -> None:
        self.working = QLabel()
        self.cancel_button = QPushButton(said("Cancel"), flat=True)
        self.cancel_button.setAccessibleName(said("Cancel what is being done"))
        self.zoom_label = QLabel()
        self.zoom_label.setAccessibleName(said("Zoom"))
        bar = self.statusBar()
        bar.addPermanentWidget(self.working)
        bar.addPermanentWidget(self.cancel_button)
        bar.addPermanentWidget(self.zoom_label)
        self._show_progress("")

    def _connect(self) -> None:
        session, shop, bench, files = self.session, self.workshop, self.workbench, self.filing
        for view in (bench.score, bench.timeline, bench.marks, bench.detail):
            session.selection_changed.connect(view.show_selection)
            view.selection_requested.connect(session.select)
        bench.detail.edit_requested.connect(session.perform)
        bench.detail.accept_requested.connect(self.reviewing.accept)
        bench.detail.reject_requested.connect(self.reviewing.reject)
        bench.detail.reopen_requested.connect(self.reviewing.reopen)
        bench.score.place_changed.connect(bench.timeline.show_place)
        bench.score.zoom_changed.connect(self._show_zoom)
        bench.score.reflow_requested.connect(files.reflow)
        session.document_changed.connect(self.show_document)
        session.document_changed.connect(self.deriving.follow)
        for changed in (
            session.document_changed, session.selection_changed, files.changed, files.saving.saved,
            session.undo_stack.cleanChanged, session.undo_stack.indexChanged, self.deriving.changed,
        ):  # fmt: skip
            changed.connect(self._refresh)
        session.failed.connect(partial(show_error, self))
        shop.source_read.connect(files.take_source)
        shop.page_engraved.connect(files.take_page)
        shop.engraved.connect(files.take_engraved)
        shop.analysed.connect(files.take_analysis)
        shop.derived.connect(self.deriving.take)
        shop.derivation_failed.connect(self.deriving.take_failure)
        shop.derivation_dropped.connect(self.deriving.take_cancellation)
        shop.failed.connect(files.take_failure)
        shop.progressed.connect(self._show_progress)
        files.about_to_open.connect(self._give_room)
        files.document_shown.connect(self.show_document)
        self.deriving.changed.connect(self.correcting.follow)
        bench.guide.close_requested.connect(self._close_guide)
        session.selection_changed.connect(bench.guide.show_selection)
        session.selection_changed.connect(self._announce)
        bench.score.hit_twice.connect(self.correcting.type_at)
        bench.timeline.edit_requested.connect(session.perform)
        bench.timeline.rename_requested.connect(self.correcting.type_selected)
        self.cancel_button.clicked.connect(self.cancel)
        self.welcome.open_requested.connect(files.ask_open)
        self.welcome.sample_requested.connect(files.open_sample)
        self.welcome.recent_requested.connect(files.open_path)
        self._recent_menu.aboutToShow.connect(self._fill_recent)
        self.appearance.writing_changed.connect(self._take_writing)
        self.appearance.writing_changed.connect(self.exporting.take_writing)
        self.appearance.look_changed.connect(self.exporting.set_look)
        for told in (
            files.told, files.saving.told, self.recovering.told, self.carried_over.told,
            self.reviewing.told, self.correcting.told, self.deriving.told, self.comparing.told,
            self.exporting.told,
        ):  # fmt: skip
            told.connect(self._tell)

    def _connect_safety(self) -> None:
        session, files, carried = self.session, self.filing, self.carried_over
        self.workshop.carried_over.connect(files.take_carried)
        files.carried_over.connect(carried.take_report)
        self.recovering.recover_requested.connect(files.open_journal)
        carried.dialog.selection_requested.connect(session.select)
        carried.dialog.edit_requested.connect(session.perform)
        session.document_changed.connect(carried.show_document)
        session.selection_changed.connect(carried.dialog.show_selection)

    def _connect_comparison(self) -> None:
        session, shop, view = self.session, self.workshop, self.workbench.comparison
        shop.pair_line_engraved.connect(self.comparing.take_line)
        shop.pair_failed.connect(self.comparing.take_failure)
        session.selection_changed.connect(view.picture.show_selection)
        view.pair_requested.connect(self.comparing.show_pair)
        view.selection_requested.connect(session.select)
        view.close_requested.connect(self.comparing.leave_comparison)

    def _slot(self, name: str) -> Callable[..., object]:
        """The method that an action names."""
        owners = (
            self,
            self.filing,
            self.filing.saving,
            self.recovering,
            self.carried_over,
            self.reviewing,
            self.correcting,
            self.deriving,
            self.comparing,
            self.appearance,
            self.exporting,
            self.workbench.score,
        )
        owner = next(owner for owner in owners if hasattr(owner, name))
        return cast("Callable[..., object]", getattr(owner, name))

    def _restore(self) -> None:
        """Bring back what was remembered."""
        if state := self.preferences.state("window"):
            self.restoreGeometry(state)
        for name in self.workbench.states():
            if state := self.preferences.state(name):
                self.workbench.restore(name, state)
        self.appearance.restore()
        self._take_writing()

    def _give_room(self) -> None:
        """Let the workbench take its size unseen, so that the first pages are made for it."""
        shown = self._stack.currentWidget()
        if shown is not None and shown is not self.workbench:
            self.setUpdatesEnabled(False)
            self._stack.setCurrentWidget(self.workbench)
            self._stack.setCurrentWidget(shown)
            self.setUpdatesEnabled(True)

    # State to screen

    def _take_writing(self) -> None:
        """Let what is typed be read, and what is open be shown, as the user writes."""
        self.correcting.writing = self.preferences.writing
        self.show_document(self.session.document)

    def show_document(self, document: Document | None) -> None:
        """Show a document in all views, in the user's writing."""
        shown = written(document, self.preferences.writing) if document else None
        bench = self.workbench
        for view in (bench.score, bench.timeline, bench.marks, bench.detail, self.comparing):
            view.show_document(shown)
        bench.guide.show_document(document)

    def _refresh(self) -> None:
        """Bring menus, title and the choice of page up to date."""
        # What is being opened cannot be reviewed yet, and what was open is out of sight.
        document = None if self.filing.opening else self.session.document
        stack = self.session.undo_stack
        met: set[Need] = set()
        if self.workbench.score.pages:
            met.add("pages")
        if document is not None:
            met.add("document")
            if self.reviewing.mark is not None:
                met.add("mark")
            if self.session.selection.span is not None:
                met.add("place")
            if stack.canUndo():
                met.add("undo")
            if stack.canRedo():
                met.add("redo")
            if self.deriving.stalled:
                met.add("stalled")
        enabled = (met, self.workbench.detail.readings.count)
        if enabled != self._enabled:  # asked for some times in each step
            self._enabled = enabled
            enable(self.actions_by_name, *enabled)
        self.actions_by_name["toggle_long_system"].setChecked(self.filing.long)
        undo, redo = stack.undoText(), stack.redoText()
        self.actions_by_name["undo"].setText(said("&Undo {step}", step=undo).strip())
        self.actions_by_name["redo"].setText(said("&Redo {step}", step=redo).strip())
        title = self.filing.title
        self.setWindowTitle(f"{title}[*] – Overstave" if title else "Overstave")
        self.setWindowModified(self.session.modified)
        self.workbench.timeline.show_waiting(self.session.pending)
        open_now = bool(title) or document is not None
        self.zoom_label.setVisible(open_now)
        if not open_now:
            self.welcome.show_recent(self.preferences.recent)
        self._stack.setCurrentWidget(self.workbench if open_now else self.welcome)

    def _announce(self, selection: Selection) -> None:
        """Tell a screen reader what is selected."""
        document = self.session.document
        text = selection_text(document, selection) if document else ""
        for view in (self.workbench.score, self.workbench.timeline):
            view.setAccessibleDescription(text)
        focused = QApplication.focusWidget()
        if text and focused in (self.workbench.score, self.workbench.timeline):
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(focused, text))

    def _tell(self, text: str) -> None:
        self.statusBar().showMessage(text, 8000)

    def _show_progress(self, text: str) -> None:
        self.working.setText(f"{text} …" if text else "")
        self.cancel_button.setVisible(bool(text))

    def _show_zoom(self, percent: int) -> None:
        text = said("{percent} %", percent=percent)
        if text != self.zoom_label.text():
            self.zoom_label.setText(text)
            # Never narrower, so that zooming does not lay the bar out again and again.
            self.zoom_label.setMinimumWidth(
                max(self.zoom_label.minimumWidth(), self.zoom_label.sizeHint().width())
            )

    def _fill_recent(self) -> None:
        self._recent_menu.clear()
        for path in self.preferences.recent:
            entry = self._recent_menu.addAction(path.name)
            entry.setStatusTip(str(path))
            entry.triggered.connect(partial(self.filing.open_path, path))
        self._recent_menu.setEnabled(True)
        if self._recent_menu.isEmpty():
            self._recent_menu.addAction(said("Nothing yet")).setEnabled(False)

    # Slots of actions

    def cancel(self) -> None:
        """Stop reading, engraving, analysing and exporting."""
        self.workshop.cancel()
        self.filing.take_cancellation()
        self.deriving.take_cancellation()
        self._tell(said("Cancelled"))

    def fit_timeline(self) -> None:
        """Show the whole piece on the timeline."""
        self.workbench.timeline.fit()

    def toggle_played_order(self) -> None:
        """Unfold the repeats on the timeline, or show what is written."""
        played = self.actions_by_name["toggle_played_order"].isChecked()
        self.workbench.timeline.set_played_order(played)

    def new_window(self) -> None:
        """Open another window."""
        self.window_requested.emit()

    def show_history(self) -> None:
        """The undo list, to look at and to go back in."""
        UndoHistory(self.session.undo_stack, self).show()

    def show_guide(self) -> None:
        """The five steps, over the list of marks; with a sample where nothing is open."""
        self.workbench.show_guide(True)
        if self.session.document is None and not self.filing.title:
            self.filing.open_sample()

    def _close_guide(self) -> None:
        self.preferences.guided = True
        self.workbench.show_guide(False)

    def find_action(self) -> None:
        """Find an action by its name."""
        finder = ActionFinder(choices(self.actions_by_name), self)
        finder.action_requested.connect(self._do)
        finder.open()

    def _do(self, name: str) -> None:
        self.actions_by_name[name].trigger()

    def show_keys(self) -> None:
        """All keys on one page."""
        KeysDialog(key_table(), self).open()

    def show_about(self) -> None:
        """What this program is."""
        show_message(self, "Overstave", said_phrase(ABOUT))

    # Events

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take one file."""
        if len(event.mimeData().urls()) == 1 and event.mimeData().urls()[0].isLocalFile():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open the file that was dropped."""
        event.acceptProposedAction()
        self.filing.open_path(Path(event.mimeData().urls()[0].toLocalFile()))

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask for unsaved changes; remember the layout; end the processes."""
        if self.session.modified and not self._leaving:
            event.ignore()
            self.filing.leave(self._leave)
            return
        self.preferences.save_state("window", self.saveGeometry())
        for name, state in self.workbench.states().items():
            self.preferences.save_state(name, state)
        self.exporting.close()
        self.workshop.close()
        self.keeper.end()
        super().closeEvent(event)

    def _leave(self) -> None:
        self._leaving = True
        self.close()
