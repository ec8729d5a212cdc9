"""How the timeline is painted; `app.views.timeline_layout` says where.

Each run of the shown order is painted by itself, cut off at its ends.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from analysis.marks import Section
from analysis.pitch import Key
from analysis.timebase import Offset, Span
from app.interface_words import said
from app.review.document import Document
from app.review.section_edits import sections_of
from app.review.selection import Selection
from app.review.writing import Writing, key_words
from app.views.looks import Look
from app.views.signs import SIGNS, paint_sign
from app.views.timeline_layout import (
    BUSIEST,
    FUNCTIONS,
    Columns,
    LaneSign,
    broken,
    changes_in,
    function_path,
    number_step,
    visible_measures,
)
from app.views.timeline_scale import Run, Scale

LEFT = Qt.AlignmentFlag.AlignLeft
#: As things are kept.
WRITING = Writing()
#: Farther right than any view reaches.
FAR = 4096.0


@dataclass(frozen=True, slots=True)
class Dragged:
    """A border of sections on its way: which one, and where it would come to stand."""

    index: int
    to: Offset


@dataclass(frozen=True, slots=True)
class TimelinePainter:
    """One painting of the timeline."""

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
    dragged: Dragged | None = None
    waiting: bool = False
    writing: Writing = WRITING

    def paint_ground(self) -> None:
        """What is selected, below all."""
        for run in self._runs_in_sight():
            self._within(run, self._paint_selection)

    def with_painter(self, painter: QPainter) -> TimelinePainter:
        """The same painting by another painter."""
        return replace(self, painter=painter)

    def paint(self) -> None:
        """Run after run from the ground up: the piece without its signs.

        All but what is selected, what the score shows and a border on its way; so it can be kept as
        long as those alone change.
        """
        for run in self._runs_in_sight():
            self._within(run, self._paint_run)
            if run.at:
                self._paint_turn(run, self.scale.y_in(run, run.written.start))

    def paint_signs(self, signs: Iterable[LaneSign]) -> None:
        """Some signs in their lanes, as they are while they are not selected."""
        painted = tuple(signs)
        for run in self._runs_in_sight():
            self._within(run, partial(self._paint_lanes, painted))

    def boxes_of(self, sign: LaneSign) -> Iterator[QRectF]:
        """What a sign and its stretches may cover."""
        em = self.columns.em
        left = self.columns.lane(sign.group, sign.row) - 0.56 * em
        for run in self._runs_in_sight():
            for span in sign.stretches:
                if ends := self._ends(run, span):
                    yield QRectF(left, ends[0], 1.12 * em, ends[1] - ends[0])
            if sign.start in run.written:
                yield QRectF(left, self.scale.y_in(run, sign.start), 1.12 * em, 1.1 * em)

    def paint_over(self) -> None:
        """The sign of the selected mark, what the score shows, a border on its way."""
        self.painter.save()
        self.painter.setClipRect(QRectF(0, self.head, FAR, self.height))
        for run in self._runs_in_sight():
            self._within(run, self._paint_above)
        self.painter.restore()

    def _runs_in_sight(self) -> list[Run]:
        """The runs of which a part is in view."""
        first, last = self.scale.run_at(self.head), self.scale.run_at(self.height)
        return [run for run in self.scale.runs if first.at <= run.at <= last.at]

    def _within(self, run: Run, paint: Callable[[Run], None]) -> None:
        """Paint a run by itself, cut off at its ends."""
        top = self.scale.y_in(run, run.written.start)
        bottom = self.scale.y_in(run, run.written.end)
        self.painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self.painter.save()
        clip = QRectF(0, top, FAR, bottom - top + 1)
        self.painter.setClipRect(clip, Qt.ClipOperation.IntersectClip)
        paint(run)
        self.painter.restore()

    def _paint_run(self, run: Run) -> None:
        self._paint_measures(run)
        self._paint_sections(run)
        self._paint_keys(run)
        self._paint_rhythm(run)
        self._paint_functions(run)

    def _paint_lanes(self, signs: tuple[LaneSign, ...], run: Run) -> None:
        for sign in signs:
            colour = self.look.quiet if sign.mark.state == "open" else self.look.ink
            self._paint_lane_sign(run, sign, colour, chosen=False)

    def _paint_above(self, run: Run) -> None:
        for sign in self.signs:
            if sign.mark.id == self.selection.mark:
                self._paint_lane_sign(run, sign, self.look.accent, chosen=True)
        self._paint_shown(run)
        self._paint_dragged(run)

    # Tools

    def sized(self, weight: QFont.Weight = QFont.Weight.Normal, size: float = 1.0) -> QFont:
        """The timeline's font in a weight, at a share of its size."""
        font = QFont(self.font)
        font.setWeight(weight)
        font.setPointSizeF(self.font.pointSizeF() * size)
        return font

    def take_pen(self, colour: str, width: float = 1.0) -> None:
        """Draw strokes from now on, and fill nothing."""
        pen = QPen(QColor(colour), width)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        self.painter.setPen(pen)
        self.painter.setBrush(Qt.BrushStyle.NoBrush)

    def write(self, x: float, y: float, width: float, text: str, flags: Qt.AlignmentFlag) -> None:
        """One line of text, cut short where it does not fit; ``y`` is its upper edge."""
        metrics = self.painter.fontMetrics()
        short = metrics.elidedText(text, Qt.TextElideMode.ElideRight, int(width))
        self.painter.drawText(QRectF(x, y, width, metrics.height()), flags, short)

    def _ends(self, run: Run, span: Span) -> tuple[float, float] | None:
        """Heights of a span's ends in a run; None where it is not in sight."""
        if not span.overlaps(run.written):
            return None
        top, bottom = self.scale.y_in(run, span.start), self.scale.y_in(run, span.end)
        return None if bottom < self.head or top > self.height else (top, bottom)

    def _held(self, run: Run, top: float, bottom: float, lines: float) -> float:
        """Where a text begins that stays in sight as long as what it is about does."""
        em = self.columns.em
        high = max(self.head, self.scale.y_in(run, run.written.start))
        low = min(bottom, self.scale.y_in(run, run.written.end))
        return min(max(top + 0.3 * em, high + 0.2 * em), low - lines * em)

    # Columns

    def _paint_selection(self, run: Run) -> None:
        span = self.selection.span
        if span is None or not (span.overlaps(run.written) or span.start in run.written):
            return
        top = self.scale.y_in(run, span.start)
        height = max(self.scale.y_in(run, span.end) - top, 3.0)
        self.painter.fillRect(QRectF(0, top, FAR, height), QColor(self.look.wash))
        self.painter.fillRect(QRectF(0, top, 3, height), QColor(self.look.accent))

    def _measures(self, run: Run) -> list[tuple[int, str, Offset]]:
        """Index, number and onset of the measures of a run that are in sight."""
        top = max(self.head, self.scale.y_in(run, run.written.start))
        bottom = min(self.height, self.scale.y_in(run, run.written.end))
        if bottom <= top:
            return []
        rate, origin = self.scale.rate, self.scale.y_in(run, 0)
        start, end = Offset((top - origin) / rate), Offset((bottom - origin) / rate)
        found = visible_measures(self.document, start, end)
        inside = [measure for measure in found if measure.onset in run.written]
        return [(measure.index, measure.number, measure.onset) for measure in inside]

    def _paint_measures(self, run: Run) -> None:
        em = self.columns.em
        step = number_step(self.document.score.measures, self.scale.rate, em)
        self.painter.setFont(self.sized(size=0.82))
        last_number = float("-inf")
        for index, number, onset in self._measures(run):
            y = self.scale.y_in(run, onset)
            first = index % step == 0
            self.take_pen(self.look.rule, 1.0)
            left = self.columns.numbers_end - (0.0 if first else -0.2 * em)
            self.painter.drawLine(QPointF(left, y), QPointF(self.columns.sections - 4, y))
            if first and y - last_number > em:  # a pickup may leave no room for the next
                last_number = y
                self.painter.setPen(QColor(self.look.quiet))
                width = self.columns.numbers_end - 0.35 * em
                self.write(0, y - 0.1 * em, width, number, Qt.AlignmentFlag.AlignRight)

    def _paint_sections(self, run: Run) -> None:
        em, x = self.columns.em, self.columns.sections
        width = self.columns.keys - x - 0.7 * em
        for section in sections_of(self.document):
            ends = self._ends(run, section.span)
            if ends is None:
                continue
            top, bottom = ends
            self.take_pen(self.look.rule, 1.0)
            self.painter.drawLine(QPointF(x, top), QPointF(FAR, top))
            colour = self.document.section_colours.get(section.label)
            if colour:
                edge = QRectF(x + 1.5, top + 2, 0.34 * em, bottom - top - 4)
                self.painter.fillRect(edge, QColor(colour))
            self.take_pen(self.look.ink, 1.6)
            self.painter.drawLine(QPointF(x, top + 1.5), QPointF(x, bottom - 1.5))
            self.painter.drawLine(QPointF(x, top + 1.5), QPointF(x + 0.5 * em, top + 1.5))
            if bottom - top >= 1.1 * em:
                self._paint_name(section, x + 0.6 * em, self._held(run, top, bottom, 1.3), width)

    def _paint_name(self, section: Section, x: float, y: float, width: float) -> None:
        em = self.columns.em
        self.painter.setPen(QColor(self.look.ink))
        self.painter.setFont(self.sized(QFont.Weight.DemiBold))
        metrics = QFontMetricsF(self.painter.font())
        line, own = metrics.height(), width - 0.6 * em
        room = self.scale.y(section.span.end) - self.scale.y(section.span.start) - 0.3 * em
        name = section.name or section.label
        lines = broken(name, own, metrics.horizontalAdvance)
        if len(lines) * line > room:
            lines = [name]
        for text in lines:
            self.write(x, y, own, text, LEFT)
            y += line
        form = section.label and section.name and section.label != section.name
        if form and room > (len(lines) + 0.9) * line:
            self.painter.setFont(self.sized(size=0.82))
            self.painter.setPen(QColor(self.look.quiet))
            self.write(x, y, width, said("form {letter}", letter=section.label), LEFT)

    def _paint_keys(self, run: Run) -> None:
        em, x = self.columns.em, self.columns.keys
        width = self.columns.rails - x - 0.6 * em
        self.painter.setFont(self.sized(size=0.9))
        for region in self.document.analysis.key_regions:
            ends = self._ends(run, region.span)
            if ends is None:
                continue
            top, bottom = ends
            self.take_pen(self.look.quiet, 1.0)
            self.painter.drawLine(QPointF(x, top + 3), QPointF(x, bottom - 3))
            if bottom - top >= 1.1 * em:
                self.painter.setPen(QColor(self.look.ink))
                lines = self._key_lines(region.key, width, bottom - top)
                y = self._held(run, top, bottom, 1.15 * len(lines) + 0.15)
                for at, text in enumerate(lines):
                    self.write(x + 0.4 * em, y + 1.1 * em * at, width, text, LEFT)

    def _key_lines(self, key: Key, width: float, room: float) -> list[str]:
        """A key's whole name where it fits, in one line or two, else the short one."""
        metrics = QFontMetricsF(self.painter.font())
        whole = key_words(key, self.writing)
        tonic = whole.split()[0]
        if metrics.horizontalAdvance(whole) <= width:
            return [whole]
        if room > 2.7 * self.columns.em and metrics.horizontalAdvance(key.mode) <= width:
            return [tonic, key.mode]
        return [f"{tonic} {key.mode[:3]}"]

    def _paint_rhythm(self, run: Run) -> None:
        """For each measure a bar as long as it has chord changes."""
        em, x = self.columns.em, self.columns.rhythm
        measures = self.document.score.measures
        shown = tuple(measures[index] for index, _, _ in self._measures(run))
        self.painter.setPen(Qt.PenStyle.NoPen)
        for measure, count in zip(shown, changes_in(self.document, shown), strict=True):
            top = self.scale.y_in(run, measure.onset)
            height = float(measure.length) * self.scale.rate
            width = 1.5 * em * min(count, BUSIEST) / BUSIEST
            gap = min(1.0, 0.15 * height)
            bar = QRectF(x, top + gap, width, max(height - 2 * gap, 0.5))
            self.painter.fillRect(bar, QColor(self.look.rule))

    def _paint_functions(self, run: Run) -> None:
        em = self.columns.em
        top = max(self.head, self.scale.y_in(run, run.written.start))
        end = min(self.height, self.scale.y_in(run, run.written.end))
        for function in FUNCTIONS:
            x = self.columns.rail(function)
            self.take_pen(self.look.rule, 1.0)
            self.painter.drawLine(QPointF(x, top), QPointF(x, end))
        places = [
            (QPointF(self.columns.rail(function), y + 0.5 * em), function)
            for _, function, y in function_path(self.document, run, self.scale)
            if self.head - 20 * em < y < self.height + 20 * em
        ]
        self.take_pen(self.look.quiet, 1.2)
        for (one, _), (other, _) in pairwise(places):
            self.painter.drawLine(one, other)
        self.painter.setFont(self.sized(QFont.Weight.DemiBold, 0.86))
        half, last_y = 0.52 * em, float("-inf")
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

    def _paint_lane_sign(self, run: Run, sign: LaneSign, colour: str, *, chosen: bool) -> None:
        """The sign of a mark with the stretches that it speaks of."""
        em = self.columns.em
        x = self.columns.lane(sign.group, sign.row)
        for number, span in enumerate(sign.stretches):
            self._paint_stretch(run, x, span, colour, chosen, signed=number == 0)
        y = self.scale.y_in(run, sign.start) + 0.5 * em
        if sign.start in run.written and self.head - em < y < self.height + em:
            size = em * (1.0 if chosen else 0.86)
            box = QRectF(x - size / 2, y - size / 2, size, size)
            if chosen:  # over its usual form
                self.painter.fillRect(box.adjusted(0, 0, 0, 1), QColor(self.look.wash))
            paint_sign(self.painter, SIGNS[sign.mark.mark.kind], box, QColor(colour))

    def _paint_stretch(
        self, run: Run, x: float, span: Span, colour: str, chosen: bool, *, signed: bool
    ) -> None:
        """A line along a stretch; the mark's own has its sign for the upper end."""
        ends, em = self._ends(run, span), self.columns.em
        if ends is None or ends[1] - ends[0] <= 1.2 * em:
            return
        top, bottom = ends[0] + 2, ends[1] - 2
        tick = 0.3 * em
        self.take_pen(colour, 2.0 if chosen else 1.0)
        if signed:
            top += 1.05 * em - 2
        else:
            self.painter.drawLine(QPointF(x, top), QPointF(x + tick, top))
        self.painter.drawLine(QPointF(x, top), QPointF(x, bottom))
        self.painter.drawLine(QPointF(x, bottom), QPointF(x + tick, bottom))

    def _paint_shown(self, run: Run) -> None:
        """A frame beside the measure numbers around what the score shows."""
        if self.shown is None or not self.shown.overlaps(run.written):
            return
        top = max(self.scale.y_in(run, self.shown.start), self.head + 1)
        bottom = self.scale.y_in(run, self.shown.end)
        self.take_pen(self.look.accent, 1.5)
        x = self.columns.numbers_end + 0.25 * self.columns.em
        for y in (top + 1, bottom - 1):
            self.painter.drawLine(QPointF(x - 5, y), QPointF(x, y))
        self.painter.drawLine(QPointF(x, top + 1), QPointF(x, bottom - 1))

    def _paint_dragged(self, run: Run) -> None:
        """Where a border that is being dragged would come to stand."""
        if self.dragged is None or not run.written.start <= self.dragged.to <= run.written.end:
            return
        y = self.scale.y_in(run, self.dragged.to)
        self.take_pen(self.look.accent, 2.0)
        self.painter.drawLine(QPointF(self.columns.sections, y), QPointF(self.columns.rails, y))

    def _paint_turn(self, run: Run, y: float) -> None:
        """Where the order goes back or forward: the measure that it goes on with."""
        if not self.head < y < self.height:
            return
        self.painter.setPen(QPen(QColor(self.look.accent), 1.2, Qt.PenStyle.DashLine))
        self.painter.drawLine(QPointF(0, y), QPointF(self.columns.sections - 4, y))
