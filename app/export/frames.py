"""Frames of pictures: their size, the areas that are safe, the ink, and what lies under it.

Lengths are pixels. Both safe areas follow the practice of broadcast: 3.5 % of the frame from each
edge for action, 5 % for titles.

References
----------
EBU R 95, *Safe areas for 16:9 television production* (from memory).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from analysis.errors import ExportError
from app.engraving.labels import Toned
from app.engraving.pages import Box
from app.engraving.palettes import Palette
from app.export.themes import BARLINE, Theme

Ink = Literal["dark", "light"]
Backing = Literal["plate", "outline", "glow", "none"]

TITLE_SAFE: Final = 0.05
ACTION_SAFE: Final = 0.035
#: Least height of text against the frame's, for reading on a telephone (common practice).
TEXT_HEIGHT: Final = 0.025
_LEAST: Final = 240
#: Qt's raster painter cannot address more along one side.
_MOST: Final = 16384
_COLOUR: Final = re.compile(r"#[0-9a-fA-F]{6}")
#: Width of an outline, and reach of a glow beyond it, against the frame's shorter side.
OUTLINE: Final = 0.0042
GLOW: Final = 0.011


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
    theme
        Colours, sizes and margins.

    Raises
    ------
    ExportError
        If the size is out of range, or the ground is no colour.
    """

    width: int = 1920
    height: int = 1080
    ink: Ink = "dark"
    backing: Backing = "plate"
    ground: str | None = None
    theme: Theme = BARLINE

    def __post_init__(self) -> None:
        """Refuse what cannot be painted."""
        if not (_LEAST <= self.width <= _MOST and _LEAST <= self.height <= _MOST):
            raise ExportError(
                f"A picture of {self.width} by {self.height} pixels cannot be made; "
                f"each side must be {_LEAST} to {_MOST}."
            )
        if self.ground is not None and not _COLOUR.fullmatch(self.ground):
            raise ExportError(f"“{self.ground}” is no colour; write one like #336699.")

    @property
    def palette(self) -> Palette:
        """The colours of the ink and of what keeps it readable."""
        return self.theme.light if self.ink == "dark" else self.theme.dark

    @property
    def title_safe(self) -> Box:
        """Where text may stand: the title-safe area less what the theme keeps free besides."""
        return self._inside(max(TITLE_SAFE, self.theme.margin))

    @property
    def action_safe(self) -> Box:
        """Where anything that matters may stand."""
        return self._inside(ACTION_SAFE)

    @property
    def shorter(self) -> float:
        """The shorter side, which lengths are measured against."""
        return min(self.width, self.height)

    @property
    def padding(self) -> float:
        """Border of a plate around what is on it."""
        return self.theme.padding * self.shorter

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


@dataclass(frozen=True, slots=True)
class Picture:
    """All that a picture is, before anything paints it.

    ``plates`` are boxes in pixels, drawn where the frame's backing is a plate; ``measures`` are
    first and last index of the measures shown, passage by passage; ``text_height`` is the height of
    the smallest capitals in pixels; ``warnings`` are sentences. ``under`` are pictures of the same
    frame that lie below it, the lowest first.
    """

    frame: Frame
    pieces: tuple[Piece, ...]
    plates: tuple[Box, ...] = ()
    measures: tuple[tuple[int, int], ...] = ()
    text_height: float = 0.0
    warnings: tuple[str, ...] = ()
    under: tuple[Picture, ...] = ()
