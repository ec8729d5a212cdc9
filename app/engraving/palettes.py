"""The few colours of marks, and the contrast that they keep.

Kinds of mark are told apart by type, shape and place. Colour only helps the eye find them again:
ink, a softer ink, one accent, and two colours of the palette by Okabe & Ito that stay apart for
colour-blind eyes. Text is set in the first three alone, since the others reach the contrast that
graphics need (3 : 1) and not the one that text needs (4.5 : 1). A tint of the ground lies under
what belongs together.

References
----------
M. Okabe & K. Ito, "Color Universal Design", 2002 (palette; from memory). WCAG 2.2, success criteria
1.4.3 and 1.4.11 and the definition of relative luminance.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Tone = Literal["ink", "soft", "accent", "foreign", "line", "tint"]

#: Tones that text may have, and the least contrast of text and of graphics with the ground.
TEXT_TONES: Final[tuple[Tone, ...]] = ("ink", "soft", "accent")
TEXT_CONTRAST: Final = 4.5
GRAPHICS_CONTRAST: Final = 3.0
#: How much ink is in the tint that lies under what belongs together.
_TINT: Final = 0.06


@dataclass(frozen=True, slots=True)
class Palette:
    """Colours as ``#rrggbb``: the ground that is drawn on, and one for each tone."""

    ground: str
    ink: str
    soft: str
    accent: str
    foreign: str
    line: str

    def colour(self, tone: Tone) -> str:
        """The colour of a tone."""
        colours: dict[Tone, str] = {
            "ink": self.ink,
            "soft": self.soft,
            "accent": self.accent,
            "foreign": self.foreign,
            "line": self.line,
            "tint": self.tint,
        }
        return colours[tone]

    @property
    def tint(self) -> str:
        """The ground with a little ink in it, for panels under text."""
        return mixed(self.ink, self.ground, _TINT)


LIGHT: Final = Palette("#ffffff", "#1b1b1b", "#595959", "#0072b2", "#d55e00", "#009e73")
DARK: Final = Palette("#17191d", "#ececec", "#a9abb0", "#56b4e9", "#d55e00", "#009e73")


def luminance(colour: str) -> float:
    """Relative luminance of ``#rrggbb``, 0 black to 1 white."""
    red, green, blue = (_linear(int(colour[at : at + 2], 16) / 255) for at in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(first: str, second: str) -> float:
    """Contrast ratio of two colours, 1 to 21.

    Examples
    --------
    >>> round(contrast("#767676", "#ffffff"), 3)
    4.542
    """
    high, low = sorted((luminance(first), luminance(second)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def mixed(above: str, below: str, opacity: float) -> str:
    """The colour seen where one of an opacity from 0 to 1 lies over another.

    Examples
    --------
    >>> mixed("#000000", "#ffffff", 0.2)
    '#cccccc'
    """
    pairs = ((int(above[at : at + 2], 16), int(below[at : at + 2], 16)) for at in (1, 3, 5))
    return "#" + "".join(f"{round(a * opacity + b * (1 - opacity)):02x}" for a, b in pairs)


def _linear(channel: float) -> float:
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4
