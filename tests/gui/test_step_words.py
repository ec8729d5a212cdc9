"""Names of steps in another language: on the undo list, in the menu, after a crash."""

from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.preferences import Preferences
from app.review.edits import Decide, Edit
from app.review.journals import read_journal
from app.step_words import step_words
from app.views import typed_times
from tests.app.test_edit_words import NAMES
from tests.gui.conftest import copy_of_sample, document, open_and_wait, shown_window
from tests.gui.pseudo_language import spoken

#: Names that no edit of the table has.
MORE = (
    "Place a decision", "Remove a leftover", "Remove all leftovers", "Set time", "Move times",
    "Shift all times", "Shift times from here", "Take times from the score", "Reopen V⁷/vi",
    "Another reading of V⁷/vi", "Comment on V⁷/vi", "Undo Accept 3 marks",
)  # fmt: skip


@pytest.mark.parametrize("name", [*sorted({name for _, name in NAMES}), *MORE])
def test_every_name_is_said_in_the_language_and_english_as_it_is(
    qapp: QApplication, name: str
) -> None:
    assert step_words(name) == name
    with spoken(qapp):
        told = step_words(name)
    assert told != name
    assert told[0] == "⟦"


def test_what_a_step_is_about_stays(qapp: QApplication) -> None:
    with spoken(qapp):
        assert "V⁷/vi" in step_words("Accept V⁷/vi")
        assert step_words("A name of a newer program") == "A name of a newer program"


def test_times_name_their_steps_as_the_table_has_them() -> None:
    source = Path(typed_times.__file__).read_text()
    assert all(f'"{name}"' in source for name in MORE[3:8])


def test_undo_speaks_the_language_and_the_journal_english(
    qtbot: QtBot, qapp: QApplication, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    settings = QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)
    with spoken(qapp), shown_window(qtbot, qapp, Preferences(settings)) as window:
        open_and_wait(qtbot, window, copy_of_sample(tmp_path))
        first = next(iter(document(window).shown_marks()))
        edit: Edit = Decide((first.id,), "accepted", "V⁷/vi")
        window.session.perform(edit)
        assert window.session.undo_stack.undoText() == step_words("Accept V⁷/vi")
        assert "V⁷/vi" in window.actions_by_name["undo"].text()
        (journal,) = (tmp_path / "state").rglob("*.journal")
        assert read_journal(journal).last == "Accept V⁷/vi"
        window.session.undo_stack.undo()
        assert read_journal(journal).last == "Undo Accept V⁷/vi"
