"""Phrases that come back.

The task: find every pair of passages of two measures or more that hold the same melody: exactly,
transposed, with other words and so other rhythms, lightly ornamented, with another pickup, or in
another part.

Method. Measures are compared as `analysis.returns.measure_contents` says. Runs of alike measures at
one distance and one transposition are a passage and its return; measures that are silent in both
may lie between. A passage does not overlap its own return: of a figure that goes round and round,
each turn is paired with the turns after it. A transposed return must hold a measure or two that are
exactly transposed, and be closer on the whole, since like figures at other pitches are common. What
comes again and again is paired with its first and its last passes only, so that a song of thirty
rounds has no hundreds of pairs, and time grows with the length of the piece. A measure of rest
before and after, shared by both passes, belongs to the passage. What another part takes up counts
as a return only where the melody itself does not hold it as well. A return that begins some beats
sooner or later in the measure is looked for with the barlines of one pass moved by as many beats,
at the same pitch and from measures on that hold exactly the same; it counts where no return on the
beat is found. What the moved measures hold is looked at only where a row of notes comes again.

Limits: passages are whole measures long. A return whose intervals follow the scale instead of being
kept is not found here.

References
----------
Runs along the diagonals of a self-similarity matrix are a textbook method (no source).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import chain, pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from analysis.marks import Repeat
from analysis.returns.alike_runs import (
    ALIKE,
    ALIKE_TRANSPOSED,
    LONGEST_SILENCE,
    MeasuredLine,
    Run,
    find_runs,
    grow_hits,
)
from analysis.returns.measure_contents import (
    SILENT,
    ContentKinds,
    Floats,
    LateContents,
    MeasureContent,
    TimedLine,
    measure_contents,
)
from analysis.score import Measure, Score
from analysis.timebase import Fraction, Offset, Span
from analysis.vocabulary.voices import HeldNote

#: One measure or two that show a transposition have so many different notes.
_LEAST_SEED: Final = 3
#: With how many of the first and of the last measures alike a measure is paired.
_FIRST_PASSES: Final = 8
_LAST_PASSES: Final = 32

_Row = npt.NDArray[np.intp]
_Found = tuple[MeasuredLine, MeasuredLine, Run]
_Shape = tuple[tuple[tuple[int | None, ...], tuple[int, ...]], ...]


def find_repeats(
    score: Score, melody: Sequence[HeldNote], others: Sequence[Sequence[HeldNote]] = ()
) -> tuple[Repeat, ...]:
    """Every passage of the melody and each of its returns, in the melody or in another line.

    Parameters
    ----------
    score
        For its measures.
    melody
        The melody as one line.
    others
        Lines of other parts that may take the melody up.

    Returns
    -------
    tuple of Repeat
        By the later passage, then the first; `Repeat.similarity` is in [0, 1]. Nothing is said of
        the harmony yet.
    """
    lines = [tuple(line) for line in (melody, *others) if line]
    if not melody or not lines:
        return ()
    contents = [measure_contents(score.measures, line) for line in lines]
    kinds = ContentKinds(contents)
    alike = kinds.likeness()
    voices = [
        MeasuredLine(line, score.measures, held, row)
        for line, held, row in zip(lines, contents, kinds.rows, strict=True)
    ]
    lead = voices[0]
    found = [(lead, lead, run) for run in _runs(alike, lead, lead)]
    for other in voices[1:]:
        for one, two in ((lead, other), (other, lead)):
            found += [
                (one, two, run)
                for run in _runs(alike, one, two)
                if not _is_told(alike, one, two, run)
            ]
    repeats = [_repeat(*pair) for pair in found] + _displaced(lead, found)
    repeats.sort(key=lambda one: (one.later.start, one.first.start, -one.first.duration))
    return tuple(repeats)


def _displaced(lead: MeasuredLine, found: Sequence[_Found]) -> list[Repeat]:
    """Returns that begin at another place of the measure, the longest of those that overlap."""
    some: list[_Found] = []
    sung = TimedLine(lead.line)
    for shift in _shifts(lead):
        moved = _later_measures(lead, shift)
        contents = LateContents(moved, sung)
        late = MeasuredLine(lead.line, moved, contents, np.zeros(len(moved), dtype=np.intp))
        in_lead, in_late = _common_rows(lead.contents, contents)
        for one, two, firsts, laters in (
            (lead, late, in_lead, in_late),
            (late, lead, in_late, in_lead),
        ):
            hits = grow_hits(one, two, _equal_measures(one, two, firsts, laters), 0)
            some += [
                (one, two, run)
                for run in find_runs(one, two, hits, 0)
                if run.similarity >= ALIKE_TRANSPOSED
            ]
    told = _ToldReturns(lead.measures)
    for pair in found:
        told.add(*_spans(*pair))
    kept: list[Repeat] = []
    for pair in sorted(some, key=lambda pair: (-pair[2].length, _spans(*pair))):
        first, later = _spans(*pair)
        if later.start >= first.end and not told.has(first, later):
            told.add(first, later)
            kept.append(_trimmed(_repeat(*pair), *pair))
    return kept


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


def _shifts(lead: MeasuredLine) -> list[Offset]:
    """By how much later in the measure something comes back: whole beats, less than a measure.

    Only those are worth a look by which four notes come back together, in pitch and in time.
    """
    meter = lead.measures[-1].meter
    length, beat = float(meter.length), float(meter.beat)
    sounds = [(note.midi, float(note.onset)) for note in lead.line]
    places: dict[tuple[tuple[int, float], ...], set[float]] = {}
    for at in range(len(sounds) - 3):
        start = sounds[at][1]
        figure = tuple((midi, onset - start) for midi, onset in sounds[at : at + 4])
        if len({midi for midi, _ in figure}) >= _LEAST_SEED:
            places.setdefault(figure, set()).add(start % length)
    found = set()
    for starts in places.values():
        for one in starts:
            found |= {round((other - one) % length / beat, 6) for other in starts}
    return [beats * meter.beat for beats in range(1, int(length / beat)) if beats in found]


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
        first_notes=_heads(inside[0]),
        later_notes=_heads(inside[1]),
        sounding=min(map(len, inside)),
    )


def _later_measures(line: MeasuredLine, late: Offset) -> tuple[Measure, ...]:
    """The measures moved later, the last left out; none where the meter changes."""
    full = [one for one in line.measures if one.length == line.measures[-1].meter.length]
    even = all(one.span.end == two.onset for one, two in pairwise(full))
    return tuple(replace(one, onset=one.onset + late) for one in full[:-1]) if even else ()


def _common_rows(lead: Sequence[MeasureContent], late: LateContents) -> tuple[list[int], list[int]]:
    """Measures of either line whose row of notes, of three pitches and more, is in the other."""
    rows = [content.row for content in lead], late.rows()
    common = {row for row in {*rows[0]} & {*rows[1]} if len({*row}) >= _LEAST_SEED}
    here, there = ([at for at, row in enumerate(one) if row in common] for one in rows)
    return here, there


def _equal_measures(
    one: MeasuredLine, two: MeasuredLine, firsts: Sequence[int], laters: Sequence[int]
) -> list[tuple[int, int]]:
    """Which of some measures of one line the other holds exactly later on."""
    places: dict[MeasureContent, list[int]] = {}
    for at in firsts:
        places.setdefault(one.contents[at], []).append(at)
    pairs = []
    for later in laters:
        start = two.measures[later].onset
        same = places.get(two.contents[later], ())
        before = [at for at in same if one.measures[at].span.end <= start]
        pairs += [(at, later) for at in before[:_FIRST_PASSES]]
    return pairs


def _spans(one: MeasuredLine, two: MeasuredLine, run: Run) -> tuple[Span, Span]:
    """Where a passage stands and where it returns."""
    return one.span(run.first, run.length), two.span(run.later, run.length)


def _half(one: Span, two: Span) -> bool:
    """Whether two spans share half of the shorter."""
    shared = min(one.end, two.end) - max(one.start, two.start)
    return 2 * shared >= min(one.duration, two.duration)


def _runs(alike: Floats, one: MeasuredLine, two: MeasuredLine) -> Iterator[Run]:
    """Passages of one line that come back later in the same or in the other line."""
    laters, firsts = np.nonzero(np.tril((alike >= ALIKE)[np.ix_(two.row, one.row)], -1))
    near = _first_and_last(firsts, laters)
    laters, firsts = laters[near], firsts[near]
    much = alike[one.row[firsts], two.row[laters]]
    here = list(zip(firsts.tolist(), laters.tolist(), much.tolist(), strict=True))
    yield from find_runs(one, two, here, 0)
    for half_steps, seeds in _moved(one, two).items():
        yield from find_runs(one, two, grow_hits(one, two, seeds, half_steps), half_steps)


def _first_and_last(firsts: _Row, laters: _Row) -> npt.NDArray[np.bool_]:
    """Which pairs of alike measures to keep, given in order of the later, then the first.

    All, unless a measure is alike to very many before it. Then the first and the last of these
    count, and whatever lies between two pairs that count on one diagonal.
    """
    places = np.arange(len(laters))
    ends = np.searchsorted(laters, laters, side="right")
    rank = places - np.searchsorted(laters, laters, side="left")
    counts = (rank < _FIRST_PASSES) | (ends - places <= _LAST_PASSES)
    if counts.all():
        return counts
    order = np.lexsort((firsts, laters - firsts))
    distance, first = (laters - firsts)[order], firsts[order]
    breaks = (np.diff(distance) != 0) | (np.diff(first) > LONGEST_SILENCE + 1)
    starts = np.concatenate(([0], np.nonzero(breaks)[0] + 1))
    low = np.minimum.reduceat(np.where(counts[order], places, len(places)), starts)
    high = np.maximum.reduceat(np.where(counts[order], places, -1), starts)
    stretch = np.repeat(np.arange(len(starts)), np.diff([*starts, len(places)]))
    kept = np.zeros(len(places), dtype=np.bool_)
    kept[order] = (places >= low[stretch]) & (places <= high[stretch])
    return kept


def _moved(one: MeasuredLine, two: MeasuredLine) -> dict[int, list[tuple[int, int]]]:
    """Pairs of measures from which on both lines are exactly transposed, by half steps."""
    places: dict[_Shape, dict[int, list[int]]] = {}
    for measure, shape in _shapes(one):
        by_pitch = places.setdefault(shape, {})
        by_pitch.setdefault(one.contents[measure].row[0], []).append(measure)
    seeds: dict[int, list[tuple[int, int]]] = {}
    for later, shape in _shapes(two):
        midi = two.contents[later].row[0]
        for other, measures in places.get(shape, {}).items():
            before = bisect_left(measures, later) if midi != other else 0
            ranks = {*range(min(before, _FIRST_PASSES)), *range(before - _LAST_PASSES, before)}
            for rank in sorted(ranks):
                if rank >= 0:
                    pairs = seeds.setdefault(midi - other, [])
                    pairs += [(measures[rank] + at, later + at) for at in range(len(shape))]
    return dict(sorted(seeds.items()))


def _shapes(voice: MeasuredLine) -> Iterator[tuple[int, _Shape]]:
    """Intervals of each measure, or of two where one alone has too few different notes."""
    known: dict[tuple[int, ...], _Shape] = {}
    row = voice.row.tolist()
    for measure, content in enumerate(voice.contents):
        length = 1 if len(set(content.row)) >= _LEAST_SEED else 2
        numbers = tuple(row[measure : measure + length])
        if content.silent or len(numbers) < length:
            continue
        if numbers not in known:
            known[numbers] = _shape(voice.contents[measure : measure + length])
        if known[numbers]:
            yield measure, known[numbers]


def _shape(contents: Sequence[MeasureContent]) -> _Shape:
    """Contents above their first note; empty where they have too few different notes."""
    low = contents[0].row[0]
    if len({midi for content in contents for midi in content.row}) < _LEAST_SEED:
        return ()
    return tuple(
        (
            tuple(cell - low if cell != SILENT else None for cell in content.cells),
            tuple(midi - low for midi in content.row),
        )
        for content in contents
    )


def _is_told(alike: Floats, one: MeasuredLine, two: MeasuredLine, run: Run) -> bool:
    """Whether a return across lines is heard within one of them just as well.

    So it is where either line holds the passage in both places, as a doubling does.
    """
    first, later = (slice(at, at + run.length) for at in (run.first, run.later))
    in_one, in_two = (float(alike[row[first], row[later]].sum()) for row in (one.row, two.row))
    least = ALIKE * sum(1 for content in one.contents[first] if content.row)
    return max(in_one, in_two) >= least


def _repeat(one: MeasuredLine, two: MeasuredLine, run: Run) -> Repeat:
    return Repeat(
        first=one.span(run.first, run.length),
        later=two.span(run.later, run.length),
        part=one.part,
        transposition=run.half_steps,
        similarity=round(run.similarity, 3),
        reharmonised=False,
        first_notes=_heads(one.notes(run.first, run.length)),
        later_notes=_heads(two.notes(run.later, run.length)),
        sounding=min(len(one.notes(run.first, run.length)), len(two.notes(run.later, run.length))),
        later_part="" if one.part == two.part else two.part,
    )


def _heads(notes: Sequence[HeldNote]) -> tuple[str, ...]:
    return tuple(chain.from_iterable(note.heads for note in notes))
