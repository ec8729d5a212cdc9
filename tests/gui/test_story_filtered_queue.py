"""A filtered queue: chosen by real keys and mouse, gone through, accepted above a confidence."""

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QInputDialog, QSpinBox

from app.window import Window
from tests.gui.conftest import CTRL, SHIFT, document, press, typed


def test_what_the_filter_shows_is_gone_through_from_the_selected_place(opened: Window) -> None:
    marks, session = opened.workbench.marks, opened.session
    rows = marks.model.rows
    middle = rows[len(rows) // 2]
    session.select(marks.selection_of(middle.id))
    press(Qt.Key.Key_F, CTRL)
    assert marks.search.hasFocus()
    typed("cadence")
    shown = marks.model.rows
    assert 1 < len(shown) < len(rows)
    assert middle.id not in [row.id for row in shown]
    after = [row for row in shown if row.mark.span.start >= middle.mark.span.start]
    press(Qt.Key.Key_Return)
    assert marks.list.hasFocus()
    assert session.selection.mark == after[0].id, "not the end, and not what lies before"
    press(Qt.Key.Key_K)
    assert session.selection.mark == shown[len(shown) - len(after) - 1].id
    press(Qt.Key.Key_J)
    assert session.selection.mark == after[0].id
    assert "shown" in marks.progress.text()


def test_the_only_hit_is_gone_to_though_it_lies_behind(opened: Window) -> None:
    marks, session = opened.workbench.marks, opened.session
    first, last = marks.model.rows[0], marks.model.rows[-1]
    session.select(marks.selection_of(last.id))
    press(Qt.Key.Key_F, CTRL)
    typed(first.sentence)
    assert [row.id for row in marks.model.rows] == [first.id]
    press(Qt.Key.Key_Return)
    assert session.selection.mark == first.id


def test_a_decided_mark_that_leaves_the_list_is_followed_by_its_successor(opened: Window) -> None:
    marks, session = opened.workbench.marks, opened.session
    marks.state_box.setFocus()
    press(Qt.Key.Key_Down)
    assert marks.state_box.currentText() == "Open"
    first, second, third = (row.id for row in marks.model.rows[:3])
    marks.list.setFocus()
    press(Qt.Key.Key_J)
    press(Qt.Key.Key_A)
    assert first not in [row.id for row in marks.model.rows]
    assert session.selection.mark == second
    press(Qt.Key.Key_R)
    assert session.selection.mark == third
    assert "2 of " in marks.progress.text()


def test_all_above_a_confidence_are_accepted_in_one_step(opened: Window) -> None:
    before = document(opened)
    sure = {one.id for one in before.marks() if one.mark.confidence >= 0.95}
    assert sure
    assert len(sure) < len(list(before.marks()))
    press(Qt.Key.Key_A, CTRL | SHIFT)
    (dialog,) = (one for one in opened.findChildren(QInputDialog) if one.isVisible())
    number = dialog.findChild(QSpinBox)
    assert number
    number.selectAll()
    QTest.keyClicks(number, "95")
    QTest.keyClick(number, Qt.Key.Key_Return)
    accepted = {one.id for one in document(opened).marks() if one.state == "accepted"}
    assert accepted == sure
    assert opened.session.undo_stack.count() == 1
    opened.workbench.marks.list.setFocus()
    press(Qt.Key.Key_Z, CTRL)
    assert document(opened) == before
