"""Pictures of the timeline, kept as long as what they show: the piece, its signs, the heading.

A decision changes a sign or two. So the piece without signs is kept by itself, and where it stays
as it is, only the places of signs that came, went or changed are painted again.
"""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPixmap, QRegion

from app.views.timeline_headings import paint_heading
from app.views.timeline_layout import LaneSign
from app.views.timeline_painting import TimelinePainter

#: Pixels around a sign, for smooth edges.
AIR = 2.0


class TimelinePictures:
    """The timeline but for what is selected, shown by the score, or dragged."""

    def __init__(self) -> None:
        self._ground: tuple[object, QPixmap] = (None, QPixmap())
        self._whole: tuple[object, tuple[LaneSign, ...], QPixmap] = (None, (), QPixmap())
        self._heading: tuple[object, QPixmap] = (None, QPixmap())

    def whole(
        self, given: object, size: QSize, ratio: float, across: int, timeline: TimelinePainter
    ) -> QPixmap:
        """The piece with its signs, ``across`` pixels to the right.

        Parameters
        ----------
        given
            Equal as long as the piece without its signs looks the same at this size.
        timeline
            What paints; its painter is replaced.
        """
        before, signs, picture = self._whole
        if before == given and signs == timeline.signs:
            return picture
        if self._ground[0] != given:
            ground = _empty(size, ratio)
            with _Painting(ground, across) as painter:
                timeline.with_painter(painter).paint()
            self._ground = (given, ground)
        if before == given:
            changed = _differing(signs, timeline.signs)
            self._paint_again(picture, across, timeline, changed)
        else:
            picture = self._ground[1].copy()
            with _Painting(picture, across) as painter:
                timeline.with_painter(painter).paint_signs(timeline.signs)
        self._whole = (given, timeline.signs, picture)
        return picture

    def heading(
        self, given: object, size: QSize, ratio: float, across: int, timeline: TimelinePainter
    ) -> QPixmap:
        """What stands over the columns."""
        if self._heading[0] != given:
            picture = _empty(size, ratio)
            with _Painting(picture, across) as painter:
                paint_heading(timeline.with_painter(painter))
            self._heading = (given, picture)
        return self._heading[1]

    def _paint_again(
        self, picture: QPixmap, across: int, timeline: TimelinePainter, changed: list[LaneSign]
    ) -> None:
        region = QRegion()
        for sign in changed:
            for box in timeline.boxes_of(sign):
                region |= QRegion(box.adjusted(-AIR, -AIR, AIR, AIR).toAlignedRect())
        lanes = {(sign.group, sign.row) for sign in changed}
        near = [sign for sign in timeline.signs if (sign.group, sign.row) in lanes]
        with _Painting(picture, across) as painter:
            painter.setClipRegion(region)
            painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Source)
            painter.drawPixmap(across, 0, self._ground[1])
            painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_SourceOver)
            timeline.with_painter(painter).paint_signs(
                sign for sign in near if any(map(region.intersects, _rects(timeline, sign)))
            )


class _Painting:
    """A painter on a picture, moved to the left, ended on leaving."""

    def __init__(self, picture: QPixmap, across: int) -> None:
        self._painter = QPainter(picture)
        self._painter.translate(-across, 0)

    def __enter__(self) -> QPainter:
        return self._painter

    def __exit__(self, *_: object) -> None:
        self._painter.end()


def _empty(size: QSize, ratio: float) -> QPixmap:
    picture = QPixmap(size * ratio)
    picture.setDevicePixelRatio(ratio)
    picture.fill(Qt.GlobalColor.transparent)
    return picture


def _rects(timeline: TimelinePainter, sign: LaneSign) -> Iterable[QRegion]:
    return (QRegion(QRectF(box).toAlignedRect()) for box in timeline.boxes_of(sign))


def _differing(some: tuple[LaneSign, ...], others: tuple[LaneSign, ...]) -> list[LaneSign]:
    """The signs, as they were and as they are, that are not the same in both."""
    were = {sign.mark.id: sign for sign in some}
    are = {sign.mark.id: sign for sign in others}
    found = [sign for at, sign in were.items() if at not in are or are[at] != sign]
    return found + [sign for at, sign in are.items() if at not in were or were[at] != sign]
