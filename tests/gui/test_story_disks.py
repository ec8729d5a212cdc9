"""Full, read-only and vanishing folders, a score exported again: words, and nothing lost."""

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from lxml import etree
from PySide6.QtCore import QEvent
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QFileDialog, QMessageBox
from pytestqt.qtbot import QtBot

from app.preferences import Preferences
from app.review import journals
from app.review.edits import Decide, Reword
from app.review.journals import read_journal
from app.review.safekeeping import state_folder
from app.review.storage import read_review, review_path, stored, to_bytes
from app.window import Window
from app.worker.export_wishes import ExportWish
from tests.app.transcriptions import rename_part, transcription
from tests.gui.conftest import (
    PATIENCE,
    click,
    copy_of_sample,
    document,
    message,
    open_and_wait,
    shown_window,
)

Mount = Callable[[str], Path]


@pytest.fixture
def mount(tmp_path: Path) -> Iterator[Mount]:
    """A small disk of its own, by size; only where this user may mount one."""
    made: list[Path] = []

    def do(size: str) -> Path:
        folder = tmp_path / f"disk{len(made)}"
        folder.mkdir()
        command = ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(folder)]
        try:
            run = subprocess.run(command, capture_output=True, check=False)
        except OSError as error:
            pytest.skip(f"a small disk cannot be mounted: {error}")
        if run.returncode:
            pytest.skip(f"a small disk cannot be mounted: {run.stderr.decode().strip()}")
        made.append(folder)
        return folder

    yield do
    for folder in made:
        subprocess.run(["umount", "--lazy", str(folder)], check=True)


def make_read_only(folder: Path) -> None:
    subprocess.run(["mount", "-o", "remount,ro", str(folder)], check=True)


def fill(folder: Path) -> Path:
    """Leave no byte on the disk; the file that takes it all."""
    ballast = folder / "ballast"
    with ballast.open("wb", buffering=0) as stream:
        try:
            while stream.write(bytes(4096)):
                pass
        except OSError:
            pass
    return ballast


def decide(window: Window, state: str = "accepted") -> str:
    """Decide the first mark; its id."""
    mark = next(iter(document(window).marks())).id
    window.session.perform(Decide((mark,), state))  # type: ignore[arg-type]
    return mark


def boxes(window: Window) -> list[QMessageBox]:
    return [box for box in window.findChildren(QMessageBox) if box.isVisible()]


def parts(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if ".part" in path.name]


def test_a_review_on_a_full_disk_is_not_saved_and_not_lost(
    qtbot: QtBot, window: Window, mount: Mount
) -> None:
    disk = mount("2m")
    sample = copy_of_sample(disk)
    open_and_wait(qtbot, window, sample)
    mark = decide(window)
    window.filing.saving.save()
    before = review_path(sample).read_bytes()
    ballast = fill(disk)
    decide(window, "rejected")
    window.filing.saving.save()
    box = message(qtbot, window)
    assert "could not be saved" in box.text()
    assert "No space left" in box.text()
    assert window.session.modified
    assert review_path(sample).read_bytes() == before
    assert parts(disk) == []
    ballast.unlink()
    click(box, "Try Again")
    assert read_review(review_path(sample)).decisions[mark].state == "rejected"
    assert not window.session.modified


