"""Pictures painted from toned shapes: alpha, plates, outlines, and the PNG file.

A picture is a list of pieces, each a group of toned shapes with a scale and a place. They are
painted as outlines by Qt's raster painter, which needs no display and no fonts, so the same pieces
give the same bytes. PNG stores straight alpha (W3C, *PNG Specification*; from memory), so colours
are divided by alpha before they are written.

What is under the ink: a *plate* is nearly opaque, an *outline* runs around every line and letter, a
*glow* fades from such an outline; each is of the palette's ground, so the ink keeps its contrast on
whatever footage comes below.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QImageWriter, QPainter, QPen

from app.engraving.overlay_painting import paint_overlay
from app.engraving.pages import Box, PathShape
from app.engraving.painting import shape_path
from app.export.frames import GLOW, OUTLINE, Frame, Picture, Piece

#: Qt's measure of how little a PNG is packed: at 80 it takes half the time of the usual packing and
#: a fifth more bytes.
_PNG_QUALITY: Final = 80
#: Least reach of a box of the blur, in pixels.
_BLUR_PIXELS: Final = 2.5
#: 96 dots per inch, whatever machine paints.
_DOTS_PER_METRE: Final = 3780


def paint_picture(frame: Frame, pieces: Sequence[Piece], plates: Iterable[Box] = ()) -> QImage:
    """Paint the pieces into a frame, in their order.

    Parameters
    ----------
    frame
        Size, colours and backing.
    pieces
        What is painted.
    plates
        Boxes of plates in pixels, painted where the frame's backing is a plate.
    """
    image = QImage(frame.width, frame.height, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(QColor(frame.ground) if frame.ground else Qt.GlobalColor.transparent)
    paint_over(image, frame, pieces, plates)
    return image


def picture_png(picture: Picture) -> bytes:
    """A picture as a PNG file."""
    return png_bytes(paint_picture(picture.frame, picture.pieces, picture.plates))


def paint_over(
    image: QImage, frame: Frame, pieces: Sequence[Piece], plates: Iterable[Box] = ()
) -> None:
    """Paint plates, backing and pieces over what an image of the frame's size holds."""
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    if frame.backing == "plate":
        _paint_plates(painter, frame, plates)
    elif frame.backing == "glow":
        painter.drawImage(0, 0, _glow(frame, pieces))
    if frame.backing in ("outline", "glow"):
        _paint_outlines(painter, frame, pieces, OUTLINE * frame.shorter)
    for piece in pieces:
        painter.save()
        painter.translate(piece.x, piece.y)
        painter.scale(piece.scale, piece.scale)
        paint_overlay(painter, piece.strokes, frame.palette)
        painter.restore()
    painter.end()


def png_bytes(image: QImage) -> bytes:
    """The image as a PNG file with straight alpha."""
    straight = image.convertToFormat(QImage.Format.Format_ARGB32)
    straight.setDotsPerMeterX(_DOTS_PER_METRE)
    straight.setDotsPerMeterY(_DOTS_PER_METRE)
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QImageWriter(buffer, QByteArray(b"png"))
    writer.setQuality(_PNG_QUALITY)
    writer.write(straight)
    return bytes(buffer.data().data())


def _paint_plates(painter: QPainter, frame: Frame, plates: Iterable[Box]) -> None:
    colour = QColor(frame.palette.ground)
    colour.setAlphaF(frame.theme.opacity)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    corner = frame.theme.corner * frame.shorter
    for box in plates:
        painter.drawRoundedRect(QRectF(*box), corner, corner)


def _paint_outlines(painter: QPainter, frame: Frame, pieces: Sequence[Piece], width: float) -> None:
    """Every shape widened by ``width`` pixels, in the colour of the ground."""
    pen = QPen(QColor(frame.palette.ground))
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    for piece in pieces:
        painter.save()
        painter.translate(piece.x, piece.y)
        painter.scale(piece.scale, piece.scale)
        for _, shape in piece.strokes:
            own = shape.stroke if isinstance(shape, PathShape) else 0.0
            pen.setWidthF(own + 2 * width / piece.scale)
            painter.strokePath(shape_path(shape), pen)
        painter.restore()


def _glow(frame: Frame, pieces: Sequence[Piece]) -> QImage:
    """Widened shapes that fade outwards, in the colour of the ground.

    A blur has nothing fine in it, so it is worked out on as few pixels as show it.
    """
    radius = GLOW * frame.shorter / 2
    part = max(1, int(radius / _BLUR_PIXELS))
    width, height = -(-frame.width // part), -(-frame.height // part)
    image = QImage(width, height, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(Qt.GlobalColor.transparent)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.scale(1 / part, 1 / part)
    _paint_outlines(painter, frame, pieces, 2 * OUTLINE * frame.shorter)
    painter.end()
    alpha = _pixels(image)[:, :, 3].astype(np.float64) / 255
    reach = max(1, round(radius / part))
    for _ in range(3):
        alpha = _box_blur(_box_blur(alpha, reach, 0), reach, 1)
    colour = QColor(frame.palette.ground)
    red, green, blue = colour.red(), colour.green(), colour.blue()
    channels = np.array([blue, green, red, 255], dtype=np.float64)
    blurred = np.rint(alpha[:, :, None] * channels).astype(np.uint8)
    small = QImage(blurred.tobytes(), width, height, QImage.Format.Format_ARGB32_Premultiplied)
    return small.scaled(
        width * part,
        height * part,
        Qt.AspectRatioMode.IgnoreAspectRatio,
        Qt.TransformationMode.SmoothTransformation,
    )


def _pixels(image: QImage) -> NDArray[np.uint8]:
    """The image's pixels as rows, columns, and blue, green, red, alpha."""
    flat = np.frombuffer(image.constBits(), dtype=np.uint8)
    return flat.reshape(image.height(), image.bytesPerLine() // 4, 4)[:, : image.width()]


def _box_blur(values: NDArray[np.float64], radius: int, axis: int) -> NDArray[np.float64]:
    """Means over ``2 radius + 1`` neighbours along an axis; outside the picture is nothing."""
    pad = [(0, 0), (0, 0)]
    pad[axis] = (radius + 1, radius)
    sums = np.cumsum(np.pad(values, pad), axis=axis)
    count = 2 * radius + 1
    high = np.take(sums, range(count, sums.shape[axis]), axis=axis)
    low = np.take(sums, range(sums.shape[axis] - count), axis=axis)
    blurred: NDArray[np.float64] = (high - low) / count
    return blurred
