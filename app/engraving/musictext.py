"""Text with music in it: numerals, chord symbols and sentences set as glyph outlines.

The task: a label such as ``♭VII⁷``, ``V⁶₅/vi``, ``B♭m7(♭5)/D♭`` or ``viiø⁷``, or a sentence that
holds such labels, becomes glyphs at known places: letters from the text font, accidentals as music
signs, figures raised, lowered or stacked.

Method, in two steps. `read_text` and `read_chord_symbol` split a string into runs, each a piece of
text with the place where it stands; `set_runs` walks along the runs and places each glyph by the
fonts' own advances and kerning. Nothing here knows a painter; `SetText.shapes` gives shapes like
those of the engraved page.

Conventions. Numerals may come with typographic figures (``V⁶₅``) or plain ones, as RomanText has
them (``V65``, ``bVII7``, ``viio7``, ``vii%7``): both are set alike, figures of two rows stacked. In
chord symbols the root and an ``m`` stand on the line, everything that qualifies them is raised
(common practice, no source). Lengths are in the unit of ``size``, the em; y goes down, and 0 is the
baseline.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

from analysis.vocabulary.note_names import Naming, read_name_at, written_name
from app.engraving.metrics import (
    UNITS_PER_EM,
    Face,
    Glyph,
    kerning,
    letter,
    sign,
)
from app.engraving.pages import Box, GlyphShape, Shape, TextShape

Place = Literal["line", "raised", "lowered", "upper", "lower"]


@dataclass(frozen=True, slots=True)
class Run:
    """Text in one place. ``upper`` and ``lower`` are the rows of a stack, always in this order."""

    text: str
    place: Place = "line"


@dataclass(frozen=True, slots=True)
class PlacedGlyph:
    """A glyph with its origin, relative to the text's start on the baseline; scale from units."""

    glyph: Glyph
    x: float
    y: float
    scale: float

    @property
    def box(self) -> Box:
        """Its ink."""
        x, y, width, height = self.glyph.box
        scale = self.scale
        return (self.x + x * scale, self.y + y * scale, width * scale, height * scale)


@dataclass(frozen=True, slots=True)
class SetText:
    """Text that has been set: its glyphs, advance width, and ink from ``top`` to ``bottom``.

    ``top`` is negative above the baseline; both are 0 for text without ink.
    """

    glyphs: tuple[PlacedGlyph, ...]
    size: float
    width: float
    top: float
    bottom: float

    @property
    def height(self) -> float:
        """Height of the ink."""
        return self.bottom - self.top

    def box(self, x: float, y: float) -> Box:
        """The box it fills when it starts at x on the baseline y: advance width by ink height."""
        return (x, y + self.top, self.width, self.height)

    def shapes(
        self, x: float, y: float, *, element: str = "", role: str = "label"
    ) -> Iterator[Shape]:
        """The glyphs as shapes of a page, started at x on the baseline y."""
        for placed in self.glyphs:
            if not placed.glyph.outline:
                continue
            font, _, name = placed.glyph.name.partition("/")
            at_x, at_y = x + placed.x, y + placed.y
            if font == "sign":
                yield GlyphShape(element, role, name, at_x, at_y, placed.scale)
            else:
                yield TextShape(element, role, name, at_x, at_y, placed.scale * UNITS_PER_EM, font)


_RAISED: Final = "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻⁽⁾"
_LOWERED: Final = "₀₁₂₃₄₅₆₇₈₉₊₋₍₎"
_PLAIN: Final = str.maketrans(_RAISED + _LOWERED, "0123456789+−()" * 2)
#: Figures of two rows, as written in one.
_STACKS: Final = frozenset({"65", "64", "63", "54", "53", "43", "42"})
_SPELLED: Final = str.maketrans({"♭": "b", "♯": "#", "♮": "n", "°": "o", "ø": "o", "−": "-"})
_ACCIDENTALS: Final = str.maketrans({"b": "♭", "#": "♯"})
#: Characters that the text font lacks and others stand for.
_SUBSTITUTES: Final = str.maketrans({"△": "Δ", "∆": "Δ", "\u202f": "\u2009", "′": "'", "″": "''"})

