"""Text of verovio's drawing: nested runs, set again in the text font.

Verovio reckons with the narrower letters of Times. Fira Sans at 85 % of the size has the same
height of small letters and on average 94 % of the width; what is wider still is squeezed into the
room that was kept for it, so that syllables never touch. Music signs within text, as in a metronome
mark, are signs here too.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final, NamedTuple
from xml.etree.ElementTree import Element

from app.engraving import reserved_widths
from app.engraving.bounds import text_width
from app.engraving.metrics import UNITS_PER_EM, Face, sign
from app.engraving.pages import GlyphShape, Shape, TextShape
from app.engraving.svg_paths import UNIT

#: Size of the text font to that of Times.
TEXT_SCALE: Final = 0.85
#: Gap between letters and a music sign where the source has no space, in ems.
_GAP: Final = 0.2


class Style(NamedTuple):
    """What the classes of the groups around a text say of its letters."""

    bold: bool = False
    italic: bool = False

    @property
    def face(self) -> Face:
        """The face that it is set in; there is no bold italic."""
        return "bold" if self.bold else "italic" if self.italic else "regular"


class _Run(NamedTuple):
    """Letters, or music signs, of one size; ``size`` is verovio's, in page units to the em."""

    text: str
    size: float
    style: Style
    music: bool

    @property
    def natural(self) -> float:
        """Width in page units as the font has it."""
        if self.music:
            units = sum(sign(_code(character)).advance for character in self.text)
            return units * self.size / UNITS_PER_EM
        return text_width(self.text, self.style.face, self.size * TEXT_SCALE)

    @property
    def room(self) -> float:
        """Width in page units that verovio has kept."""
        return reserved_widths.width(self.text, *self.style) * self.size


def text_shapes(
    node: Element, element: str, role: str, style: Style, x: float, y: float
) -> Iterator[Shape]:
    """The shapes of a ``text``: its runs one after the other, anchored as a whole."""
    runs = [run for run in _runs(node, 0.0, style, music=False) if run.text]
    if not runs:
        return
    naturals = [run.natural for run in runs]
    widths = [
        natural if run.music else min(natural, run.room)
        for run, natural in zip(runs, naturals, strict=True)
    ]
    gaps = [
        _GAP * run.size if after.music and not run.text.endswith((" ", "\u00a0")) else 0.0
        for run, after in pairwise(runs)
    ]
    share = {"middle": 0.5, "end": 1.0}.get(node.get("text-anchor", ""), 0.0)
    left = (float(node.get("x", "0")) + x) * UNIT - share * (sum(widths) + sum(gaps))
    base = (float(node.get("y", "0")) + y) * UNIT
    for run, natural, width, gap in zip(runs, naturals, widths, [*gaps, 0.0], strict=True):
        if run.music:
            yield from _sign_shapes(run, element, role, left, base)
        elif run.text.strip():
            size = run.size * TEXT_SCALE
            squeeze = width / natural
            yield TextShape(element, role, run.text, left, base, size, run.style.face, squeeze)
        left += width + gap


def _runs(node: Element, size: float, style: Style, *, music: bool) -> Iterator[_Run]:
    """The pieces of a text with what holds for each."""
    attributes = node.attrib
    if "font-size" in attributes:
        size = float(attributes["font-size"].removesuffix("px")) * UNIT
    if "font-weight" in attributes:
        style = style._replace(bold=attributes["font-weight"] == "bold")
    if "font-style" in attributes:
        style = style._replace(italic=attributes["font-style"] == "italic")
    music = music or "font-family" in attributes
    if node.text and size:
        yield _Run(node.text, size, style, music)
    for child in node:
        yield from _runs(child, size, style, music=music)


def _sign_shapes(run: _Run, element: str, role: str, x: float, y: float) -> Iterator[Shape]:
    scale = run.size / UNITS_PER_EM
    for character in run.text:
        yield GlyphShape(element, role, _code(character), x, y, scale)
        x += sign(_code(character)).advance * scale


def _code(character: str) -> str:
    return f"{ord(character):04X}"
