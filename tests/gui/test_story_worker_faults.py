"""A worker dies or hangs in each step of its work: a sentence, and what was open is as it was."""

import os
import signal
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QMessageBox
from pytestqt.qtbot import QtBot

from analysis.pitch import Key
from analysis.timebase import Span
from app.export.frames import Frame
from app.preferences import Preferences
from app.review.correction_edits import SetKey
from app.review.document import Document
from app.review.edits import Decide
from app.review.journals import read_journal
from app.review.storage import stored, to_bytes
from app.window import Window
from app.worker.export_wishes import ExportWish, Sort
from app.worker.processes import WorkerProcess
from tests.gui.conftest import (
    PATIENCE,
    SAMPLES,
    copy_of_sample,
    document,
    message,
    open_and_wait,
    shown_window,
)

#: Seconds after which a worker counts as hung here.
SHORT = 1.0
Break = Callable[[str], None]


@pytest.fixture(scope="module")
def wish(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("breaking") / "wish"


@pytest.fixture(scope="module")
def busy(
    request: pytest.FixtureRequest,
    qapp: QApplication,
    tmp_path_factory: pytest.TempPathFactory,
    wish: Path,
) -> Iterator[Window]:
    """A window whose workers can be broken, with a score, decisions and a correction in it."""
    folder = tmp_path_factory.mktemp("busy")
    settings = QSettings(str(folder / "settings.ini"), QSettings.Format.IniFormat)
    qtbot = QtBot(request)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PYTHONPATH", str(Path(__file__).parent / "breaking"))
        patch.setenv("OVERSTAVE_BREAKING", str(wish))
        with shown_window(qtbot, qapp, Preferences(settings)) as window:
            open_and_wait(qtbot, window, copy_of_sample(folder))
            marks = tuple(mark.id for mark in document(window).marks())
            window.session.perform(Decide(marks[:5], "accepted"))
            window.session.perform(SetKey(span(window, 8), Key.parse("D dorian")))
            qtbot.waitUntil(lambda: not window.session.pending, timeout=PATIENCE)
            yield window


@pytest.fixture
def broken(qtbot: QtBot, busy: Window, wish: Path, monkeypatch: pytest.MonkeyPatch) -> Break:
    """Break a step when it is next done: ``"reading abort"``. No text makes all patient again."""
    wish.unlink(missing_ok=True)
    qtbot.waitUntil(lambda: busy.workshop.ready and not busy.workshop.busy, timeout=PATIENCE)

    def do(text: str) -> None:
        wish.write_text(text)
        monkeypatch.undo()
        if text.endswith("hang"):
            request = WorkerProcess.request

            def impatient(worker: WorkerProcess, job: str, *given: Any, limit: float = 0) -> int:
                # An export's process has to start first.
                return request(worker, job, *given, limit=6 * SHORT if "export" in job else SHORT)

            monkeypatch.setattr(WorkerProcess, "request", impatient)

    return do


def span(window: Window, measures: int) -> Span:
    found = document(window).score.measures
    return Span(found[0].onset, found[measures].onset)


def state(window: Window) -> tuple[Document, int, bool, tuple[Any, ...], bytes]:
    """All that must not change."""
    assert window.keeper._journal is not None
    kept = read_journal(window.keeper._journal.path).review
    stack = window.session.undo_stack
    pages = window.workbench.score.pages
    return document(window), stack.count(), window.session.modified, pages, to_bytes(kept)


def told(qtbot: QtBot, window: Window) -> str:
    """What the message says; it is then closed."""
    box = message(qtbot, window)
    text = box.text()
    box.reject()
    qtbot.waitUntil(lambda: not boxes(window))
    return text


def boxes(window: Window) -> list[QMessageBox]:
    return [box for box in window.findChildren(QMessageBox) if box.isVisible()]


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ("reading kill", "stopped unexpectedly"),
        ("reading exhaust", "not enough memory"),
        ("analysing abort", "stopped unexpectedly"),
        ("analysing hang", "took too long"),
        ("loading abort", "stopped unexpectedly"),
        ("loading hang", "took too long"),
        ("drawing crash", "stopped unexpectedly"),
    ],
)
def test_opening_another_score_fails_in_words_and_the_open_one_stays(
    qtbot: QtBot, busy: Window, broken: Break, tmp_path: Path, fault: str, words: str
) -> None:
    other = tmp_path / "other.musicxml"
    other.write_bytes((SAMPLES / "slow-to-warm.musicxml").read_bytes())
    before = state(busy)
    broken(fault)
    busy.session.undo_stack.setClean()  # so that nothing is asked
    busy.filing.open_path(other)
    assert words in told(qtbot, busy)
    busy.session.undo_stack.resetClean()
    assert state(busy) == before
    assert to_bytes(stored(document(busy))) == before[-1], "the journal holds it all"
    assert busy.workbench.marks.model.rows
    assert "wednesday-table" in busy.windowTitle()
    assert not busy.workshop.busy
    assert not busy.cancel_button.isVisible()


