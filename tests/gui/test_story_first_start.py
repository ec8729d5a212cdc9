"""The first start: a sample opens, five steps are shown and ticked off as they are done."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.preferences import Preferences
from app.start_window import Windows
from app.views.undo_view import UndoHistory
from app.window import Window
from tests.gui.conftest import PATIENCE, click, document, press, typed


def test_five_steps(qtbot: QtBot, window: Window, preferences: Preferences) -> None:
    assert not preferences.guided
    window.show_guide()
    qtbot.waitUntil(lambda: not window.workshop.busy, timeout=PATIENCE)
    guide = window.workbench.guide
    assert not guide.isHidden()
    assert document(window).source.name == "wednesday-table.musicxml"
    assert guide.done == (False,) * 5
    window.workbench.marks.list.setFocus()
    press(Qt.Key.Key_J)
    assert guide.done == (True, False, False, False, False)
    press(Qt.Key.Key_A)
    press(Qt.Key.Key_R)
    assert guide.done == (True, True, True, False, False)
    press(Qt.Key.Key_E)
    typed("mine")
    press(Qt.Key.Key_Return)
    chord = next(mark for mark in document(window).marks() if mark.label == "ii⁷")
    window.session.select(window.workbench.marks.selection_of(chord.id))
    press(Qt.Key.Key_T)
    typed("D7")
    press(Qt.Key.Key_Return)
    assert guide.done == (True,) * 5
    assert [tick.accessibleName() for tick in guide.ticks] == ["done"] * 5
    click(guide, "Enough")
    assert guide.isHidden()
    assert window.preferences.guided
    qtbot.waitUntil(lambda: not window.session.pending, timeout=PATIENCE)

    window.show_history()
    history = window.findChild(UndoHistory)
    assert history
    model = history.list.model()
    steps = [model.index(row, 0).data() for row in range(model.rowCount())]
    assert len(steps) == 5
    assert steps[0] == "As opened"
    history.list.setCurrentIndex(model.index(0, 0))
    assert not document(window).decisions, "a click goes there"


def test_several_windows(qtbot: QtBot, qapp: QApplication, preferences: Preferences) -> None:
    windows = Windows(preferences)
    first = windows.open()
    first.actions_by_name["new_window"].trigger()
    shown = [w for w in qapp.topLevelWidgets() if isinstance(w, Window) and w.isVisible()]
    second = next(window for window in shown if window is not first and windows.has(window))
    assert second.session is not first.session
    assert second.workshop.pids != first.workshop.pids
    for window in (second, first):
        window.close()
        window.deleteLater()
