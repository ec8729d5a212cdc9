"""The heading of the timeline: what its columns are."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor

from app.interface_words import said
from app.views.signs import SIGNS, paint_sign
from app.views.timeline_layout import FUNCTIONS, GROUPS
from app.views.timeline_painting import FAR, LEFT, TimelinePainter


def paint_heading(timeline: TimelinePainter) -> None:
    """What the columns are; all slides under it."""
    em = timeline.columns.em
    timeline.painter.fillRect(QRectF(0, 0, FAR, timeline.head - 1), QColor(timeline.look.frame))
    timeline.take_pen(timeline.look.rule, 1.0)
    timeline.painter.drawLine(QPointF(0, timeline.head - 0.5), QPointF(FAR, timeline.head - 0.5))
    timeline.painter.setFont(timeline.sized(size=0.82))
    timeline.painter.setPen(QColor(timeline.look.quiet))
    y = 0.4 * em
    timeline.write(timeline.columns.sections, y, 6 * em, said("Sections"), LEFT)
    keys = said("Keys …") if timeline.waiting else said("Keys")
    timeline.write(timeline.columns.keys, y, 5 * em, keys, LEFT)
    for function in FUNCTIONS:
        x = timeline.columns.rail(function)
        box = QRectF(x - em, 0, 2 * em, timeline.head)
        timeline.painter.drawText(box, Qt.AlignmentFlag.AlignCenter, function)
    x = timeline.columns.rhythm + 0.1 * em
    box = QRectF(x, 0.57 * em, 0.86 * em, 0.86 * em)
    paint_sign(timeline.painter, SIGNS["rhythm"], box, QColor(timeline.look.quiet))
    for at, (group, _) in enumerate(timeline.columns.lanes_of):
        left = timeline.columns.group(at) + (0.5 * 1.15 - 0.43) * em
        box = QRectF(left, 0.57 * em, 0.86 * em, 0.86 * em)
        paint_sign(timeline.painter, SIGNS[GROUPS[group][0]], box, QColor(timeline.look.quiet))
