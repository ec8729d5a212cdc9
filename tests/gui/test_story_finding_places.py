"""Zoom at the pointer, a section as large as the view, a span drawn, an error's details copied."""

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMessageBox, QTextEdit
from pytestqt.qtbot import QtBot

from app.review.section_edits import sections_of
from app.review.selection import Selection
from app.views.dialogs import show_error
from app.window import Window
from tests.gui.conftest import CTRL, document, mouse
from tests.gui.test_story_sections import drag


def turn_wheel(window: Window, at: QPoint, angle: int) -> None:
    """One step of the wheel with Ctrl held, over a point of the score."""
    viewport = window.workbench.score.viewport()
    event = QWheelEvent(
        QPointF(at), QPointF(viewport.mapToGlobal(at)), QPoint(), QPoint(0, angle),
        Qt.MouseButton.NoButton, CTRL, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(viewport, event)


def test_the_wheel_zooms_at_the_pointer(opened: Window) -> None:
    score = opened.workbench.score
    score.verticalScrollBar().setValue(score.verticalScrollBar().maximum() // 2)
    at = QPoint(score.viewport().width() // 3, score.viewport().height() // 4)
    before = score.column.to_page(at.x() + score.left, at.y() + score.top)
    zoom = score.zoom
    for _ in range(3):
        turn_wheel(opened, at, 120)
    assert before
    assert score.zoom > 1.6 * zoom
    after = score.column.to_page(at.x() + score.left, at.y() + score.top)
    assert after
    assert after[0] is before[0]
    # Scroll bars stand at whole pixels, three times rounded.
    slack = 2.0 / score.column.zoom
    assert after[1] == pytest.approx(before[1], abs=slack)
    assert after[2] == pytest.approx(before[2], abs=slack)


def test_a_section_fills_the_view(opened: Window) -> None:
    score = opened.workbench.score
    section = sections_of(document(opened))[1]
    opened.session.select(
        Selection(span=document(opened).score.measure_at(section.span.start).span)
    )
    opened.actions_by_name["fit_section"].trigger()
    boxes = []
    for page in score.pages:
        for system in page.systems:
            for measure in system.measures:
                written = document(opened).score.measures[measure.index]
                if written.onset in section.span:
                    boxes.append(score.column.to_column(page, measure.box))
    top, bottom = min(box[1] for box in boxes), max(box[1] + box[3] for box in boxes)
    left, right = min(box[0] for box in boxes), max(box[0] + box[2] for box in boxes)
    size = score.viewport().size()
    assert score.top - 2 <= top < bottom <= score.top + size.height() + 2
    assert score.left - 2 <= left < right <= score.left + size.width() + 2
    fill = max((bottom - top) / size.height(), (right - left) / size.width())
    assert fill > 0.85, "no smaller than it has to be"


def test_a_span_is_drawn_on_the_timeline(opened: Window) -> None:
    timeline, score = opened.workbench.timeline, document(opened).score
    first, last = score.measures[5], score.measures[8]
    start = round(timeline.scale.y(first.onset + first.length / 2))
    down = round(timeline.scale.y(last.onset + last.length / 2)) - start
    drag(opened, QPoint(round(timeline.columns.rails) + 4, start), down)
    span = opened.session.selection.span
    assert span is not None
    assert (span.start, span.end) == (first.onset, last.span.end), "whole measures"
    assert not opened.session.undo_stack.count(), "selecting changes nothing"
    page = next(iter(opened.workbench.score.pages_in_view()))
    shown = {measure.index for system in page.systems for measure in system.measures}
    assert first.index in shown, "the score has followed"


def test_the_details_of_an_error_can_be_copied(qtbot: QtBot, opened: Window) -> None:
    QApplication.clipboard().clear()
    box = show_error(opened, "The file could not be read.", "line 7: no such clef")
    qtbot.waitUntil(box.isVisible)
    roles = QMessageBox.ButtonRole
    shows = next(b for b in box.buttons() if box.buttonRole(b) == roles.ActionRole)
    mouse(shows, shows.rect().center())
    text = box.findChild(QTextEdit)
    assert text
    qtbot.waitUntil(text.isVisible)
    QTest.keyClick(text, Qt.Key.Key_A, CTRL)
    QTest.keyClick(text, Qt.Key.Key_C, CTRL)
    assert QApplication.clipboard().text() == "line 7: no such clef"
    box.reject()
