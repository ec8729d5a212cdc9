"""The export room: the real picture first, files after it, nothing half-written, and said again."""

import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QColor, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QLineEdit, QSpinBox
from pytestqt.qtbot import QtBot

from analysis.vocabulary.numerals import Convention
from app.export.cautions import RIGHTS
from app.export.talking_points import talking_points
from app.review.edits import Decide
from app.review.files import PART
from app.review.writing import Writing
from app.views.export_room import ExportRoom
from app.views.export_room_footage import GROUNDS, footage
from app.views.looks import DARK
from app.window import Window
from app.worker.export_wishes import SORTS, Entry, Sort
from tests.app.pixels import rgba_of
from tests.gui.conftest import CTRL, PATIENCE, SHIFT, click, document, press, typed
from tests.gui.test_access import name_of


@pytest.fixture
def room(qtbot: QtBot, opened: Window, tmp_path: Path) -> Iterator[ExportRoom]:
    """The room of the warm window, as it is at first, small pictures going into a fresh folder."""
    opened.actions_by_name["show_export_room"].trigger()
    found = opened.exporting.room
    assert found
    found.show_state({"looks": {"size": [960, 540]}, "pattern": found.names.pattern.text()})
    found.foot.folder.setText(str(tmp_path / "out"))
    qtbot.waitUntil(
        lambda: any(one.sort == "timeline" for one in found.list.entries), timeout=PATIENCE
    )
    tick_only(found)
    yield found
    opened.workshop.cancel_export()
    found.show_state({})
    found.names.pattern.setText("{number}-m{measure}-{kind}-{label}")
    found.hide()  # the process for previews stays for the next story


def tick_only(room: ExportRoom, *entries: Entry) -> None:
    """Tick these and nothing else."""
    for sort in SORTS:
        room.list.tick_all(sort, False)
    for entry in entries:
        room.list.tick(entry.id, True)


def first(room: ExportRoom, sort: Sort) -> Entry:
    return next(entry for entry in room.list.entries if entry.sort == sort)


def settle(qtbot: QtBot, window: Window) -> None:
    """Wait for all pictures that were asked for."""
    assert window.exporting.room
    pause = window.exporting.room._pause
    qtbot.waitUntil(
        lambda: not pause.isActive() and not window.exporting.previews.busy, timeout=PATIENCE
    )


def export(qtbot: QtBot, room: ExportRoom, window: Window) -> list[Path]:
    """Press the button and wait; what was made."""
    with qtbot.waitSignal(window.workshop.exported, timeout=PATIENCE) as exported:
        click(room, "Export")
    qtbot.waitUntil(lambda: not room.foot.running, timeout=PATIENCE)
    return list(exported.args[0].paths)


def test_a_still_and_a_card_are_what_the_preview_showed(
    qtbot: QtBot, room: ExportRoom, opened: Window, tmp_path: Path
) -> None:
    still, card = first(room, "stills"), first(room, "cards")
    opened.session.perform(Decide((still.key,), "accepted"))
    tick_only(room, still, card)
    shown = {}
    for entry in (still, card):
        room.list.choose(entry.id)
        settle(qtbot, opened)
        assert room.preview.picture.image is not None
        shown[entry.name] = rgba_of(room.preview.picture.image)
    written = export(qtbot, room, opened)
    pictures = [path for path in written if path.suffix == ".png"]
    names = [path.relative_to(tmp_path / "out").as_posix() for path in pictures]
    assert names[-1] == card.name
    assert set(names) >= {still.name, card.name}
    for path, name in zip(pictures, names, strict=True):
        image = QImage(str(path))
        assert image.size() == QSize(960, 540)
        alpha = rgba_of(image)[:, :, 3]
        assert not alpha[:20].any(), "nothing above the title-safe area"
        assert not alpha[-20:].any()
        assert alpha.max() == 1
        if name in shown:
            file = rgba_of(image)
            both = np.abs(file * file[:, :, 3:] - shown[name] * shown[name][:, :, 3:])
            assert both.max() < 0.02, "the preview is the file, to within rounding of alpha"


