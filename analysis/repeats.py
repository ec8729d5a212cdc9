"""Phrases that come back.

The task: find every pair of passages of two measures or more that hold the same melody: exactly,
transposed, with other words and so other rhythms, lightly ornamented, with another pickup, or in
another part.

Method. Measures are compared as `analysis.measure_contents` says. Runs of alike measures at one
distance and one transposition are a passage and its return; measures that are silent in both may
lie between. A passage does not overlap its own return: of a figure that goes round and round, each
turn is paired with the turns after it. A transposed return must hold a measure or two that are
exactly transposed, and be closer on the whole, since like figures at other pitches are common. What
comes again and again is paired with its first and its last passes only, so that a song of thirty
rounds has no hundreds of pairs, and time grows with the length of the piece. A measure of rest
before and after, shared by both passes, belongs to the passage. What another part takes up counts
as a return only where the melody itself does not hold it as well.

Limits: passages are whole measures. A return that begins at another place of the measure is not
found here, nor one whose intervals follow the scale instead of being kept.

References
----------
Runs along the diagonals of a self-similarity matrix are a textbook method (no source).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain
from typing import Final

import numpy as np
import numpy.typing as npt

from analysis.marks import Repeat
from analysis.measure_contents import (
    SILENT,
    ContentKinds,
    Floats,
    MeasureContent,
    alike_when_moved,
    measure_contents,
)
from analysis.score import Measure, Score
from analysis.timebase import Span
from analysis.voices import HeldNote

#: Least likeness of two measures inside a passage, at its ends, and of a passage on the whole.
_ALIKE: Final = 0.5
_ALIKE_AT_THE_ENDS: Final = 0.72
_ALIKE_ON_THE_WHOLE: Final = 0.72
_ALIKE_TRANSPOSED: Final = 0.85
_LEAST_MEASURES: Final = 2
#: A passage has as many notes; fewer are enough where the return is exact.
_LEAST_NOTES: Final = 6
_LEAST_NOTES_EXACT: Final = 4
#: One measure or two that show a transposition have so many different notes.
_LEAST_SEED: Final = 3
#: Longest silence inside a passage, in measures.
_LONGEST_SILENCE: Final = 2
#: With how many of the first and of the last measures alike a measure is paired.
_FIRST_PASSES: Final = 8
_LAST_PASSES: Final = 32

_Row = npt.NDArray[np.intp]
_Hit = tuple[int, int, float]
_Shape = tuple[tuple[tuple[int | None, ...], tuple[int, ...]], ...]


@dataclass(frozen=True, slots=True)
class _Run:
    """Measures from ``first`` and from ``later`` on hold the same melody."""

    first: int
    later: int
    length: int
    half_steps: int
    similarity: float


@dataclass(frozen=True)
class _Voice:
    """One line with what it holds in each measure; ``row`` numbers the contents."""

    line: tuple[HeldNote, ...]
    measures: tuple[Measure, ...]
    contents: tuple[MeasureContent, ...]
    row: _Row

    @property
    def part(self) -> str:
        return self.line[0].part

    def span(self, first: int, length: int) -> Span:
        """Where so many measures stand."""
        return Span(self.measures[first].onset, self.measures[first + length - 1].span.end)

    def notes(self, first: int, length: int) -> tuple[HeldNote, ...]:
        """The notes that begin in so many measures."""
        return self.line[self._heads[first] : self._heads[first + length]]

    @cached_property
    def _heads(self) -> list[int]:
        """For each measure, and for the end, how many notes begin before it."""
        onsets = [float(note.onset) for note in self.line]
        borders = [float(measure.onset) for measure in self.measures]
        return [bisect_left(onsets, at) for at in (*borders, float(self.measures[-1].span.end))]


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
        _Voice(line, score.measures, held, row)
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
    found.sort(key=lambda pair: (pair[2].later, pair[2].first, -pair[2].length))
    return tuple(_repeat(one, two, run) for one, two, run in found)


def _runs(alike: Floats, one: _Voice, two: _Voice) -> Iterator[_Run]:
    """Passages of one line that come back later in the same or in the other line."""
    laters, firsts = np.nonzero(np.tril((alike >= _ALIKE)[np.ix_(two.row, one.row)], -1))
    near = _first_and_last(firsts, laters)
    laters, firsts = laters[near], firsts[near]
    much = alike[one.row[firsts], two.row[laters]]
    here = list(zip(firsts.tolist(), laters.tolist(), much.tolist(), strict=True))
    yield from _on_diagonals(one, two, here, 0)
    for half_steps, seeds in _moved(one, two).items():
        yield from _on_diagonals(one, two, _grown(one, two, seeds, half_steps), half_steps)


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
    breaks = (np.diff(distance) != 0) | (np.diff(first) > _LONGEST_SILENCE + 1)
    starts = np.concatenate(([0], np.nonzero(breaks)[0] + 1))
    low = np.minimum.reduceat(np.where(counts[order], places, len(places)), starts)
    high = np.maximum.reduceat(np.where(counts[order], places, -1), starts)
    stretch = np.repeat(np.arange(len(starts)), np.diff([*starts, len(places)]))
    kept = np.zeros(len(places), dtype=np.bool_)
    kept[order] = (places >= low[stretch]) & (places <= high[stretch])
    return kept


def _moved(one: _Voice, two: _Voice) -> dict[int, list[tuple[int, int]]]:
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


def _shapes(voice: _Voice) -> Iterator[tuple[int, _Shape]]:
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


def _grown(
    one: _Voice, two: _Voice, seeds: Sequence[tuple[int, int]], half_steps: int
) -> list[_Hit]:
    """Alike measures around the seeds of one transposition."""
    known = dict.fromkeys(seeds, 1.0)
    for seed in seeds:
        for step in (1, -1):
            first, later = seed[0] + step, seed[1] + step
            while first >= 0 and later < len(two.contents) and (first, later) not in known:
                before, after = one.contents[first], two.contents[later]
                likeness = alike_when_moved(before, after, half_steps)
                if likeness < _ALIKE and not (before.silent and after.silent):
                    break
                known[first, later] = likeness
                first, later = first + step, later + step
    return [(first, later, much) for (first, later), much in known.items() if much >= _ALIKE]


def _on_diagonals(
    one: _Voice, two: _Voice, hits: Sequence[_Hit], half_steps: int
) -> Iterator[_Run]:
    """Runs of neighbouring hits at one distance."""
    least = _ALIKE_TRANSPOSED if half_steps else _ALIKE_ON_THE_WHOLE
    stretch: list[_Hit] = []
    ordered = sorted(hits)
    ordered.sort(key=lambda hit: hit[1] - hit[0])
    for hit in (*ordered, None):
        if stretch and (hit is None or not _follows(one, two, stretch[-1], hit)):
            most = stretch[0][1] - stretch[0][0] if one is two else len(two.contents)
            for piece in _pieces(stretch, most):
                run = _run(one, piece, half_steps)
                if run is not None and run.similarity >= least:
                    yield _with_rests(one, two, run)
            stretch = []
        if hit is not None:
            stretch.append(hit)


def _follows(one: _Voice, two: _Voice, last: _Hit, hit: _Hit) -> bool:
    """Whether a hit goes on from the last: the next measure, or after silence in both."""
    gap = hit[0] - last[0] - 1
    return (
        hit[1] - hit[0] == last[1] - last[0]
        and gap <= _LONGEST_SILENCE
        and all(
            one.contents[last[0] + step].silent and two.contents[last[1] + step].silent
            for step in range(1, gap + 1)
        )
    )


def _pieces(stretch: list[_Hit], most: int) -> Iterator[list[_Hit]]:
    """A stretch cut into pieces of at most ``most`` measures, and two measures around each cut.

    So every two measures inside the stretch lie together in one piece.
    """
    begin, end = stretch[0][0], stretch[-1][0] + 1
    if most < _LEAST_MEASURES:
        return
    firsts = [hit[0] for hit in stretch]
    for start in range(begin, end, most):
        low = bisect_left(firsts, start)
        yield stretch[low : bisect_left(firsts, start + most)]
        if begin < start:
            yield stretch[bisect_left(firsts, start - 1) : bisect_left(firsts, start + 1)]


def _run(one: _Voice, piece: list[_Hit], half_steps: int) -> _Run | None:
    """The run of a piece without unlike ends; None where it is no passage."""
    low, high = 0, len(piece)
    while low < high and piece[low][2] < _ALIKE_AT_THE_ENDS:
        low += 1
    while high > low and piece[high - 1][2] < _ALIKE_AT_THE_ENDS:
        high -= 1
    kept = piece[low:high]
    if not kept or kept[-1][0] - kept[0][0] + 1 < _LEAST_MEASURES:
        return None
    weights = [len(one.contents[hit[0]].row) for hit in kept]
    similarity = sum(w * hit[2] for w, hit in zip(weights, kept, strict=True)) / sum(weights)
    first, later = kept[0][0], kept[0][1]
    length = kept[-1][0] - first + 1
    if len(one.notes(first, length)) < (_LEAST_NOTES_EXACT if similarity == 1 else _LEAST_NOTES):
        return None
    return _Run(first, later, length, half_steps, similarity)


def _with_rests(one: _Voice, two: _Voice, run: _Run) -> _Run:
    """The run with a silent measure before and after it, where both passes have one."""
    first, later, length = run.first, run.later, run.length
    room = later - first - length if one is two else 1
    end = later + length
    if end < len(two.contents) and room > 0 and _rest(one, two, first + length, end):
        length, room = length + 1, room - 1
    if first > 0 and room > 0 and _rest(one, two, first - 1, later - 1):
        first, later, length = first - 1, later - 1, length + 1
    return replace(run, first=first, later=later, length=length)


def _rest(one: _Voice, two: _Voice, first: int, later: int) -> bool:
    """Whether both measures are silent and of one length."""
    before, after = one.contents[first], two.contents[later]
    return before.silent and after.silent and len(before.cells) == len(after.cells)


def _is_told(alike: Floats, one: _Voice, two: _Voice, run: _Run) -> bool:
    """Whether a return across lines is heard within one of them just as well.

    So it is where either line holds the passage in both places, as a doubling does.
    """
    first, later = (slice(at, at + run.length) for at in (run.first, run.later))
    in_one, in_two = (float(alike[row[first], row[later]].sum()) for row in (one.row, two.row))
    least = _ALIKE * sum(1 for content in one.contents[first] if content.row)
    return max(in_one, in_two) >= least


def _repeat(one: _Voice, two: _Voice, run: _Run) -> Repeat:
    return Repeat(
        first=one.span(run.first, run.length),
        later=two.span(run.later, run.length),
        part=one.part,
        transposition=run.half_steps,
        similarity=round(run.similarity, 3),
        reharmonised=False,
        first_notes=_heads(one.notes(run.first, run.length)),
        later_notes=_heads(two.notes(run.later, run.length)),
        later_part="" if one is two else two.part,
    )


def _heads(notes: Sequence[HeldNote]) -> tuple[str, ...]:
    return tuple(chain.from_iterable(note.heads for note in notes))
