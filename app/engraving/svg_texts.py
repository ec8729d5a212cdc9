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


class _Line(NamedTuple):
    """Runs one after the other, anchored as a whole; ``x, y`` in the drawing's units."""

    x: float
    y: float
    anchor: str
    runs: list[_Run]


def text_shapes(
    node: Element, element: str, role: str, style: Style, x: float, y: float
) -> Iterator[Shape]:
    """The shapes of a ``text``, line by line."""
    lines = [_Line(0.0, 0.0, "start", [])]
    _gather(node, _Run("", 0.0, style, music=False), lines)
    for line in lines:
        if line.runs:
            yield from _line_shapes(line, element, role, (line.x + x) * UNIT, (line.y + y) * UNIT)


def _gather(node: Element, holding: _Run, lines: list[_Line]) -> None:
    """Add the pieces of a text, each with what holds for it; a place of its own begins a line."""
    attributes = node.attrib
    if "x" in attributes or "y" in attributes:
        before = lines[-1]
        lines.append(
            _Line(
                float(attributes.get("x", before.x)),
                float(attributes.get("y", before.y)),
                attributes.get("text-anchor", before.anchor),
                [],
            )
        )
    size, style = holding.size, holding.style
    if "font-size" in attributes:
        size = float(attributes["font-size"].removesuffix("px")) * UNIT
    if "font-weight" in attributes:
        style = style._replace(bold=attributes["font-weight"] == "bold")
    if "font-style" in attributes:
        style = style._replace(italic=attributes["font-style"] == "italic")
    holding = _Run(node.text or "", size, style, holding.music or "font-family" in attributes)
    if holding.text and size:
        lines[-1].runs.append(holding)
    for child in node:
        if not child.tag.endswith("title"):
            _gather(child, holding, lines)


def _line_shapes(line: _Line, element: str, role: str, x: float, y: float) -> Iterator[Shape]:
    """The shapes of one line at its place on the page."""
    runs = line.runs
    naturals = [run.natural for run in runs]
    widths = [
        natural if run.music else min(natural, run.room)
        for run, natural in zip(runs, naturals, strict=True)
    ]
    gaps = [
        _GAP * run.size if after.music and not run.text.endswith((" ", "\u00a0")) else 0.0
        for run, after in pairwise(runs)
    ]
    x -= {"middle": 0.5, "end": 1.0}.get(line.anchor, 0.0) * (sum(widths) + sum(gaps))
    for run, natural, width, gap in zip(runs, naturals, widths, [*gaps, 0.0], strict=True):
        if run.music:
            yield from _sign_shapes(run, element, role, x, y)
        elif run.text.strip() and natural:  # characters of no width leave nothing to see
            size = run.size * TEXT_SCALE
            yield TextShape(element, role, run.text, x, y, size, run.style.face, width / natural)
        x += width + gap


def _sign_shapes(run: _Run, element: str, role: str, x: float, y: float) -> Iterator[Shape]:
    scale = run.size / UNITS_PER_EM
    for character in run.text:
        yield GlyphShape(element, role, _code(character), x, y, scale)
        x += sign(_code(character)).advance * scale


def _code(character: str) -> str:
    return f"{ord(character):04X}"
