"""Returns that begin some beats sooner or later in the measure.

The task: find passages of the melody that come back at the same pitch, but at another place of the
measure.

Method. The barlines of one pass are moved by as many beats, and measures that hold exactly the same
are looked for; from these on passages are found as `analysis.returns.alike_runs` says. Only shifts
by which four notes come back together are tried, and what the moved measures hold is looked at only
where a row of notes comes again. Of passages that overlap the longest counts, and only where no
return on the beat is told already.

What it cannot do: pieces that change their meter for longer, and returns without a measure that is
exactly the same.

References
----------
Common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

import numpy as np

from analysis.marks import Repeat
from analysis.returns.alike_runs import (
    ALIKE_TRANSPOSED,
    MeasuredLine,
    Run,
    find_runs,
    grow_hits,
    to_repeat,
)
from analysis.returns.measure_contents import LateContents, MeasureContent, TimedLine
from analysis.score import Measure
from analysis.timebase import Fraction, Offset, Span

#: A figure, and a row of notes, that may come back has so many pitches.
_LEAST_PITCHES: Final = 3
#: With how many of the first measures that hold the same a measure is paired.
_FIRST_PASSES: Final = 8

_Found = tuple[MeasuredLine, MeasuredLine, Run]


def find_displaced_repeats(
    measures: Sequence[Measure], lead: MeasuredLine, told: Iterable[Repeat]
) -> list[Repeat]:
    """Returns at another place of the measure, the longest of those that overlap.

    Parameters
    ----------
    measures
        The measures of the piece.
    lead
        The melody.
    told
        Returns on the beat, which are not told again.
    """
    whole = [one for one in measures if one.length == measures[-1].meter.length]
    if any(one.span.end != two.onset for one, two in pairwise(whole)):
        return []
    sung = TimedLine(lead.line)
    some: list[_Found] = []
    for shift in _shifts(measures[-1], sung):
        some += _moved_by(shift, whole[:-1], lead, sung)
    if not some:
        return []
    known = _ToldReturns(measures)
    for repeat in told:
        known.add(repeat.first, repeat.later)
    kept: list[Repeat] = []
    for pair in sorted(some, key=lambda pair: (-pair[2].length, _spans(*pair))):
        first, later = _spans(*pair)
        if later.start >= first.end and not known.has(first, later):
            known.add(first, later)
            kept.append(_trimmed(to_repeat(*pair), *pair))
    return kept


def _moved_by(
    shift: Offset, measures: Sequence[Measure], lead: MeasuredLine, sung: TimedLine
) -> list[_Found]:
    """Passages and returns with the barlines of either moved later by so much."""
    contents = LateContents(measures, shift, sung)
    rows = contents.rows()
    common = {row for row in {*lead.rows} & {*rows} if len({*row}) >= _LEAST_PITCHES}
    if not common:
        return []
    starts = [one.onset + shift for one in measures]
    ends = [one.span.end + shift for one in measures]
    late = MeasuredLine(lead.line, starts, ends, contents, rows, np.arange(len(measures)))
    found: list[_Found] = []
    for one, two in ((lead, late), (late, lead)):
        hits = grow_hits(one, two, _equal_measures(one, two, common), 0)
        found += [
            (one, two, run)
            for run in find_runs(one, two, [hits])
            if run.similarity >= ALIKE_TRANSPOSED
        ]
    return found


class _ToldReturns:
    """Passages and returns that are told already, by the measures in which the returns stand."""

    def __init__(self, measures: Sequence[Measure]) -> None:
        self._onsets = [measure.onset for measure in measures]
        self._by_measure: dict[int, list[tuple[Span, Span]]] = {}

    def add(self, first: Span, later: Span) -> None:
        for measure in self._measures(later):
            self._by_measure.setdefault(measure, []).append((first, later))

    def has(self, first: Span, later: Span) -> bool:
        """Whether half of both passages is told."""
        return any(
            _half(first, other) and _half(later, another)
            for measure in self._measures(later)
            for other, another in self._by_measure.get(measure, ())
        )

    def _measures(self, span: Span) -> range:
        start = bisect_right(self._onsets, span.start) - 1
        return range(start, bisect_left(self._onsets, span.end, start + 1))


def _shifts(last: Measure, sung: TimedLine) -> list[Offset]:
    """By how much later in the measure something comes back: whole beats, less than a measure.

    Only those are worth a look by which four notes come back together, in pitch and in time.
    """
    length, beat = float(last.meter.length), float(last.meter.beat)
    rows = ([*row[at:]] for row in (sung.midis, sung.onsets) for at in range(4))
    places: dict[tuple[float, ...], set[float]] = {}
    for one, two, three, four, start, second, third, fourth in zip(*rows, strict=False):
        if len({one, two, three, four}) >= _LEAST_PITCHES:
            figure = (one, two, three, four, second - start, third - start, fourth - start)
            places.setdefault(figure, set()).add(start % length)
    found = set()
    for starts in places.values():
        for at in starts if len(starts) > 1 else ():
            found |= {round((other - at) % length / beat, 6) for other in starts}
    return [beats * last.meter.beat for beats in range(1, int(length / beat)) if beats in found]


def _trimmed(repeat: Repeat, one: MeasuredLine, two: MeasuredLine, run: Run) -> Repeat:
    """The return without what stands before its first common note or after its last.

    The barlines of one pass cut into what is around it there.
    """
    first, later = repeat.first.start, repeat.later.start
    notes = one.notes(run.first, run.length), two.notes(run.later, run.length)
    rows = [
        {(note.onset - start, note.midi): note.end - start for note in line}
        for line, start in zip(notes, (first, later), strict=True)
    ]
    common = rows[0].keys() & rows[1].keys()
    if not common:
        return repeat
    low, high = min(common), max(common)
    begin = low[0] if any(place < low for row in rows for place in row) else Fraction(0)
    more = any(place > high for row in rows for place in row)
    end = min(row[high] for row in rows) if more else repeat.first.duration
    inside = [
        [note for note in line if low[0] <= note.onset - start <= high[0]]
        for line, start in zip(notes, (first, later), strict=True)
    ]
    return replace(
        repeat,
        first=Span(first + begin, first + end),
        later=Span(later + begin, later + end),
        first_notes=tuple(head for note in inside[0] for head in note.heads),
        later_notes=tuple(head for note in inside[1] for head in note.heads),
        sounding=min(map(len, inside)),
    )


def _equal_measures(
    one: MeasuredLine, two: MeasuredLine, rows: set[tuple[int, ...]]
) -> list[tuple[int, int]]:
    """Which measures with one of some rows the other line holds exactly later on."""
    places: dict[MeasureContent, list[int]] = {}
    for at, row in enumerate(one.rows):
        if row in rows:
            places.setdefault(one.contents[at], []).append(at)
    pairs = []
    for later, row in enumerate(two.rows):
        if row in rows:
            start, same = two.starts[later], places.get(two.contents[later], ())
            before = [at for at in same if one.ends[at] <= start]
            pairs += [(at, later) for at in before[:_FIRST_PASSES]]
    return pairs


def _spans(one: MeasuredLine, two: MeasuredLine, run: Run) -> tuple[Span, Span]:
    """Where a passage stands and where it returns."""
    return one.span(run.first, run.length), two.span(run.later, run.length)


def _half(one: Span, two: Span) -> bool:
    """Whether two spans share half of the shorter."""
    shared = min(one.end, two.end) - max(one.start, two.start)
    return 2 * shared >= min(one.duration, two.duration)
