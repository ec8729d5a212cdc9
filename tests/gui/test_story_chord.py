"""A chord typed on the page: checked as it is typed, set, followed by the analysis, undone."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.engraving.pages import TextShape
from app.review.document import ReviewedMark
from app.review.edits import Decide, Reword
from app.window import Window
from tests.gui.conftest import CTRL, PATIENCE, document, label_point, mouse, press, typed


def chord_at(window: Window, start: object) -> ReviewedMark:
    return next(
        mark
        for mark in document(window).marks()
        if mark.mark.kind == "chord" and mark.mark.span.start == start
    )


def test_a_chord_is_typed_on_the_page(qtbot: QtBot, opened: Window) -> None:
    score, session = opened.workbench.score, opened.session
    before = document(opened)
    chord = next(mark for mark in before.marks() if mark.label == "ii⁷")
    start = chord.mark.span.start
    mouse(score.viewport(), label_point(opened, chord.id), twice=True)
    line = score.typing
    assert QApplication.focusWidget() is line.line
    assert line.line.text() == "ii⁷"
    typed("Dq")
    assert "“q”" in line.hint.text()
    press(Qt.Key.Key_Return)
    assert line.isVisible(), "what makes no sense is not taken"
    assert document(opened) is before
    line.line.selectAll()
    typed("D7/F#")
    assert line.hint.text() == "D7/F♯ · V⁶₅ in G major"
    press(Qt.Key.Key_Return)
    assert not line.isVisible()
    assert QApplication.focusWidget() is score
    assert session.pending
    qtbot.waitUntil(lambda: not session.pending, timeout=PATIENCE)
    assert chord_at(opened, start).label == "V⁶₅"
    assert session.selection.mark == chord_at(opened, start).id
    assert session.undo_stack.count() == 1
    press(Qt.Key.Key_Z, CTRL)
    assert document(opened) == before


def test_a_chord_typed_over_a_decision_wins(qtbot: QtBot, opened: Window) -> None:
    chord = next(mark for mark in document(opened).marks() if mark.label == "ii⁷")
    start = chord.mark.span.start
    session = opened.session
    session.perform(Reword(chord.id, comment="the tape is unclear"))
    session.perform(Decide((chord.id,), "accepted"))
    decided, steps = document(opened), session.undo_stack.count()
    opened.session.select(opened.workbench.marks.selection_of(chord.id))
    press(Qt.Key.Key_T)
    typed("D7/F#")
    press(Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: not session.pending, timeout=PATIENCE)
    found = chord_at(opened, start)
    assert (found.label, found.state, found.comment) == ("V⁶₅", "open", "the tape is unclear")
    assert printed(opened, start) == "D7/F", "the page writes what its numeral names"
    assert session.undo_stack.count() == steps + 1
    press(Qt.Key.Key_Z, CTRL)
    assert document(opened) == decided
    assert printed(opened, start) == "Am7"


def printed(window: Window, start: object) -> str:
    """The letters of the chord symbol that the page has at a place, as it is drawn."""
    symbol = next(one for one in document(window).score.chord_symbols if one.onset == start)
    score = window.workbench.score
    page = next(page for page in score.pages if symbol.id in page.boxes)
    shapes = [shape for shape in score.drawn(page).shapes if shape.element == symbol.id]
    return "".join(shape.text for shape in shapes if isinstance(shape, TextShape))


def test_a_numeral_that_names_the_chord_otherwise_is_another_way_of_saying_it(
    opened: Window,
) -> None:
    chord = next(mark for mark in document(opened).marks() if mark.label == "V⁷/vi")
    opened.session.select(opened.workbench.marks.selection_of(chord.id))
    press(Qt.Key.Key_T)
    typed("III7")
    assert opened.workbench.score.typing.hint.text() == "B7 · III⁷ in G major"
    press(Qt.Key.Key_Return)
    said = document(opened).mark(chord.id)
    assert (said.label, said.state) == ("III⁷", "edited")
    assert not opened.session.pending, "the chord is the same, so nothing is derived again"


def test_a_numeral_of_another_chord_keeps_its_words_in_one_step(
    qtbot: QtBot, opened: Window
) -> None:
    before = document(opened)
    chord = next(mark for mark in before.marks() if mark.label == "ii⁷")
    start = chord.mark.span.start
    opened.session.select(opened.workbench.marks.selection_of(chord.id))
    press(Qt.Key.Key_T)
    typed("IV7/IV")  # nobody would call it that, which is the point
    press(Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: not opened.session.pending, timeout=PATIENCE)
    assert chord_at(opened, start).label == "IV⁷/IV"
    assert opened.session.undo_stack.count() == 1
    press(Qt.Key.Key_Z, CTRL)
    assert document(opened) == before
    # Once more, now that its analysis is known.
    press(Qt.Key.Key_T)
    typed("IV7/IV")
    press(Qt.Key.Key_Return)
    assert not opened.session.pending
    assert chord_at(opened, start).label == "IV⁷/IV"
    assert opened.session.undo_stack.count() == 1
    press(Qt.Key.Key_Z, CTRL)
    assert document(opened) == before


def test_escape_leaves_all_as_it_was(opened: Window) -> None:
    before = document(opened)
    chord = next(mark for mark in before.marks() if mark.label == "ii⁷")
    opened.session.select(opened.workbench.marks.selection_of(chord.id))
    press(Qt.Key.Key_T)
    typed("C7")
    press(Qt.Key.Key_Escape)
    assert not opened.workbench.score.typing.isVisible()
    assert document(opened) is before
