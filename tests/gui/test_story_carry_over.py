"""The transcription comes back changed: the report says so, and each entry leads to its place."""

from pathlib import Path

from lxml import etree
from PySide6.QtWidgets import QTreeWidgetItem
from pytestqt.qtbot import QtBot

from app.review.edits import Decide
from app.review.selection import Selection
from app.review.storage import read_review, review_path
from app.views.carry_report import CarryReportDialog
from app.window import Window
from tests.app.transcriptions import delete_measures, insert_rests, rename_part, transcription
from tests.gui.conftest import click, document, open_and_wait


def groups(dialog: CarryReportDialog) -> dict[str, QTreeWidgetItem]:
    """The headings of the report, without their counts."""
    rows = [dialog.tree.topLevelItem(at) for at in range(dialog.tree.topLevelItemCount())]
    return {row.text(0).rsplit(" (", 1)[0]: row for row in rows if row is not None}


def choose(dialog: CarryReportDialog, group: str) -> None:
    """Choose the first entry of a group."""
    row = groups(dialog)[group].child(0)
    assert row is not None
    dialog.tree.setCurrentItem(row)


def reviewed_and_changed(qtbot: QtBot, window: Window, sample: Path) -> None:
    """Accept everything, save and close; export again without measures 9 to 11 and two more."""
    open_and_wait(qtbot, window, sample)
    marks = tuple(mark.id for mark in document(window).marks())
    window.session.perform(Decide(marks, "accepted"))
    window.filing.saving.save()
    window.filing.close_document()
    root = transcription(sample.stem)
    delete_measures(root, 9, 11)
    insert_rests(root, 20, 2)
    rename_part(root, 0, "Lead")
    sample.write_bytes(etree.tostring(root))


def test_decisions_go_with_the_music_and_what_has_no_place_is_placed_by_hand(
    qtbot: QtBot, window: Window, sample: Path
) -> None:
    reviewed_and_changed(qtbot, window, sample)
    before = review_path(sample).read_bytes()
    open_and_wait(qtbot, window, sample)
    dialog = window.carried_over.dialog
    assert dialog.isVisible()
    assert "The part “Voice” is now called “Lead”." in dialog.told.text()
    assert "Measures 9 to 11 of before are gone." in dialog.told.text()
    assert window.isWindowModified(), "no file holds what was carried over"
    assert review_path(sample).read_bytes() == before

    choose(dialog, "Moved")
    entry = dialog.entry
    assert entry is not None
    assert window.session.selection == entry.selection
    assert document(window).mark(entry.selection.mark).state == "accepted"
    assert not dialog.drop_button.isEnabled()

    unplaced = groups(dialog)["Could not be placed"]
    count = unplaced.childCount()
    left = document(window).leftovers[0]
    assert len(left.decisions) == count > 1
    mark = next(iter(document(window).decisions))
    window.session.perform(Decide((mark,), "open"))
    choose(dialog, "Could not be placed")
    assert not dialog.place_button.isEnabled(), "no mark is selected"
    window.session.select(Selection(mark))
    assert dialog.place_button.isEnabled()
    click(dialog, "Place on the Selected Mark")
    assert document(window).mark(mark).state == "accepted"
    unplaced = groups(dialog)["Could not be placed"]
    assert unplaced.childCount() == count - 1
    choose(dialog, "Could not be placed")
    click(dialog, "Remove from the Review")
    assert len(document(window).leftovers[0].decisions) == count - 2
    window.session.undo_stack.undo()
    assert groups(dialog)["Could not be placed"].childCount() == count - 1

    window.filing.saving.save()
    assert len(read_review(review_path(sample)).leftovers[0].decisions) == count - 1
    window.filing.close_document()
    assert not dialog.isVisible()


def test_what_is_left_over_is_listed_also_when_nobody_remembers_why(
    qtbot: QtBot, window: Window, sample: Path
) -> None:
    reviewed_and_changed(qtbot, window, sample)
    open_and_wait(qtbot, window, sample)
    count = len(document(window).leftovers[0].decisions)
    window.filing.saving.save()
    window.filing.close_document()
    open_and_wait(qtbot, window, sample)
    dialog = window.carried_over.dialog
    assert not dialog.isVisible(), "nothing was carried over this time"
    window.actions_by_name["show_carry_report"].trigger()
    assert dialog.isVisible()
    assert groups(dialog)["Could not be placed"].childCount() == count
