"""Paths, polygons, rectangles, ellipses and music signs of verovio's drawing, one by one.

Each function turns one SVG element into a shape. ``x, y`` is where the drawing's own origin lies,
in tenths of page units, which are the units of the drawing.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from itertools import chain
from typing import Final

from app.engraving.pages import GlyphShape, PathShape, Shape

#: Page units to one unit of the drawing.
UNIT: Final = 0.1
NUMBER: Final = re.compile(r"-?\d+(?:\.\d+)?")
_USE: Final = re.compile(r"translate\((-?[\d.]+), (-?[\d.]+)\) scale\((-?[\d.]+)")
_HREF: Final = "{http://www.w3.org/1999/xlink}href"
#: How far a control point of a circle's quarter lies from its end, in radii.
_ARC: Final = 0.5522847498

Attributes = Mapping[str, str]


def points_of(text: str, x: float, y: float) -> tuple[float, ...]:
    """All numbers of a text, in turn x and y, in page units."""
    numbers = [float(number) for number in NUMBER.findall(text)]
    numbers[::2] = [(number + x) * UNIT for number in numbers[::2]]
    numbers[1::2] = [(number + y) * UNIT for number in numbers[1::2]]
    return tuple(numbers)


def sign_shape(
    attributes: Attributes, element: str, role: str, x: float, y: float
) -> GlyphShape | None:
    """A ``use`` of a music sign; None for anything else that is used."""
    match = _USE.match(attributes.get("transform", ""))
    if match is None:
        return None
    code = attributes.get(_HREF, "").lstrip("#").partition("-")[0]
    left, down, scale = match.groups()
    return GlyphShape(
        element, role, code, (float(left) + x) * UNIT, (float(down) + y) * UNIT, float(scale) * UNIT
    )


def path_shape(attributes: Attributes, element: str, role: str, x: float, y: float) -> PathShape:
    """A ``path`` of absolute moves, lines and cubic curves; filled where it holds a curve."""
    text = attributes.get("d", "")
    curved = "C" in text
    dash = attributes.get("stroke-dasharray")
    return PathShape(
        element,
        role,
        "".join(filter("MLCZ".__contains__, text)),
        points_of(text, x, y),
        curved and attributes.get("fill") != "none",
        float(attributes.get("stroke-width", "0")) * UNIT,
        tuple(float(length) * UNIT for length in NUMBER.findall(dash)) if dash else (),
        attributes.get("stroke-linecap", "butt"),
    )


def turned_shape(shape: Shape, angle: float, centre: tuple[float, ...]) -> Shape:
    """The shape turned about a point by an angle in degrees, clockwise on the page."""
    sine, cosine = math.sin(math.radians(angle)), math.cos(math.radians(angle))

    def turned(x: float, y: float) -> tuple[float, float]:
        right, down = x - centre[0], y - centre[1]
        return (
            centre[0] + right * cosine - down * sine,
            centre[1] + right * sine + down * cosine,
        )

    if isinstance(shape, PathShape):
        pairs = zip(shape.points[::2], shape.points[1::2], strict=True)
        return shape._replace(points=tuple(chain.from_iterable(turned(*pair) for pair in pairs)))
    x, y = turned(shape.x, shape.y)
    if isinstance(shape, GlyphShape):
        return shape._replace(x=x, y=y, angle=shape.angle + angle)
    return shape._replace(x=x, y=y)


def line_points(attributes: Attributes, x: float, y: float) -> tuple[float, ...] | None:
    """Both ends of a ``path`` that is one straight undashed line; None for any other."""
    parts = attributes.get("d", "").split()
    if len(parts) != 4 or parts[2][0] != "L" or "stroke-dasharray" in attributes:
        return None
    try:
        return (
            (float(parts[0][1:]) + x) * UNIT,
            (float(parts[1]) + y) * UNIT,
            (float(parts[2][1:]) + x) * UNIT,
            (float(parts[3]) + y) * UNIT,
        )
    except ValueError:
        return None


def pen_of(attributes: Attributes) -> tuple[str, str]:
    """Width and cap of a line as written."""
    return attributes.get("stroke-width", "0"), attributes.get("stroke-linecap", "butt")


def lines_shape(points: list[float], element: str, role: str, width: str, cap: str) -> PathShape:
    """Lines of one width, their ends given in turn."""
    commands = "ML" * (len(points) // 4)
    return PathShape(element, role, commands, tuple(points), False, float(width) * UNIT, cap=cap)


def polygon_shape(attributes: Attributes, element: str, role: str, x: float, y: float) -> PathShape:
    """A ``polygon``."""
    points = points_of(attributes.get("points", ""), x, y)
    return _area(attributes, element, role, "M" + "L" * (len(points) // 2 - 1) + "Z", points)


def polyline_shape(
    attributes: Attributes, element: str, role: str, x: float, y: float
) -> PathShape:
    """A ``polyline``."""
    points = points_of(attributes.get("points", ""), x, y)
    return _area(attributes, element, role, "M" + "L" * (len(points) // 2 - 1), points)


def rectangle_shape(
    attributes: Attributes, element: str, role: str, x: float, y: float
) -> PathShape:
    """A ``rect``: filled, or a frame."""
    left, top, width, height = (
        float(attributes.get(name, "0")) for name in ("x", "y", "width", "height")
    )
    right, bottom = left + width, top + height
    points = points_of(f"{left} {top} {right} {top} {right} {bottom} {left} {bottom}", x, y)
    return _area(attributes, element, role, "MLLLZ", points)


def ellipse_shape(attributes: Attributes, element: str, role: str, x: float, y: float) -> PathShape:
    """An ``ellipse`` as four curves."""
    cx, cy, rx, ry = (float(attributes.get(name, "0")) for name in ("cx", "cy", "rx", "ry"))
    kx, ky = rx * _ARC, ry * _ARC
    numbers = (
        cx + rx, cy,
        cx + rx, cy + ky, cx + kx, cy + ry, cx, cy + ry,
        cx - kx, cy + ry, cx - rx, cy + ky, cx - rx, cy,
        cx - rx, cy - ky, cx - kx, cy - ry, cx, cy - ry,
        cx + kx, cy - ry, cx + rx, cy - ky, cx + rx, cy,
    )  # fmt: skip
    points = points_of(" ".join(f"{number:.3f}" for number in numbers), x, y)
    return _area(attributes, element, role, "MCCCCZ", points)


def _area(
    attributes: Attributes, element: str, role: str, commands: str, points: tuple[float, ...]
) -> PathShape:
    hollow = attributes.get("fill") == "none" or attributes.get("fill-opacity") == "0"
    stroke = float(attributes.get("stroke-width", "0")) * UNIT
    cap = attributes.get("stroke-linecap", "butt")
    return PathShape(element, role, commands, points, not hollow, stroke, cap=cap)
