"""The whole window in another language: nothing stays English but what is content."""

import dataclasses
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from types import ModuleType

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication, QDialog, QLabel, QWidget
from pytestqt.qtbot import QtBot

from app.export.themes import shipped_themes
from app.export.timecodes import RATES
from app.preferences import Preferences
from app.review.carry_reports import GROUPS, CarryReport, Entry
from app.review.document import Document, ReviewedMark
from app.review.edits import Decide, Reword
from app.review.writing import Writing, written
from app.views import action_finder, export_room_foot, guide_view, welcome_view
from app.views.export_room import ExportRoom
from app.views.recovery_dialog import Lost, RecoveryDialog
from app.views.selections import selection_of_mark
from app.views.typed_corrections import scale_text
from app.views.typing_line import TypingLine
from app.window import Window
from tests.gui.conftest import PATIENCE, copy_of_sample, document, open_and_wait, shown_window
from tests.gui.pseudo_language import spoken, texts_of, untranslated

#: Actions that open a dialog or a line to type in, over a selected mark.
_OPENING = (
    "show_history", "find_action", "show_keys", "show_about", "accept_sure", "choose_writing",
    "choose_parts", "new_mark", "set_key", "type_chord", "rename_section",
)  # fmt: skip
_KEYS = re.compile(
    r"((Ctrl|Alt|Shift|Meta)\+)*([A-Z0-9+=,-]|F\d+|Esc|Del|Return|Up|Down|Left|Right)"
)
#: What is the same in any language: the program's name, kinds of file, an example of a time.
_EVERYWHERE = {"Overstave", "PNG", "SVG", "PDF", "EXR", "C", "x", "s", "T", "S", "D"}


@pytest.fixture
def window(
    qtbot: QtBot, qapp: QApplication, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Window]:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    settings = QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)
    with spoken(qapp), shown_window(qtbot, qapp, Preferences(settings)) as window:
        yield window


def test_nothing_stays_english(qtbot: QtBot, window: Window, tmp_path: Path) -> None:
    found: dict[str, str] = {}

    def look(*more: QWidget) -> None:
        for root in (window, *more):
            found.update((text, where) for where, text in texts_of(root))

    look()
    assert _cut(window.welcome) == []
    window.workbench.show_guide(True)
    open_and_wait(qtbot, window, copy_of_sample(tmp_path))
    look()
    _work(window)
    for mark in document(window).shown_marks():
        window.session.select(selection_of_mark(mark))
        look(window.workbench.detail)
    _compare(qtbot, window)
    look()
    window.actions_by_name["compare"].trigger()
    window.session.select(selection_of_mark(_chord(window)))
    for name in _OPENING:
        window.actions_by_name[name].trigger()
        QApplication.processEvents()
        look()
        _leave(window)
    report = _carry_report()
    window.carried_over.dialog.show_report(report, document(window))
    recovery = RecoveryDialog([Lost(tmp_path / "lost.journal", None, "?")], window)
    look(recovery)
    room = _export_room(qtbot, window)
    look(room)
    assert room.list.width() > 30 * room.fontMetrics().averageCharWidth()
    assert _cut(room) == []
    notes = {note for one in room.list.entries for note in room.list.notes(one.id)}
    room.reject()
    window.close()
    QApplication.processEvents()
    look()
    _leave(window)
    content = _content(document(window)) | {*notes, *_strings(report), report.summary}
    content = {piece for text in content for piece in (text, *_pieces(text))}
    left = {text: where for text, where in found.items() if not _allowed(text, content, tmp_path)}
    assert len(found) > 500
    assert not left, "\n".join(f"{where}: {text!r}" for text, where in left.items())


@pytest.mark.parametrize("module", [welcome_view, action_finder, guide_view, export_room_foot])
def test_a_text_that_is_not_wrapped_is_found(
    qapp: QApplication, monkeypatch: pytest.MonkeyPatch, module: ModuleType
) -> None:
    makers: dict[str, Callable[[], QWidget]] = {
        "welcome_view": welcome_view.WelcomeView,
        "action_finder": lambda: action_finder.ActionFinder([]),
        "guide_view": guide_view.GuideView,
        "export_room_foot": export_room_foot.ExportFoot,
    }
    make = makers[module.__name__.rpartition(".")[2]]
    with spoken(qapp):
        whole = [text for _, text in texts_of(make())]
        monkeypatch.setattr(module, "said", lambda text, **_: text)
        torn = [text for _, text in texts_of(make())]
    nowhere = Path("/nowhere")
    assert all(_allowed(text, set(), nowhere) for text in whole)
    assert not all(_allowed(text, set(), nowhere) for text in torn)


