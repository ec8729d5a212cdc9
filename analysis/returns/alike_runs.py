"""Runs of alike measures: stretches of one line that another, or the same, holds later.

The task is to go from pairs of alike measures to passages: measure after measure at one distance,
with silences that both share, cut where a passage would overlap its own return, without unlike
ends, long and like enough on the whole.

References
----------
Runs along the diagonals of a self-similarity matrix are a textbook method (no source).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property, partial
from typing import Final

import numpy as np
import numpy.typing as npt

from analysis.returns.measure_contents import MeasureContent, alike_when_moved
from analysis.score import Measure
from analysis.timebase import Span
from analysis.vocabulary.voices import HeldNote

#: Least likeness of two measures inside a passage, at its ends, and of a passage on the whole.
ALIKE: Final = 0.5
_ALIKE_AT_THE_ENDS: Final = 0.72
_ALIKE_ON_THE_WHOLE: Final = 0.72
ALIKE_TRANSPOSED: Final = 0.85
_LEAST_MEASURES: Final = 2
#: A passage has as many notes; fewer are enough where the return is exact.
_LEAST_NOTES: Final = 6
_LEAST_NOTES_EXACT: Final = 4
#: Longest silence inside a passage, in measures.
LONGEST_SILENCE: Final = 2

#: A measure of one line, a later one of a line, and their likeness.
Hit = tuple[int, int, float]


@dataclass(frozen=True, slots=True)
class Run:
    """Measures from ``first`` and from ``later`` on hold the same melody."""

    first: int
    later: int
    length: int
    half_steps: int
    similarity: float


@dataclass(frozen=True)
class MeasuredLine:
    """One line with what it holds in each measure; ``row`` numbers the contents."""

    line: tuple[HeldNote, ...]
    measures: tuple[Measure, ...]
    contents: Sequence[MeasureContent]
    row: npt.NDArray[np.intp]

    @property
    def part(self) -> str:
        """Id of the part that has the line."""
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


def grow_hits(
    one: MeasuredLine, two: MeasuredLine, seeds: Sequence[tuple[int, int]], half_steps: int
) -> list[Hit]:
    """Alike measures around the seeds of one transposition."""
    known = dict.fromkeys(seeds, 1.0)
    # In music that goes round and round the same two measures meet again and again.
    likeness_of = cache(partial(alike_when_moved, half_steps=half_steps))
    for seed in seeds:
        for step in (1, -1):
            first, later = seed[0] + step, seed[1] + step
            while first >= 0 and later < len(two.contents) and (first, later) not in known:
                before, after = one.contents[first], two.contents[later]
                likeness = likeness_of(before, after)
                if likeness < ALIKE and not (before.silent and after.silent):
                    break
                known[first, later] = likeness
                first, later = first + step, later + step
    return [(first, later, much) for (first, later), much in known.items() if much >= ALIKE]


def find_runs(
    one: MeasuredLine, two: MeasuredLine, hits: Sequence[Hit], half_steps: int
) -> Iterator[Run]:
    """Runs of neighbouring hits at one distance."""
    least = ALIKE_TRANSPOSED if half_steps else _ALIKE_ON_THE_WHOLE
    stretch: list[Hit] = []
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


def _follows(one: MeasuredLine, two: MeasuredLine, last: Hit, hit: Hit) -> bool:
    """Whether a hit goes on from the last: the next measure, or after silence in both."""
    gap = hit[0] - last[0] - 1
    return (
        hit[1] - hit[0] == last[1] - last[0]
        and gap <= LONGEST_SILENCE
        and all(
            one.contents[last[0] + step].silent and two.contents[last[1] + step].silent
            for step in range(1, gap + 1)
        )
    )


def _pieces(stretch: list[Hit], most: int) -> Iterator[list[Hit]]:
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


def _run(one: MeasuredLine, piece: list[Hit], half_steps: int) -> Run | None:
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
    return Run(first, later, length, half_steps, similarity)


def _with_rests(one: MeasuredLine, two: MeasuredLine, run: Run) -> Run:
    """The run with a silent measure before and after it, where both passes have one."""
    first, later, length = run.first, run.later, run.length
    room = later - first - length if one is two else 1
    end = later + length
    if end < len(two.contents) and room > 0 and _rest(one, two, first + length, end):
        length, room = length + 1, room - 1
    if first > 0 and room > 0 and _rest(one, two, first - 1, later - 1):
        first, later, length = first - 1, later - 1, length + 1
    return replace(run, first=first, later=later, length=length)


def _rest(one: MeasuredLine, two: MeasuredLine, first: int, later: int) -> bool:
    """Whether both measures are silent and of one length."""
    before, after = one.contents[first], two.contents[later]
    return before.silent and after.silent and len(before.cells) == len(after.cells)
