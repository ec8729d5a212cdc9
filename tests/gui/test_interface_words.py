"""Texts of the window can be found for translation, and a translation is used."""

import ast
import string
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from lxml import etree
from PySide6.QtCore import QCoreApplication, QLocale, QTranslator

from app.interface_words import counted, install_translation, phrase, said
from tests.gui.interface_texts import APP, SAYERS, calls, texts, written

#: Calls whose texts a person reads, as far as a text stands in them.
SHOWN = {
    "QAction", "QCheckBox", "QGroupBox", "QLabel", "QMenu", "QPushButton", "QRadioButton",
    "addAction", "addButton", "addItem", "addMenu", "addRow", "addTab", "ask", "drawText",
    "setAccessibleDescription", "setAccessibleName", "setEmptyLabel", "setHeaderLabels",
    "setHorizontalHeaderLabels", "setInformativeText", "setLabelText", "setPlaceholderText",
    "setPrefix", "setStatusTip", "setSuffix", "setTabToolTip", "setText", "setTitle",
    "setToolTip", "setWhatsThis", "setWindowTitle", "showMessage", "showText", "_tell", "_text",
}  # fmt: skip
#: The program's name is the same in any language.
EVERYWHERE = {"Overstave"}


def test_every_text_is_a_literal_that_can_be_found() -> None:
    for call in calls():
        assert len(call.texts) == SAYERS[call.name], f"{call.place}: {call.name} takes literals"
        assert all(text.strip() for text in call.texts), call.place
    assert len(texts()) > 400


def test_values_stand_in_texts_by_name() -> None:
    for call in calls():
        for text in call.texts:
            names = {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}
            given = call.values | ({"count"} if call.name == "counted" else set())
            assert "" not in names, f"{call.place}: a value without a name"
            if call.name != "phrase" and call.values | names:
                assert names <= given, f"{call.place}: {names - given} has no value"
                assert call.values <= names, f"{call.place}: {call.values - names} is not said"


def test_no_text_that_is_shown_is_written_without_them() -> None:
    bare = [place for path in _window_files() for place in _bare_texts(path)]
    assert not bare, "\n".join(bare)


def test_a_text_without_the_function_is_noticed(tmp_path: Path) -> None:
    path = tmp_path / "views.py"
    path.write_text(
        "label.setText('Not said')\nlabel.setText(f'{n} marks')\nlabel.setText(said('x'))\n"
    )
    assert len(list(_bare_texts(path))) == 2


def test_without_a_translation_the_text_itself_is_said() -> None:
    assert said("Nothing yet") == "Nothing yet"
    assert said("Saved {path}", path="a {b}") == "Saved a {b}"
    assert counted("One mark", "{count} marks", 1) == "One mark"
    assert counted("One mark", "{count} marks", 0) == "0 marks"
    assert phrase("{ending}") == "{ending}"


def test_a_translation_is_loaded_for_the_language(tmp_path: Path, qapp: QCoreApplication) -> None:
    root = etree.fromstring(written("de"))
    _translate(root, "Saved {path}", "{path} ist gesichert")
    _translate(
        root, "{count} marks accepted", "{count} Zeichen angenommen", "{count} Zeichen (alle)"
    )
    source = tmp_path / "de.ts"
    source.write_bytes(etree.tostring(root))
    release = Path(sys.executable).with_name("pyside6-lrelease")
    if not release.exists():
        pytest.skip("no pyside6-lrelease beside this Python")
    subprocess.run([release, source, "-qm", tmp_path / "de.qm"], check=True, capture_output=True)
    assert not install_translation(qapp, QLocale("fr_FR"), tmp_path)
    assert install_translation(qapp, QLocale("de_AT"), tmp_path)
    try:
        assert said("Saved {path}", path="a.json") == "a.json ist gesichert"
        assert said("Cancelled") == "Cancelled"
        marks = "One mark accepted", "{count} marks accepted"
        assert counted(*marks, 1) == "1 Zeichen angenommen"
        assert counted(*marks, 3) == "3 Zeichen (alle)"
    finally:
        for translator in qapp.findChildren(QTranslator):
            qapp.removeTranslator(translator)


def test_what_is_translated_stays_when_texts_are_found_again() -> None:
    root = etree.fromstring(written("de"))
    _translate(root, "Saved {path}", "{path} ist gesichert")
    again = etree.fromstring(written("de", etree.tostring(root)))
    assert "{path} ist gesichert" in [node.text for node in again.iter("translation")]
    assert len(list(again.iter("message"))) == len(texts())


def _translate(root: etree._Element, text: str, *forms: str) -> None:
    message = next(one for one in root.iter("message") if one.findtext("source") == text)
    translation = message.find("translation")
    assert translation is not None
    del translation.attrib["type"]
    if message.get("numerus") is None:
        translation.text = forms[0]
        return
    for old in list(translation):
        translation.remove(old)
    for form in forms:
        etree.SubElement(translation, "numerusform").text = form


def _window_files() -> Iterator[Path]:
    yield from sorted((APP / "views").glob("*.py"))
    command_line = {"arguments.py", "cli.py", "commands.py", "picture_commands.py"}
    yield from (path for path in sorted(APP.glob("*.py")) if path.name not in command_line)


def _bare_texts(path: Path) -> Iterator[str]:
    """Where texts with words in them are shown that no function of translation has seen."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Call) and _name(node.func) in SHOWN | {"emit"}:
            if _name(node.func) == "emit" and not _tells(node.func):
                continue
            for argument in (*node.args, *(one.value for one in node.keywords)):
                for text in _literals(argument):
                    words = [word for word in _words(text) if len(word) > 1]
                    if set(words) - EVERYWHERE:
                        yield f"{path.name}:{node.lineno}: {text!r}"


def _literals(node: ast.expr) -> Iterator[str]:
    """Literals of an expression that end in its value, not those inside other calls."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.JoinedStr):
        for part in node.values:
            yield from _literals(part)
    elif isinstance(node, ast.IfExp):
        yield from _literals(node.body)
        yield from _literals(node.orelse)
    elif isinstance(node, ast.BinOp):
        yield from _literals(node.left)
        yield from _literals(node.right)
    elif isinstance(node, ast.BoolOp):
        for one in node.values:
            yield from _literals(one)
    elif isinstance(node, ast.List | ast.Tuple):
        for one in node.elts:
            yield from _literals(one)
    elif isinstance(node, ast.Dict):
        for key in node.keys:
            yield from _literals(key) if key is not None else ()


def _words(text: str) -> list[str]:
    return "".join(one if one.isalpha() else " " for one in text).split()


def _name(node: ast.expr) -> str:
    return node.attr if isinstance(node, ast.Attribute) else getattr(node, "id", "")


def _tells(node: ast.expr) -> bool:
    """Whether a signal is one whose text the status bar shows."""
    return isinstance(node, ast.Attribute) and _name(node.value) in ("told", "progressed")
