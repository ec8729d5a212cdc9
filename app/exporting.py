"""Exporting: the export room with what it asks for, and exporting again without it."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from PySide6.QtCore import QByteArray, QObject, QUrl, Signal
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QWidget

from analysis.errors import OverstaveError
from analysis.reading.sources import Source
from app.interface_words import said
from app.preferences import Preferences
from app.review.document import Document
from app.review.selection import Selection
from app.review.writing import written
from app.session import Session
from app.views.dialogs import ask, show_error
from app.views.export_room import ExportRoom
from app.views.export_room_words import outcome_text
from app.views.looks import LIGHT, Look
from app.worker.export_wishes import ExportWish
from app.worker.messages import Exported
from app.worker.previews import Previews
from app.worker.workshop import Workshop

_STATE: Final = "export"
_TIMES: Final = "times"


class Exporting(QObject):
    """The exports of one window. The room is built, and its process started, when first shown."""

    #: A line for the status bar.
    told = Signal(str)

    def __init__(
        self,
        window: QWidget,
        session: Session,
        workshop: Workshop,
        preferences: Preferences,
        source: Callable[[], Source | None],
    ) -> None:
        super().__init__(window)
        self._window = window
        self._session = session
        self._workshop = workshop
        self._preferences = preferences
        self._source = source
        self._look = LIGHT
        self._shown: Document | None = None
        self._song = ""
        self._last: ExportWish | None = None
        self.previews = Previews(self)
        self.room: ExportRoom | None = None
        session.document_changed.connect(self.show_document)
        session.selection_changed.connect(self.show_selection)
        workshop.export_progressed.connect(self.take_progress)
        workshop.exported.connect(self.take_exported)
        workshop.export_failed.connect(self.take_failure)
        workshop.export_cancelled.connect(self.take_cancellation)

    # Slots of actions

    def show_export_room(self) -> None:
        """Show what can be exported."""
        document = self._session.document
        if document is None or self._source() is None:
            return
        room = self.room or self._build()
        room.show()
        self.show_document(document)
        room.show_selection(self._session.selection)
        room.raise_()
        room.activateWindow()
        room.list.setFocus()

    def show_times(self) -> None:
        """Show when stills and cards stand in the video."""
        self.show_export_room()
        if self.room is not None:
            self.room.show_panel(self.room.times)
            self.room.times.table.setFocus()

    def export_again(self) -> None:
        """Export the same as last time; ask where nothing was exported yet."""
        if self._last is None:
            self.show_export_room()
        else:
            self.export(self._last)

    # What is shown

    def show_document(self, document: Document | None) -> None:
        """Follow the session while the room is open; the next opening follows it too."""
        room, source = self.room, self._source()
        song = document.source.digest if document else ""
        if song != self._song:
            self._keep_times()
            self._song, self._last = song, None
            if room is not None and document is not None:
                self._begin(room, document)
        if room is None or not room.isVisible() or document is self._shown:
            return
        self._shown = document
        if document is not None and source is not None:
            self.previews.show_document(source, document)
        room.writing = self._preferences.writing
        room.show_document(written(document, room.writing) if document else None)

    def show_selection(self, selection: Selection) -> None:
        """Follow the score."""
        if self.room is not None and self.room.isVisible():
            self.room.show_selection(selection)

    def take_writing(self) -> None:
        """Write numerals and names of notes in another way."""
        self._shown = None
        self.show_document(self._session.document)

    def set_look(self, look: Look) -> None:
        """Take other colours."""
        self._look = look
        if self.room is not None:
            self.room.set_look(look)

    def close(self) -> None:
        """Remember what was chosen, and end the process."""
        if self.room is not None:
            self._keep_times()
            self._save(_STATE, self.room.state())
            self.room.reject()
        self.previews.close()

    # Exporting

    def export(self, wish: ExportWish) -> None:
        """Write what is asked for, elsewhere, while the user goes on."""
        document, source = self._session.document, self._source()
        if document is None or source is None:
            return
        if self._workshop.exporting:
            self.told.emit(said("An export is being written already"))
            return
        self._last = wish = replace(wish, writing=self._preferences.writing)
        self._workshop.export(source, document, wish)

    def take_progress(self, done: int, count: int, name: str) -> None:
        """Say how far it is."""
        if self.room is not None:
            self.room.foot.show_progress(done, count, name)

    def take_exported(self, exported: Exported) -> None:
        """Say what was made, and offer to see it."""
        text = outcome_text(exported.outcome)
        self.told.emit(text)
        if self.room is not None:
            self.room.foot.show_exported(exported)
        if self.room is None or not self.room.isVisible():
            answers: dict[str, Callable[[], object]] = {
                said("Show the Folder"): lambda: self._show_folder(exported.folder)
            }
            ask(self._window, text, str(exported.folder), answers, said("Close"))

    def take_failure(self, error: OverstaveError) -> None:
        """Say why nothing more comes."""
        if self.room is not None:
            self.room.foot.show_stopped(str(error), warning=True)
        if self.room is None or not self.room.isVisible() or error.details:
            show_error(self._over, str(error), error.details)

    def take_cancellation(self) -> None:
        """Say that the user has stopped it."""
        self.told.emit(said("Export cancelled"))
        if self.room is not None:
            self.room.foot.show_stopped(said("Cancelled."), warning=False)

    @property
    def _over(self) -> QWidget:
        """Where a message belongs."""
        room = self.room
        return room if room is not None and room.isVisible() else self._window

    # Building

    def _build(self) -> ExportRoom:
        room = ExportRoom(self._window)
        room.show_state(self._saved(_STATE))
        room.set_look(self._look)
        session, previews = self._session, self.previews
        room.edit_requested.connect(session.perform)
        room.selection_requested.connect(session.select)
        room.undo_requested.connect(session.undo_stack.undo)
        room.redo_requested.connect(session.undo_stack.redo)
        room.paint_requested.connect(previews.paint)
        room.look_requested.connect(previews.look_at)
        room.export_requested.connect(self.export)
        room.cancel_requested.connect(self._workshop.cancel_export)
        room.folder_requested.connect(self._show_folder)
        previews.offered.connect(room.show_offer)
        previews.painted.connect(room.show_painted)
        previews.written.connect(room.show_written)
        previews.looked.connect(room.show_facts)
        previews.failed.connect(room.show_failure)
        room.finished.connect(self._rest)
        self.room = room
        if self._session.document is not None:
            self._begin(room, self._session.document)
        return room

    def _rest(self) -> None:
        """The room is closed: nobody looks at previews."""
        self._shown = None
        self.previews.close()

    def _begin(self, room: ExportRoom, document: Document) -> None:
        """A song has come: its folder, and its place in its video."""
        score = Path(document.source.path)
        room.foot.folder.setText(str(score.parent / f"{score.stem} export"))
        room.foot.forget()
        room.times.show_document(None)
        room.times.show_state(self._saved(_times_name(document.source.digest)))

    def _keep_times(self) -> None:
        """Where the score lies in the video belongs to the song."""
        if self.room is not None and self._song:
            self._save(_times_name(self._song), self.room.times.state())

    def _show_folder(self, folder: Path) -> None:
        QDesktopServices.openUrl(QUrl.fromLocalFile(str(folder)))

    def _saved(self, name: str) -> dict[str, Any]:
        state = self._preferences.state(name)
        try:
            found = json.loads(bytes(state.data())) if state else {}
        except (ValueError, RecursionError):
            found = {}
        return found if isinstance(found, dict) else {}

    def _save(self, name: str, state: dict[str, Any]) -> None:
        self._preferences.save_state(name, QByteArray(json.dumps(state).encode()))


def _times_name(digest: str) -> str:
    return f"{_TIMES} {digest[:16]}"
