"""Decisions go over to an edited transcription, by keys and mouse from deciding to the report.

Two measures are inserted before, a note under a decision is corrected, a part is renamed and a
chord symbol is changed, all at once, as someone would who went through the song again.
"""

from pathlib import Path

from lxml import etree
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from app.views.carry_report import CarryReportDialog
from app.window import Window
from tests.app.transcriptions import (
    insert_rests,
    notes_of,
    rename_part,
    set_pitch,
    set_symbol,
    transcription,
)
from tests.gui.conftest import CTRL, document, open_and_wait, press


def rows(dialog: CarryReportDialog, group: str) -> list[list[str]]:
    """The entries of a group, each as its columns."""
    for at in range(dialog.tree.topLevelItemCount()):
        heading = dialog.tree.topLevelItem(at)
        if heading is not None and heading.text(0).startswith(group):
            found = [heading.child(number) for number in range(heading.childCount())]
            return [[one.text(column) for column in range(3)] for one in found if one is not None]
    return []


def test_four_edits_at_once(qtbot: QtBot, window: Window, sample: Path) -> None:
    before = open_and_wait(qtbot, window, sample)
    marks, session = window.workbench.marks, window.session
    chord = next(one for one in before.marks() if one.label == "vi⁷")
    symbols = [symbol.id for symbol in before.score.chord_symbols]
    changed = symbols.index(chord.mark.elements[0])
    (top,) = (one for one in before.shown_marks() if one.label == "climax")
    note = next(n for n in before.score.parts[0].notes if n.id == top.mark.elements[0])
    in_measure = [n for n in before.score.parts[0].notes if n.measure == note.measure]
    marks.list.setFocus()
    press(Qt.Key.Key_J)
    for _ in range(12):
        press(Qt.Key.Key_A)
    for one in (chord, top):
        session.select(marks.selection_of(one.id))
        press(Qt.Key.Key_A)
    session.select(marks.selection_of(next(row.id for row in marks.model.rows[20:])))
    press(Qt.Key.Key_R)
    states = sorted(decision.state for decision in document(window).decisions.values())
    assert "rejected" in states
    press(Qt.Key.Key_S, CTRL)
    window.actions_by_name["close_document"].trigger()

    root = transcription(sample.stem)
    set_symbol(root, changed, "D", "minor")
    set_pitch(notes_of(root, 0, note.measure)[in_measure.index(note)], "F6")
    rename_part(root, 0, "Lead")
    insert_rests(root, 1, 2)
    sample.write_bytes(etree.tostring(root))
    after = open_and_wait(qtbot, window, sample)

    dialog = window.carried_over.dialog
    assert dialog.isVisible()
    told = dialog.told.text()
    assert "“Voice” is now called “Lead”" in told
    assert "are new" in told
    assert "1 note has another pitch" in told
    assert "1 chord symbol says something else" in told
    assert rows(dialog, "Could not be placed") == []
    under = " ".join(row[2] for row in rows(dialog, "Changed under a decision"))
    assert "is now D minor" in under
    assert "is now F6" in under
    assert len(rows(dialog, "Moved")) > 5
    assert sorted(decision.state for decision in after.decisions.values()) == states
    shift = after.score.end - before.score.end
    assert shift > 0
    (kept,) = (
        one
        for one in after.marks()
        if one.mark.kind == "chord" and one.mark.span.start == chord.mark.span.start + shift
    )
    assert (kept.state, kept.label) == ("accepted", "vi⁷")
    assert window.isWindowModified(), "nothing is written before the user says so"
