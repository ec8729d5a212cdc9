"""The pop song is reviewed by keyboard alone, in one pass, until nothing is left to decide."""

from itertools import cycle

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.views.mark_dialog import MarkDialog
from app.views.mark_rows import decided
from app.window import Window
from tests.gui.conftest import CTRL, PATIENCE, SHIFT, document, press, typed


def test_one_pass_by_keyboard(qtbot: QtBot, opened: Window) -> None:
    session, marks = opened.session, opened.workbench.marks
    before = document(opened)
    _, count = decided(before)
    assert count > 60
    marks.list.setFocus()
    press(Qt.Key.Key_N)
    doings = cycle([Qt.Key.Key_A, Qt.Key.Key_A, Qt.Key.Key_R, Qt.Key.Key_A, Qt.Key.Key_E])
    seen: list[str] = []
    while session.selection.mark and len(seen) < 2 * count:
        mark = session.selection.mark
        assert document(opened).mark(mark).state == "open"
        seen.append(mark)
        key = next(doings)
        press(key)
        if key == Qt.Key.Key_E:
            typed(f"mine {len(seen)}")
            press(Qt.Key.Key_Return)
            assert document(opened).mark(mark).label == f"mine {len(seen)}"
            press(Qt.Key.Key_N)
        if session.selection.mark == mark:
            break  # the last one: there is no open mark to go on to
    assert seen == [row.id for row in marks.model.rows], "each once, in order"
    assert decided(document(opened)) == (count, count)
    assert marks.progress.text() == f"All {count} decided"

    press(Qt.Key.Key_F, CTRL)
    typed("mine 5")
    press(Qt.Key.Key_Return)
    assert [row.label for row in marks.model.rows][:1] == ["mine 5"]
    assert QApplication.focusWidget() is marks.list
    press(Qt.Key.Key_J)
    press(Qt.Key.Key_C)
    typed("say this slowly")
    press(Qt.Key.Key_Return)
    assert document(opened).mark(session.selection.mark).comment == "say this slowly"

    while session.undo_stack.canUndo():
        press(Qt.Key.Key_Z, CTRL)
    assert document(opened) == before
    assert not session.pending


def test_everything_between_is_by_keyboard_too(qtbot: QtBot, opened: Window) -> None:
    """A span chosen on the timeline, a mark made of it, talked of first, taken away."""
    session, bench = opened.session, opened.workbench
    before = document(opened)
    bench.timeline.setFocus()
    press(Qt.Key.Key_Home)
    press(Qt.Key.Key_Down)
    press(Qt.Key.Key_Down, SHIFT)
    span = session.selection.span
    press(Qt.Key.Key_M)
    qtbot.waitUntil(lambda: QApplication.activeModalWidget() is not None, timeout=PATIENCE)
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, MarkDialog)
    qtbot.waitUntil(lambda: QApplication.focusWidget() is dialog.label_field, timeout=PATIENCE)
    typed("held back")
    press(Qt.Key.Key_Tab)
    typed("Here the band waits.")
    press(Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: not dialog.isVisible(), timeout=PATIENCE)
    (own,) = document(opened).own_marks
    assert (own.label, own.sentence, own.span) == ("held back", "Here the band waits.", span)
    assert session.selection.mark == own.id

    with qtbot.waitActive(opened):
        opened.activateWindow()  # a window manager would do this when the dialog closes
    bench.marks.list.setFocus()
    press(Qt.Key.Key_Up, CTRL)
    order = document(opened).order
    assert order.index(own.id) < len(order) - 1
    press(Qt.Key.Key_Delete)
    assert not document(opened).own_marks
    for _ in range(session.undo_stack.count()):
        press(Qt.Key.Key_Z, CTRL)
    assert document(opened) == before


def test_words_and_comments_go_on_to_the_next_mark_with_control(opened: Window) -> None:
    session, marks = opened.session, opened.workbench.marks
    first, second, third = (row.id for row in marks.model.rows[:3])
    press(Qt.Key.Key_J)
    press(Qt.Key.Key_E)
    typed("in other words")
    press(Qt.Key.Key_Return, CTRL)
    assert document(opened).mark(first).label == "in other words"
    assert session.selection.mark == second
    assert QApplication.focusWidget() is marks.list
    press(Qt.Key.Key_C)
    typed("ask the drummer")
    press(Qt.Key.Key_Return, CTRL)
    assert document(opened).mark(second).comment == "ask the drummer"
    assert document(opened).mark(second).state == "open", "a comment decides nothing"
    assert session.selection.mark == third


def test_another_reading_is_one_key_away(opened: Window) -> None:
    session, marks = opened.session, opened.workbench.marks
    two = next(row for row in marks.model.rows if len(row.mark.alternatives) == 1)
    session.select(marks.selection_of(two.id))
    press(Qt.Key.Key_D)
    assert document(opened).mark(two.id).label == two.mark.alternatives[0].label
    assert document(opened).mark(two.id).state == "edited"
    press(Qt.Key.Key_N)
    assert session.selection.mark != two.id
