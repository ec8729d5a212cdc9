"""The pointer over a note tells its pitch, role and chord; degrees as the user reads them."""

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QHelpEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QToolTip
from pytestqt.qtbot import QtBot

from analysis.marks import MelodyFact
from analysis.vocabulary.wording import name_text
from app.review.writing import Writing
from app.window import Window
from tests.gui.conftest import document


def point_at(window: Window, element: str) -> QPoint:
    """A point of the score's viewport on a note, which is scrolled into view."""
    score = window.workbench.score
    note = next(
        note for part in document(window).score.parts for note in part.notes if note.id == element
    )
    score.show_place(document(window).score.measure_at(note.onset).span)
    page = next(page for page in score.pages if element in page.boxes)
    x, y, width, height = score.column.to_column(page, page.boxes[element])
    return QPoint(round(x + width / 2) - score.left, round(y + height / 2) - score.top)


def free_note(window: Window) -> MelodyFact:
    """A melody note with a role and a degree on which no mark's label or frame lies."""
    score = window.workbench.score
    for fact in document(window).analysis.melody:
        if fact.role and fact.degree:
            page = next(page for page in score.pages if fact.note in page.boxes)
            x, y, width, height = page.boxes[fact.note]
            if width and not score.marks.mark_at(page, x + width / 2, y + height / 2):
                return fact
    raise AssertionError("a mark lies on every note")


def test_a_note_tells_its_pitch_role_and_chord(qtbot: QtBot, opened: Window) -> None:
    fact = free_note(opened)
    score = opened.workbench.score
    at = point_at(opened, fact.note)
    QTest.mouseMove(score.viewport(), at)
    event = QHelpEvent(QHelpEvent.Type.ToolTip, at, score.viewport().mapToGlobal(at))
    QApplication.sendEvent(score.viewport(), event)
    qtbot.waitUntil(QToolTip.isVisible)
    said = QToolTip.text()
    note = next(
        note for part in document(opened).score.parts for note in part.notes if note.id == fact.note
    )
    assert note.pitch
    assert said.startswith(f"{name_text(note.pitch.name)}{note.pitch.octave} · ")
    assert fact.role in said
    assert f"{fact.degree} of the key" in said
    assert " over " in said
    QToolTip.hideText()


def test_degrees_stand_at_the_notes_as_numbers_or_syllables(opened: Window) -> None:
    score = opened.workbench.score
    page = score.pages[0]
    bare = len(score.marks.overlay(page).strokes)
    opened.actions_by_name["toggle_layer degrees"].trigger()
    numbers = len(score.marks.overlay(page).strokes)
    opened.appearance.set_writing(Writing(degrees="movable do"))
    syllables = len(score.marks.overlay(page).strokes)
    assert bare < numbers < syllables, "a syllable has more letters than a number"
    opened.appearance.set_writing(Writing())
    opened.actions_by_name["toggle_layer degrees"].trigger()
    assert len(score.marks.overlay(page).strokes) == bare


def test_fixed_do_widens_the_symbols(opened: Window) -> None:
    score = opened.workbench.score
    symbol = next(one for one in document(opened).score.chord_symbols if one.root)
    at = next(at for at, page in enumerate(score.pages) if symbol.id in page.boxes)
    english = [s for s in score.drawn(score.pages[at]).shapes if s.element == symbol.id]
    opened.appearance.set_writing(Writing(naming="fixed do"))
    fixed = [s for s in score.drawn(score.pages[at]).shapes if s.element == symbol.id]
    opened.appearance.set_writing(Writing())
    assert len(fixed) > 0
    assert fixed != english


def test_the_pointer_moves_nothing(opened: Window) -> None:
    before = document(opened)
    score = opened.workbench.score
    QTest.mouseMove(score.viewport(), point_at(opened, free_note(opened).note))
    assert document(opened) is before
    assert score.viewport().cursor().shape() == Qt.CursorShape.PointingHandCursor