_NUMERAL: Final = re.compile(
    r"""(?<![A-Za-z0-9])
    (?P<sub>(?:sub)?)(?P<signs>[b♭\#♯♮]*)
    (?P<degree>VII|VI|IV|V|III|II|I|vii|vi|iv|v|iii|ii|i|Cad|Ger|Fr|It|N)
    (?P<quality>(?:(?<=[iv])o)?[°ø%+⁺]?)
    (?P<figures>(?:maj|M|Δ)?\d*(?:(?:sus|add|[b♭\#♯])\d+)*)
    (?P<more>(?:\((?:[b♭\#♯♮,⁰¹²³⁴⁵⁶⁷⁸⁹]|\d|add|no|sus)+\))*)
    (?![A-Za-z])""",
    re.VERBOSE,
)
_FIGURES: Final = re.compile(
    rf"(?P<bracket>(?<=[ivIVø°{_RAISED}])\((?:add|no|sus)?[♭♯♮]?[{_RAISED}]+\))"
    rf"|(?P<upper>(?:(?<=[ivIVø°{_RAISED}])(?:sus|add|maj|no))?"
    rf"[{_RAISED}]+(?:(?:[♭♯♮]|sus|add|no)[{_RAISED}]+)*)(?P<lower>[{_LOWERED}]*)"
    rf"|(?P<lowered>[{_LOWERED}]+)"
)
_NOTE_NAME: Final = re.compile(
    r"(?<![A-Za-z])([A-G])([b#])(?=[^A-Za-z#]|$|m(?![a-z])|maj|min|dim|aug|sus|add)"
)
_DEGREE: Final = re.compile(r"(?<![A-Za-z0-9])[b#]+(?=\d)")
_CHORD: Final = re.compile(
    r"(?P<root>[A-G])(?P<signs>[b♭#♯𝄫𝄪]*)(?P<line>(?:m(?!aj))?°?)(?P<rest>.*)"
)


def read_text(text: str) -> tuple[Run, ...]:
    """Runs of a sentence or label: typographic figures, accidentals, numerals found in it.

    Examples
    --------
    >>> [(run.text, run.place) for run in read_text("bVII7")]
    [('♭VII', 'line'), ('7', 'raised')]
    >>> [(run.text, run.place) for run in read_text("V⁶₅/vi")]
    [('V', 'line'), ('6', 'upper'), ('5', 'lower'), ('/vi', 'line')]
    """
    text = text.translate(_SUBSTITUTES)
    runs: list[Run] = []
    start = 0
    for match in _NUMERAL.finditer(text):
        runs += _figure_runs(text[start : match.start()])
        runs += _numeral_runs(match)
        start = match.end()
    runs += _figure_runs(text[start:])
    return _joined(runs)


def read_chord_symbol(text: str, naming: Naming = "english") -> tuple[Run, ...]:
    """Runs of a chord symbol: ``Bbm7(b5)/Db`` and ``B♭m7(♭5)/D♭`` give the same.

    It is read in English letters and set in those of ``naming``.

    Examples
    --------
    >>> [(run.text, run.place) for run in read_chord_symbol("Bbm7(b5)/Db")]
    [('B♭m', 'line'), ('7(♭5)', 'raised'), ('/D♭', 'line')]
    """
    runs: list[Run] = []
    # The slash of 6/9 parts no bass note.
    for at, part in enumerate(re.split(r"/(?=[A-G])", text.translate(_SUBSTITUTES))):
        runs += [Run("/")] if at else []
        match = _CHORD.fullmatch(part)
        if match is None:
            runs += _figure_runs(part)
            continue
        runs.append(Run(match["root"] + match["signs"].translate(_ACCIDENTALS) + match["line"]))
        rest = re.sub(r"b(?=\d)", "♭", match["rest"].translate(_PLAIN)).replace("#", "♯")
        runs.append(Run(rest, "raised"))
    joined = _joined(runs)
    if naming == "english":
        return joined
    return tuple(_named(run, naming) if run.place == "line" else run for run in joined)