def _work(window: Window) -> None:
    """Some decisions, so that the undo list has steps."""
    marks = list(document(window).shown_marks())
    window.session.perform(Decide(tuple(mark.id for mark in marks[:5]), "accepted"))
    window.session.perform(Reword(marks[5].id, sentence="Said otherwise.", name=marks[5].label))
    window.session.perform(Decide((marks[6].id,), "rejected"))


def _chord(window: Window) -> ReviewedMark:
    return next(mark for mark in document(window).shown_marks() if mark.mark.kind == "chord")


def _compare(qtbot: QtBot, window: Window) -> None:
    """Compare the first pair."""
    window.actions_by_name["compare"].trigger()
    qtbot.waitUntil(lambda: not window.workshop.busy, timeout=PATIENCE)


def _export_room(qtbot: QtBot, window: Window) -> ExportRoom:
    """The export room with all its lists filled."""
    window.actions_by_name["show_export_room"].trigger()
    room = window.exporting.room
    assert room

    def seen() -> bool:
        return room._offer is not None and not window.exporting.previews.busy

    qtbot.waitUntil(seen, timeout=PATIENCE)
    room.list.choose(next(one.id for one in room.list.entries if one.sort == "reveals"))
    qtbot.wait(300)
    qtbot.waitUntil(seen, timeout=PATIENCE)
    return room


def _leave(window: Window) -> None:
    """Close what has been opened over the window."""
    for dialog in window.findChildren(QDialog):
        if dialog.isVisible():
            dialog.reject()
    for line in window.findChildren(TypingLine):
        line.hide()
    QApplication.processEvents()


def _carry_report() -> CarryReport:
    entries = tuple(Entry(group, "V7/vi", f"What was {group}.", "4", "5") for group in GROUPS)
    return CarryReport(("Two measures are new.",), 12, entries)


def _content(document: Document) -> set[str]:
    """What a document says, scales, and names of themes and frame rates."""
    content = {*_strings(document), *_strings(written(document, Writing()))}
    content |= {scale_text(region.key) for region in document.analysis.key_regions}
    content |= {theme.name for theme in shipped_themes().values()}
    return content | {rate.name for rate in RATES}


def _cut(root: QWidget) -> list[str]:
    """Texts in several lines that are higher than the room they have."""
    labels = [one for one in root.findChildren(QLabel) if one.isVisible() and one.wordWrap()]
    return [one.text() for one in labels if one.height() < one.heightForWidth(one.width())]


def _strings(value: object) -> Iterator[str]:
    """All texts anywhere in a value."""
    if isinstance(value, str):
        yield value
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        for field in dataclasses.fields(value):
            yield from _strings(getattr(value, field.name))
    elif isinstance(value, Mapping):
        for pair in value.items():
            yield from _strings(pair)
    elif isinstance(value, Iterable):
        for one in value:
            yield from _strings(one)


def _allowed(text: str, content: set[str], folder: Path) -> bool:
    """Whether all that stands in no brackets is content."""
    rest = untranslated(text)
    return all(
        not _has_word(piece) or piece in content or _is_name(piece, folder)
        for piece in _pieces(rest)
    )


def _pieces(text: str) -> Iterator[str]:
    """What stands between the signs that part one thing from another."""
    for piece in re.split(r" · | – | — |\n| {2,}|\[\*\]|: ", text):
        yield piece.strip(" .·:")


def _has_word(text: str) -> bool:
    return any(character.isalpha() for character in text)


def _is_name(text: str, folder: Path) -> bool:
    """Whether it is a key, a file, or a name that is the same everywhere."""
    return bool(
        text in _EVERYWHERE
        or _KEYS.fullmatch(text)
        or text.startswith(str(folder))
        or re.fullmatch(r"[\w/…-]+\.[a-z]{2,8}|\{\w+\}", text)
    )
