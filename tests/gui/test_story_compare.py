"""Two passages are compared: chosen by the selection, looked through, corrected, left."""

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.review.edits import Reword
from app.window import Window
from tests.gui.conftest import CTRL, PATIENCE, document, mouse, press


def test_a_return_over_other_chords_is_compared(qtbot: QtBot, opened: Window) -> None:
    bench, session = opened.workbench, opened.session
    repeat = next(mark for mark in document(opened).marks() if mark.mark.kind == "repeat")
    session.select(bench.marks.selection_of(repeat.id))
    press(Qt.Key.Key_V)
    view = bench.comparison
    assert bench.comparing
    assert QApplication.focusWidget() is view.picture
    qtbot.waitUntil(lambda: not opened.workshop.busy, timeout=PATIENCE)
    assert view.pair_box.currentText() == "Verse 1 · m. 5–8  with  Verse 2 · m. 22–25"
    assert view.summary.text() == "5 chords differ"
    found = view.picture.found
    assert len(found.bands) == 5
    said = [label.text for label in found.overlay.labels]
    assert "Em7" in said

    chord = next(label for label in found.overlay.labels if label.text == "vi⁷")
    x, y, width, height = (number * view.picture.scale for number in chord.box)
    mouse(view.picture.viewport(), QPoint(round(x + width / 2), round(y + height / 2)))
    assert session.selection.mark == chord.mark
    assert bench.detail.label_field.text() == "vi⁷"

    session.perform(Reword(chord.mark, label="sub"))
    assert "sub" in [label.text for label in view.picture.found.overlay.labels]
    press(Qt.Key.Key_Z, CTRL)
    press(Qt.Key.Key_Escape)
    assert not opened.workbench.comparing
    assert session.selection.mark == chord.mark, "leaving the comparison keeps the selection"


def test_another_pair_is_chosen_from_the_list(qtbot: QtBot, opened: Window) -> None:
    opened.actions_by_name["compare"].trigger()
    view = opened.workbench.comparison
    names = [view.pair_box.itemText(at) for at in range(view.pair_box.count())]
    choruses = next(
        at for at, name in enumerate(names) if "Chorus 1" in name and "Last chorus" in name
    )
    assert "G major" in names[choruses], "the key is told where it differs"
    view.pair_box.setFocus()
    view.pair_box.setCurrentIndex(choruses - 1)
    press(Qt.Key.Key_Down)
    qtbot.waitUntil(lambda: not opened.workshop.busy, timeout=PATIENCE)
    pages = view.picture.found.pages
    assert pages
    assert pages[0].systems[0].box[1] < pages[1].systems[0].box[1]
    mouse(view.close_button, view.close_button.rect().center())
    assert not opened.workbench.comparing


@pytest.mark.parametrize("look", ["light", "dark"])
def test_the_picture_has_the_colours_of_the_look(qtbot: QtBot, opened: Window, look: str) -> None:
    opened.appearance.set_look(look)
    opened.actions_by_name["compare"].trigger()
    qtbot.waitUntil(lambda: not opened.workshop.busy, timeout=PATIENCE)
    picture = opened.workbench.comparison.picture
    paper = picture.grab().toImage().pixelColor(4, 4).lightness()
    assert paper > 200 if look == "light" else paper < 80
    opened.actions_by_name["compare"].trigger()
    opened.appearance.set_look("light")
