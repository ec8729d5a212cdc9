"""Broken files, dying processes, unreadable reviews: a sentence, and nothing lost."""

import os
import signal
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtWidgets import QMessageBox
from pytestqt.qtbot import QtBot

from app.review.edits import Decide
from app.review.storage import previous_copy, review_path
from app.window import Window
from tests.gui.conftest import PATIENCE, SAMPLES, click, document, message, open_and_wait


def decide_one(window: Window) -> str:
    """Accept the first mark; its id."""
    mark = next(iter(document(window).marks())).id
    window.session.perform(Decide((mark,), "accepted"))
    return mark


def test_a_broken_file_is_refused_and_the_open_one_stays(
    qtbot: QtBot, window: Window, sample: Path, tmp_path: Path
) -> None:
    before = open_and_wait(qtbot, window, sample)
    pages = window.workbench.score.pages
    broken = tmp_path / "broken.musicxml"
    broken.write_bytes(sample.read_bytes()[:5000])
    window.filing.open_path(broken)
    box = message(qtbot, window)
    assert "broken.musicxml" in box.text()
    assert window.session.document is before
    assert window.workbench.score.pages == pages
    assert window.workbench.marks.model.rows
    assert sample.name in window.windowTitle()


@pytest.mark.parametrize("which", [0, 1], ids=["engraver", "reader"])
def test_a_process_killed_while_opening_is_told_and_the_next_try_works(
    qtbot: QtBot, window: Window, sample: Path, tmp_path: Path, which: int
) -> None:
    before = open_and_wait(qtbot, window, sample)
    pages = window.workbench.score.pages
    other = tmp_path / "other.musicxml"
    other.write_bytes(sample.read_bytes())
    stop = signal.SIGSTOP if hasattr(signal, "SIGSTOP") else signal.SIGTERM
    os.kill(window.workshop.pids[which], stop)  # so that it cannot be done before it is killed
    window.filing.open_path(other)
    if which:
        with qtbot.waitSignal(window.workshop.page_engraved, timeout=PATIENCE):
            pass
        assert not window.workbench.marks.model.rows, "what is being opened has no marks yet"
        assert not window.actions_by_name["accept"].isEnabled()
        assert window.windowTitle().startswith("other.musicxml")
    os.kill(window.workshop.pids[which], signal.SIGKILL)
    box = message(qtbot, window)
    assert "stopped unexpectedly" in box.text()
    assert window.session.document is before
    assert window.workbench.score.pages == pages
    assert window.workbench.marks.model.rows
    assert open_and_wait(qtbot, window, other).source.name == other.name


def test_another_score_can_be_opened_while_a_mark_is_selected(
    qtbot: QtBot, window: Window, sample: Path
) -> None:
    open_and_wait(qtbot, window, sample)
    window.reviewing.next_mark()
    assert window.session.selection.mark
    other = sample.with_name("slow-to-warm.musicxml")
    other.write_bytes((SAMPLES / other.name).read_bytes())
    open_and_wait(qtbot, window, other)
    assert not window.session.selection.mark
    assert not window.workbench.detail.label_field.isVisible()
    window.reviewing.next_mark()
    assert window.workbench.detail.label_field.isVisible()


def test_cancelling_brings_the_open_score_back(
    qtbot: QtBot, window: Window, sample: Path, tmp_path: Path
) -> None:
    before = open_and_wait(qtbot, window, sample)
    other = tmp_path / "other.musicxml"
    other.write_bytes(sample.read_bytes())
    window.filing.open_path(other)
    assert window.cancel_button.isVisible()
    click(window, "Cancel")
    assert not window.workshop.busy
    assert not window.cancel_button.isVisible()
    assert window.session.document is before
    assert open_and_wait(qtbot, window, other).source.name == other.name


def test_unsaved_changes_are_asked_for_and_may_be_kept(
    qtbot: QtBot, window: Window, sample: Path
) -> None:
    open_and_wait(qtbot, window, sample)
    mark = decide_one(window)
    window.close()
    box = message(qtbot, window)
    assert "wednesday-table.musicxml" in box.text()
    click(box, "Cancel")
    assert window.isVisible()
    assert document(window).mark(mark).state == "accepted"
    window.close()
    click(message(qtbot, window), "Save")
    assert not window.isVisible()
    assert review_path(sample).exists()


def test_unsaved_changes_may_be_given_up(qtbot: QtBot, window: Window, sample: Path) -> None:
    open_and_wait(qtbot, window, sample)
    decide_one(window)
    window.filing.close_document()
    click(message(qtbot, window), "Don’t Save")
    assert window.session.document is None
    assert not review_path(sample).exists()


def test_a_damaged_review_is_a_choice_and_is_not_written_over(
    qtbot: QtBot, window: Window, sample: Path
) -> None:
    open_and_wait(qtbot, window, sample)
    mark = decide_one(window)
    window.filing.saving.save()
    window.session.perform(Decide((mark,), "rejected"))
    window.filing.saving.save()
    window.filing.close_document()
    review = review_path(sample)
    assert previous_copy(review).exists()
    review.write_bytes(b'{"format": "overst')
    window.filing.open_path(sample)
    box = message(qtbot, window)
    assert "damaged" in box.text()
    click(box, "Open the Copy Before It")
    qtbot.waitUntil(lambda: window.session.document is not None, timeout=PATIENCE)
    assert document(window).mark(mark).state == "accepted"
    assert window.session.path is None, "so that saving asks for another name"
    assert review.read_bytes() == b'{"format": "overst'


def test_a_review_that_cannot_be_saved_stays_open(
    qtbot: QtBot, window: Window, sample: Path, tmp_path: Path
) -> None:
    open_and_wait(qtbot, window, sample)
    decide_one(window)
    assert not window.session.save(tmp_path / "no such folder" / "a.review.json")
    box = message(qtbot, window)
    assert "could not be saved" in box.text()
    assert window.session.modified


def test_a_file_can_be_dropped_and_comes_back_among_the_recent_ones(
    qtbot: QtBot, window: Window, sample: Path
) -> None:
    dropped = QMimeData()
    dropped.setUrls([QUrl.fromLocalFile(str(sample))])
    with qtbot.waitSignal(window.workshop.analysed, timeout=PATIENCE):
        window.dropEvent(
            QDropEvent(
                QPointF(20, 20),
                Qt.DropAction.CopyAction,
                dropped,
                Qt.MouseButton.LeftButton,
                Qt.KeyboardModifier.NoModifier,
            )
        )
    assert document(window).source.path == str(sample)
    assert window.preferences.recent == [sample]
    assert not [box for box in window.findChildren(QMessageBox) if box.isVisible()]


def test_opening_a_review_opens_its_score(qtbot: QtBot, window: Window, sample: Path) -> None:
    open_and_wait(qtbot, window, sample)
    mark = decide_one(window)
    moved = sample.with_name("decisions.review.json")
    assert window.session.save(moved)
    window.filing.close_document()
    open_and_wait(qtbot, window, moved)
    assert document(window).source.path == str(sample)
    assert document(window).mark(mark).state == "accepted"
    assert window.session.path == moved
