"""Toned shapes as bare outlines, for writers of vector pictures.

Everything that a picture holds becomes paths of moves, lines and cubic curves in the units of its
shape, with the place where they are drawn. Signs and letters are outlines too, so a file needs no
fonts and looks alike everywhere. Free of Qt.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

from app.engraving import bounds
from app.engraving.metrics import UNITS_PER_EM, kerning, letter, sign
from app.engraving.pages import GlyphShape, PathCommand, PathShape, Shape, TextShape, Transform


class Outline(NamedTuple):
    """A path and how it is drawn.

    ``key`` names what is drawn again and again, such as a letter, and is empty for what is drawn
    once; ``transform`` maps the path to the shape's own units. ``stroke`` is in these units too.
    """

    key: str
    commands: tuple[PathCommand, ...]
    transform: Transform
    filled: bool
    stroke: float = 0.0
    dash: tuple[float, ...] = ()
    cap: str = "butt"


def outlines_of(shape: Shape) -> Iterator[Outline]:
    """The outlines of a shape, letter by letter for text."""
    if isinstance(shape, PathShape):
        commands = tuple(bounds.path_commands(shape))
        yield Outline(
            "", commands, (1, 0, 0, 1, 0, 0), shape.filled, shape.stroke, shape.dash, shape.cap
        )
    elif isinstance(shape, GlyphShape):
        yield _sign(shape)
    else:
        yield from _letters(shape)


def _sign(shape: GlyphShape) -> Outline:
    turn = math.radians(shape.angle)
    across, down = shape.scale * math.cos(turn), shape.scale * math.sin(turn)
    transform = (across, down, -down, across, shape.x, shape.y)
    return Outline(f"s{shape.code}", tuple(sign(shape.code).outline), transform, True)


def _letters(shape: TextShape) -> Iterator[Outline]:
    down = shape.size / UNITS_PER_EM
    across = down * shape.squeeze
    x = 0.0
    for character, after in pairwise([*shape.text, ""]):
        glyph = letter(character, shape.face)
        if glyph.outline:
            transform = (across, 0.0, 0.0, down, shape.x + x * across, shape.y)
            key = f"{shape.face}{ord(character):x}"
            yield Outline(key, tuple(glyph.outline), transform, True)
        x += glyph.advance + (kerning(character, after, shape.face) if after else 0.0)


def rounded_box(box: tuple[float, float, float, float], corner: float) -> tuple[PathCommand, ...]:
    """The outline of a box with round corners."""
    x, y, width, height = box
    corner = min(corner, width / 2, height / 2)
    right, bottom = x + width, y + height
    # Control points of a quarter circle by one cubic curve: 4/3 (sqrt 2 - 1).
    near = corner * (1 - 0.5522847498)
    return (
        ("M", x + corner, y),
        ("L", right - corner, y),
        ("C", right - near, y, right, y + near, right, y + corner),
        ("L", right, bottom - corner),
        ("C", right, bottom - near, right - near, bottom, right - corner, bottom),
        ("L", x + corner, bottom),
        ("C", x + near, bottom, x, bottom - near, x, bottom - corner),
        ("L", x, y + corner),
        ("C", x, y + near, x + near, y, x + corner, y),
        ("Z",),
    )
