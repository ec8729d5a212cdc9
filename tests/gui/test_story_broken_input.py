"""The worst files there are, one after the other, in one window: a message each, nothing lost."""

import os
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtWidgets import QMessageBox
from pytestqt.qtbot import QtBot

from app.review.edits import Decide
from app.review.journals import Journal
from app.review.storage import read_review, review_path, to_bytes
from app.window import Window
from tests.faults.cases import Case, named_cases
from tests.gui.conftest import PATIENCE, document, open_and_wait

#: Ways of breaking a score that take long to engrave.
SLOW = ("ten_thousand_measures", "thirty_parts", "chords_of_forty_notes")


def write(folder: Path, case: Case) -> Path:
    path = folder / f"{case.what}{Path(case.name).suffix}"
    path.write_bytes(case.data)
    return path


def messages(window: Window) -> list[QMessageBox]:
    return [box for box in window.findChildren(QMessageBox) if box.isVisible()]


def test_a_window_survives_all_ways_of_breaking_a_score(
    qtbot: QtBot, window: Window, sample: Path, tmp_path: Path
) -> None:
    secret = tmp_path / "secret.xml"
    secret.write_text("<score-partwise/>")
    before = open_and_wait(qtbot, window, sample)
    refused = opened = 0
    for case in named_cases(str(secret)):
        if case.what in SLOW:
            continue
        window.filing.open_path(write(tmp_path, case))
        qtbot.waitUntil(lambda: not window.workshop.busy, timeout=PATIENCE)
        boxes = messages(window)
        if boxes:
            (box,) = boxes
            assert box.text().endswith(".")
            assert case.what in box.text() or "Measure" in box.text()
            assert window.session.document is before, case.what
            box.done(0)
            refused += 1
        else:
            before = document(window)
            assert before.source.name.startswith(case.what)
            opened += 1
    assert refused >= 20
    assert opened >= 20
    assert open_and_wait(qtbot, window, sample).source.name == sample.name


def test_a_review_whose_score_has_an_impossible_path(
    qtbot: QtBot, window: Window, sample: Path, tmp_path: Path
) -> None:
    open_and_wait(qtbot, window, sample)
    mark = next(iter(document(window).marks())).id
    window.session.perform(Decide((mark,), "accepted"))
    window.filing.saving.save()
    stored = to_bytes(read_review(review_path(sample))).decode()
    window.filing.close_document()
    for number, path in enumerate(("/" + "x" * 5000, "a\\u0000b")):
        review = tmp_path / f"{number}.review.json"
        review.write_text(stored.replace(str(sample), path))
        window.filing.open_path(review)
        qtbot.waitUntil(lambda: bool(messages(window)), timeout=PATIENCE)
        (box,) = messages(window)
        assert "could not be read" in box.text() or "There is no file" in box.text()
        box.done(0)
        assert window.session.document is None


@pytest.mark.parametrize("size", [0, 100])
def test_a_review_is_read_only_as_far_as_a_review_can_be(
    qtbot: QtBot, window: Window, sample: Path, size: int
) -> None:
    """A file of any size may have the name of a review; the window must not take it all in."""
    with review_path(sample).open("wb") as file:
        file.truncate(size * 1024 * 1024)
    window.filing.open_path(sample)
    qtbot.waitUntil(lambda: bool(messages(window)), timeout=PATIENCE)
    (box,) = messages(window)
    assert ("larger than" if size else "damaged") in box.text()
    box.done(0)


def test_a_pipe_in_the_place_of_a_review_is_not_waited_for(
    qtbot: QtBot, window: Window, sample: Path
) -> None:
    os.mkfifo(review_path(sample))
    window.filing.open_path(sample)
    qtbot.waitUntil(lambda: bool(messages(window)), timeout=PATIENCE)
    (box,) = messages(window)
    assert "not an ordinary file" in box.text()
    box.done(0)


def test_a_journal_whose_score_has_an_impossible_path(
    qtbot: QtBot, window: Window, sample: Path, tmp_path: Path
) -> None:
    opened = open_and_wait(qtbot, window, sample)
    source = replace(opened.source, path="/" + "x" * 5000)
    journal = Journal.begin(tmp_path, replace(opened, source=source), unsaved=True)
    journal._held.release()
    window.filing.open_journal(journal.path)
    qtbot.waitUntil(lambda: bool(messages(window)), timeout=PATIENCE)
    (box,) = messages(window)
    assert "no longer where it was" in box.text()
    box.done(0)
    assert journal.path.exists()
