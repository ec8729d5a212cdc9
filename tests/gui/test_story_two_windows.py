"""Two windows on one review, files that others changed, folders that are gone: each a choice."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication, QFileDialog
from pytestqt.qtbot import QtBot

from app.preferences import Preferences
from app.review.edits import Decide
from app.review.safekeeping import Safekeeping
from app.review.storage import previous_copy, read_review, review_path, write_review
from app.window import Window
from tests.gui.conftest import PATIENCE, click, document, message, open_and_wait, shown_window


@pytest.fixture
def second(qtbot: QtBot, qapp: QApplication, tmp_path: Path) -> Iterator[Window]:
    """Another window of the same user."""
    settings = QSettings(str(tmp_path / "second.ini"), QSettings.Format.IniFormat)
    with shown_window(qtbot, qapp, Preferences(settings)) as window:
        yield window


def decide(window: Window, state: str = "accepted") -> str:
    """Decide the first mark; its id."""
    mark = next(iter(document(window).marks())).id
    window.session.perform(Decide((mark,), state))  # type: ignore[arg-type]
    return mark


def save_as(monkeypatch: pytest.MonkeyPatch, path: Path) -> None:
    """What the user will choose where a name is asked for."""
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))


def open_second(qtbot: QtBot, window: Window, sample: Path, answer: str) -> None:
    """Open in a second window what the first has, and choose."""
    window.filing.open_path(sample)
    box = message(qtbot, window)
    assert "open in another window" in box.text()
    click(box, answer)
    qtbot.waitUntil(lambda: window.session.document is not None, timeout=PATIENCE)


def test_a_copy_is_saved_elsewhere(
    qtbot: QtBot,
    window: Window,
    second: Window,
    sample: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    open_and_wait(qtbot, window, sample)
    mark = decide(window)
    window.filing.saving.save()
    open_second(qtbot, second, sample, "Open a Copy")
    assert document(second).mark(mark).state == "accepted"
    decide(second, "rejected")
    elsewhere = sample.with_name("mine.review.json")
    save_as(monkeypatch, elsewhere)
    second.filing.saving.save()
    assert read_review(elsewhere).decisions[mark].state == "rejected"
    assert read_review(review_path(sample)).decisions[mark].state == "accepted"
    decide(window, "open")
    window.filing.saving.save()
    assert not window.isWindowModified()


def test_who_takes_over_has_it_and_the_other_is_told(
    qtbot: QtBot,
    window: Window,
    second: Window,
    sample: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    open_and_wait(qtbot, window, sample)
    mark = decide(window)
    window.filing.saving.save()
    open_second(qtbot, second, sample, "Take It Over")
    decide(second, "rejected")
    second.filing.saving.save()
    decide(window, "open")
    window.filing.saving.save()
    box = message(qtbot, window)
    assert "taken over by another window" in box.text()
    assert read_review(review_path(sample)).decisions[mark].state == "rejected"
    save_as(monkeypatch, sample.with_name("mine.review.json"))
    click(box, "Save Elsewhere…")
    assert not window.isWindowModified()
    assert read_review(review_path(sample)).decisions[mark].state == "rejected"


def test_a_closed_window_holds_nothing(
    qtbot: QtBot, window: Window, second: Window, sample: Path
) -> None:
    open_and_wait(qtbot, window, sample)
    window.filing.close_document()
    open_and_wait(qtbot, second, sample)
    decide(second)
    second.filing.saving.save()
    assert review_path(sample).exists()


def test_a_review_that_appeared_since_opening_is_not_written_over(
    qtbot: QtBot, window: Window, sample: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    open_and_wait(qtbot, window, sample)
    mark = decide(window)
    review = review_path(sample)
    write_review(review, Decide((mark,), "rejected").apply(document(window)))
    elsewhere = sample.with_name("mine.review.json")
    save_as(monkeypatch, elsewhere)
    window.filing.saving.save()
    assert read_review(elsewhere).decisions[mark].state == "accepted"
    assert read_review(review).decisions[mark].state == "rejected"


def test_a_folder_that_is_gone_is_a_choice(
    qtbot: QtBot,
    window: Window,
    sample: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    open_and_wait(qtbot, window, sample)
    mark = decide(window)
    shutil.rmtree(sample.parent)
    window.filing.saving.save()
    box = message(qtbot, window)
    assert "could not be saved" in box.text()
    sample.parent.mkdir()
    click(box, "Try Again")
    assert read_review(review_path(sample)).decisions[mark].state == "accepted"
    decide(window, "rejected")
    shutil.rmtree(sample.parent)
    window.filing.saving.save()
    save_as(monkeypatch, tmp_path / "elsewhere.review.json")
    click(message(qtbot, window), "Save Elsewhere…")
    assert read_review(tmp_path / "elsewhere.review.json").decisions[mark].state == "rejected"
    assert not window.isWindowModified()


def test_a_review_that_changed_on_the_disk_is_replaced_only_on_wish(
    qtbot: QtBot, window: Window, sample: Path, tmp_path: Path
) -> None:
    open_and_wait(qtbot, window, sample)
    mark = decide(window)
    window.filing.saving.save()
    review = review_path(sample)
    theirs = Decide((mark,), "rejected").apply(document(window))
    Safekeeping(tmp_path / "another machine").save(theirs, review)
    decide(window, "open")
    window.filing.saving.save()
    box = message(qtbot, window)
    assert "changed by another program" in box.text()
    click(box, "Cancel")
    assert window.isWindowModified()
    window.filing.saving.save()
    click(message(qtbot, window), "Replace It")
    assert mark not in read_review(review).decisions
    assert read_review(previous_copy(review)).decisions[mark].state == "rejected"
    assert not window.isWindowModified()
