"""Outlines and widths of letters and music signs, read from the font files themselves.

All text of marks, stills and cards is set by arithmetic and painted as outlines, never through the
machine's text system: the widths used for laying out are then the widths that are painted, to the
unit, and a picture has the same bytes wherever it is made.

Letters come from the font package's Fira Sans, read by fontTools. Music signs (accidentals) come
from the SMuFL outlines that the verovio package carries as plain files beside its engine; the files
are read, the engine is not loaded.

Conventions: 1000 units to the em in both fonts, x to the right, y *down*, the origin on the
baseline at the glyph's left. Pair kerning follows the font's GPOS table; ligatures are not formed.

References
----------
OpenType 1.9, chapters *glyf*, *hmtx* and *GPOS* (pair adjustment). SMuFL 1.4, *Standard accidentals
(12-EDO)* and *Metrics and glyph registration for scoring applications*: 1 em is four staff spaces.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final, Literal

from fontTools.pens.basePen import decomposeQuadraticSegment
from fontTools.pens.recordingPen import DecomposingRecordingPen, RecordingPen
from fontTools.svgLib.path import parse_path
from fontTools.ttLib import TTFont
from lxml import etree

from app.engraving.pages import Box, PathCommand

Face = Literal["regular", "italic", "medium", "semibold", "bold"]
Outline = tuple[PathCommand, ...]

UNITS_PER_EM: Final = 1000
#: Height of capitals above the baseline, in units; equal in all faces used.
CAP_HEIGHT: Final = 689

_FILES: Final[dict[Face, str]] = {
    "regular": "FiraSans-Regular.ttf",
    "italic": "FiraSans-Italic.ttf",
    "medium": "FiraSans-Medium.ttf",
    "semibold": "FiraSans-SemiBold.ttf",
    "bold": "FiraSans-Bold.ttf",
}
#: Degrees clockwise from the arrow to the right.
_TURNED: Final = {"↗": -45.0, "↘": 45.0, "↖": -135.0, "↙": 135.0}
_SIGN_FONT: Final = "Bravura"


@dataclass(frozen=True, slots=True)
class Glyph:
    """One letter or sign: outline, advance width and ink box, in units; a space has no ink."""

    name: str
    outline: Outline
    advance: float
    box: Box


@cache
def letter(character: str, face: Face = "regular") -> Glyph:
    """The glyph of one character; the font's empty box where the font lacks it.

    Slanted arrows, which the font lacks, are its straight one turned.
    """
    if character in _TURNED:
        return _turned(character, _TURNED[character], face)
    font = _font(face)
    glyphs = font.getGlyphSet()
    name = _glyph_name(character, face)
    pen = DecomposingRecordingPen(glyphs)
    glyphs[name].draw(pen)
    outline = tuple(_flipped(_commands(pen.value)))
    return Glyph(f"{face}/{character}", outline, float(glyphs[name].width), path_box(outline))


def _turned(character: str, degrees: float, face: Face) -> Glyph:
    """The arrow to the right, turned clockwise about the middle of its ink."""
    arrow = letter("→", face)
    x, y, width, height = arrow.box
    middle_x, middle_y = x + width / 2, y + height / 2
    sine, cosine = math.sin(math.radians(degrees)), math.cos(math.radians(degrees))

    def turned(numbers: tuple[float, ...]) -> Iterator[float]:
        for u, v in zip(numbers[::2], numbers[1::2], strict=True):
            yield middle_x + (u - middle_x) * cosine - (v - middle_y) * sine
            yield middle_y + (u - middle_x) * sine + (v - middle_y) * cosine

    outline: Outline = tuple((command[0], *turned(command[1:])) for command in arrow.outline)
    return Glyph(f"{face}/{character}", outline, arrow.advance, path_box(outline))


@cache
def sign(codepoint: str) -> Glyph:
    """A SMuFL sign by its code point in hexadecimal, such as ``"E260"`` for the flat."""
    folder = _sign_folder()
    drawing = etree.parse(folder / _SIGN_FONT / f"{codepoint}.xml").getroot()
    pen = RecordingPen()
    # The files draw y upwards and flip the path by its transform; so do letters, so it is left out.
    for path in drawing.iter("path"):
        parse_path(path.attrib["d"], pen)
    outline = tuple(_flipped(_commands(pen.value)))
    return Glyph(f"sign/{codepoint}", outline, _sign_advances()[codepoint], path_box(outline))


def outline(name: str) -> Outline:
    """The outline that a `Glyph.name` stands for."""
    font, _, character = name.partition("/")
    glyph = sign(character) if font == "sign" else letter(character, _face(font))
    return glyph.outline


@cache
def kerning(left: str, right: str, face: Face = "regular") -> float:
    """How much closer (negative) or farther apart the font sets two neighbours, in units."""
    first, second = _glyph_name(left, face), _glyph_name(right, face)
    return sum(_lookup_adjustment(tables, first, second) for tables in _pair_lookups(face))


def path_box(path: Iterable[PathCommand]) -> Box:
    """The exact box of a path, curves by their extremes; all zeros for an empty one."""
    xs: list[float] = []
    ys: list[float] = []
    x = y = 0.0
    for command in path:
        if command[0] == "C":
            x1, y1, x2, y2, x3, y3 = command[1:]
            xs += _cubic_range(x, x1, x2, x3)
            ys += _cubic_range(y, y1, y2, y3)
            x, y = x3, y3
        elif command[0] != "Z":
            x, y = command[1:]
            xs.append(x)
            ys.append(y)
    if not xs:
        return (0.0, 0.0, 0.0, 0.0)
    return (min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


def _face(name: str) -> Face:
    for face in _FILES:
        if face == name:
            return face
    raise KeyError(name)


@cache
def _font(face: Face) -> TTFont:
    resource = files("fontpkg_fira_sans") / "files" / _FILES[face]
    # Tables are unpacked when asked for: the kerning alone would take half a second a face.
    return TTFont(io.BytesIO(resource.read_bytes()), lazy=True)


def _glyph_name(character: str, face: Face) -> str:
    name: str = _font(face).getBestCmap().get(ord(character), ".notdef")
    return name


def _sign_folder() -> Path:
    spec = find_spec("verovio")
    if spec is None or not spec.submodule_search_locations:
        raise ModuleNotFoundError("verovio", name="verovio")
    return Path(spec.submodule_search_locations[0]) / "data"


@cache
def _sign_advances() -> dict[str, float]:
    table = etree.parse(_sign_folder() / f"{_SIGN_FONT}.xml").getroot()
    return {str(row.attrib["c"]): float(row.attrib["h-a-x"]) for row in table.iterfind("g")}


def _commands(recorded: Iterable[tuple[str, tuple[Any, ...]]]) -> Iterator[PathCommand]:
    """Pen records as absolute commands, quadratic curves raised to cubic ones."""
    x = y = 0.0
    for name, points in recorded:
        if name == "moveTo":
            ((x, y),) = points
            yield ("M", x, y)
        elif name == "lineTo":
            ((x, y),) = points
            yield ("L", x, y)
        elif name == "curveTo":
            (x1, y1), (x2, y2), (x3, y3) = points
            yield ("C", x1, y1, x2, y2, x3, y3)
            x, y = x3, y3
        elif name == "qCurveTo":
            for (qx, qy), (x3, y3) in decomposeQuadraticSegment(points):
                first = (x + (qx - x) * 2 / 3, y + (qy - y) * 2 / 3)
                second = (x3 + (qx - x3) * 2 / 3, y3 + (qy - y3) * 2 / 3)
                yield ("C", *first, *second, x3, y3)
                x, y = x3, y3
        else:
            yield ("Z",)


def _flipped(path: Iterable[PathCommand]) -> Iterator[PathCommand]:
    for name, *numbers in path:
        yield (name, *(-v if at % 2 else v for at, v in enumerate(numbers)))


def _cubic_range(p0: float, p1: float, p2: float, p3: float) -> list[float]:
    """End points and extremes of one coordinate of a cubic curve."""
    found = [p0, p3]
    a, b, c = p3 - 3 * p2 + 3 * p1 - p0, 2 * (p2 - 2 * p1 + p0), p1 - p0
    roots: list[float] = []
    if abs(a) < 1e-9:
        roots = [-c / b] if abs(b) > 1e-9 else []
    elif (square := b * b - 4 * a * c) >= 0:
        roots = [(-b + side * math.sqrt(square)) / (2 * a) for side in (1, -1)]
    for t in roots:
        if 0 < t < 1:
            s = 1 - t
            found.append(s**3 * p0 + 3 * s * s * t * p1 + 3 * s * t * t * p2 + t**3 * p3)
    return found


@cache
def _pair_lookups(face: Face) -> tuple[tuple[Any, ...], ...]:
    """The font's pair kerning: lookups, each with its subtables in order of precedence."""
    gpos = _font(face)["GPOS"].table
    features = [row.Feature for row in gpos.FeatureList.FeatureRecord if row.FeatureTag == "kern"]
    numbers = sorted({number for feature in features for number in feature.LookupListIndex})
    lookups = []
    for number in numbers:
        tables = gpos.LookupList.Lookup[number].SubTable
        unwrapped = (getattr(table, "ExtSubTable", table) for table in tables)
        lookups.append(tuple(table for table in unwrapped if table.LookupType == 2))
    return tuple(lookups)


def _lookup_adjustment(tables: Iterable[Any], first: str, second: str) -> float:
    """One lookup's adjustment: the first subtable that knows the pair decides."""
    for table in tables:
        adjustment = _pair_adjustment(table, first, second)
        if adjustment is not None:
            return adjustment
    return 0.0


def _pair_adjustment(table: Any, first: str, second: str) -> float | None:
    """What one subtable says of a pair; None where it leaves it to the next one."""
    if first not in table.Coverage.glyphs:
        return None
    if table.Format == 1:
        pairs = table.PairSet[table.Coverage.glyphs.index(first)].PairValueRecord
        for pair in pairs:
            if pair.SecondGlyph == second:
                return float(getattr(pair.Value1, "XAdvance", 0) or 0)
        return None
    row = table.Class1Record[table.ClassDef1.classDefs.get(first, 0)]
    value = row.Class2Record[table.ClassDef2.classDefs.get(second, 0)].Value1
    return float(getattr(value, "XAdvance", 0) or 0)
