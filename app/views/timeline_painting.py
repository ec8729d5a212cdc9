"""How the timeline is painted; `app.views.timeline_layout` says where."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPen

from analysis.timebase import Span
from app.review.document import Document
from app.review.selection import Selection
from app.views.looks import Look
from app.views.places import short_key_text
from app.views.signs import SIGNS, paint_sign
from app.views.timeline_layout import (
    FUNCTIONS,
    Columns,
    LaneSign,
    Scale,
    function_path,
    number_step,
    visible_measures,
)


@dataclass(frozen=True, slots=True)
class TimelinePainter:
    """One painting of the timeline. ``signs`` count their heights from the start of the piece."""

    painter: QPainter
    font: QFont
    look: Look
    document: Document
    columns: Columns
    scale: Scale
    signs: tuple[LaneSign, ...]
    selection: Selection
    shown: Span | None
    head: float
    height: float

    def paint(self) -> None:
        """Paint from the ground up; the heading last, since all else slides under it."""
        self.painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_selection()
        self._paint_measures()
        self._paint_sections()
        self._paint_keys()
        self._paint_functions()
        self._paint_lanes()
        self._paint_shown()
        self._paint_heading()

    def _font(self, weight: QFont.Weight = QFont.Weight.Normal, size: float = 1.0) -> QFont:
        font = QFont(self.font)
        font.setWeight(weight)
        font.setPointSizeF(self.font.pointSizeF() * size)
        return font

    def _line(self, colour: str, width: float = 1.0) -> None:
        pen = QPen(QColor(colour), width)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        self.painter.setPen(pen)
        self.painter.setBrush(Qt.BrushStyle.NoBrush)

    def _text(self, x: float, y: float, width: float, text: str, flags: Qt.AlignmentFlag) -> None:
        """One line of text, cut short where it does not fit; ``y`` is its upper edge."""
        metrics = self.painter.fontMetrics()
        short = metrics.elidedText(text, Qt.TextElideMode.ElideRight, int(width))
        self.painter.drawText(QRectF(x, y, width, metrics.height()), flags, short)

    def _paint_selection(self) -> None:
        span = self.selection.span
        if span is None:
            return
        top = self.scale.y(span.start)
        height = max(self.scale.y(span.end) - top, 3.0)
        self.painter.fillRect(
            QRectF(0, top, self.columns.width + 4096, height), QColor(self.look.wash)
        )
        self.painter.fillRect(QRectF(0, top, 3, height), QColor(self.look.accent))

    def _paint_measures(self) -> None:
        em = self.columns.em
        measures = self.document.score.measures
        step = number_step(measures, self.scale.rate, em)
        start = self.scale.offset(self.head)
        visible = visible_measures(self.document, start, self.scale.offset(self.height))
        self.painter.setFont(self._font(size=0.82))
        last_number = float("-inf")
        for measure in visible:
            y = self.scale.y(measure.onset)
            first = measure.index % step == 0
            self._line(self.look.rule, 1.0)
            left = self.columns.numbers_end - (0.0 if first else -0.2 * em)
            self.painter.drawLine(QPointF(left, y), QPointF(self.columns.sections - 4, y))
            if first and y - last_number > em:  # a pickup may leave no room for the next
                last_number = y
                self.painter.setPen(QColor(self.look.quiet))
                right = Qt.AlignmentFlag.AlignRight
                width = self.columns.numbers_end - 0.35 * em
                self._text(0, y - 0.1 * em, width, measure.number, right)

    def _paint_sections(self) -> None:
        em, x = self.columns.em, self.columns.sections
        width = self.columns.keys - x - 0.8 * em
        for section in self.document.analysis.sections:
            top, bottom = self.scale.y(section.span.start), self.scale.y(section.span.end)
            if bottom < self.head or top > self.height:
                continue
            self._line(self.look.rule, 1.0)
            self.painter.drawLine(QPointF(x, top), QPointF(self.columns.width + 4096, top))
            self._line(self.look.ink, 1.6)
            self.painter.drawLine(QPointF(x, top + 1.5), QPointF(x, bottom - 1.5))
            self.painter.drawLine(QPointF(x, top + 1.5), QPointF(x + 0.5 * em, top + 1.5))
            # The name stays in sight as long as its section does.
            line = self.painter.fontMetrics().height()
            y = min(max(top + 0.3 * em, self.head + 0.2 * em), bottom - 1.3 * em)
            if bottom - top < 1.1 * em:
                continue
            self.painter.setPen(QColor(self.look.ink))
            self.painter.setFont(self._font(QFont.Weight.DemiBold))
            left = Qt.AlignmentFlag.AlignLeft
            self._text(x + 0.6 * em, y, width - 0.6 * em, section.name or section.label, left)
            if section.label and section.name and section.label != section.name:
                self.painter.setFont(self._font(size=0.82))
                self.painter.setPen(QColor(self.look.quiet))
                if bottom - y > 2.6 * em:
                    self._text(x + 0.6 * em, y + line, width, f"form {section.label}", left)

    def _paint_keys(self) -> None:
        em, x = self.columns.em, self.columns.keys
        width = self.columns.rails - x - 0.6 * em
        self.painter.setFont(self._font(size=0.9))
        for region in self.document.analysis.key_regions:
            top, bottom = self.scale.y(region.span.start), self.scale.y(region.span.end)
            if bottom < self.head or top > self.height:
                continue
            self._line(self.look.quiet, 1.0)
            self.painter.drawLine(QPointF(x, top + 3), QPointF(x, bottom - 3))
            if bottom - top >= 1.1 * em:
                y = min(max(top + 0.3 * em, self.head + 0.2 * em), bottom - 1.3 * em)
                self.painter.setPen(QColor(self.look.ink))
                name = short_key_text(region.key)
                self._text(x + 0.4 * em, y, width, name, Qt.AlignmentFlag.AlignLeft)

    def _paint_functions(self) -> None:
        em = self.columns.em
        top = max(self.head, self.scale.top)
        end = min(self.height, self.scale.y(self.document.score.end))
        for function in FUNCTIONS:
            x = self.columns.rail(function)
            self._line(self.look.rule, 1.0)
            self.painter.drawLine(QPointF(x, top), QPointF(x, end))
        places = [
            (QPointF(self.columns.rail(function), y + 0.5 * em), function)
            for _, function, y in function_path(self.document, self.scale)
            if self.head - 20 * em < y < self.height + 20 * em
        ]
        self._line(self.look.quiet, 1.2)
        for (one, _), (other, _) in pairwise(places):
            self.painter.drawLine(one, other)
        self.painter.setFont(self._font(QFont.Weight.DemiBold, 0.86))
        half = 0.52 * em
        last_y = float("-inf")
        for point, function in places:
            roomy = point.y() - last_y >= 0.95 * em
            self.painter.setPen(Qt.PenStyle.NoPen)
            if roomy:
                self.painter.setBrush(QColor(self.look.frame))
                self.painter.drawEllipse(point, half, half)
                self.painter.setPen(QColor(self.look.ink))
                box = QRectF(point.x() - em, point.y() - em, 2 * em, 2 * em)
                self.painter.drawText(box, Qt.AlignmentFlag.AlignCenter, function)
                last_y = point.y()
            else:
                self.painter.setBrush(QColor(self.look.ink))
                self.painter.drawEllipse(point, 0.16 * em, 0.16 * em)

    def _paint_lanes(self) -> None:
        em = self.columns.em
        for sign in self.signs:
            mark = sign.mark.mark
            x, y = self.columns.lane(mark.kind), sign.y + self.scale.top
            chosen = mark.id == self.selection.mark
            colour = self.look.accent if chosen else self.look.ink
            if sign.mark.state == "open" and not chosen:
                colour = self.look.quiet
            for start, stop in sign.stretches:
                start, stop = start + self.scale.top + 2, stop + self.scale.top - 2
                if stop < self.head or start > self.height:
                    continue
                self._line(colour, 2.0 if chosen else 1.0)
                tick = 0.3 * em
                if abs(start - y) > em:
                    self.painter.drawLine(QPointF(x, start), QPointF(x + tick, start))
                else:
                    start = y + 0.55 * em  # the sign itself is the upper end
                self.painter.drawLine(QPointF(x, start), QPointF(x, stop))
                self.painter.drawLine(QPointF(x, stop), QPointF(x + tick, stop))
            if not self.head - em < y < self.height + em:
                continue
            size = em * (1.0 if chosen else 0.86)
            box = QRectF(x - size / 2, y - size / 2, size, size)
            paint_sign(self.painter, SIGNS[mark.kind], box, QColor(colour))

    def _paint_shown(self) -> None:
        """A frame beside the measure numbers around what the score shows."""
        if self.shown is None:
            return
        top = max(self.scale.y(self.shown.start), self.head + 1)
        bottom = self.scale.y(self.shown.end)
        self._line(self.look.accent, 1.5)
        x = self.columns.numbers_end + 0.25 * self.columns.em
        for y in (top + 1, bottom - 1):
            self.painter.drawLine(QPointF(x - 5, y), QPointF(x, y))
        self.painter.drawLine(QPointF(x, top + 1), QPointF(x, bottom - 1))

    def _paint_heading(self) -> None:
        em = self.columns.em
        width = self.columns.width + 4096
        self.painter.fillRect(QRectF(0, 0, width, self.head - 1), QColor(self.look.frame))
        self._line(self.look.rule, 1.0)
        self.painter.drawLine(QPointF(0, self.head - 0.5), QPointF(width, self.head - 0.5))
        self.painter.setFont(self._font(size=0.82))
        self.painter.setPen(QColor(self.look.quiet))
        y = 0.4 * em
        left = Qt.AlignmentFlag.AlignLeft
        self._text(self.columns.sections, y, 6 * em, "Sections", left)
        self._text(self.columns.keys, y, 5 * em, "Keys", left)
        for function in FUNCTIONS:
            x = self.columns.rail(function)
            box = QRectF(x - em, 0, 2 * em, self.head)
            self.painter.drawText(box, Qt.AlignmentFlag.AlignCenter, function)
        for kind in self.columns.kinds:
            box = QRectF(self.columns.lane(kind) - 0.43 * em, 0.57 * em, 0.86 * em, 0.86 * em)
            paint_sign(self.painter, SIGNS[kind], box, QColor(self.look.quiet))
