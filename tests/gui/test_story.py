"""The whole job once: open, go through the marks by keyboard, undo, save, reopen, export."""

from pathlib import Path

from lxml import etree
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from analysis.reading.sources import read_source
from app.export.annotated import strip
from app.review.storage import stored, to_bytes
from app.window import Window
from app.worker.export_wishes import SORTS
from tests.gui.conftest import (
    CTRL,
    PATIENCE,
    SHIFT,
    click,
    document,
    open_and_wait,
    press,
    typed,
)


def test_from_opening_to_export(qtbot: QtBot, window: Window, sample: Path) -> None:
    open_and_wait(qtbot, window, sample)
    assert len(window.workbench.score.pages) > 1
    assert window.windowTitle() == f"{sample.name}[*] – Overstave"
    marks = [row.id for row in window.workbench.marks.model.rows[:3]]
    go_through_by_keyboard(window, marks)
    reviewed = document(window)
    undo_and_redo_everything(window)

    press(Qt.Key.Key_S, CTRL)
    review = sample.with_name("wednesday-table.review.json")
    assert window.session.path == review
    assert not window.isWindowModified()
    window.filing.close_document()
    assert window.session.document is None
    again = open_and_wait(qtbot, window, sample)
    assert to_bytes(stored(again)) == to_bytes(stored(reviewed)) == review.read_bytes()
    assert states(window, marks) == ["accepted", "rejected", "edited"]

    export_and_check(qtbot, window, sample)


def go_through_by_keyboard(window: Window, marks: list[str]) -> None:
    """Accept the first, reject the second, edit and comment the third."""
    first, second, third = marks
    listed, session = window.workbench.marks.list, window.session
    listed.setFocus()
    assert not session.selection.mark, "the keyboard alone selects nothing"
    press(Qt.Key.Key_J)
    assert session.selection.mark == first
    press(Qt.Key.Key_A)
    assert states(window, [first]) == ["accepted"]
    assert session.selection.mark == second, "accepting goes on to the next open mark"
    press(Qt.Key.Key_R)
    assert states(window, [second]) == ["rejected"]
    assert session.selection.mark == third
    press(Qt.Key.Key_E)
    assert QApplication.focusWidget() is window.workbench.detail.label_field
    typed("ear says so")  # letters that are keys of the review elsewhere
    press(Qt.Key.Key_Return)
    assert document(window).mark(third).label == "ear says so"
    assert QApplication.focusWidget() is listed
    press(Qt.Key.Key_C)
    typed("ask Ann")
    press(Qt.Key.Key_Return)
    assert document(window).decisions[third].comment == "ask Ann"
    assert states(window, marks) == ["accepted", "rejected", "edited"]


def undo_and_redo_everything(window: Window) -> None:
    reviewed = document(window)
    for _ in range(4):
        press(Qt.Key.Key_Z, CTRL)
    assert not document(window).decisions
    assert not window.isWindowModified()
    for _ in range(4):
        press(Qt.Key.Key_Z, CTRL | SHIFT)
    assert document(window) == reviewed
    assert window.isWindowModified()


def export_and_check(qtbot: QtBot, window: Window, sample: Path) -> None:
    """The annotated score holds the user's words, and the source when they are taken out."""
    window.actions_by_name["show_export_room"].trigger()
    room = window.exporting.room
    assert room
    name = "wednesday-table-annotated.musicxml"
    qtbot.waitUntil(lambda: any(one.name == name for one in room.list.entries), timeout=PATIENCE)
    for sort in SORTS:
        room.list.tick_all(sort, sort == "score")
    with qtbot.waitSignal(window.workshop.exported, timeout=PATIENCE) as exported:
        click(room, "Export")
    assert [path.name for path in exported.args[0].paths] == [name, f"{sample.stem}-annotated.pdf"]
    annotated = exported.args[0].paths[0].read_bytes()
    assert b"ear says so" in annotated
    assert canonical(strip(annotated)) == canonical(read_source(sample).original)


def states(window: Window, marks: list[str]) -> list[str]:
    return [document(window).mark(mark).state for mark in marks]


def canonical(xml: bytes) -> bytes:
    return etree.tostring(etree.fromstring(xml), method="c14n")
