"""Times on the timeline: heights of offsets, in written or in played order. No window needed.

Time runs down, in quarter notes to scale. In played order repeats are unfolded: the written piece
is cut into runs of measures that follow each other both on paper and in time, and a place that is
played twice stands at two heights.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

from analysis.score import Score
from analysis.timebase import Fraction, Offset, Span


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of the written piece and when it begins in the order that is shown."""

    written: Span
    at: Offset

    @property
    def end(self) -> Offset:
        """When it ends in the order that is shown."""
        return self.at + self.written.duration


def written_runs(score: Score) -> tuple[Run, ...]:
    """The piece as it stands on paper: one run."""
    return (Run(score.span, Fraction(0)),)


def played_runs(score: Score) -> tuple[Run, ...]:
    """The piece as it is played, repeats unfolded."""
    runs: list[Run] = []
    now = Fraction(0)
    for index in score.played or range(len(score.measures)):
        span = score.measures[index].span
        if runs and runs[-1].written.end == span.start:
            runs[-1] = Run(Span(runs[-1].written.start, span.end), runs[-1].at)
        else:
            runs.append(Run(span, now))
        now += span.duration
    return tuple(runs)


@dataclass(frozen=True, slots=True)
class Scale:
    """Offsets to pixels: ``top`` is where the first run begins, ``rate`` pixels a quarter note."""

    top: float
    rate: float
    runs: tuple[Run, ...]

    @property
    def length(self) -> Offset:
        """Quarter notes from top to bottom."""
        return self.runs[-1].end if self.runs else Fraction(0)

    @property
    def bottom(self) -> float:
        """Where the last run ends."""
        return self.top + float(self.length) * self.rate

    def y(self, offset: Offset | float) -> float:
        """The height of a written offset, where it is first shown."""
        for run in self.runs:
            if run.written.start <= offset < run.written.end:
                return self.y_in(run, offset)
        return self.y_in(self.runs[-1], offset) if self.runs else self.top

    def y_in(self, run: Run, offset: Offset | float) -> float:
        """The height of a written offset in a run, or where it would be beyond its ends."""
        return self.top + (float(offset) - float(run.written.start) + float(run.at)) * self.rate

    def run_at(self, y: float) -> Run:
        """The run at a height; the first or last one beyond the ends."""
        now = (y - self.top) / self.rate
        at = bisect_right(self.runs, now, key=lambda run: float(run.at)) - 1
        return self.runs[max(at, 0)]

    def offset(self, y: float) -> Offset:
        """The written offset at a height; the piece's ends beyond them."""
        run = self.run_at(y)
        into = (y - self.top) / self.rate - float(run.at)
        into = min(max(into, 0.0), float(run.written.duration))
        return run.written.start + Fraction(into).limit_denominator(64)
