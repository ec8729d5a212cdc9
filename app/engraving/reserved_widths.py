"""The widths that verovio reckons with for text: the letters of Times.

The tables are plain files in the verovio package; they are read, the engine is not loaded. What
verovio has no letter for, it reckons as an ``o``.
"""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Final

from lxml import etree

_UNITS_PER_EM: Final = 2048.0
#: Advance of the stand-ins in Times, in ems: a digit, and a letter with a descender.
_DIGIT, _J = 0.5, 0.2778


@cache
def _advances(bold: bool, italic: bool) -> dict[str, float]:
    spec = find_spec("verovio")
    if spec is None or not spec.submodule_search_locations:
        raise ModuleNotFoundError("verovio", name="verovio")
    name = "Times" + "-bold" * bold + "-italic" * italic + ".xml"
    table = etree.parse(Path(spec.submodule_search_locations[0]) / "data" / "text" / name)
    return {
        chr(int(row.get("c", "20"), 16)): float(row.get("h-a-x") or row.get("w") or 0)
        / _UNITS_PER_EM
        for row in table.getroot().iterfind("g")
    }


def width(text: str, bold: bool = False, italic: bool = False) -> float:
    """Width of a text in ems."""
    advances = _advances(bold, italic)
    return sum(advances.get(character, advances["o"]) for character in text)


def stand_in(ems: float) -> str:
    """A text that verovio reckons as at least so wide and not half an em wider."""
    digits = max(0, int((ems - _J) / _DIGIT))
    text = "0" * digits + "j"
    while width(text) < ems:
        text += "j"
    return text