def test_exporting_again_says_that_nothing_changed_and_touches_nothing(
    qtbot: QtBot, room: ExportRoom, opened: Window
) -> None:
    tick_only(room, first(room, "cards"), first(room, "script"))
    paths = export(qtbot, room, opened)
    assert f"{len(paths)} new" in room.foot.message.text()
    before = [path.stat().st_mtime_ns for path in paths]
    assert export(qtbot, room, opened) == paths
    assert room.foot.message.text() == f"Nothing changed: all {len(paths)} files are as they were."
    assert [path.stat().st_mtime_ns for path in paths] == before
    card = first(room, "cards")
    room.list.choose(card.id)
    room.texts.sentence_field.setPlainText("Listen to what the bass does here.")
    room.texts.commit()
    export(qtbot, room, opened)
    assert "overwritten" in room.foot.message.text()
    assert document(opened).mark(card.key).sentence == "Listen to what the bass does here."
    room.undo_requested.emit()
    assert room.texts.sentence_field.toPlainText() == document(opened).mark(card.key).mark.sentence


def test_cancelling_half_way_leaves_whole_files_only(
    qtbot: QtBot, room: ExportRoom, opened: Window, tmp_path: Path
) -> None:
    before = document(opened)
    for sort in ("cards", "stills"):
        room.list.tick_all(sort, True)
    click(room, "Export")
    qtbot.waitUntil(lambda: room.foot.bar.value() >= 3, timeout=PATIENCE)
    assert room.foot.bar.isVisible()
    assert not room.foot.export_button.isEnabled()
    torn = tmp_path / "out" / "cards" / f".01.png.abcdefgh{PART}"
    torn.parent.mkdir(exist_ok=True)
    torn.write_bytes(b"what a killed writer leaves")
    with qtbot.waitSignal(opened.workshop.export_cancelled):
        click(room, "Cancel")
    assert room.foot.message.text().startswith("Cancelled. ")
    assert "every file that is there is whole" in room.foot.message.text()
    files = [path for path in (tmp_path / "out").rglob("*") if path.is_file()]
    assert 0 < len(files) < len(list(talking_points(before))) * 2
    assert not [path for path in files if path.name.startswith(".")]
    assert all(not QImage(str(path)).isNull() for path in files if path.suffix == ".png")
    assert document(opened) == before
    assert not opened.session.modified
    tick_only(room, first(room, "script"))
    assert export(qtbot, room, opened), "and it can be gone on with"


def test_a_folder_that_cannot_be_is_said_in_the_room(
    qtbot: QtBot, room: ExportRoom, opened: Window, tmp_path: Path
) -> None:
    (tmp_path / "taken").write_bytes(b"a file")
    room.foot.folder.setText(str(tmp_path / "taken"))
    tick_only(room, first(room, "script"))
    with qtbot.waitSignal(opened.workshop.export_failed, timeout=PATIENCE):
        click(room, "Export")
    assert "Choose another folder." in room.foot.message.text()
    assert room.foot.export_button.isEnabled()
    assert (tmp_path / "taken").read_bytes() == b"a file"
    room.foot.folder.clear()
    click(room, "Export")
    assert room.foot.message.text() == "Name a folder to export into."
    tick_only(room)
    click(room, "Export")
    assert room.foot.message.text() == "Nothing is ticked."


def test_names_follow_the_pattern_and_wrong_ones_are_said(room: ExportRoom, opened: Window) -> None:
    good = first(room, "stills").name
    room.names.pattern.setFocus()
    room.names.pattern.selectAll()
    typed("{number} CON?")
    assert first(room, "stills").name == "stills/01-CON.png"
    typed(" {labe")
    assert "brace without its partner" in room.names.told.text()
    assert first(room, "stills").name == "stills/01-CON.png", "the last good pattern holds"
    typed("l}")
    label = talking_points(document(opened))[0].label
    assert first(room, "stills").name != good
    assert label
    shown = first(room, "stills").name.removeprefix("stills/").removesuffix(".png")
    assert room.names.told.text() == f"Such as {shown}"