def _named(run: Run, naming: Naming) -> Run:
    """A run with the note names at its beginning and after a slash in other letters."""
    parts = []
    for part in run.text.split("/"):
        found = read_name_at(part)
        parts.append(written_name(found[0], naming) + part[found[1] :] if found else part)
    return Run("/".join(parts), run.place)


def plain_text(text: str) -> str:
    """The text in plain letters: figures on the line, ♭ as b, ♯ as #, ° as o.

    Examples
    --------
    >>> plain_text("♭VII⁷, vii°⁷/V")
    'bVII7, viio7/V'
    """
    return text.translate(_PLAIN).translate(_SPELLED)


def _numeral_runs(match: re.Match[str]) -> Iterator[Run]:
    """Runs of one numeral; a bare one is text on the line like any word."""
    yield Run(match["sub"] + match["signs"].translate(_ACCIDENTALS) + match["degree"])
    quality = match["quality"].replace("o", "°").replace("%", "ø").translate(_PLAIN)
    # The degree sign is drawn raised in the font itself.
    yield Run(quality, "line" if quality == "°" else "raised")
    figures = match["figures"]
    if figures in _STACKS:
        yield Run(figures[0], "upper")
        yield Run(figures[1], "lower")
    else:
        yield Run(figures.translate(_ACCIDENTALS), "raised")
    more = match["more"].translate(_PLAIN)
    yield Run(re.sub(r"b(?=\d)", "♭", more).replace("#", "♯"), "raised")


def _figure_runs(text: str) -> Iterator[Run]:
    """Runs of text that holds no plain numeral: typographic figures and names of notes."""
    text = _NOTE_NAME.sub(lambda match: match[1] + match[2].translate(_ACCIDENTALS), text)
    text = _DEGREE.sub(lambda match: match[0].translate(_ACCIDENTALS), text)
    start = 0
    for match in _FIGURES.finditer(text):
        yield Run(text[start : match.start()])
        if match["bracket"]:
            yield Run(match["bracket"].translate(_PLAIN), "raised")
        elif match["lowered"]:
            yield Run(match["lowered"].translate(_PLAIN), "lowered")
        elif match["lower"]:
            yield Run(match["upper"].translate(_PLAIN), "upper")
            yield Run(match["lower"].translate(_PLAIN), "lower")
        else:
            yield Run(match["upper"].translate(_PLAIN), "raised")
        start = match.end()
    yield Run(text[start:])


def _joined(runs: Iterable[Run]) -> tuple[Run, ...]:
    """The runs without empty ones, neighbours in one place made one."""
    joined: list[Run] = []
    for run in runs:
        if not run.text:
            continue
        if joined and joined[-1].place == run.place and run.place not in ("upper", "lower"):
            joined[-1] = Run(joined[-1].text + run.text, run.place)
        else:
            joined.append(run)
    return tuple(joined)


def set_runs(runs: Iterable[Run], size: float, face: Face = "regular") -> SetText:
    """Place each glyph of the runs; ``size`` is the em of what stands on the line."""
    glyphs: list[PlacedGlyph] = []
    x = stack = 0.0
    for run in runs:
        scale, shift = _PLACES[run.place]
        # Small figures take the next heavier face, so that their strokes match the line's.
        own = face if run.place == "line" else _HEAVIER[face]
        if run.place != "lower":
            stack = x
        x = max(x, _place(run.text, stack, shift * size, scale * size, own, glyphs))
    inked = [placed.box for placed in glyphs if placed.glyph.outline]
    top = min((box[1] for box in inked), default=0.0)
    bottom = max((box[1] + box[3] for box in inked), default=0.0)
    return SetText(tuple(glyphs), size, x, top, bottom)


