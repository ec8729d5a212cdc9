"""Arrows from dominants to the chords that they lead to, in the row of numerals.

A dominant of a chord other than the tonic, or one that is answered by a surprise, is easier seen
than read: a fine arrow runs level from its numeral to the next one where that is the chord that it
wants, and a dashed one where another chord comes instead. So for dominants on an altered degree,
such as the backdoor one. It fills only the gap between
the two, so it touches neither; where the gap is short there is none, for the numerals then stand
beside each other anyway. Plain dominants of the key have none: they would be everywhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Final

from analysis.marks import ChordFact
from app.engraving.labels import Label, Toned
from app.engraving.pages import PathShape
from app.engraving.signs import FINE
from app.review.document import ReviewedMark

#: Against the em of the numerals: space at both ends, least length, length and half height of the
#: head, height above the baseline; length of the dashes of one that is deceived and of the spaces
#: between them, which keep their number large enough to be no accident.
_SPACE: Final = 0.3
_LEAST: Final = 0.9
_HEAD: Final = 0.3
_HALF: Final = 0.13
_RISE: Final = 0.33
_DASH: Final = 0.2
_BREAK: Final = 0.14


def arrows_between(
    labels: Sequence[Label], marks: Mapping[str, ReviewedMark], baseline: float, em: float
) -> Iterator[Toned]:
    """The arrows of a row of numerals.

    Parameters
    ----------
    labels
        The row from left to right.
    marks
        The chords by id.
    baseline, em
        Of the row, in page units.
    """
    for one, other in pairwise(labels):
        leads = _leads(marks[one.mark], marks[other.mark])
        start = one.box[0] + one.box[2] + _SPACE * em
        end = other.box[0] - _SPACE * em
        if leads and end - start >= _LEAST * em:
            y = baseline - _RISE * em
            yield from _arrow(one.mark, start, end, y, em, whole=leads == "resolves")


def _leads(dominant: ReviewedMark, answer: ReviewedMark) -> str:
    """``resolves`` or ``deceptive`` where an arrow helps, else empty."""
    fact, next_fact = dominant.mark.fact, answer.mark.fact
    if not isinstance(fact, ChordFact) or not isinstance(next_fact, ChordFact):
        return ""
    if fact.span.end != next_fact.span.start or fact.numeral is None:
        return ""
    if fact.chord and next_fact.chord and fact.chord.root == next_fact.chord.root:
        # The same dominant goes on, with its suspension resolved: no answer yet.
        return ""
    if fact.resolution == "resolves" and (fact.numeral.applied_to or fact.numeral.alter):
        return "resolves"
    return "deceptive" if fact.resolution == "deceptive" else ""


def _arrow(
    mark: str, start: float, end: float, y: float, em: float, *, whole: bool
) -> Iterator[Toned]:
    tip = end - _HEAD * em
    shafts = [(start, tip)]
    if not whole:
        # Whole dashes from end to end, so that none is cut short at the head.
        count = max(2, round((tip - start + _BREAK * em) / ((_DASH + _BREAK) * em)))
        step = (tip - start + _BREAK * em) / count
        shafts = [(start + n * step, start + (n + 1) * step - _BREAK * em) for n in range(count)]
    for left, right in shafts:
        if right > left:
            yield Toned("soft", PathShape(mark, "mark", "ML", (left, y, right, y), False, FINE))
    half = _HALF * em
    points = (tip, y - half, end, y, tip, y + half)
    yield Toned("soft", PathShape(mark, "mark", "MLLZ", points, True))