def test_without_room_for_the_journal_one_is_told_once_and_it_comes_back(
    qtbot: QtBot,
    qapp: QApplication,
    preferences: Preferences,
    sample: Path,
    mount: Mount,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    disk = mount("1m")
    monkeypatch.setenv("XDG_STATE_HOME", str(disk))
    with shown_window(qtbot, qapp, preferences) as window:
        open_and_wait(qtbot, window, sample)
        (journal,) = window.keeper.folder.iterdir()
        ballast = fill(disk)
        long = "Said at length. " * 300
        ids = [mark.id for mark in document(window).marks()][:3]
        for mark in ids:
            window.session.perform(Reword(mark, sentence=long))
        (box,) = boxes(window)
        assert "cannot be kept safe" in box.text()
        assert "Save the review soon" in box.text()
        box.reject()
        assert [document(window).mark(mark).sentence for mark in ids] == [long] * 3
        assert read_journal(journal).whole
        ballast.unlink()
        decide(window)
        assert to_bytes(read_journal(journal).review) == to_bytes(stored(document(window)))
        assert not boxes(window)


def test_a_journal_whose_folder_is_taken_away_is_begun_anew(
    qtbot: QtBot,
    qapp: QApplication,
    preferences: Preferences,
    sample: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    with shown_window(qtbot, qapp, preferences) as window:
        open_and_wait(qtbot, window, sample)
        decide(window)
        shutil.rmtree(state_folder())
        decide(window, "rejected")
        (journal,) = window.keeper.folder.iterdir()
        remains = read_journal(journal)
        assert to_bytes(remains.review) == to_bytes(stored(document(window)))
        assert remains.changes


def test_a_score_in_a_read_only_folder_is_reviewed_and_saved_elsewhere(
    qtbot: QtBot, window: Window, mount: Mount, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = mount("2m")
    sample = copy_of_sample(disk)
    make_read_only(disk)
    open_and_wait(qtbot, window, sample)
    mark = decide(window)
    window.filing.saving.save()
    box = message(qtbot, window)
    assert "Read-only file system" in box.text()
    elsewhere = tmp_path / "mine.review.json"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(elsewhere), ""))
    click(box, "Save Elsewhere…")
    assert read_review(elsewhere).decisions[mark].state == "accepted"
    assert os.listdir(disk) == [sample.name]


def test_with_a_read_only_state_folder_one_can_work_and_is_warned(
    qtbot: QtBot,
    qapp: QApplication,
    preferences: Preferences,
    sample: Path,
    mount: Mount,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    disk = mount("1m")
    make_read_only(disk)
    monkeypatch.setenv("XDG_STATE_HOME", str(disk))
    with shown_window(qtbot, qapp, preferences) as window:
        open_and_wait(qtbot, window, sample)
        box = message(qtbot, window)
        assert "cannot be kept safe" in box.text()
        box.reject()
        mark = decide(window)
        window.filing.saving.save()
        assert read_review(review_path(sample)).decisions[mark].state == "accepted"
        assert not boxes(window)


@pytest.mark.parametrize("read_only", [False, True], ids=["full", "read-only"])
def test_an_export_to_a_disk_that_takes_no_more_says_so_and_leaves_whole_files_only(
    qtbot: QtBot, window: Window, sample: Path, mount: Mount, read_only: bool
) -> None:
    before = open_and_wait(qtbot, window, sample)
    disk = mount("256k")
    (disk / "kept.txt").write_text("someone's")
    if read_only:
        make_read_only(disk)
    window.exporting.export(ExportWish(disk / "out", sorts=frozenset({"cards"})))
    box = message(qtbot, window)
    assert ("Read-only file system" if read_only else "No space left") in box.text()
    assert "choose another folder" in box.text() or "could not be made" in box.text()
    assert not window.workshop.busy
    assert document(window) is before
    assert parts(disk) == []
    assert (disk / "kept.txt").read_text() == "someone's"
    for picture in disk.rglob("*.png"):
        assert not QImage(str(picture)).isNull(), picture


def test_an_export_cancelled_half_way_leaves_whole_files_only(
    qtbot: QtBot, window: Window, sample: Path, tmp_path: Path
) -> None:
    before = open_and_wait(qtbot, window, sample)
    out = tmp_path / "out"
    window.exporting.export(ExportWish(out, sorts=frozenset({"cards", "stills"})))
    qtbot.waitUntil(lambda: len(list(out.rglob("*.png"))) > 2, timeout=PATIENCE)
    click(window, "Cancel")
    assert not window.workshop.busy
    assert parts(out) == []
    made = list(out.rglob("*.png"))
    assert all(not QImage(str(picture)).isNull() for picture in made)
    assert document(window) is before
    window.exporting.export(ExportWish(out, sorts=frozenset({"score"})))
    assert "written" in message(qtbot, window).text() or boxes(window)


def test_a_score_that_was_exported_again_is_offered_and_the_review_carried_over(
    qtbot: QtBot, window: Window, sample: Path
) -> None:
    open_and_wait(qtbot, window, sample)
    mark = decide(window)
    window.filing.saving.save()
    come_back(window)
    assert not boxes(window), "nothing has changed"
    root = transcription(sample.stem)
    rename_part(root, 0, "Lead")
    replaced = sample.with_name("new")
    replaced.write_bytes(etree.tostring(root))
    os.replace(replaced, sample)
    come_back(window)
    box = message(qtbot, window)
    assert "has been changed since it was opened" in box.text()
    click(box, "Not Now")
    come_back(window)
    assert not boxes(window), "it is asked once"
    assert document(window).score.parts[0].name == "Voice"
    window.filing.changed_sources._asked = ""
    window.filing.changed_sources._stamp = None
    come_back(window)
    click(message(qtbot, window), "Open It Again")
    qtbot.waitUntil(lambda: document(window).score.parts[0].name == "Lead", timeout=PATIENCE)
    assert [one.state for one in document(window).marks()].count("accepted") == 1
    assert document(window).mark(mark).state == "accepted"
    sample.unlink()
    come_back(window)
    assert not boxes(window), "a file that is gone is no other score"


def come_back(window: Window) -> None:
    """Come to the window from another program."""
    QApplication.sendEvent(window, QEvent(QEvent.Type.WindowActivate))


def test_a_clock_that_was_moved_changes_nothing(
    qtbot: QtBot, window: Window, sample: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    open_and_wait(qtbot, window, sample)
    mine = window.keeper._journal
    assert mine is not None
    for moment in ("2099-12-31T23:59:59+00:00", "1970-01-01T00:00:00+00:00", "nonsense"):
        monkeypatch.setattr(journals, "_now", lambda moment=moment: moment)
        decide(window, "rejected" if moment[0] == "1" else "accepted")
        os.utime(mine.path, (0, 4_000_000_000 if moment[0] == "2" else 0))
        remains = read_journal(mine.path)
        assert to_bytes(remains.review) == to_bytes(stored(document(window)))
        assert remains.at == moment
        assert mine.path not in window.keeper.abandoned(), "it is held, whatever the clock says"
    window.filing.saving.save()
    os.utime(review_path(sample), (0, 4_000_000_000))
    os.utime(sample, (0, 0))
    decide(window, "accepted")
    come_back(window)
    window.filing.saving.save()
    assert not boxes(window), "contents are compared, not times"
    assert not window.session.modified
