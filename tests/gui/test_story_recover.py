"""Crash and recover: a real window is killed, and the next one brings everything back."""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QFileDialog
from pytestqt.qtbot import QtBot

from app.preferences import Preferences
from app.review.edits import Decide
from app.review.journals import read_journal
from app.review.safekeeping import Safekeeping, state_folder
from app.review.storage import read_review, review_path, stored, to_bytes
from app.views.recovery_dialog import RecoveryDialog
from app.window import Window
from tests.gui.conftest import (
    CTRL,
    PATIENCE,
    click,
    document,
    message,
    open_and_wait,
    press,
    shown_window,
)

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL is of other systems")


@pytest.fixture
def state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A state folder of one's own, also for processes that are started."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    return state_folder()


@pytest.fixture
def window(
    qtbot: QtBot, qapp: QApplication, preferences: Preferences, state: Path
) -> Iterator[Window]:
    with shown_window(qtbot, qapp, preferences) as window:
        yield window


def crash(score: Path) -> bytes:
    """Work on a score in a process that is killed; the review that it had then."""
    command = [sys.executable, "-m", "tests.gui.crashing", str(score)]
    run = subprocess.run(command, capture_output=True, timeout=120, check=False)
    assert run.returncode == -9, run.stderr.decode()
    return run.stdout


def offered(window: Window) -> RecoveryDialog:
    """The dialog on screen, with the keyboard in it."""
    (dialog,) = [one for one in window.findChildren(RecoveryDialog) if one.isVisible()]
    dialog.activateWindow()
    dialog.list.setFocus()
    QApplication.processEvents()
    assert QApplication.focusWidget() is dialog.list
    return dialog


def journals(state: Path) -> list[Path]:
    return sorted((state / "journals").glob("*.journal"))


def abandoned(sample: Path, window: Window, state: Path, qtbot: QtBot) -> None:
    """Leave a journal with one change behind, as a killed window does, and have nothing open."""
    open_and_wait(qtbot, window, sample)
    other = Safekeeping(state)
    start = document(window)
    other.begin(start, review_path(sample))
    mark = next(iter(start.marks())).id
    other.record(Decide((mark,), "accepted").apply(start), "Accept it")
    assert other._journal is not None
    other._journal._held.release()
    window.filing.close_document()


def test_what_a_killed_window_held_comes_back_and_is_saved(
    qtbot: QtBot, window: Window, sample: Path, state: Path
) -> None:
    lost = crash(sample)
    assert not review_path(sample).exists(), "it was never saved"
    assert window.recovering.offer()
    dialog = offered(window)
    entry = dialog.list.item(0).text()
    assert sample.name in entry
    assert "5 changes, never saved" in entry
    press(Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: window.session.document is not None, timeout=PATIENCE)
    assert to_bytes(stored(document(window))) == lost
    assert window.isWindowModified(), "no file holds it yet"
    (journal,) = journals(state)
    assert read_journal(journal).changes == 1, "another crash would lose nothing either"
    qtbot.waitUntil(lambda: not window.workshop.busy, timeout=PATIENCE)
    window.activateWindow()
    window.workbench.marks.list.setFocus()
    qtbot.waitUntil(lambda: QApplication.focusWidget() is window.workbench.marks.list)
    press(Qt.Key.Key_S, CTRL)
    assert review_path(sample).read_bytes() == lost
    assert not window.isWindowModified()
    window.filing.close_document()
    assert journals(state) == []
    assert not window.recovering.offer()


def test_recovery_can_wait_or_be_given_up(
    qtbot: QtBot, window: Window, sample: Path, state: Path
) -> None:
    abandoned(sample, window, state, qtbot)
    assert window.recovering.offer()
    offered(window)
    press(Qt.Key.Key_Escape)
    assert len(journals(state)) == 1
    window.actions_by_name["recover"].trigger()
    dialog = offered(window)
    click(dialog, "Discard")
    click(message(qtbot, window), "Keep")
    assert len(journals(state)) == 1
    click(dialog, "Discard")
    click(message(qtbot, window), "Discard")
    assert journals(state) == []
    assert not dialog.isVisible()
    window.actions_by_name["recover"].trigger()
    assert window.statusBar().currentMessage() == "There is nothing to recover"


def test_a_score_that_has_gone_is_asked_for(
    qtbot: QtBot, window: Window, sample: Path, state: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    abandoned(sample, window, state, qtbot)
    moved = sample.rename(sample.with_name("moved.musicxml"))
    assert window.recovering.offer()
    click(offered(window), "Recover")
    box = message(qtbot, window)
    assert "no longer where it was" in box.text()
    click(box, "Not Now")
    assert len(Safekeeping(state).abandoned()) == 1, "it can be taken up again"
    assert window.recovering.offer()
    click(offered(window), "Recover")
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(moved), ""))
    click(message(qtbot, window), "Find the Score…")
    qtbot.waitUntil(lambda: window.session.document is not None, timeout=PATIENCE)
    assert document(window).source.path == str(moved)
    assert [mark.state for mark in document(window).marks()].count("accepted") == 1
    assert window.isWindowModified()


def test_a_recovery_that_is_cancelled_can_be_tried_again(
    qtbot: QtBot, window: Window, sample: Path, state: Path
) -> None:
    abandoned(sample, window, state, qtbot)
    assert window.recovering.offer()
    click(offered(window), "Recover")
    assert window.workshop.busy
    window.cancel()
    assert window.recovering.offer()
    click(offered(window), "Recover")
    qtbot.waitUntil(lambda: window.session.document is not None, timeout=PATIENCE)
    assert window.session.path == review_path(sample)


def test_a_journal_that_cannot_be_read_is_told_and_kept(window: Window, state: Path) -> None:
    (state / "journals").mkdir(parents=True)
    damaged = state / "journals" / "song.journal"
    damaged.write_bytes(b"0000 nothing of ours")
    assert window.recovering.offer()
    dialog = offered(window)
    assert "damaged from its first line" in dialog.list.item(0).text()
    assert not dialog.recover_button.isEnabled()
    press(Qt.Key.Key_Escape)
    assert damaged.exists()


def test_what_can_be_recovered_stands_before_what_cannot(
    qtbot: QtBot, window: Window, sample: Path, state: Path
) -> None:
    abandoned(sample, window, state, qtbot)
    (state / "journals" / "later.journal").write_bytes(b"0000 nothing of ours")
    assert window.recovering.offer()
    dialog = offered(window)
    assert dialog.list.count() == 2
    assert sample.name in dialog.list.item(0).text()
    assert dialog.recover_button.isEnabled()
    press(Qt.Key.Key_Escape)


def test_a_saved_and_closed_window_leaves_nothing_behind(
    qtbot: QtBot, window: Window, sample: Path, state: Path
) -> None:
    open_and_wait(qtbot, window, sample)
    mark = next(iter(document(window).marks())).id
    window.session.perform(Decide((mark,), "accepted"))
    assert len(journals(state)) == 1
    window.filing.saving.save()
    assert read_review(review_path(sample)).decisions[mark].state == "accepted"
    window.close()
    assert journals(state) == []
    assert os.listdir(state / "claims") == []
