"""Everything has a name, and the keyboard reaches everything."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import QApplication, QWidget

from app.window import Window
from tests.gui.conftest import document, press


def name_of(widget: QWidget) -> str:
    """What a screen reader says of a widget."""
    return QAccessible.queryAccessibleInterface(widget).text(QAccessible.Text.Name)


def test_tab_walks_through_all_views_in_order(opened: Window) -> None:
    opened.reviewing.next_mark()
    bench = opened.workbench
    bench.timeline.setFocus()
    walk = []
    for _ in range(40):
        focused = QApplication.focusWidget()
        assert focused
        walk.append(focused)
        press(Qt.Key.Key_Tab)
        if QApplication.focusWidget() is bench.timeline:
            break
    assert [widget for widget in walk if not name_of(widget)] == []
    stations = [
        bench.timeline, bench.score, bench.marks.search, bench.marks.kind_box, bench.marks.list,
        bench.detail.label_field, bench.detail.sentence_field, bench.detail.comment_field,
    ]  # fmt: skip
    places = [walk.index(station) for station in stations]
    assert places == sorted(places)


def test_rows_of_the_list_are_read_out(opened: Window) -> None:
    marks = opened.workbench.marks
    index = marks.model.index(2)
    text = index.data(Qt.ItemDataRole.AccessibleTextRole)
    row = marks.model.rows[2]
    assert row.label in text
    assert row.sentence in text
    assert text.endswith("Open.")


def test_score_and_timeline_say_what_is_selected(opened: Window) -> None:
    bench, session = opened.workbench, opened.session
    chord = next(mark for mark in document(opened).marks() if mark.label == "V⁷/vi")
    session.select(bench.marks.selection_of(chord.id))
    for view in (bench.score, bench.timeline):
        said = view.accessibleDescription()
        assert said.startswith("V⁷/vi, m. ")
        assert chord.sentence in said
    bench.timeline.setFocus()
    press(Qt.Key.Key_Home)
    assert bench.timeline.accessibleDescription() == "m. 0 b. 4, Intro"


def test_the_score_is_walked_through_by_keys(opened: Window) -> None:
    bench, session = opened.workbench, opened.session
    bench.score.setFocus()
    press(Qt.Key.Key_Right)
    first = session.selection
    press(Qt.Key.Key_Right)
    second = session.selection
    assert first.span
    assert second.span
    assert first.span.end <= second.span.start
    press(Qt.Key.Key_Left)
    assert session.selection == first
    press(Qt.Key.Key_Down)
    note = session.selection
    assert len(note.elements) == 1, "down from a chord to the first note under it"
    press(Qt.Key.Key_Right)
    assert session.selection.elements != note.elements
    assert "Voice" in bench.score.accessibleDescription()
