"""What a desktop program remembers and follows: layout, light and dark, size, keys of its own."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QSplitter, QWidget
from pytestqt.qtbot import QtBot

from app.preferences import Preferences
from app.views.dialogs import KeysDialog
from app.views.flow_layout import FlowLayout
from app.views.looks import DARK, LIGHT
from app.window import Window
from tests.gui.conftest import CTRL, NO_MODIFIER, open_and_wait, press, shown_window

ALT = Qt.KeyboardModifier.AltModifier


def across(window: Window) -> list[int]:
    """Widths of timeline, score and marks."""
    splitters = window.workbench.findChildren(QSplitter)
    return next(one.sizes() for one in splitters if one.count() == 3)


def test_the_layout_is_there_again(
    qtbot: QtBot, qapp: QApplication, preferences: Preferences, sample: Path
) -> None:
    with shown_window(qtbot, qapp, preferences) as window:
        window.resize(790, 620)  # fits any screen, which a remembered window must
        open_and_wait(qtbot, window, sample)
        splitter = next(one for one in window.workbench.findChildren(QSplitter) if one.count() == 3)
        splitter.setSizes([200, 326, 262])
        chosen, size = across(window), window.size()
    assert chosen[0] != 160
    with shown_window(qtbot, qapp, preferences) as window:
        open_and_wait(qtbot, window, sample)
        assert across(window) == chosen
        assert window.size() == size


def test_dark_follows_the_system_until_the_user_chooses(qapp: QApplication, opened: Window) -> None:
    hints = QGuiApplication.styleHints()
    opened.actions_by_name["set_look system"].trigger()
    schemes = {Qt.ColorScheme.Dark: DARK, Qt.ColorScheme.Light: LIGHT}
    for scheme, look in schemes.items():
        hints.colorSchemeChanged.emit(scheme)
        assert qapp.palette().window().color().name() == look.frame
        assert opened.workbench.score.grab().toImage().pixelColor(3, 300).name() == look.desk
    opened.actions_by_name["set_look light"].trigger()
    hints.colorSchemeChanged.emit(Qt.ColorScheme.Dark)
    assert qapp.palette().window().color().name() == LIGHT.frame


def test_the_interface_grows_by_keys(opened: Window) -> None:
    bench = opened.workbench
    before = bench.marks.list.fontMetrics().height(), bench.timeline.columns.width
    for _ in range(3):
        press(Qt.Key.Key_Equal, CTRL | ALT)
    assert opened.preferences.text_scale == pytest.approx(1.331)
    assert bench.marks.list.fontMetrics().height() > before[0]
    assert bench.timeline.columns.width > before[1]
    press(Qt.Key.Key_0, CTRL | ALT)
    assert (bench.marks.list.fontMetrics().height(), bench.timeline.columns.width) == before


def test_help_is_one_key_away(qtbot: QtBot, opened: Window) -> None:
    press(Qt.Key.Key_F1, NO_MODIFIER)
    dialog = opened.findChild(KeysDialog)
    assert dialog
    assert dialog.isVisible()
    dialog.reject()


def test_the_sides_grow_with_the_letters_and_shrink_with_them(opened: Window) -> None:
    usual = across(opened)
    opened.appearance.set_text_scale(2)
    left, middle, right = across(opened)
    assert left >= usual[0]
    assert right >= usual[2]
    assert middle >= 320
    opened.appearance.usual_size()
    assert across(opened) == pytest.approx(usual, abs=2)


def test_rows_flow_into_the_width_there_is(qtbot: QtBot) -> None:
    box = QWidget()
    qtbot.addWidget(box)
    layout = FlowLayout(box, spacing=5)
    parts = [QWidget() for _ in range(4)]
    for part in parts:
        part.setFixedSize(100, 20)
        layout.addWidget(part)
    assert layout.sizeHint().width() == 4 * 100 + 3 * 5
    assert (layout.minimumSize().width(), layout.heightForWidth(415)) == (100, 20)
    box.resize(210, 200)
    box.show()
    assert [(part.x(), part.y()) for part in parts] == [(0, 0), (105, 0), (0, 25), (105, 25)]
    parts[0].hide()
    layout.activate()
    assert [(part.x(), part.y()) for part in parts[1:]] == [(0, 0), (105, 0), (0, 25)]


def test_keys_stand_in_as_many_columns_as_the_screen_has_room_for(opened: Window) -> None:
    for scale in (1.0, 2.0):
        opened.appearance.set_text_scale(scale)
        opened.show_keys()
        dialog = opened.findChildren(KeysDialog)[-1]
        room = dialog.screen().availableSize()
        assert dialog.width() <= room.width()
        assert dialog.height() <= room.height()
        dialog.reject()
    opened.appearance.usual_size()
