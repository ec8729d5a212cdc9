"""The window's text font, which comes with the program and not from the machine.

Fira Sans lacks the accidentals ♭ ♯ ♮; they are made into a small font of their own from the
outlines that the engraving uses, so that “B♭ minor” looks alike in a list and on the page.
"""

from __future__ import annotations

from importlib.resources import files
from io import BytesIO
from typing import Final

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from PySide6.QtGui import QFont, QFontDatabase

from app.engraving.metrics import UNITS_PER_EM, sign

TEXT_FAMILY: Final = "Fira Sans"
SIGN_FAMILY: Final = "Overstave Accidentals"
_FILES: Final = ("Regular", "Italic", "Medium", "SemiBold", "Bold")
#: Character, SMuFL code point.
_SIGNS: Final = (
    ("♭", "E260"),
    ("♮", "E261"),
    ("♯", "E262"),
    ("𝄪", "E263"),
    ("𝄫", "E264"),
)


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
    names = [".notdef", *(f"u{ord(character):04X}" for character, _ in _SIGNS)]
    builder.setupGlyphOrder(names)
    builder.setupCharacterMap(
        {ord(character): name for (character, _), name in zip(_SIGNS, names[1:], strict=True)}
    )
    strings = {".notdef": T2CharStringPen(0, None).getCharString()}
    metrics = {".notdef": (0, 0)}
    for (_, codepoint), name in zip(_SIGNS, names[1:], strict=True):
        glyph = sign(codepoint)
        # Raised a little, since the sign is centred on its staff line and text is not.
        scale, rise, side = 0.92, 230.0, 40.0
        pen = T2CharStringPen(round(glyph.advance * scale + 2 * side), None)
        _draw(pen, glyph.outline, scale, rise, side)
        strings[name] = pen.getCharString()
        metrics[name] = (round(glyph.advance * scale + 2 * side), 0)
    builder.setupCFF("OverstaveAccidentals", {}, strings, {})
    builder.setupHorizontalMetrics(metrics)
    builder.setupHorizontalHeader(ascent=935, descent=-265)
    builder.setupNameTable({"familyName": SIGN_FAMILY, "styleName": "Regular"})
    builder.setupOS2(sTypoAscender=935, sTypoDescender=-265, usWinAscent=935, usWinDescent=265)
    builder.setupPost()
    stream = BytesIO()
    builder.save(stream)
    return stream.getvalue()


def _draw(
    pen: T2CharStringPen,
    outline: tuple[tuple[str, *tuple[float, ...]], ...],
    scale: float,
    rise: float,
    side: float,
) -> None:
    """Draw an outline whose y points down into a pen whose y points up."""
    for name, *numbers in outline:
        points = [
            (x * scale + side, -y * scale + rise)
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
