"""How strong a place in the measure is.

Five grades: 4 the first beat, 3 the middle of a measure of four or more even beats (and the later
groups of a compound measure's halves), 2 any other beat, 1 the half of a simple beat or a third of
a compound one, 0 everything between. Common practice, no source.
"""

from __future__ import annotations

from analysis.score import Score
from analysis.timebase import Offset


def metric_grade(score: Score, offset: Offset) -> int:
    """Strength of an offset in its measure, 0 to 4."""
    measure = score.measure_at(offset)
    meter = measure.meter
    beat = score.beat_at(offset) - 1
    if beat == 0:
        return 4
    if beat.denominator == 1:
        beats = meter.length / meter.beat
        return 3 if beats % 2 == 0 and beats >= 4 and 2 * beat == beats else 2
    parts = 3 if meter.beat.numerator == 3 else 2
    return 1 if (beat * parts).denominator == 1 else 0


def is_accented(score: Score, offset: Offset, next_offset: Offset | None) -> bool:
    """Whether a note is stronger in the measure than the note that follows, and on a beat."""
    grade = metric_grade(score, offset)
    if grade < 2:
        return False
    return next_offset is None or grade >= metric_grade(score, next_offset)
