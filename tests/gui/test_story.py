"""The whole job once: open, go through the marks by keyboard, undo, save, reopen, export."""

from pathlib import Path

from lxml import etree
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QPushButton
from pytestqt.qtbot import QtBot

from analysis.sources import read_source
from app.export.annotated import strip
from app.review.storage import stored, to_bytes
from app.views.dialogs import ExportDialog
from app.window import Window
from tests.gui.conftest import PATIENCE, open_and_wait


def state_of(window: Window, mark: str) -> str:
    assert window.session.document
    return window.session.document.mark(mark).state


def test_from_opening_to_export(qtbot: QtBot, window: Window, sample: Path) -> None:
    open_and_wait(qtbot, window, sample)
    session, listed = window.session, window.workbench.marks.list
    assert session.document
    assert len(window.workbench.score.pages) > 1
    assert window.windowTitle() == f"{sample.name}[*] – Overstave"
    rows = window.workbench.marks.model.rows
    first, second, third = (row.id for row in rows[:3])
    listed.setFocus()

    def press(key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        qtbot.keyClick(QApplication.focusWidget(), key, modifier)

    press(Qt.Key.Key_J)
    assert session.selection.mark == first
    press(Qt.Key.Key_A)
    assert state_of(window, first) == "accepted"
    assert session.selection.mark == second, "accepting goes on to the next open mark"
    press(Qt.Key.Key_R)
    assert state_of(window, second) == "rejected"
    assert session.selection.mark == third

    press(Qt.Key.Key_E)
    detail = window.workbench.detail
    assert detail.label_field.hasFocus()
    qtbot.keyClicks(detail.label_field, "as I say")  # letters that are keys of the review elsewhere
    press(Qt.Key.Key_Return)
    assert state_of(window, third) == "edited"
    assert session.document.mark(third).label == "as I say"
    assert listed.hasFocus()

    press(Qt.Key.Key_C)
    qtbot.keyClicks(detail.comment_field, "ask Ann")
    press(Qt.Key.Key_Return)
    assert session.document.decisions[third].comment == "ask Ann"

    ctrl, shift = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
    after_all = session.document
    for _ in range(4):
        press(Qt.Key.Key_Z, ctrl)
    assert not session.document.decisions
    assert not session.modified
    for _ in range(4):
        press(Qt.Key.Key_Z, ctrl | shift)
    assert session.document == after_all
    assert window.isWindowModified()

    press(Qt.Key.Key_S, ctrl)
    review = sample.with_name("wednesday-table.review.json")
    assert session.path == review
    assert not window.isWindowModified()

    window.filing.close_document()
    assert session.document is None
    open_and_wait(qtbot, window, sample)
    assert session.document is not None
    assert to_bytes(stored(session.document)) == to_bytes(stored(after_all)) == review.read_bytes()
    assert [state_of(window, mark) for mark in (first, second, third)] == [
        "accepted", "rejected", "edited",
    ]  # fmt: skip

    window.actions_by_name["ask_export"].trigger()
    dialog = window.findChild(ExportDialog)
    assert dialog
    with qtbot.waitSignal(window.workshop.exported, timeout=PATIENCE) as exported:
        qtbot.mouseClick(button(dialog, "&Export"), Qt.MouseButton.LeftButton)
    (written,) = exported.args[0]
    annotated = written.read_bytes()
    assert b"as I say" in annotated
    original = read_source(sample).original
    assert canonical(strip(annotated)) == canonical(original)


def button(dialog: ExportDialog, text: str) -> QPushButton:
    return next(found for found in dialog.findChildren(QPushButton) if found.text() == text)


def canonical(xml: bytes) -> bytes:
    return etree.tostring(etree.fromstring(xml), method="c14n")
