"""What of the program can be translated, found in its source.

    python -m tests.gui.interface_texts FOLDER/de.ts      begin, or bring up to date
    pyside6-lrelease FOLDER/de.ts -qm app/translations/de.qm

Qt's own extractor does not know that `said` takes no context, so the source is walked here. What a
file has translated already is kept; what is no longer said is dropped.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from lxml import etree

from app.actions import ROWS
from app.interface_words import CONTEXT
from app.views.export_room_words import FIELD_WORDS, RIGHTS_WORDS

APP = Path(__file__).resolve().parents[2] / "app"
#: The functions that take literals, with how many of them.
SAYERS = {"said": 1, "phrase": 1, "counted": 2}


class Call(NamedTuple):
    """Where one of the functions is called, and with what."""

    name: str
    arguments: tuple[ast.expr, ...]
    values: frozenset[str]
    place: str

    @property
    def texts(self) -> tuple[str, ...]:
        """The literals; fewer than there should be where an argument is none."""
        return tuple(
            one.value
            for one in self.arguments
            if isinstance(one, ast.Constant) and isinstance(one.value, str)
        )


class Text(NamedTuple):
    """A text to translate; a plural one has as many forms as the language."""

    text: str
    plural: bool


def calls() -> Iterator[Call]:
    """All calls in the program's source but in the module of the functions themselves."""
    for path in sorted(APP.rglob("*.py")):
        if path.name == "interface_words.py":
            continue
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name):
                continue
            if node.func.id in SAYERS:
                values = frozenset(one.arg or "**" for one in node.keywords)
                arguments = tuple(node.args[: SAYERS[node.func.id]])
                place = f"{path.relative_to(APP.parent)}:{node.lineno}"
                yield Call(node.func.id, arguments, values, place)


def texts() -> tuple[Text, ...]:
    """All that can be translated, each once."""
    found = [Text(call.texts[-1], call.name == "counted") for call in calls()]
    tables = (*(one for row in ROWS for one in row.phrases), *FIELD_WORDS.values(), RIGHTS_WORDS)
    found += [Text(words, False) for words in tables]
    return tuple(dict.fromkeys(found))


def written(language: str, before: bytes = b"") -> bytes:
    """A file of texts in Qt's format, with what an earlier one has translated."""
    kept = {}
    for message in etree.fromstring(before).iter("message") if before else ():
        kept[message.findtext("source"), message.get("numerus")] = message.find("translation")
    root = etree.Element("TS", version="2.1", language=language)
    context = etree.SubElement(root, "context")
    etree.SubElement(context, "name").text = CONTEXT
    for text, plural in texts():
        message = etree.SubElement(context, "message")
        if plural:
            message.set("numerus", "yes")
        etree.SubElement(message, "source").text = text
        translation = kept.get((text, message.get("numerus")))
        if translation is None:
            translation = etree.Element("translation", type="unfinished")
            if plural:
                etree.SubElement(translation, "numerusform")
        message.append(translation)
    doctype = "<!DOCTYPE TS>"
    return etree.tostring(
        root, encoding="utf-8", xml_declaration=True, pretty_print=True, doctype=doctype
    )


if __name__ == "__main__":
    target = Path(sys.argv[1])
    target.write_bytes(written(target.stem, target.read_bytes() if target.exists() else b""))
