"""The pop song is reviewed by keyboard alone, in one pass, until nothing is left to decide."""

from dataclasses import replace
from itertools import cycle

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from analysis.marks import Reading
from app.actions import choices, key_table
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


def test_a_digit_takes_a_reading_and_goes_on(opened: Window) -> None:
    session, marks = opened.session, opened.workbench.marks
    rows = marks.model.rows
    at = next(at for at, row in enumerate(rows) if row.mark.alternatives)
    mark, after = rows[at], rows[at + 1]
    session.select(marks.selection_of(mark.id))
    press(Qt.Key.Key_9)
    assert (session.selection.mark, document(opened).decisions) == (mark.id, {}), "no such reading"
    press(Qt.Key.Key_2)
    taken = document(opened).mark(mark.id)
    assert (taken.reading, taken.state) == (mark.mark.alternatives[0], "edited")
    assert session.selection.mark == after.id
    assert QApplication.focusWidget() is marks.list
    press(Qt.Key.Key_K)
    press(Qt.Key.Key_1)
    assert document(opened).mark(mark.id).label == mark.mark.label
    press(Qt.Key.Key_Z, CTRL)
    press(Qt.Key.Key_Z, CTRL)
    session.select(marks.selection_of(mark.id))
    press(Qt.Key.Key_1)
    assert document(opened).mark(mark.id).state == "accepted", "as found"
    assert session.selection.mark == after.id
    assert session.undo_stack.undoText().startswith("Accept")


def test_readings_of_one_label_are_each_taken_by_their_key(opened: Window) -> None:
    before = document(opened)
    first, *others = before.analysis.marks
    readings = (Reading("VII⁷", "up", function="D"), Reading("VII⁷", "home", function="S"))
    first = replace(first, alternatives=readings)
    opened.session.open(replace(before, analysis=replace(before.analysis, marks=(first, *others))))
    for key, reading in ((Qt.Key.Key_2, readings[0]), (Qt.Key.Key_3, readings[1])):
        opened.session.select(opened.workbench.marks.selection_of(first.id))
        opened.workbench.marks.list.setFocus()
        press(key)
        assert document(opened).mark(first.id).reading == reading
    opened.session.select(opened.workbench.marks.selection_of(first.id))
    rows = opened.workbench.detail.readings.rows
    assert [radio.text() for radio, _, _ in rows[1:3]] == [
        "VII⁷ as dominant",
        "VII⁷ as subdominant",
    ]
    assert [radio.isChecked() for radio, _, _ in rows[:3]] == [False, False, True]
    assert [key.text() for _, _, key in rows[:3]] == ["1", "2", "3"]
    opened.session.open(before)


def test_keys_of_readings_are_in_menus_help_and_finder(opened: Window) -> None:
    marks = opened.workbench.marks
    mark = next(row for row in marks.model.rows if row.mark.alternatives)
    opened.session.select(marks.selection_of(mark.id))
    found = [text for _, text in choices(opened.actions_by_name)]
    assert "Review › Take a Reading › Reading 2   2" in found
    assert not any("Reading 9" in text for text in found)
    assert ("Take a Reading and Go On", "1 – 9") in dict(key_table())["Review"]


def test_another_reading_is_one_key_away(opened: Window) -> None:
    session, marks = opened.session, opened.workbench.marks
    two = next(row for row in marks.model.rows if len(row.mark.alternatives) == 1)
    session.select(marks.selection_of(two.id))
    press(Qt.Key.Key_D)
    assert document(opened).mark(two.id).label == two.mark.alternatives[0].label
    assert document(opened).mark(two.id).state == "edited"
    press(Qt.Key.Key_N)
    assert session.selection.mark != two.id


def test_escape_leaves_the_words_and_keeps_the_mark(opened: Window) -> None:
    session, detail = opened.session, opened.workbench.detail
    press(Qt.Key.Key_J)
    mark = session.selection.mark
    press(Qt.Key.Key_E)
    assert detail.label_field.hasFocus()
    typed("half a thought")
    press(Qt.Key.Key_Escape)
    assert session.selection.mark == mark
    assert document(opened).mark(mark).state == "open", "nothing of it was taken"
    press(Qt.Key.Key_E)
    press(Qt.Key.Key_Tab)
    assert detail.sentence_field.hasFocus()
    typed("Said anew.")
    press(Qt.Key.Key_Return)
    assert document(opened).mark(mark).sentence == "Said anew."
