"""The edges of shapes: exact boxes of what is painted.

Edges are (left, top, right, bottom) in page units; a `Box` is made of them at the end. Curves count
by their extremes, lines with half their width.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import cache
from itertools import pairwise

from app.engraving.metrics import UNITS_PER_EM, Face, kerning, letter, path_box, sign
from app.engraving.pages import Box, GlyphShape, Page, PathCommand, PathShape, Shape, TextShape

Edges = tuple[float, float, float, float]

_COUNT = {"M": 2, "L": 2, "C": 6, "Z": 0}


def union(edges: Iterable[Edges]) -> Edges:
    """The edges around all; all zeros for none."""
    gathered = list(edges)
    if not gathered:
        return (0.0, 0.0, 0.0, 0.0)
    lefts, tops, rights, bottoms = zip(*gathered, strict=True)
    return (min(lefts), min(tops), max(rights), max(bottoms))


def to_box(edges: Edges) -> Box:
    """The box between edges."""
    left, top, right, bottom = edges
    return (left, top, right - left, bottom - top)


def to_edges(box: Box) -> Edges:
    """The edges of a box."""
    x, y, width, height = box
    return (x, y, x + width, y + height)


def path_commands(shape: PathShape) -> Iterator[PathCommand]:
    """The shape's packed path, command by command."""
    at = 0
    for command in shape.commands:
        count = _COUNT[command]
        yield (command, *shape.points[at : at + count])
        at += count


def path_edges(shape: PathShape) -> Edges:
    """Edges of a path with its line."""
    if "C" in shape.commands:
        x, y, width, height = path_box(path_commands(shape))
        left, top, right, bottom = x, y, x + width, y + height
    else:
        xs, ys = shape.points[::2], shape.points[1::2]
        left, top, right, bottom = min(xs), min(ys), max(xs), max(ys)
    across = along = shape.stroke / 2
    if shape.cap == "butt" and shape.commands == "ML" * (len(shape.points) // 4):
        # Lines end where they end; only across them they have a width.
        across = 0.0 if shape.points[1::4] == shape.points[3::4] else across
        along = 0.0 if shape.points[::4] == shape.points[2::4] else along
    return (left - across, top - along, right + across, bottom + along)


def glyph_edges(shape: GlyphShape) -> Edges:
    """Edges of a music sign."""
    x, y, width, height = sign(shape.code).box
    scale = shape.scale
    if not shape.angle:
        left, top = shape.x + x * scale, shape.y + y * scale
        return (left, top, left + width * scale, top + height * scale)
    sine, cosine = math.sin(math.radians(shape.angle)), math.cos(math.radians(shape.angle))
    corners = [(u * scale, v * scale) for u in (x, x + width) for v in (y, y + height)]
    xs = [shape.x + u * cosine - v * sine for u, v in corners]
    ys = [shape.y + u * sine + v * cosine for u, v in corners]
    return (min(xs), min(ys), max(xs), max(ys))


@cache
def text_advance(text: str, face: Face) -> float:
    """Width of a text in units of the font, with kerning."""
    pairs = pairwise(text)
    return sum(letter(c, face).advance for c in text) + sum(kerning(a, b, face) for a, b in pairs)


def text_width(text: str, face: Face, size: float) -> float:
    """Width of a text at a size."""
    return text_advance(text, face) * size / UNITS_PER_EM


@cache
def _ink(text: str, face: Face) -> Edges:
    """Edges of a text's ink in units, the origin at the left end of its baseline."""
    found, x = [], 0.0
    for at, character in enumerate(text):
        glyph = letter(character, face)
        left, top, width, height = glyph.box
        if width:
            found.append((x + left, top, x + left + width, top + height))
        x += glyph.advance + (kerning(character, text[at + 1], face) if at + 1 < len(text) else 0)
    return union(found)


def text_edges(shape: TextShape) -> Edges:
    """Edges of a text's ink."""
    left, top, right, bottom = _ink(shape.text, shape.face)
    scale = shape.size / UNITS_PER_EM
    across = scale * shape.squeeze
    return (
        shape.x + left * across, shape.y + top * scale,
        shape.x + right * across, shape.y + bottom * scale,
    )  # fmt: skip


def shape_edges(shape: Shape) -> Edges:
    """Edges of any shape."""
    if isinstance(shape, GlyphShape):
        return glyph_edges(shape)
    if isinstance(shape, TextShape):
        return text_edges(shape)
    return path_edges(shape)


def shape_box(shape: Shape) -> Box:
    """The box of a shape's ink."""
    return to_box(shape_edges(shape))


def ink_boxes(page: Page) -> list[Box]:
    """The box of each shape of a page, in the order of ``page.shapes``."""
    return [shape_box(shape) for shape in page.shapes]
