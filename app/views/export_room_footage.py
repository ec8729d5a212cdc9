"""What may lie under a picture in a video, drawn here: checks, and stand-ins for footage.

The stand-ins are no pictures of anything: soft shapes of light with grain, dark as a street at
night, light as a wall in the sun, and plain middle grey. The same size gives the same picture.
"""

from __future__ import annotations

from typing import Final, Literal, get_args

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QColor, QImage, QPainter

Ground = Literal["checks", "dark", "light", "grey"]
GROUNDS: Final[tuple[Ground, ...]] = get_args(Ground)
_CHECK: Final = 12
_CHECKS: Final = ("#ffffff", "#d0d0d0")
#: Longest side of a stand-in before it is enlarged, and its grain in steps of 255.
_FINE: Final = 640
_GRAIN: Final = 5.0
#: Colours at the top and at the foot, and pools of light: across, down, reach, strength, colour.
_SCENES: Final = {
    "dark": (
        ((14, 18, 28), (30, 24, 24)),
        (
            (0.18, 0.62, 0.16, 0.55, (255, 176, 96)),
            (0.74, 0.30, 0.30, 0.22, (96, 140, 210)),
            (0.86, 0.78, 0.10, 0.45, (240, 120, 80)),
        ),
    ),
    "light": (
        ((226, 236, 246), (244, 234, 216)),
        (
            (0.25, 0.20, 0.34, 0.60, (255, 255, 250)),
            (0.80, 0.75, 0.26, -0.16, (255, 255, 255)),
            (0.55, 0.55, 0.12, -0.10, (255, 255, 255)),
        ),
    ),
}


def paint_ground(painter: QPainter, area: QRect, ground: Ground, scene: QImage | None) -> None:
    """Fill an area with a ground; ``scene`` is what `footage` gave for it."""
    if scene is not None:
        painter.drawImage(area, scene)
    elif ground == "grey":
        painter.fillRect(area, QColor("#808080"))
    else:
        light, dark = (QColor(colour) for colour in _CHECKS)
        painter.fillRect(area, light)
        painter.save()
        painter.setClipRect(area)
        for row in range(-(-area.height() // _CHECK)):
            for column in range(row % 2, -(-area.width() // _CHECK), 2):
                x, y = area.x() + column * _CHECK, area.y() + row * _CHECK
                painter.fillRect(x, y, _CHECK, _CHECK, dark)
        painter.restore()


def footage(ground: Ground, size: QSize) -> QImage | None:
    """A stand-in for footage in the shape of a frame; None for grounds that need none."""
    if ground not in _SCENES:
        return None
    longest = max(size.width(), size.height(), 1)
    scale = min(1.0, _FINE / longest)
    width, height = max(round(size.width() * scale), 2), max(round(size.height() * scale), 2)
    return _image(_scene(ground, width, height))


def _scene(ground: Ground, width: int, height: int) -> NDArray[np.float64]:
    """Rows, columns, and red, green, blue from 0 to 255."""
    (top, foot), pools = _SCENES[ground]
    down, across = np.mgrid[0 : 1 : height * 1j, 0 : 1 : width * 1j]
    share = down[:, :, None]
    scene = np.array(top) * (1 - share) + np.array(foot) * share
    for x, y, reach, strength, colour in pools:
        away = ((across - x) * width / height) ** 2 + (down - y) ** 2
        light = strength * np.exp(-away / (2 * reach**2))[:, :, None]
        scene = scene + light * (np.array(colour) - scene if strength > 0 else np.array(colour))
    grain = np.random.default_rng(1).normal(0.0, _GRAIN, (height, width))
    found: NDArray[np.float64] = scene + grain[:, :, None]
    return found


def _image(scene: NDArray[np.float64]) -> QImage:
    height, width, _ = scene.shape
    pixels = np.empty((height, width, 4), dtype=np.uint8)
    pixels[:, :, :3] = np.clip(np.rint(scene), 0, 255)[:, :, ::-1]
    pixels[:, :, 3] = 255
    return QImage(pixels.tobytes(), width, height, QImage.Format.Format_RGB32).copy()


def guide_colours() -> tuple[QColor, QColor]:
    """A line that is seen on any ground: a dark one under a light one."""
    return QColor(0, 0, 0, 150), QColor(255, 255, 255, 230)


#: How guides are drawn: unbroken for titles, broken for action.
GUIDE_STYLES: Final = (Qt.PenStyle.SolidLine, Qt.PenStyle.DashLine)