def test_measures_that_are_typed_become_stills(
    qtbot: QtBot, room: ExportRoom, opened: Window
) -> None:
    room.names.measures.setFocus()
    typed("9-10, 33")
    listed = [one.name for one in room.list.entries if one.sort == "measures"]
    assert listed == ["measures/measures-9-10.png", "measures/measures-33.png"]
    room.list.choose(("measures", "measures-9-10"))
    settle(qtbot, opened)
    assert "measures 9–10" in room.preview.facts.text()
    typed("3")
    assert "There is no measure 333" in room.names.measures_told.text()
    room.names.measures.clear()
    room.names.measures.textEdited.emit("")
    assert not [one for one in room.list.entries if one.sort == "measures"]


def test_a_reveal_is_gone_through_step_by_step(
    qtbot: QtBot, room: ExportRoom, opened: Window
) -> None:
    room.steps.show_steps(("score", "numerals", "sentence"))
    room.list.choose(first(room, "reveals").id)
    settle(qtbot, opened)
    box = room.preview.step_box
    assert [box.itemText(at) for at in range(box.count())] == [
        "1  Score", "2  Numerals", "3  Sentence",
    ]  # fmt: skip
    assert box.currentIndex() == 2, "a reveal is first shown as it looks at the end"
    whole = rgba_of(room.preview.picture.image)  # type: ignore[arg-type]
    box.setCurrentIndex(0)
    box.activated.emit(0)
    settle(qtbot, opened)
    start = rgba_of(room.preview.picture.image)  # type: ignore[arg-type]
    assert start[:, :, 3].sum() < whole[:, :, 3].sum()
    room.steps.list.setCurrentRow(1)
    room.steps.list.setFocus()
    press(Qt.Key.Key_Up, Qt.KeyboardModifier.AltModifier)
    assert room.steps.steps == ("numerals", "score", "sentence")
    settle(qtbot, opened)
    assert box.itemText(0) == "1  Numerals"


def test_what_is_hard_to_read_is_said_beside_its_row(
    qtbot: QtBot, room: ExportRoom, opened: Window
) -> None:
    room.looks.size_box.setCurrentIndex(room.looks.size_box.count() - 1)
    room.looks.width_field.setValue(300)
    room.looks.height_field.setValue(900)
    tick_only(room, *[entry for entry in room.list.entries if entry.sort == "cards"][:2])
    settle(qtbot, opened)
    noted = [entry for entry in room.list.entries if room.list.notes(entry.id)]
    assert noted
    entry = noted[0]
    room.list.choose(entry.id)
    settle(qtbot, opened)
    assert room.preview.warnings.text().splitlines() == list(room.list.notes(entry.id))
    assert "300 × 900" in room.preview.facts.text()
    room.looks.height_field.setValue(100)
    assert "each side must be 240 to 16384" in room.looks.problem.text()
    assert room.wish.frame.height == 900, "the last good frame holds"


def test_guides_and_grounds(qtbot: QtBot, room: ExportRoom, opened: Window) -> None:
    room.list.choose(first(room, "cards").id)
    settle(qtbot, opened)
    picture = room.preview.picture
    area = picture.frame_area
    corner = area.topLeft() + (area.bottomRight() - area.topLeft()) * 0.02
    for at, ground in enumerate(GROUNDS):
        QTest.mouseClick(room.preview.grounds.button(at), Qt.MouseButton.LeftButton)
        light = QColor(picture.grab().toImage().pixel(corner)).lightness()
        assert {"dark": light < 60, "light": light > 200}.get(ground, 100 < light <= 255), ground
    room.preview.title_box.setChecked(False)
    plain = picture.grab().toImage()
    room.preview.title_box.setChecked(True)
    titled = picture.grab().toImage()
    room.preview.title_box.setChecked(False)
    room.preview.action_box.setChecked(True)
    assert plain != titled != picture.grab().toImage() != plain
    room.preview.action_box.setChecked(False)


def test_stand_ins_are_the_same_each_time() -> None:
    for ground in ("dark", "light"):
        assert footage(ground, QSize(320, 180)) == footage(ground, QSize(320, 180))


