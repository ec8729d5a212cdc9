"""The sign of each kind of mark and each state: told apart by shape, in lists and on the timeline.

A sign is a line drawing in a unit square, x to the right and y down, painted with one pen. Filled
parts are drawn as closed lines in `filled`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QPixmap

from analysis.marks import MarkKind
from app.interface_words import Phrase, phrase
from app.review.document import State

Line = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Sign:
    """Lines, filled polygons, and rings (x, y, radius, filled)."""

    lines: tuple[Line, ...] = ()
    filled: tuple[Line, ...] = ()
    rings: tuple[tuple[float, float, float, bool], ...] = ()


#: Hatch like a sharp, corner, V, closing barlines, ring, two rings, brace, chevrons, repeat dots,
#: steps, ground line, uneven ticks, turning corner, peaks, question hook.
SIGNS: Final[dict[MarkKind, Sign]] = {
    "key": Sign(
        lines=(
            ((0.36, 0.12), (0.36, 0.9)),
            ((0.64, 0.1), (0.64, 0.88)),
            ((0.18, 0.44), (0.82, 0.32)),
            ((0.18, 0.7), (0.82, 0.58)),
        )
    ),
    "section": Sign(lines=(((0.8, 0.18), (0.22, 0.18), (0.22, 0.84)),)),
    "chord": Sign(lines=(((0.16, 0.16), (0.5, 0.86), (0.84, 0.16)),)),
    "cadence": Sign(
        lines=(((0.4, 0.12), (0.4, 0.88)),),
        filled=(((0.58, 0.12), (0.76, 0.12), (0.76, 0.88), (0.58, 0.88)),),
    ),
    "melody": Sign(rings=((0.5, 0.5, 0.32, False),)),
    "mixed third": Sign(
        lines=(((0.5, 0.1), (0.5, 0.9)),),
        rings=((0.28, 0.5, 0.18, False), (0.72, 0.5, 0.18, True)),
    ),
    "passage": Sign(lines=(((0.1, 0.3), (0.1, 0.7), (0.9, 0.7), (0.9, 0.3)),)),
    "echo": Sign(
        lines=(((0.18, 0.2), (0.46, 0.5), (0.18, 0.8)), ((0.54, 0.2), (0.82, 0.5), (0.54, 0.8)))
    ),
    "repeat": Sign(
        lines=(((0.64, 0.1), (0.64, 0.9)), ((0.84, 0.1), (0.84, 0.9))),
        rings=((0.32, 0.34, 0.09, True), (0.32, 0.66, 0.09, True)),
    ),
    "line": Sign(
        lines=(
            (
                (0.1, 0.2),
                (0.36, 0.2),
                (0.36, 0.5),
                (0.64, 0.5),
                (0.64, 0.8),
                (0.9, 0.8),
            ),
        )
    ),
    "pedal": Sign(
        lines=(((0.1, 0.78), (0.9, 0.78)),),
        rings=((0.26, 0.36, 0.09, True), (0.5, 0.36, 0.09, True), (0.74, 0.36, 0.09, True)),
    ),
    "rhythm": Sign(
        lines=(
            ((0.14, 0.2), (0.14, 0.8)),
            ((0.58, 0.2), (0.58, 0.8)),
            ((0.74, 0.2), (0.74, 0.8)),
            ((0.9, 0.2), (0.9, 0.8)),
        )
    ),
    "loop": Sign(
        lines=(
            ((0.34, 0.22), (0.86, 0.22), (0.86, 0.78), (0.14, 0.78), (0.14, 0.4)),
            ((0.02, 0.54), (0.14, 0.38), (0.28, 0.54)),
        )
    ),
    "shape": Sign(lines=(((0.08, 0.82), (0.4, 0.2), (0.6, 0.56), (0.92, 0.38)),)),
    "query": Sign(
        lines=(
            (
                (0.26, 0.34),
                (0.3, 0.18),
                (0.5, 0.1),
                (0.7, 0.18),
                (0.72, 0.36),
                (0.5, 0.52),
                (0.5, 0.66),
            ),
        ),
        rings=((0.5, 0.86, 0.07, True),),
    ),
}

STATE_SIGNS: Final[dict[State, Sign]] = {
    "open": Sign(rings=((0.5, 0.5, 0.1, False),)),
    "accepted": Sign(lines=(((0.14, 0.54), (0.4, 0.8), (0.88, 0.2)),)),
    "edited": Sign(
        lines=(
            ((0.14, 0.54), (0.4, 0.8), (0.88, 0.2)),
            ((0.1, 0.97), (0.9, 0.97)),
        )
    ),
    "rejected": Sign(lines=(((0.2, 0.2), (0.8, 0.8)), ((0.8, 0.2), (0.2, 0.8)))),
}

KIND_NAMES: Final[dict[MarkKind, Phrase]] = {
    "key": phrase("Key"),
    "section": phrase("Section"),
    "chord": phrase("Chord"),
    "cadence": phrase("Cadence"),
    "melody": phrase("Melody note"),
    "mixed third": phrase("Mixed third"),
    "passage": phrase("Passage"),
    "echo": phrase("Echo"),
    "repeat": phrase("Repeat"),
    "line": phrase("Line"),
    "pedal": phrase("Pedal"),
    "rhythm": phrase("Harmonic rhythm"),
    "loop": phrase("Loop"),
    "shape": phrase("Contour"),
    "query": phrase("Question"),
}

STATE_NAMES: Final[dict[State, Phrase]] = {
    "open": phrase("Open"),
    "accepted": phrase("Accepted"),
    "edited": phrase("Edited"),
    "rejected": phrase("Rejected"),
}


def sign_picture(sign: Sign, size: int, colour: QColor) -> QPixmap:
    """A sign as a picture, so many pixels high and wide."""
    picture = QPixmap(size, size)
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    paint_sign(painter, sign, QRectF(0, 0, size, size), colour)
    painter.end()
    return picture


def paint_sign(painter: QPainter, sign: Sign, box: QRectF, colour: QColor) -> None:
    """Paint a sign into a square box."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    pen = QPen(colour, max(1.1, box.width() * 0.1))
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)

    def at(x: float, y: float) -> QPointF:
        return QPointF(box.x() + x * box.width(), box.y() + y * box.height())

    for line in sign.lines:
        painter.drawPolyline([at(*point) for point in line])
    for x, y, radius, filled in sign.rings:
        painter.setBrush(colour if filled else Qt.BrushStyle.NoBrush)
        painter.drawEllipse(at(x, y), radius * box.width(), radius * box.height())
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    for polygon in sign.filled:
        path = QPainterPath(at(*polygon[0]))
        for point in polygon[1:]:
            path.lineTo(at(*point))
        painter.drawPath(path)
    painter.restore()