@pytest.mark.parametrize(("how", "tonic"), [("abort", "B"), ("hang", "F#")])
def test_a_correction_stays_where_its_analysis_fails_and_can_be_followed_later(
    qtbot: QtBot, busy: Window, broken: Break, how: str, tonic: str
) -> None:
    count = busy.session.undo_stack.index()
    busy.session.perform(SetKey(span(busy, 2), Key.parse(f"{tonic} major")))
    qtbot.waitUntil(lambda: not busy.session.pending, timeout=PATIENCE)
    busy.session.undo_stack.undo()  # and now the reader keeps an analysis of this score
    broken(f"analysing again {how}")
    busy.session.perform(SetKey(span(busy, 4), Key.parse(f"{tonic} minor")))
    qtbot.waitUntil(lambda: busy.deriving.stalled, timeout=PATIENCE)
    assert "do not follow your last correction" in busy.statusBar().currentMessage()
    assert busy.session.pending
    assert (span(busy, 4), Key.parse(f"{tonic} minor")) in document(busy).corrections.keys
    assert state(busy)[-1] == to_bytes(stored(document(busy)))
    broken("")
    qtbot.waitUntil(lambda: busy.workshop.ready, timeout=PATIENCE)
    assert busy.actions_by_name["analyse_again"].isEnabled()
    busy.actions_by_name["analyse_again"].trigger()
    qtbot.waitUntil(lambda: not busy.session.pending, timeout=PATIENCE)
    assert not busy.deriving.stalled
    busy.session.undo_stack.undo()
    qtbot.waitUntil(lambda: not busy.session.pending, timeout=PATIENCE)
    assert busy.session.undo_stack.index() == count


@pytest.mark.parametrize("fault", ["loading abort", "drawing 2 abort", "loading hang"])
def test_pages_stay_where_engraving_them_anew_fails(
    qtbot: QtBot, busy: Window, broken: Break, fault: str
) -> None:
    before = state(busy)
    assert len(busy.workbench.score.pages) > 1
    broken(fault)
    busy.filing.reflow()
    assert "engraving" in told(qtbot, busy)
    assert state(busy) == before


def test_one_long_system_that_cannot_be_engraved_is_not_said_to_be_there(
    qtbot: QtBot, busy: Window, broken: Break
) -> None:
    action = busy.actions_by_name["toggle_long_system"]
    before = state(busy)
    broken("loading abort")
    action.trigger()
    asked = busy.filing.layout
    assert asked.one_system
    assert action.isChecked()
    assert "engraving" in told(qtbot, busy)
    assert not action.isChecked()
    assert not busy.filing.layout.one_system
    assert state(busy) == before


def test_an_analysis_is_still_due_after_the_engraver_died_beside_it(
    qtbot: QtBot, busy: Window, broken: Break
) -> None:
    broken("loading abort")
    # The reader sleeps, so that the engraver is first to end.
    os.kill(busy.workshop.pids[1], signal.SIGSTOP)
    busy.session.perform(SetKey(span(busy, 3), Key.parse("A major")))
    assert busy.session.pending
    busy.filing.reflow()
    assert "stopped unexpectedly" in told(qtbot, busy)
    os.kill(busy.workshop.pids[1], signal.SIGCONT)
    qtbot.waitUntil(lambda: not busy.session.pending, timeout=20_000)
    busy.session.undo_stack.undo()


def test_an_analysis_that_an_opening_drops_can_be_asked_for_again(
    qtbot: QtBot, busy: Window, broken: Break, tmp_path: Path
) -> None:
    other = tmp_path / "other.musicxml"
    other.write_bytes(b"<score-partwise>")
    broken("")
    os.kill(busy.workshop.pids[1], signal.SIGSTOP)
    busy.session.perform(SetKey(span(busy, 5), Key.parse("E major")))
    busy.session.undo_stack.setClean()
    busy.filing.open_path(other)
    assert "other.musicxml" in told(qtbot, busy)
    busy.session.undo_stack.resetClean()
    assert busy.session.pending
    assert busy.actions_by_name["analyse_again"].isEnabled()
    busy.actions_by_name["analyse_again"].trigger()
    qtbot.waitUntil(lambda: not busy.session.pending, timeout=20_000)
    busy.session.undo_stack.undo()


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ("annotating abort", "stopped unexpectedly"),
        ("picture kill", "stopped unexpectedly"),
        ("picture hang", "took too long"),
        ("list exhaust", "not enough memory"),
    ],
)
def test_an_export_that_dies_leaves_whole_files_and_can_be_done_again(
    qtbot: QtBot, busy: Window, broken: Break, tmp_path: Path, fault: str, words: str
) -> None:
    before = state(busy)
    broken(fault)
    sorts: frozenset[Sort] = frozenset({"score", "cards"})
    wish = ExportWish(tmp_path / "out", sorts=sorts, frame=Frame(640, 360))
    busy.exporting.export(wish)
    assert words in told(qtbot, busy)
    assert state(busy) == before
    assert not busy.workshop.busy
    assert [path for path in wish.folder.rglob("*") if ".part" in path.name] == []
    assert all(not QImage(str(path)).isNull() for path in wish.folder.rglob("*.png"))
    broken("")
    busy.exporting.export(wish)
    assert "new" in told(qtbot, busy) or not busy.workshop.busy
    assert (wish.folder / "wednesday-table-annotated.musicxml").exists()
    assert state(busy) == before
