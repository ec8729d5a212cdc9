"""A key is corrected over some measures, and what depends on it follows."""

from PySide6.QtCore import QPoint, QRect, QRectF, Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from analysis.timebase import Span
from app.engraving.pages import Box, Page
from app.review.edits import Decide
from app.window import Window
from tests.gui.conftest import CTRL, PATIENCE, SHIFT, document, mouse, press, typed


def labels(window: Window, span: Span) -> list[str]:
    return [
        mark.label
        for mark in document(window).marks()
        if mark.mark.kind == "chord" and mark.mark.span.start in span
    ]


def test_a_key_is_set_over_a_section_and_its_dependants_follow(
    qtbot: QtBot, opened: Window
) -> None:
    session = opened.session
    before = document(opened)
    bridge = next(one for one in before.analysis.sections if one.name == "Bridge").span
    outside = Span(before.score.span.start, bridge.start)
    was, kept = labels(opened, bridge), labels(opened, outside)
    accepted = next(
        mark
        for mark in before.marks()
        if mark.mark.kind == "chord" and mark.mark.span.start in bridge
    )
    session.perform(Decide((accepted.id,), "accepted"))

    timeline = opened.workbench.timeline
    # Well below the border, which is there to be dragged.
    y = round(timeline.scale.y(bridge.start)) + 14
    at = QPoint(round(timeline.columns.sections) + 20, y)
    mouse(timeline.viewport(), at)
    assert session.selection.span == bridge
    press(Qt.Key.Key_K, SHIFT)
    assert QApplication.focusWidget() is opened.workbench.score.typing.line
    typed("e major minor")
    assert "is not a mode" in opened.workbench.score.typing.hint.text()
    opened.workbench.score.typing.line.selectAll()
    typed("e minor")
    assert opened.workbench.score.typing.hint.text() == "E minor: E F♯ G A B C D"
    press(Qt.Key.Key_Return)
    assert session.pending
    assert document(opened).corrections.keys
    qtbot.waitUntil(lambda: not session.pending, timeout=PATIENCE)

    now = labels(opened, bridge)
    assert now != was
    assert labels(opened, outside)[:-1] == kept[:-1], "what does not depend on it stays"
    assert any(
        mark.mark.kind == "key" and mark.label == "E minor" for mark in document(opened).marks()
    )
    held = document(opened).mark(accepted.id)
    assert (held.state, held.label) == ("accepted", accepted.label)
    offered = [reading.label for reading in held.mark.alternatives]
    assert len(offered) > len(accepted.mark.alternatives), "the new reading is offered"

    assert session.undo_stack.count() == 2
    press(Qt.Key.Key_Z, CTRL)
    assert labels(opened, bridge) == was
    press(Qt.Key.Key_Z, CTRL | SHIFT)
    assert labels(opened, bridge) == now
    press(Qt.Key.Key_Z, CTRL)
    press(Qt.Key.Key_Z, CTRL)
    assert document(opened) == before


def test_what_is_typed_covers_no_label_of_its_place(opened: Window) -> None:
    """Neither where there is room below, nor at the foot of the view, nor with a long hint."""
    score, bench = opened.workbench.score, opened.workbench
    chord = next(
        mark for mark in document(opened).marks()
        if mark.mark.kind == "chord" and mark.mark.span.start >= 16
    )  # fmt: skip
    opened.session.select(bench.marks.selection_of(chord.id))

    def covered() -> list[str]:
        line = score.typing.geometry()
        return [
            label.layer
            for page in score.pages
            for label in score.marks.overlay(page).labels
            if label.mark == chord.id and line.intersects(shown_box(page, label.box))
        ]

    def shown_box(page: Page, box: Box) -> QRect:
        x, y, width, height = score.column.to_column(page, box)
        return QRectF(x - score.left, y - score.top, width, height).toRect()

    def label_foot() -> int:
        boxes = [
            shown_box(page, box)
            for page in score.pages
            for box in score.marks.overlay(page).boxes_of(chord.id)
        ]
        return max(box.bottom() for box in boxes)

    bar = score.verticalScrollBar()
    heights = []
    for beyond in (200, 10):
        bar.setValue(bar.value() + label_foot() + beyond - score.viewport().height())
        for key, wrong in ((Qt.Key.Key_K, "h minor minor"), (Qt.Key.Key_T, "V7/xi")):
            opened.workbench.marks.list.setFocus()
            press(key, SHIFT if key == Qt.Key.Key_K else Qt.KeyboardModifier.NoModifier)
            assert score.typing.isVisible()
            assert covered() == []
            typed(wrong)
            assert covered() == [], "the hint may be longer"
            heights.append(score.typing.y() > label_foot())
            press(Qt.Key.Key_Escape)
    assert heights == [True, True, False, False]
