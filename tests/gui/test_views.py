"""The views show the same place, and each can be used with the mouse."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QRadioButton, QWidget

from analysis.marks import Reading
from app.review.document import ReviewedMark
from app.review.edits import Decide
from app.views.action_finder import ActionFinder
from app.views.hits import Hit
from app.views.mark_rows import MarkFilter
from app.views.page_column import GAP
from app.window import Window
from tests.gui.conftest import (
    CTRL,
    SHIFT,
    document,
    press,
)


def late_chord(window: Window) -> ReviewedMark:
    """A chord mark far down the score."""
    chords = [mark for mark in document(window).marks() if mark.mark.kind == "chord"]
    return chords[-3]


def test_a_chord_clicked_on_the_timeline_is_shown_on_the_score(opened: Window) -> None:
    score, timeline = opened.workbench.score, opened.workbench.timeline
    chord = late_chord(opened)
    assert score.verticalScrollBar().value() == 0
    columns, scale = timeline.columns, timeline.scale
    at = QPoint(round(columns.rail("S")), round(scale.y(chord.mark.span.start)) + 2)
    QTest.mouseClick(
        timeline.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, at
    )
    assert opened.session.selection.mark == chord.id
    assert score.verticalScrollBar().value() > 0
    listed = opened.workbench.marks
    assert listed.model.rows[listed.list.currentIndex().row()].id == chord.id
    assert opened.workbench.detail.label_field.text() == chord.label


def test_a_chord_symbol_clicked_on_the_score_is_shown_on_the_timeline(opened: Window) -> None:
    score, timeline = opened.workbench.score, opened.workbench.timeline
    timeline.zoom_in()
    for _ in range(8):
        timeline.zoom_in()
    chord = late_chord(opened)
    score.show_place(chord.mark.span)
    before = timeline.verticalScrollBar().value()
    page = next(page for page in score.pages if chord.mark.elements[0] in page.boxes)
    box = score.column.to_column(page, page.boxes[chord.mark.elements[0]])
    at = QPoint(
        round(box[0] + box[2] / 2 - score.horizontalScrollBar().value()),
        round(box[1] + box[3] / 2 - score.verticalScrollBar().value()),
    )
    QTest.mouseClick(
        score.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, at
    )
    assert opened.session.selection.mark == chord.id
    assert timeline.verticalScrollBar().value() > before


def test_a_label_on_the_score_selects_its_mark(opened: Window) -> None:
    score = opened.workbench.score
    page = score.pages[0]
    label = next(found for found in score.marks.overlay(page).labels if found.layer == "functions")
    x, y, width, height = score.column.to_column(page, label.box)
    at = QPoint(round(x + width / 2), round(y + height / 2))
    QTest.mouseClick(
        score.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, at
    )
    assert opened.session.selection.mark == label.mark


def test_zooming_keeps_what_is_under_the_pointer(opened: Window) -> None:
    score = opened.workbench.score
    pointer = QPointF(300.0, 400.0)
    page, x, y = score.column.to_page(pointer.x(), pointer.y()) or pytest.fail("beside the page")
    for _ in range(3):
        QApplication.sendEvent(
            score.viewport(),
            QWheelEvent(
                pointer,
                QPointF(score.viewport().mapToGlobal(pointer.toPoint())),
                QPoint(),
                QPoint(0, 120),
                Qt.MouseButton.NoButton,
                CTRL,
                Qt.ScrollPhase.NoScrollPhase,
                False,
            ),
        )
    left, top, _, _ = score.column.to_column(page, (x, y, 0.0, 0.0))
    assert left - score.horizontalScrollBar().value() == pytest.approx(pointer.x(), abs=2)
    assert top - score.verticalScrollBar().value() == pytest.approx(pointer.y(), abs=2)


def test_the_page_fits_the_view_until_the_user_zooms(opened: Window) -> None:
    score = opened.workbench.score
    widest = max(page.width for page in score.pages)
    room = score.viewport().width() - 2 * GAP
    assert score.column.zoom * widest == pytest.approx(room, abs=1)
    score.zoom_in()
    assert score.column.zoom * widest > room
    score.fit_width()
    assert score.column.zoom * widest == pytest.approx(room, abs=1)


def test_a_section_filter_and_a_search_narrow_the_list(opened: Window) -> None:
    marks = opened.workbench.marks
    everything = len(marks.model.rows)
    marks.show_filter(MarkFilter(kind="chord", section=2))
    span = document(opened).analysis.sections[2].span
    assert 0 < len(marks.model.rows) < everything
    assert all(row.mark.span.start in span for row in marks.model.rows)
    marks.show_filter(MarkFilter(text="dominant V/"))
    assert all("dominant" in row.sentence for row in marks.model.rows)
    marks.show_filter(MarkFilter())
    assert len(marks.model.rows) == everything


def test_in_a_list_of_open_marks_deciding_one_shows_the_next(opened: Window) -> None:
    marks = opened.workbench.marks
    marks.show_filter(MarkFilter(state="open"))
    first, second, third = (row.id for row in marks.model.rows[:3])
    marks.list.setFocus()
    press(Qt.Key.Key_J)
    assert opened.session.selection.mark == first
    press(Qt.Key.Key_A)
    assert opened.session.selection.mark == second
    press(Qt.Key.Key_R)
    assert opened.session.selection.mark == third
    assert first not in [row.id for row in marks.model.rows]


def test_another_reading_is_one_key(opened: Window) -> None:
    before = document(opened)
    first, *others = before.analysis.marks
    readings = (
        Reading("IV/V", "heard as a subdominant over the dominant"),
        Reading("V11", "as one"),
    )
    first = replace(first, alternatives=readings)
    opened.session.open(replace(before, analysis=replace(before.analysis, marks=(first, *others))))
    opened.session.select(opened.workbench.marks.selection_of(first.id))
    opened.workbench.marks.list.setFocus()
    labels = []
    for _ in range(3):
        press(Qt.Key.Key_D)
        labels.append(document(opened).mark(first.id).label)
    assert labels == ["IV/V", "V11", first.label]
    opened.session.undo_stack.undo()
    assert document(opened).mark(first.id).label == "V11"
    assert document(opened).mark(first.id).state == "edited"
    shown = [radio.text() for radio in opened.workbench.detail.findChildren(QRadioButton)]
    assert shown[-3:] == [first.label, "IV/V", "V11"]
    opened.session.open(before)


def test_accepting_all_sure_marks_is_one_step(opened: Window) -> None:
    opened.reviewing.accept_above(90)
    accepted = [m for m in document(opened).marks() if m.state == "accepted"]
    assert accepted
    assert all(m.mark.confidence >= 0.9 for m in accepted)
    opened.session.undo_stack.undo()
    assert not document(opened).decisions


def test_a_rejected_mark_leaves_score_and_timeline(opened: Window) -> None:
    score = opened.workbench.score
    page = score.pages[0]
    label = next(found for found in score.marks.overlay(page).labels if found.layer == "numerals")
    opened.session.perform(Decide((label.mark,), "rejected"))
    assert label.mark not in {found.mark for found in score.marks.overlay(page).labels}
    assert opened.session.document


def test_layers_can_be_hidden_and_stay_hidden(opened: Window) -> None:
    score = opened.workbench.score
    opened.actions_by_name["toggle_layer numerals"].trigger()
    layers = {label.layer for label in score.marks.overlay(score.pages[0]).labels}
    assert "numerals" not in layers
    assert "functions" in layers
    assert "numerals" in opened.preferences.hidden_layers
    opened.actions_by_name["toggle_layer numerals"].trigger()
    assert "numerals" not in opened.preferences.hidden_layers


def drag(widget: QWidget, start: QPoint, end: QPoint) -> None:
    left, none = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    QTest.mousePress(widget, left, none, start)
    move = QMouseEvent(
        QEvent.Type.MouseMove, QPointF(end), widget.mapToGlobal(QPointF(end)), left, left, none
    )
    QApplication.sendEvent(widget, move)
    QTest.mouseRelease(widget, left, none, end)


def test_dragging_on_the_timeline_selects_whole_measures(opened: Window) -> None:
    timeline, score = opened.workbench.timeline, document(opened).score
    first, last = score.measures[9], score.measures[12]
    scale = timeline.scale
    start = QPoint(10, round(scale.y(first.onset)) + 4)
    end = QPoint(10, round(scale.y(last.onset)) + 4)
    for one, other in ((start, end), (end, start)):
        drag(timeline.viewport(), one, other)
        span = opened.session.selection.span
        assert span is not None
        assert (span.start, span.end) == (first.span.start, last.span.end)
        assert not opened.session.selection.mark


def test_dragging_on_the_score_selects_whole_measures(opened: Window) -> None:
    score = opened.workbench.score
    page = score.pages[0]
    measures = page.systems[0].measures
    boxes = [score.column.to_column(page, measure.box) for measure in (measures[1], measures[2])]
    start, end = (QPoint(round(box[0] + box[2] / 2), round(box[1] - 2)) for box in boxes)
    drag(score.viewport(), start, end)
    span = opened.session.selection.span
    assert span is not None
    found = document(opened).score.measures
    assert (span.start, span.end) == (
        found[measures[1].index].onset,
        found[measures[2].index].span.end,
    )


def test_the_timeline_goes_by_measure_and_section_with_the_keyboard(opened: Window) -> None:
    timeline, found = opened.workbench.timeline, document(opened)
    timeline.setFocus()
    press(Qt.Key.Key_Down)
    press(Qt.Key.Key_Down)
    assert opened.session.selection.span == found.score.measures[1].span
    press(Qt.Key.Key_PageDown)
    sections = found.analysis.sections
    here = next(at for at, section in enumerate(sections) if section.span.start > 0)
    assert opened.session.selection.span in [section.span for section in sections[: here + 2]]
    press(Qt.Key.Key_Down, SHIFT)
    span = opened.session.selection.span
    assert span is not None
    assert span.end in [measure.span.end for measure in found.score.measures]


def test_what_is_under_the_pointer_is_said_in_words(opened: Window) -> None:
    score = opened.workbench.score
    chord = next(f for f in document(opened).analysis.chords if f.numeral)
    page = next(page for page in score.pages if chord.symbol in page.boxes)
    x, y, width, height = page.boxes[chord.symbol]
    hit = Hit(
        mark=score.marks.mark_at(page, x + width / 2, y + height / 2),
        element=chord.symbol,
    )
    assert "G major" in hit.tip(document(opened))
    assert Hit().tip(document(opened)) == ""


def test_a_key_chosen_to_be_dark_stays_dark(opened: Window) -> None:
    opened.actions_by_name["set_look dark"].trigger()
    assert opened.preferences.look == "dark"
    dark = opened.workbench.score.grab().toImage().pixelColor(3, 300)
    opened.actions_by_name["set_look light"].trigger()
    light = opened.workbench.score.grab().toImage().pixelColor(3, 300)
    assert dark.lightness() < 80 < light.lightness()


def test_facts_and_readings_of_a_mark_are_shown(opened: Window) -> None:
    applied = next(m for m in document(opened).marks() if m.label == "V⁷/vi")
    opened.session.select(opened.workbench.marks.selection_of(applied.id))
    words = [label.text() for label in opened.workbench.detail.findChildren(QLabel)]
    assert "Dominant of vi" in words
    assert any(word.startswith("Resolution: ") for word in words)


def test_an_action_is_found_by_a_word_of_its_name(opened: Window) -> None:
    marks = list(document(opened).shown_marks())
    opened.session.select(opened.workbench.marks.selection_of(marks[0].id))
    opened.actions_by_name["find_action"].trigger()
    finder = opened.findChild(ActionFinder)
    assert finder
    QTest.keyClicks(finder.line, "accept review")
    assert finder.list.item(0).text().endswith("A")
    QTest.keyClick(finder.line, Qt.Key.Key_Return)
    assert document(opened).mark(marks[0].id).state == "accepted"
    finder.deleteLater()
