"""What is kept of overlays and pictures is what would be laid out and painted anew."""

from collections.abc import Callable
from random import Random

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QImage
from pytestqt.qtbot import QtBot

from app.engraving.labels import Style
from app.engraving.overlay import lay_out
from app.review.edits import Decide, Reword
from app.views.looks import DARK, LIGHT
from app.views.page_marks import ALL_LAYERS
from app.window import Window
from tests.gui.conftest import CTRL, SHIFT, document, label_point, mouse, press

#: How much a colour may differ: Qt rounds smooth edges by what else is painted at the same time.
ROUNDED = 8


def on_screen(window: Window) -> QImage:
    """The window's pixels as they were last painted, without painting them again."""
    return window.screen().grabWindow(window.winId()).toImage()


def colours(image: QImage) -> NDArray[np.int16]:
    """Rows of pixels of four colours."""
    image = image.convertToFormat(QImage.Format.Format_RGB32)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), -1, 4)
    return rows.astype(np.int16)


def painted_whole(qtbot: QtBot, window: Window) -> QImage:
    """The window's pixels after nothing was kept that had been painted before."""
    for look in (DARK, LIGHT):
        window.workbench.set_look(look)
        window.workbench.detail.viewport().update()
        window.update()
        qtbot.wait(30)
    return on_screen(window)


def zoom_at_the_pointer(window: Window) -> None:
    score = window.workbench.score
    score.zoom_to(score._zoom * 1.4, QPointF(200, 300))


def scroll(window: Window, by: int) -> None:
    bar = window.workbench.score.verticalScrollBar()
    bar.setValue(bar.value() + by)


def click_a_label(window: Window) -> None:
    score = window.workbench.score
    numerals = [
        one for one in score.marks.overlay(score.pages[0]).labels if one.layer == "numerals"
    ]
    mouse(score.viewport(), label_point(window, numerals[2].mark))


def press_on_the_list(window: Window, key: Qt.Key, times: int = 1) -> None:
    window.workbench.marks.list.setFocus()
    for _ in range(times):
        press(key)


DOINGS: dict[str, Callable[[QtBot, Window], object]] = {
    "accept": lambda _, window: press_on_the_list(window, Qt.Key.Key_A),
    "reject": lambda _, window: press_on_the_list(window, Qt.Key.Key_R),
    "undo": lambda _, window: press(Qt.Key.Key_Z, CTRL),
    "redo": lambda _, window: press(Qt.Key.Key_Z, CTRL | SHIFT),
    "next": lambda _, window: press_on_the_list(window, Qt.Key.Key_J, 3),
    "far away": lambda _, window: press_on_the_list(window, Qt.Key.Key_J, 25),
    "click": lambda _, window: click_a_label(window),
    "zoom": lambda _, window: zoom_at_the_pointer(window),
    "accept while zoomed": lambda _, window: press_on_the_list(window, Qt.Key.Key_A),
    "fit": lambda _, window: window.workbench.score.fit_width(),
    "scroll": lambda _, window: scroll(window, 37),
    "scroll back": lambda _, window: scroll(window, -21),
    "reject many": lambda _, window: press_on_the_list(window, Qt.Key.Key_R, 8),
    "another word": lambda _, window: window.session.perform(
        Reword(window.session.selection.mark, label="mine")
    ),
    "nothing": lambda _, window: press(Qt.Key.Key_Escape),
}


def test_after_any_decisions_overlays_are_as_if_laid_out_now(opened: Window) -> None:
    score, session, draw = opened.workbench.score, opened.session, Random(3)
    for _ in range(30):
        marks = list(document(opened).marks())
        mark = draw.choice(marks)
        state = draw.choice(("accepted", "rejected", "open"))
        session.perform(Decide((mark.id,), state))  # type: ignore[arg-type]
        if draw.random() < 0.2:
            session.perform(Reword(draw.choice(marks).id, label="mine"))
        if draw.random() < 0.2:
            session.undo_stack.undo()
        page = draw.choice(score.pages)
        shown = document(opened).shown_marks()
        fresh = lay_out(page, shown, document(opened).score, Style(layers=ALL_LAYERS))
        assert score.marks.overlay(page) == fresh


def test_after_each_step_the_screen_is_as_if_painted_whole(qtbot: QtBot, opened: Window) -> None:
    """What was painted again of rows, lanes, pages and words, against all painted again."""
    press_on_the_list(opened, Qt.Key.Key_J)
    qtbot.wait(10)
    before = on_screen(opened)
    for name, do in DOINGS.items():
        do(qtbot, opened)
        qtbot.wait(200)  # until zooming rests
        opened.statusBar().clearMessage()  # or it goes by itself between the two pictures
        qtbot.wait(10)
        in_parts = on_screen(opened)
        assert in_parts.size() == opened.size()
        assert in_parts != before, f"{name}: the pixels are those of the screen"
        before = painted_whole(qtbot, opened)
        apart = abs(colours(in_parts) - colours(before)).max(axis=2)
        stale = np.argwhere(apart > ROUNDED)
        assert not len(stale), f"{name}: stale ink from {stale.min(axis=0)} to {stale.max(axis=0)}"
