"""Frames of pictures: their size, the areas that are safe, the ink, and what lies under it.

Lengths are pixels. Both safe areas follow the practice of broadcast: 3.5 % of the frame from each
edge for action, 5 % for titles.

References
----------
EBU R 95, *Safe areas for 16:9 television production* (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from analysis.errors import ExportError
from app.engraving.labels import Toned
from app.engraving.pages import Box
from app.engraving.palettes import DARK, LIGHT, Palette

Ink = Literal["dark", "light"]
Backing = Literal["plate", "outline", "glow", "none"]

TITLE_SAFE: Final = 0.05
ACTION_SAFE: Final = 0.035
#: Least height of text against the frame's, for reading on a telephone (common practice).
TEXT_HEIGHT: Final = 0.025
_LEAST: Final = 240
#: Qt's raster painter cannot address more along one side.
_MOST: Final = 16384


@dataclass(frozen=True, slots=True)
class Frame:
    """What a picture is painted into.

    Parameters
    ----------
    width, height
        Size in pixels, 240 to 16384 each.
    ink
        ``dark`` ink for light footage, ``light`` for dark.
    backing
        What keeps the ink readable on any footage: a ``plate`` under all of it, an ``outline``
        around every line, a ``glow``, or ``none``.
    ground
        A colour ``#rrggbb`` for a picture without alpha; None for a transparent one.

    Raises
    ------
    ExportError
        If the size is out of range.
    """

    width: int = 1920
    height: int = 1080
    ink: Ink = "dark"
    backing: Backing = "plate"
    ground: str | None = None

    def __post_init__(self) -> None:
        """Refuse what cannot be painted."""
        if not (_LEAST <= self.width <= _MOST and _LEAST <= self.height <= _MOST):
            raise ExportError(
                f"A picture of {self.width} by {self.height} pixels cannot be made; "
                f"each side must be {_LEAST} to {_MOST}."
            )

    @property
    def palette(self) -> Palette:
        """The colours of the ink and of what keeps it readable."""
        return LIGHT if self.ink == "dark" else DARK

    @property
    def title_safe(self) -> Box:
        """Where text may stand."""
        return self._inside(TITLE_SAFE)

    @property
    def action_safe(self) -> Box:
        """Where anything that matters may stand."""
        return self._inside(ACTION_SAFE)

    @property
    def least_text(self) -> float:
        """Least height of capitals, in pixels."""
        return TEXT_HEIGHT * self.height

    def _inside(self, part: float) -> Box:
        across, down = part * self.width, part * self.height
        return (across, down, self.width - 2 * across, self.height - 2 * down)


#: The frame where nothing else is said.
FULL_HD: Final = Frame()


class Piece(NamedTuple):
    """Toned shapes, their scale, and where their origin stands in the frame."""

    strokes: Sequence[Toned]
    scale: float = 1.0
    x: float = 0.0
    y: float = 0.0
