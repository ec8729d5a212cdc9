"""Sentences set for a frame: as large as the theme has them, in as few lines as are read.

Lines are broken evenly, by the font's own widths. A sentence that is too long for its lines is set
smaller, and the picture says so. A frame that is higher than wide takes up to eight lines, in the
least size that can be read.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from app.engraving.labels import Toned
from app.engraving.metrics import CAP_HEIGHT, UNITS_PER_EM
from app.engraving.musictext import SetText, break_lines
from app.export.frames import Frame
from app.export.legibility import MOST_LINES

CAPITAL: Final = CAP_HEIGHT / UNITS_PER_EM
#: From line to line, and from a line's foot to its baseline, in ems.
_LEADING: Final = 1.34
_FOOT: Final = 0.3
#: A sentence is set smaller step by step, down to this share of the least em.
_STEP: Final = 0.94
_SMALLEST: Final = 0.6
_MOST_UPRIGHT: Final = 8


def set_sentence(sentence: str, frame: Frame, room: float) -> tuple[SetText, ...]:
    """The lines of a sentence.

    Parameters
    ----------
    sentence
        Words with music signs in them.
    frame
        Its theme gives the size, the face, and the width of a line.
    room
        Most width in pixels; longer lines than the theme's are taken only where it must be.
    """
    # No line begins with a dash.
    sentence = sentence.replace(" –", "\N{NO-BREAK SPACE}–")
    least = frame.least_text / CAPITAL
    theme = frame.theme
    wide = frame.width > frame.height
    narrow = min(room, theme.width * frame.width)
    most = MOST_LINES if wide else _MOST_UPRIGHT
    # A share of the height of a high frame would be huge.
    em = max(theme.body * frame.height, least) if wide else least
    while em > _SMALLEST * least:
        for width in (narrow, room) if wide else (room,):
            lines = break_lines(sentence, em, width, theme.body_face)
            if len(lines) <= most and all(line.width <= room for line in lines):
                return lines
        em *= _STEP
    return break_lines(sentence, em, room, theme.body_face)


def height_of(lines: Sequence[SetText]) -> float:
    """Height of the lines together."""
    return sum(_LEADING * line.size for line in lines)


def toned_lines(lines: Sequence[SetText], x: float, y: float) -> Iterator[Toned]:
    """The glyphs of lines whose upper left corner is (x, y)."""
    for line in lines:
        y += _LEADING * line.size
        for shape in line.shapes(x, y - _FOOT * line.size):
            yield Toned("ink", shape)
