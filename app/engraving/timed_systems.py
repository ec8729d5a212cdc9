"""A system with its times: where on the line of music an offset of the score stands."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.score import Score
from analysis.timebase import Offset, Span
from app.engraving.layouts import STAFF_SPACE
from app.engraving.pages import MeasureBox, Page, System


@dataclass(frozen=True, slots=True)
class TimedSystem:
    """One system of a page and the score it shows.

    ``left`` to ``right`` is from its first to its last barline, ``top`` to ``bottom`` all its ink.
    ``limits`` are the left and right ends that labels may use, ``span`` is the stretch of the score
    that it shows.
    """

    system: System
    score: Score
    limits: tuple[float, float]
    span: Span

    @property
    def measures(self) -> tuple[MeasureBox, ...]:
        """Its measures in order; at least one."""
        return self.system.measures

    @property
    def left(self) -> float:
        """Its first barline."""
        return self.measures[0].box[0]

    @property
    def right(self) -> float:
        """Its last barline."""
        x, _, width, _ = self.measures[-1].box
        return x + width

    @property
    def top(self) -> float:
        """Upper end of its ink."""
        return self.system.box[1]

    @property
    def bottom(self) -> float:
        """Lower end of its ink."""
        return self.system.box[1] + self.system.box[3]

    def x_at(self, offset: Offset) -> float:
        """Where an offset of this system stands: the left edge of what sounds there."""
        measure = self._measure_at(offset)
        return measure.x_at(float(offset - self._onset(measure)))

    def x_before(self, offset: Offset) -> float:
        """Where a stretch up to an offset ends: at a barline, or just before what follows."""
        for measure in self.measures:
            if self._end(measure) == offset:
                return measure.box[0] + measure.box[2]
        return self.x_at(offset) - STAFF_SPACE / 2

    def stretch(self, span: Span) -> tuple[float, float] | None:
        """Left and right end of what the system shows of a span; None where it shows nothing."""
        own = self.span
        if not own.overlaps(span):
            return None
        left = self.x_at(max(span.start, own.start))
        return left, max(self.x_before(min(span.end, own.end)), left + STAFF_SPACE)

    def _measure_at(self, offset: Offset) -> MeasureBox:
        later = (measure for measure in self.measures if self._end(measure) > offset)
        return next(later, self.measures[-1])

    def _onset(self, measure: MeasureBox) -> Offset:
        return self.score.measures[measure.index].onset

    def _end(self, measure: MeasureBox) -> Offset:
        return self.score.measures[measure.index].span.end


def timed_systems(page: Page, score: Score) -> list[TimedSystem]:
    """The systems of a page with their times; labels may use the page but for a small border."""
    border = STAFF_SPACE / 2
    limits = (border, page.width - border)
    measures = score.measures
    return [
        TimedSystem(
            system, score, limits,
            Span(
                measures[system.measures[0].index].onset,
                measures[system.measures[-1].index].span.end,
            ),
        )
        for system in page.systems
        if system.measures
    ]  # fmt: skip