# The same few labels stand all over a piece, and are set again at each decision near them.
@lru_cache(maxsize=4096)
def set_text(text: str, size: float, face: Face = "regular") -> SetText:
    """A sentence or numeral label on one line."""
    return set_runs(read_text(text), size, face)


def set_chord_symbol(
    text: str, size: float, face: Face = "regular", naming: Naming = "english"
) -> SetText:
    """A chord symbol on one line, its English letters set as ``naming`` has them."""
    return set_runs(read_chord_symbol(text, naming), size, face)


def break_lines(
    text: str, size: float, width: float, face: Face = "regular"
) -> tuple[SetText, ...]:
    """A paragraph in as few lines as fit the width, broken at spaces so that they are even.

    A word wider than the width stands alone on its line and juts out. Among all breaks with the
    fewest lines the one whose lengths differ least (in squares) is taken.
    """
    words = [word for word in re.split(r"[ \t\n]+", text) if word]
    widths = [set_text(word, size, face).width for word in words]
    space = letter(" ", face).advance * size / UNITS_PER_EM
    lines = _even_lines(widths, space, width)
    return tuple(set_text(" ".join(words[start:end]), size, face) for start, end in lines)


def _even_lines(widths: list[float], space: float, width: float) -> list[tuple[int, int]]:
    """First and past-the-last word of each line, by dynamic programming from the end."""
    count = len(widths)
    # best[i]: (lines, sum of squared lengths, end of the first line) for the words from i on.
    best: list[tuple[int, float, int]] = [(0, 0.0, count)] * (count + 1)
    for start in range(count - 1, -1, -1):
        length = -space
        choices = []
        for end in range(start + 1, count + 1):
            length += space + widths[end - 1]
            if length > width + 1e-9 and end > start + 1:
                break
            lines, squares, _ = best[end]
            choices.append((lines + 1, squares + length * length, end))
        best[start] = min(choices)
    lines_found = []
    start = 0
    while start < count:
        lines_found.append((start, best[start][2]))
        start = best[start][2]
    return lines_found


#: Size against the line's, and shift of the baseline in ems of the line, of each place.
_PLACES: Final[dict[Place, tuple[float, float]]] = {
    "line": (1.0, 0.0),
    "raised": (0.64, -0.31),
    "lowered": (0.64, 0.14),
    "upper": (0.58, -0.42),
    "lower": (0.58, 0.10),
}
#: SMuFL code point, scale against the letters, shift of its origin in ems, space at both sides.
_SIGNS: Final[dict[str, tuple[str, float, float, float]]] = {
    "♭": ("E260", 1.32, -0.225, 0.03),
    "♮": ("E261", 1.22, -0.345, 0.04),
    "♯": ("E262", 1.16, -0.345, 0.03),
    "𝄪": ("E263", 1.3, -0.345, 0.03),
    "𝄫": ("E264", 1.32, -0.225, 0.03),
}
#: How far a figure moves in under the degree sign, in units.
_TUCK: Final = 70
_HEAVIER: Final[dict[Face, Face]] = {
    "regular": "medium",
    "italic": "italic",
    "medium": "semibold",
    "semibold": "bold",
    "bold": "bold",
}


def _place(
    text: str, x: float, y: float, size: float, face: Face, glyphs: list[PlacedGlyph]
) -> float:
    """Add the glyphs of one run and return where the next one starts."""
    scale = size / UNITS_PER_EM
    before = ""
    for character in text:
        if character in _SIGNS:
            codepoint, factor, shift, space = _SIGNS[character]
            glyph = sign(codepoint)
            x += space * size
            glyphs.append(PlacedGlyph(glyph, x, y + shift * size, scale * factor))
            x += glyph.advance * scale * factor + space * size
            before = ""
            continue
        glyph = letter(character, face)
        if before:
            x += kerning(before, character, face) * scale
        glyphs.append(PlacedGlyph(glyph, x, y, scale))
        x += (glyph.advance - (_TUCK if character == "°" else 0)) * scale
        before = character
    return x
