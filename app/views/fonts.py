"""The window's text font, which comes with the program and not from the machine.

Fira Sans lacks the accidentals ♭ ♯ ♮; they are made into a small font of their own from the
outlines that the engraving uses, so that “B♭ minor” looks alike in a list and on the page.
"""

from __future__ import annotations

from importlib.resources import files
from io import BytesIO
from typing import Final, NamedTuple

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from PySide6.QtGui import QFont, QFontDatabase

from app.engraving.metrics import UNITS_PER_EM, Outline, sign

TEXT_FAMILY: Final = "Fira Sans"
SIGN_FAMILY: Final = "Overstave Accidentals"
_FILES: Final = ("Regular", "Italic", "Medium", "SemiBold", "Bold")
_SIDE: Final = 40.0


class _Setting(NamedTuple):
    """A sign's SMuFL code point, and how it is scaled and raised to stand as high as capitals."""

    codepoint: str
    scale: float
    rise: float


_SIGNS: Final[dict[str, _Setting]] = {
    "♭": _Setting("E260", 1.25, 205.0),
    "♮": _Setting("E261", 1.05, 345.0),
    "♯": _Setting("E262", 1.05, 345.0),
    "𝄪": _Setting("E263", 1.0, 340.0),
    "𝄫": _Setting("E264", 1.25, 205.0),
}


def load_fonts() -> QFont:
    """Make the fonts known to Qt and return the window's font in the size the system uses."""
    for name in _FILES:
        path = files("fontpkg_fira_sans") / "files" / f"FiraSans-{name}.ttf"
        QFontDatabase.addApplicationFontFromData(path.read_bytes())
    QFontDatabase.addApplicationFontFromData(accidental_font())
    font = QFont(QFontDatabase.systemFont(QFontDatabase.SystemFont.GeneralFont))
    font.setFamilies([TEXT_FAMILY, SIGN_FAMILY])
    return font


def accidental_font() -> bytes:
    """An OpenType font of the accidentals alone, set to stand beside text of the same size."""
    builder = FontBuilder(UNITS_PER_EM, isTTF=False)
    names = {character: f"u{ord(character):04X}" for character in _SIGNS}
    builder.setupGlyphOrder([".notdef", *names.values()])
    builder.setupCharacterMap({ord(character): name for character, name in names.items()})
    strings = {".notdef": T2CharStringPen(0, None).getCharString()}
    metrics = {".notdef": (0, 0)}
    for character, setting in _SIGNS.items():
        glyph = sign(setting.codepoint)
        width = round(glyph.advance * setting.scale + 2 * _SIDE)
        pen = T2CharStringPen(width, None)
        _draw(pen, glyph.outline, setting)
        strings[names[character]] = pen.getCharString()
        metrics[names[character]] = (width, 0)
    builder.setupCFF("OverstaveAccidentals", {}, strings, {})
    builder.setupHorizontalMetrics(metrics)
    builder.setupHorizontalHeader(ascent=935, descent=-265)
    builder.setupNameTable({"familyName": SIGN_FAMILY, "styleName": "Regular"})
    builder.setupOS2(sTypoAscender=935, sTypoDescender=-265, usWinAscent=935, usWinDescent=265)
    builder.setupPost()
    stream = BytesIO()
    builder.save(stream)
    return stream.getvalue()


def _draw(pen: T2CharStringPen, outline: Outline, setting: _Setting) -> None:
    """Draw an outline whose y points down into a pen whose y points up."""
    for name, *numbers in outline:
        points = [
            (x * setting.scale + _SIDE, -y * setting.scale + setting.rise)
            for x, y in zip(numbers[::2], numbers[1::2], strict=True)
        ]
        if name == "M":
            pen.moveTo(points[0])
        elif name == "L":
            pen.lineTo(points[0])
        elif name == "C":
            pen.curveTo(*points)
        else:
            pen.closePath()
