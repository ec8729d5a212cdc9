"""Pictures of the window's main states, made by one command so that anyone can look.

    python -m tests.gui.screenshots FOLDER      all states, at 100 % and 200 % scale
    python -m tests.gui.screenshots --readme    the one that README.md shows
    python -m tests.gui.screenshots --longer FOLDER     all states in a language 40 % longer
    python -m tests.gui.screenshots --window 1024x700 --text 200 FOLDER     narrow, in large letters

The real window with its real processes is painted off screen on the pop song among the samples.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from lxml import etree
from PySide6.QtCore import QDeadlineTimer, QEventLoop, QSettings, QSize
from PySide6.QtWidgets import QApplication, QDialog, QMessageBox, QWidget

import sample_scores
from app.preferences import Preferences
from app.review.edits import Decide, Reword
from app.review.selection import NOTHING
from app.start_window import make_application
from app.views.mark_rows import MarkFilter
from app.views.selections import selection_of_mark
from app.window import Window
from tests.app.transcriptions import delete_measures, rename_part, transcription
from tests.gui.pseudo_language import PseudoLanguage

README_PICTURE = Path(__file__).resolve().parents[2] / "sample_scores" / "screenshot.png"
SCORE = Path(sample_scores.__path__[0]) / "wednesday-table.musicxml"
SIZE = QSize(1440, 900)


class Studio:
    """A window on a copy of the sample, and a folder for its pictures."""

    def __init__(
        self, application: QApplication, scratch: Path, size: QSize = SIZE, text: int = 100
    ) -> None:
        self.application = application
        self.scratch = scratch
        # Nobody's journals but its own.
        os.environ["XDG_STATE_HOME"] = str(scratch / "state")
        settings = QSettings(str(scratch / "settings.ini"), QSettings.Format.IniFormat)
        self.window = Window(Preferences(settings))
        self.window.appearance.set_look("light")
        self.window.resize(size)
        self.window.show()
        self.window.appearance.set_text_scale(text / 100)
        self.score = Path(shutil.copy(SCORE, scratch))

    def wait(self, done: Callable[[], bool]) -> None:
        """Let the window work until something is done; at most a minute."""
        deadline = QDeadlineTimer(60_000)
        while not done():
            if deadline.hasExpired():
                raise TimeoutError("the window did not finish in a minute")
            self.application.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 50)

    def settle(self) -> None:
        """Let timers run out and everything be painted."""
        end = QDeadlineTimer(300)
        self.wait(end.hasExpired)

    def open(self, path: Path) -> None:
        """Open a file and wait for all of it."""
        self.window.filing.open_path(path)
        self.wait(lambda: not self.window.workshop.busy)
        self.settle()

    def review(self) -> None:
        """Decide some marks, as someone at work would have."""
        session = self.window.session
        assert session.document
        shown = list(session.document.shown_marks())
        session.perform(Decide(tuple(mark.id for mark in shown[:14]), "accepted"))
        session.perform(Decide((shown[9].id,), "rejected", shown[9].label))
        words = "Back home, and it feels like it."
        session.perform(Reword(shown[11].id, sentence=words, name=shown[11].label))

    def select(self, wanted: str) -> None:
        """Select the first mark whose label holds these words."""
        session = self.window.session
        assert session.document
        found = next(mark for mark in session.document.shown_marks() if wanted in mark.label)
        session.select(selection_of_mark(found))

    def close(self) -> None:
        """End the window and its processes."""
        self.window.session.undo_stack.setClean()
        self.window.close()


def states(studio: Studio) -> Iterator[tuple[str, QWidget]]:
    """Name after name of a state, with the widget to take a picture of."""
    window, marks = studio.window, studio.window.workbench.marks
    studio.settle()
    yield "welcome", window
    window.actions_by_name["show_guide"].trigger()
    studio.wait(lambda: window.session.document is not None and not window.workshop.busy)
    window.actions_by_name["next_mark"].trigger()
    window.actions_by_name["accept"].trigger()
    studio.settle()
    yield "first-start", window
    window.session.undo_stack.setClean()
    window.workbench.show_guide(False)
    studio.open(studio.score)
    studio.review()
    studio.select("/vi")
    marks.list.setFocus()
    studio.settle()
    yield "light", window
    window.appearance.set_look("dark")
    studio.settle()
    yield "dark", window
    window.appearance.set_look("light")
    marks.show_filter(MarkFilter(state="open", text="dominant"))
    window.reviewing.next_mark()
    studio.settle()
    yield "filtered", window
    marks.show_filter(MarkFilter())
    window.session.select(NOTHING)
    window.workbench.score.zoom_in()
    window.workbench.score.zoom_in()
    studio.settle()
    yield "zoomed", window
    window.workbench.score.fit_width()
    yield from comparison_states(studio)
    yield from dialog_states(studio)
    yield from typing_states(studio)
    yield from room_states(studio)
    yield from error_states(studio)
    yield from safety_states(studio)


def dialog_states(studio: Studio) -> Iterator[tuple[str, QWidget]]:
    """Each dialog that an action opens."""
    window = studio.window
    for name, slot in (
        ("keys", "show_keys"),
        ("finder", "find_action"),
        ("writing", "choose_writing"),
        ("history", "show_history"),
        ("about", "show_about"),
        ("sure", "accept_sure"),
        ("parts", "choose_parts"),
        ("unsaved", "close"),
    ):
        window.actions_by_name[slot].trigger()
        yield from in_both_looks(studio, name)
    studio.select("/vi")
    window.actions_by_name["new_mark"].trigger()
    yield from in_both_looks(studio, "new-mark")


def error_states(studio: Studio) -> Iterator[tuple[str, QWidget]]:
    """A file that cannot be read, and what a report of it needs."""
    window = studio.window
    broken = studio.scratch / "half a score.musicxml"
    broken.write_bytes(studio.score.read_bytes()[:4000])
    window.session.undo_stack.setClean()
    window.filing.open_path(broken)
    studio.wait(lambda: any(box.isVisible() for box in window.findChildren(QDialog)))
    studio.settle()
    dialog = visible_dialog(window)
    yield "error", dialog
    if isinstance(dialog, QMessageBox):
        for button in dialog.buttons():
            if dialog.buttonRole(button) == QMessageBox.ButtonRole.ActionRole:
                button.click()
                studio.settle()
                yield "error-with-details", dialog
    dialog.reject()


def comparison_states(studio: Studio) -> Iterator[tuple[str, QWidget]]:
    """A melody and its return over other chords, light and dark."""
    window = studio.window
    document = window.session.document
    assert document
    returns = (m for m in document.shown_marks() if m.mark.kind == "repeat")
    window.session.select(selection_of_mark(next(returns)))
    window.actions_by_name["compare"].trigger()
    studio.wait(lambda: not window.workshop.busy)
    for look in ("dark", "light"):
        window.appearance.set_look(look)
        studio.settle()
        yield f"compare-{look}", window
    window.actions_by_name["compare"].trigger()


def safety_states(studio: Studio) -> Iterator[tuple[str, QWidget]]:
    """After a crash, and after the transcription has been changed."""
    window = studio.window
    lost = studio.scratch / "lost"
    lost.mkdir()
    command = [sys.executable, "-m", "tests.gui.crashing", str(shutil.copy(SCORE, lost))]
    subprocess.run(command, capture_output=True, timeout=120, check=False)
    window.actions_by_name["recover"].trigger()
    yield from in_both_looks(studio, "recovery")
    studio.open(studio.score)
    studio.review()
    window.filing.saving.save()
    window.filing.close_document()
    root = transcription(studio.score.stem)
    delete_measures(root, 9, 11)
    rename_part(root, 0, "Lead")
    studio.score.write_bytes(etree.tostring(root))
    studio.open(studio.score)
    yield from in_both_looks(studio, "carried-over")


def typing_states(studio: Studio) -> Iterator[tuple[str, QWidget]]:
    """A key typed at its place."""
    window = studio.window
    studio.select("/vi")
    window.actions_by_name["set_key"].trigger()
    studio.settle()
    yield "typing-a-key", window
    window.workbench.score.typing.drop()
    window.actions_by_name["type_chord"].trigger()
    window.workbench.score.typing.line.setText("V7/xi")
    window.workbench.score.typing.line.textEdited.emit("V7/xi")
    studio.settle()
    yield "typing-a-chord", window
    window.workbench.score.typing.drop()
    window.actions_by_name["rename_section"].trigger()
    studio.settle()
    yield "naming-a-section", window
    window.workbench.timeline.typing.drop()


def room_states(studio: Studio) -> Iterator[tuple[str, QWidget]]:
    """The export room: a still, a card upright with what is hard to read, times, at work, done."""
    window = studio.window
    window.actions_by_name["show_export_room"].trigger()
    room = window.exporting.room
    assert room

    def seen() -> None:
        studio.settle()
        studio.wait(lambda: not window.exporting.previews.busy)
        studio.settle()

    seen()
    room.list.choose(next(one.id for one in room.list.entries if one.sort == "stills"))
    seen()
    yield "export", room
    room.show_panel(room.times)
    room.preview.grounds.button(2).click()
    room.list.choose(next(one.id for one in room.list.entries if one.sort == "reveals"))
    seen()
    yield "export-times", room
    window.appearance.set_look("dark")
    room.show_panel(room.looks)
    room.looks.size_box.setCurrentIndex(2)
    room.preview.grounds.button(1).click()
    room.preview.action_box.setChecked(True)
    room.list.choose([one.id for one in room.list.entries if one.sort == "cards"][1])
    seen()
    yield "export-upright-dark", room
    window.appearance.set_look("light")
    room.show_panel(room.texts)
    room.export()
    studio.wait(lambda: room.foot.bar.value() >= 3)
    yield "export-at-work", room
    window.workshop.cancel_export()
    studio.settle()
    yield "export-cancelled", room
    room.reject()


def in_both_looks(studio: Studio, name: str) -> Iterator[tuple[str, QWidget]]:
    """The open dialog in the dark and in the light; it is then put away."""
    studio.settle()
    dialog = visible_dialog(studio.window)
    for look, suffix in (("dark", "-dark"), ("light", "")):
        studio.window.appearance.set_look(look)
        studio.settle()
        yield name + suffix, dialog
    dialog.reject()


def visible_dialog(window: Window) -> QDialog:
    return next(dialog for dialog in window.findChildren(QDialog) if dialog.isVisible())


def take_all(
    folder: Path, only: str = "", *, longer: bool = False, size: QSize = SIZE, text: int = 100
) -> None:
    """Take the pictures at the scale that Qt was started with."""
    application = make_application()
    language = PseudoLanguage()
    if longer:
        application.installTranslator(language)
    with tempfile.TemporaryDirectory() as scratch:
        studio = Studio(application, Path(scratch), size, text)
        percent = round(studio.window.devicePixelRatioF() * 100)
        for name, widget in states(studio):
            if name == only:
                widget.grab().save(str(folder))
                break
            if not only:
                widget.grab().save(str(folder / f"{name}-{percent}.png"))
        studio.close()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("folder", nargs="?", type=Path)
    parser.add_argument("--readme", action="store_true", help=f"write {README_PICTURE.name}")
    parser.add_argument("--longer", action="store_true", help="in a made-up, longer language")
    parser.add_argument("--window", default="1440x900", metavar="WIDTHxHEIGHT")
    parser.add_argument("--text", type=int, default=100, metavar="PERCENT", help="interface size")
    chosen = parser.parse_args()
    size = QSize(*map(int, chosen.window.split("x")))
    if chosen.readme:
        take_all(README_PICTURE, only="light")
    elif chosen.folder is None:
        parser.error("name a folder, or --readme")
    else:
        chosen.folder.mkdir(parents=True, exist_ok=True)
        take_all(chosen.folder, longer=chosen.longer, size=size, text=chosen.text)
        usual = not chosen.longer and size == SIZE and chosen.text == 100
        if usual and "QT_SCALE_FACTOR" not in os.environ:
            again = [sys.executable, "-m", "tests.gui.screenshots", str(chosen.folder)]
            subprocess.run(again, env={**os.environ, "QT_SCALE_FACTOR": "2"}, check=True)


if __name__ == "__main__":
    main()
