"""Times in the video: typed, shifted, taken back, and where they go."""

from collections.abc import Iterator
from pathlib import Path

import opentimelineio as otio
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit
from pytestqt.qtbot import QtBot

from analysis.timebase import Fraction
from app.preferences import Preferences
from app.review.document import Document, Time
from app.review.storage import from_bytes, stored, to_bytes
from app.views.export_room import ExportRoom
from app.views.export_room_times import END, LENGTH, NOTE, START, TimesPanel
from app.views.typed_times import points_of
from app.window import Window
from app.worker.export_wishes import SORTS
from tests.gui.conftest import (
    CTRL,
    PATIENCE,
    click,
    document,
    open_and_wait,
    press,
    shown_window,
    typed,
)


@pytest.fixture
def room(opened: Window, tmp_path: Path) -> Iterator[ExportRoom]:
    opened.actions_by_name["show_times"].trigger()
    found = opened.exporting.room
    assert found
    found.show_state({"looks": {"size": [640, 360]}})
    found.times.show_state({})
    found.foot.folder.setText(str(tmp_path / "out"))
    yield found
    found.times.show_state({})
    found.show_state({})
    found.hide()  # the process for previews stays for the next story


def type_into(panel: TimesPanel, row: int, column: int, text: str) -> None:
    """Go to a cell, type, and press Enter."""
    panel.table.setFocus()
    panel.table.setCurrentCell(row, column)
    QTest.keyClick(panel.table, Qt.Key.Key_F2)
    editor = QApplication.focusWidget()
    assert isinstance(editor, QLineEdit)
    editor.selectAll()
    QTest.keyClicks(editor, text)
    QTest.keyClick(editor, Qt.Key.Key_Return)
    QApplication.processEvents()  # Qt takes what was typed once the key is done with


def times(document: Document, panel: TimesPanel) -> dict[str, Time]:
    return {point.mark.id: point.time for point in points_of(document, panel.video)}


def text(panel: TimesPanel, row: int, column: int) -> str:
    cell = panel.table.item(row, column)
    assert cell
    return cell.text()


def test_the_menu_leads_to_the_table(room: ExportRoom, opened: Window) -> None:
    assert room.panel is room.times
    assert QApplication.focusWidget() is room.times.table
    assert room.times.table.rowCount() == len(points_of(document(opened), room.times.video))
    assert all(
        text(room.times, row, NOTE).startswith("from the score's tempo")
        for row in range(room.times.table.rowCount())
    )


def test_a_typed_time_is_one_step_and_goes_to_the_timeline(
    qtbot: QtBot, room: ExportRoom, opened: Window, tmp_path: Path
) -> None:
    panel = room.times
    before = document(opened)
    chosen = panel._rows[2].point.mark.id
    room.list.choose(("stills", chosen))
    type_into(panel, 2, START, "1:10:12")
    assert times(document(opened), panel)[chosen].start == Fraction(70) + Fraction(12, 25)
    assert opened.session.undo_stack.undoText() == "Set time"
    row = next(at for at, one in enumerate(panel._rows) if one.point.mark.id == chosen)
    type_into(panel, row, LENGTH, "3 s")
    row = next(at for at, one in enumerate(panel._rows) if one.point.mark.id == chosen)
    assert [text(panel, row, at) for at in (START, END, LENGTH)] == [
        "00:01:10:12", "00:01:13:12", "00:00:03:00",
    ]  # fmt: skip
    assert text(panel, row, NOTE).startswith("typed")
    kept = from_bytes(to_bytes(stored(document(opened)))).decisions[chosen]
    assert kept.time == document(opened).decisions[chosen].time

    qtbot.waitUntil(lambda: any(e.sort == "timeline" for e in room.list.entries), timeout=PATIENCE)
    for sort in SORTS:
        room.list.tick_all(sort, sort in ("timeline", "stills"))
    with qtbot.waitSignal(opened.workshop.exported, timeout=PATIENCE) as exported:
        click(room, "Export")
    (path,) = [path for path in exported.args[0].paths if path.suffix == ".otio"]
    timeline = otio.adapters.read_from_file(str(path))
    clips = [one for one in timeline.find_clips() if one.metadata["overstave"]["mark"] == chosen]
    assert clips
    for clip in clips:
        start = clip.transformed_time_range(
            otio.opentime.TimeRange(otio.opentime.RationalTime(0, 25), clip.duration()),
            timeline.tracks,
        ).start_time
        assert (start.value, clip.duration().value) == (70 * 25 + 12, 75)
        assert (path.parent / clip.media_reference.target_url).is_file()

    for _ in range(2):
        room.list.setFocus()
        press(Qt.Key.Key_Z, CTRL)
    assert document(opened) == before


