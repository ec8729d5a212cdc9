"""How strong a place in the measure is.

Five grades: 4 the first beat, 3 the middle of a measure of four or more even beats (and the later
groups of a compound measure's halves), 2 any other beat, 1 the half of a simple beat or a third of
a compound one, 0 everything between. Common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_right

from analysis.score import Measure, Score
from analysis.timebase import Offset


class MetricGrid:
    """The measures of a score, to be asked for places quickly.

    Offsets are looked up as floating numbers: equal fractions are equal floats, and no two places
    of a score lie so near that they would fall together.
    """

    def __init__(self, score: Score) -> None:
        self._measures = score.measures
        self._starts = [float(measure.onset) for measure in score.measures]

    def measure_at(self, offset: Offset) -> Measure:
        """The measure that holds the offset (the last one for the end of the piece)."""
        at = bisect_right(self._starts, float(offset)) - 1
        return self._measures[max(at, 0)]

    def grade(self, offset: Offset) -> int:
        """Strength of an offset in its measure, 0 to 4."""
        measure = self.measure_at(offset)
        meter = measure.meter
        into = offset - measure.onset
        if measure.pickup:
            into += meter.length - measure.length
        beat = into / meter.beat
        if beat == 0:
            return 4
        if beat.denominator == 1:
            beats = meter.length / meter.beat
            return 3 if beats % 2 == 0 and beats >= 4 and 2 * beat == beats else 2
        parts = 3 if meter.beat.numerator == 3 else 2
        return 1 if (beat * parts).denominator == 1 else 0

    def is_accented(self, offset: Offset, next_offset: Offset | None) -> bool:
        """Whether a note is as strong in the measure as the one that follows, and on a beat."""
        grade = self.grade(offset)
        if grade < 2:
            return False
        return next_offset is None or grade >= self.grade(next_offset)