def test_a_theme_of_ones_own_is_taken_or_refused_in_words(room: ExportRoom, tmp_path: Path) -> None:
    broken = tmp_path / "mine.json"
    broken.write_text("{}")
    room.looks.take_theme(broken)
    assert "The theme “mine.json” cannot be used" in room.looks.problem.text()
    folder = Path(__file__).parents[2] / "app" / "export" / "themes"
    theme = json.loads((folder / "slate.json").read_text()) | {"name": "My Slate"}
    broken.write_text(json.dumps(theme))
    room.looks.take_theme(broken)
    assert room.wish.frame.theme.name == "My Slate"
    room.looks.theme_box.setCurrentIndex(0)


def test_the_score_and_the_room_follow_each_other(room: ExportRoom, opened: Window) -> None:
    points = talking_points(document(opened))
    room.list.choose(("cards", points[2].id))
    assert opened.session.selection.mark == points[2].id
    opened.session.select(opened.workbench.marks.selection_of(points[1].id))
    assert room.list.entry
    assert room.list.entry.id == ("cards", points[1].id)
    room.show_panel(room.texts)
    room.texts.title_field.setFocus()
    room.texts.title_field.selectAll()
    typed("Home?")
    press(Qt.Key.Key_Return)
    assert document(opened).mark(points[1].id).label == "Home?"
    room.list.setFocus()
    press(Qt.Key.Key_Z, CTRL)
    assert document(opened).mark(points[1].id).label != "Home?"
    press(Qt.Key.Key_Z, CTRL | SHIFT)
    assert document(opened).mark(points[1].id).label == "Home?"


def test_everything_has_a_name_and_can_be_reached(room: ExportRoom) -> None:
    kinds = (QAbstractButton, QComboBox, QSpinBox, QLineEdit)
    shown = [widget for kind in kinds for widget in room.findChildren(kind)]
    inner = {box.lineEdit() for box in room.findChildren(QSpinBox)}
    assert [w for w in shown if w not in inner and not name_of(w) and w.isVisibleTo(room)] == []
    for view in (room.list, room.times.table, room.steps.list, room.contents.parts):
        assert name_of(view)
    room.list.setFocus()
    walk = []
    for _ in range(60):
        focused = QApplication.focusWidget()
        walk.append(focused)
        press(Qt.Key.Key_Tab)
        if QApplication.focusWidget() is room.list:
            break
    for station in (
        room.names.pattern,
        room.preview.title_box,
        room.foot.folder,
        room.foot.export_button,
    ):
        assert station in walk
    assert RIGHTS in {label.text() for label in room.foot.children() if hasattr(label, "text")}


def test_what_was_chosen_is_remembered(room: ExportRoom, opened: Window) -> None:
    room.looks.backing_box.setCurrentIndex(1)
    room.steps.show_steps(("score", "mark"))
    room.contents.numbers.setChecked(True)
    state = json.loads(json.dumps(room.state()))
    other = ExportRoom()
    other.set_look(DARK)
    other.show_state(state)
    other.show_document(document(opened))
    assert other.wish.frame == room.wish.frame
    assert other.wish.steps == ("score", "mark")
    assert other.wish.contents.measure_numbers
    other.show_state({"looks": 7, "steps": "x", "pattern": None, "left out": [1, ["cards"]]})
    assert other.wish.frame.width == 1920
    room.contents.numbers.setChecked(False)
    other.deleteLater()


def test_exports_are_written_as_the_user_writes(
    qtbot: QtBot, room: ExportRoom, opened: Window
) -> None:
    script, rows = first(room, "script"), {entry.id: entry.shows for entry in room.list.entries}
    try:
        opened.appearance.set_writing(Writing(Convention("own", "slash"), "fixed do"))
        settle(qtbot, opened)
        key = next(entry for entry in room.list.entries if " major" in entry.shows)
        assert key.shows.startswith("La major")
        assert rows[key.id].startswith("A major")
        tick_only(room, script)
        (path,) = (one for one in export(qtbot, room, opened) if one.suffix == ".md")
        assert "Si7 is V⁷/vi in Sol major" in path.read_text()
    finally:
        opened.appearance.set_writing(Writing())
    assert {entry.id: entry.shows for entry in room.list.entries} == rows