def test_what_is_no_time_changes_nothing_and_is_said(room: ExportRoom, opened: Window) -> None:
    panel, before = room.times, document(opened)
    for column, wrong, words in (
        (START, "later", "“later” is no time"),
        (START, "00:00:00:25", "There is no frame 00:00:00:25 at 25"),
        (END, "0:00", "so it cannot end at 0:00"),
        (LENGTH, "0", "at least one frame"),
    ):
        shown = text(panel, 1, column)
        type_into(panel, 1, column, wrong)
        assert words in panel.problem.text()
        assert panel.problem.isVisible()
        assert text(panel, 1, column) == shown
    assert document(opened) is before
    type_into(panel, 1, LENGTH, "9:00")
    assert not panel.problem.isVisible()


def test_later_ones_move_along_when_they_are_to(room: ExportRoom, opened: Window) -> None:
    panel = room.times
    before = points_of(document(opened), panel.video)
    panel.follow_box.setChecked(True)
    longer = before[0].time.length + 2
    type_into(panel, 0, LENGTH, f"{float(longer):.2f} s")
    panel.follow_box.setChecked(False)
    after = times(document(opened), panel)
    moved = after[before[-1].mark.id].start - before[-1].time.start
    assert moved == pytest.approx(2, abs=0.01)
    assert all(after[p.mark.id].start - p.time.start == moved for p in before[1:])
    opened.session.undo_stack.undo()
    assert times(document(opened), panel) == {p.mark.id: p.time for p in before}, "one step"


def test_all_or_those_from_here_are_shifted_and_taken_back(
    room: ExportRoom, opened: Window
) -> None:
    panel = room.times
    before = times(document(opened), panel)
    panel.shift_field.setText("+2:00")
    click(panel, "Shift All")
    assert times(document(opened), panel) == {
        m: Time(t.start + 2, t.length) for m, t in before.items()
    }
    panel.table.setCurrentCell(3, START)
    here = panel._rows[3].point.time.start
    panel.shift_field.setText("-1:00")
    click(panel, "Shift From Here")
    after = times(document(opened), panel)
    assert {after[m].start - t.start for m, t in before.items() if t.start + 2 >= here} == {1}
    assert {after[m].start - t.start for m, t in before.items() if t.start + 2 < here} == {2}
    panel.shift_field.setText("soon")
    click(panel, "Shift All")
    assert "“soon” is no time" in panel.problem.text()
    click(panel, "All From the Score")
    assert times(document(opened), panel) == before
    assert not document(opened).decisions


def test_rate_beginning_and_first_note(room: ExportRoom, opened: Window) -> None:
    panel = room.times
    plain = points_of(document(opened), panel.video)[0].time.start
    panel.rate_box.setCurrentIndex(panel.rate_box.findData("29.97 drop"))
    panel.rate_box.activated.emit(panel.rate_box.currentIndex())
    assert ";" in text(panel, 0, START)
    panel.begin_field.setFocus()
    panel.begin_field.selectAll()
    typed("01:00:00;00")
    press(Qt.Key.Key_Tab)
    assert text(panel, 0, START).startswith("01:00:0")
    assert panel.video.start_frame == 107_892
    assert QApplication.focusWidget() is panel.first_field
    panel.first_field.selectAll()
    typed("01:00:10;00")
    press(Qt.Key.Key_Tab)
    assert panel.video.first_note == Fraction(300 * 1001, 30000)
    assert panel._rows[0].point.time.start == plain + panel.video.first_note
    assert room.wish.time == panel.video
    panel.first_field.setText("00:10:00;00")
    panel.first_field.editingFinished.emit()
    assert panel.problem.text().startswith("The video begins at 01:00:00;00")
    assert panel.first_field.text() == "01:00:10;00"


def test_the_room_goes_with_its_window(
    qtbot: QtBot, qapp: QApplication, preferences: Preferences, sample: Path
) -> None:
    with shown_window(qtbot, qapp, preferences) as window:
        open_and_wait(qtbot, window, sample)
        window.actions_by_name["show_times"].trigger()
        room = window.exporting.room
        assert room
        assert room.isVisible()
        window.close()
        assert not room.isVisible()
        assert not window.exporting.previews.busy


def test_a_song_remembers_where_it_lies_in_its_video(room: ExportRoom, opened: Window) -> None:
    room.times.show_state({"rate": "24", "start": 86_400, "first note": "25/2"})
    opened.exporting._keep_times()
    room.times.show_state({})
    saved = opened.exporting._saved(f"times {document(opened).source.digest[:16]}")
    room.times.show_state(saved)
    assert room.times.video.rate.name == "24"
    assert room.times.video.first_note == Fraction(25, 2)
    room.times.show_state({"rate": "90", "start": "x", "first note": None})
    assert room.times.video.rate.name == "25"
