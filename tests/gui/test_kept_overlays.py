"""What is kept of overlays and pictures is what would be laid out and painted anew."""

from random import Random

from PySide6.QtGui import QImage
from pytestqt.qtbot import QtBot

from app.engraving.labels import Style
from app.engraving.overlay import lay_out
from app.review.edits import Decide, Reword
from app.views.page_marks import ALL_LAYERS
from app.window import Window
from tests.gui.conftest import document


def on_screen(window: Window) -> QImage:
    """The window's pixels as they were last painted, without painting them again."""
    return window.screen().grabWindow(window.winId()).toImage()


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


def test_what_is_on_the_screen_is_what_a_new_painting_shows(qtbot: QtBot, opened: Window) -> None:
    """Rows, lanes and page strips that were painted again alone, against all painted again."""
    bench = opened.workbench
    bench.marks.list.setFocus()
    for _ in range(6):
        opened.reviewing.next_mark()
        opened.reviewing.accept()
    bench.score.verticalScrollBar().setValue(bench.score.verticalScrollBar().value() + 37)
    qtbot.wait(200)
    painted_in_parts = on_screen(opened)
    bench.score.marks.show_pages()
    opened.show_document(document(opened))
    for view in (bench.score, bench.timeline, bench.marks.list, bench.detail):
        view.viewport().update()
    opened.update()
    qtbot.wait(200)
    painted_whole = on_screen(opened)
    assert painted_whole.size() == opened.size()
    assert painted_in_parts == painted_whole
    opened.reviewing.next_mark()
    qtbot.wait(200)
    assert on_screen(opened) != painted_whole, "the pixels are those of the screen"
