"""Pictures as arrays, and what can be measured on them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QColor, QImage, QPainter

from app.engraving.overlay_painting import paint_overlay
from app.engraving.pages import Box
from app.engraving.palettes import LIGHT
from app.export.frames import Frame, Piece

Pixels = NDArray[np.float64]
Cover = NDArray[np.float64]


def rgba_of(image: QImage) -> Pixels:
    """Rows, columns, and straight red, green, blue, alpha in 0 to 1."""
    straight = image.convertToFormat(QImage.Format.Format_RGBA8888)
    flat = np.frombuffer(straight.constBits(), dtype=np.uint8)
    rows = flat.reshape(straight.height(), straight.bytesPerLine() // 4, 4)
    return rows[:, : straight.width()].astype(np.float64) / 255


def over(picture: Pixels, footage: float) -> Pixels:
    """Colours of a picture laid over a grey of 0 to 1."""
    alpha = picture[:, :, 3:]
    return picture[:, :, :3] * alpha + footage * (1 - alpha)


def luminance(colours: Pixels) -> NDArray[np.float64]:
    """Relative luminance by WCAG 2.2, of colours along the last axis."""
    linear = np.where(colours <= 0.04045, colours / 12.92, ((colours + 0.055) / 1.055) ** 2.4)
    weighted: NDArray[np.float64] = linear @ np.array([0.2126, 0.7152, 0.0722])
    return weighted


def coverage(frame: Frame, pieces: Sequence[Piece]) -> Cover:
    """How much of each pixel the pieces' own shapes cover, 0 to 1."""
    image = QImage(frame.width, frame.height, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(QColor(0, 0, 0, 0))
    painter = QPainter(image)
    for piece in pieces:
        painter.save()
        painter.translate(piece.x, piece.y)
        painter.scale(piece.scale, piece.scale)
        paint_overlay(painter, piece.strokes, LIGHT)
        painter.restore()
    painter.end()
    covered: Cover = rgba_of(image)[:, :, 3]
    return covered


def grown(mask: NDArray[np.bool_], by: int) -> NDArray[np.bool_]:
    """The mask and all within ``by`` pixels of it, across and down."""
    for axis in (0, 1):
        mask = np.logical_or.reduce([np.roll(mask, shift, axis) for shift in range(-by, by + 1)])
    return mask


def contrast_around(picture: Pixels, text: Cover, all_ink: Cover, footage: float) -> float:
    """Contrast of a text's inside with what lies right around it, both by their medians.

    ``text`` and ``all_ink`` are coverages; other ink beside the text is no ground.
    """
    x, y, width, height = (int(length) for length in box_of(text > 0))
    here = np.s_[max(y - 3, 0) : y + height + 3, max(x - 3, 0) : x + width + 3]
    picture, text, all_ink = picture[here], text[here], all_ink[here]
    light = luminance(over(picture, footage))
    inside = light[text > 0.999]
    ground = light[grown(text > 0, 2) & (all_ink == 0)]
    low, high = sorted((float(np.median(inside)), float(np.median(ground))))
    return (high + 0.05) / (low + 0.05)


def box_of(mask: NDArray[np.bool_]) -> Box:
    """The box around what is set."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    left, top = int(columns[0]), int(rows[0])
    return (left, top, int(columns[-1]) + 1 - left, int(rows[-1]) + 1 - top)


def within(box: Box, outer: Box, slack: float = 1.0) -> bool:
    """Whether a box lies in another, a pixel's rounding aside."""
    return (
        box[0] >= outer[0] - slack
        and box[1] >= outer[1] - slack
        and box[0] + box[2] <= outer[0] + outer[2] + slack
        and box[1] + box[3] <= outer[1] + outer[3] + slack
    )


def title_safe(width: int, height: int) -> Box:
    """Where text may stand by the practice of broadcast: 5 % from each edge (EBU R 95)."""
    return (0.05 * width, 0.05 * height, 0.9 * width, 0.9 * height)
