"""Sections on the timeline: borders dragged and moved by keys, split, joined, named, coloured."""

from itertools import pairwise

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from analysis.marks import Section
from app.review.section_edits import sections_of
from app.window import Window
from tests.gui.conftest import CTRL, NO_MODIFIER, PATIENCE, SHIFT, document, mouse, press, typed

ALT = Qt.KeyboardModifier.AltModifier


def sections(window: Window) -> tuple[Section, ...]:
    return sections_of(document(window))


def point(window: Window, index: int, down: float = 0.0) -> QPoint:
    """A point on the timeline at the start of a section, or so many pixels below."""
    timeline = window.workbench.timeline
    y = timeline.scale.y(sections(window)[index].span.start) + down
    return QPoint(round(timeline.columns.sections) + 30, round(y))


def drag(
    window: Window, start: QPoint, down: float, modifier: Qt.KeyboardModifier = NO_MODIFIER
) -> None:
    """Press, move in a few steps, let go."""
    viewport = window.workbench.timeline.viewport()
    kinds = QEvent.Type
    left, none = Qt.MouseButton.LeftButton, Qt.MouseButton.NoButton
    path = [start + QPoint(0, round(down * step / 4)) for step in range(5)]
    steps = [(kinds.MouseButtonPress, path[0], left, left)]
    steps += [(kinds.MouseMove, at, none, left) for at in path[1:]]
    steps += [(kinds.MouseButtonRelease, path[-1], left, none)]
    for kind, at, button, held in steps:
        there = QPointF(viewport.mapToGlobal(at))
        event = QMouseEvent(kind, QPointF(at), there, button, held, modifier)
        QApplication.sendEvent(viewport, event)


@pytest.mark.parametrize(("modifier", "grain"), [(NO_MODIFIER, 4), (CTRL, 1)])
def test_a_border_is_dragged(
    qtbot: QtBot, opened: Window, modifier: Qt.KeyboardModifier, grain: int
) -> None:
    before = document(opened)
    start = sections(opened)[2].span.start
    rate = opened.workbench.timeline.scale.rate
    drag(opened, point(opened, 2), (grain + 0.2) * rate, modifier)
    assert sections(opened)[2].span.start == start + grain
    assert sections(opened)[1].span.end == start + grain
    assert opened.session.undo_stack.count() == 1, "one drag is one step"
    qtbot.waitUntil(lambda: not opened.session.pending, timeout=PATIENCE)
    named = next(m for m in document(opened).marks() if m.label == "Pre-chorus")
    assert named.mark.span.start == start + grain, "the mark has followed"
    press(Qt.Key.Key_Z, CTRL)
    assert document(opened) == before


def test_a_border_cannot_be_dragged_past_its_neighbours(opened: Window) -> None:
    before = document(opened)
    drag(opened, point(opened, 2), 1000.0)
    assert document(opened) is before


def test_by_keyboard_alone(qtbot: QtBot, opened: Window) -> None:
    """Go to a section, move its border, split, name, colour and join it."""
    timeline = opened.workbench.timeline
    timeline.setFocus()
    press(Qt.Key.Key_Home)
    press(Qt.Key.Key_PageDown)
    press(Qt.Key.Key_PageDown)
    start = sections(opened)[2].span.start
    assert opened.session.selection.span == sections(opened)[2].span
    press(Qt.Key.Key_Down, ALT)
    assert sections(opened)[2].span.start == start + 4
    press(Qt.Key.Key_Up, ALT)
    assert sections(opened)[2].span.start == start
    press(Qt.Key.Key_Down)
    press(Qt.Key.Key_Down)
    count = len(sections(opened))
    press(Qt.Key.Key_S, SHIFT)
    assert len(sections(opened)) == count + 1
    split = sections(opened)[3]
    assert opened.session.selection.span is not None
    assert split.span.start == opened.session.selection.span.start
    press(Qt.Key.Key_R, SHIFT)
    typed("Lift")
    press(Qt.Key.Key_Return)
    assert sections(opened)[3].name == "Lift"
    assert QApplication.focusWidget() is timeline
    opened.actions_by_name["colour_section #009e73"].trigger()
    assert document(opened).section_colours[split.label] == "#009e73"
    press(Qt.Key.Key_Up)
    press(Qt.Key.Key_J, SHIFT)
    assert len(sections(opened)) == count
    assert all(a.span.end == b.span.start for a, b in pairwise(sections(opened)))
    qtbot.waitUntil(lambda: not opened.session.pending, timeout=PATIENCE)


def test_a_section_is_named_where_it_stands(opened: Window) -> None:
    timeline = opened.workbench.timeline
    mouse(timeline.viewport(), point(opened, 1, 12.0), twice=True)
    assert QApplication.focusWidget() is timeline.typing.line
    typed("First verse")
    press(Qt.Key.Key_Return)
    assert sections(opened)[1].name == "First verse"


def test_in_played_order_a_repeated_chorus_stands_twice(opened: Window) -> None:
    timeline = opened.workbench.timeline
    written = timeline.scale.length
    opened.actions_by_name["toggle_played_order"].trigger()
    assert timeline.scale.length > written
    again = timeline.scale.runs[1]
    y = timeline.scale.y_in(again, again.written.start) + 5
    mouse(timeline.viewport(), QPoint(8, round(y)))
    assert opened.session.selection.span is not None
    assert opened.session.selection.span.start == again.written.start
    opened.actions_by_name["toggle_played_order"].trigger()
    assert timeline.scale.length == written


def test_the_overview_goes_where_it_is_clicked(opened: Window) -> None:
    timeline = opened.workbench.timeline
    assert not timeline.overview.isVisible()
    for _ in range(6):
        timeline.zoom_in()
    assert timeline.overview.isVisible()
    mouse(timeline.overview, QPoint(6, timeline.overview.height() - 4))
    bar = timeline.verticalScrollBar()
    assert bar.value() == bar.maximum()
