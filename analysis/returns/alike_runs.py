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
from functools import cached_property
from itertools import chain
from typing import Final

import numpy as np
import numpy.typing as npt

from analysis.marks import Repeat
from analysis.returns.measure_contents import MeasureContent, alike_when_moved
from analysis.timebase import Offset, Span
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

Places = npt.NDArray[np.intp]
_Array = npt.NDArray[np.float64]


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
    """One line with what it holds in each measure.

    Parameters
    ----------
    line
        The notes.
    starts, ends
        Where each measure begins and ends.
    contents
        What the line holds in each.
    rows
        The row of notes of each, as in its content.
    kinds
        A number for each: of one number are only measures of equal content.
    """

    line: tuple[HeldNote, ...]
    starts: Sequence[Offset]
    ends: Sequence[Offset]
    contents: Sequence[MeasureContent]
    rows: Sequence[tuple[int, ...]]
    kinds: Places

    @property
    def part(self) -> str:
        """Id of the part that has the line."""
        return self.line[0].part

    def span(self, first: int, length: int) -> Span:
        """Where so many measures stand."""
        return Span(self.starts[first], self.ends[first + length - 1])

    def notes(self, first: int, length: int) -> tuple[HeldNote, ...]:
        """The notes that begin in so many measures."""
        return self.line[self._begun[first] : self._begun[first + length]]

    def count(self, first: int, length: int) -> int:
        """How many notes begin in so many measures."""
        return self._begun[first + length] - self._begun[first]

    def heads(self, first: int, length: int) -> tuple[str, ...]:
        """Ids of the heads of the notes that begin in so many measures."""
        flat, places = self._heads
        return flat[places[self._begun[first]] : places[self._begun[first + length]]]

    @cached_property
    def begun(self) -> Places:
        """For each measure, and for the end, how many notes begin before it."""
        return np.array(self._begun, dtype=np.intp)

    @cached_property
    def weights(self) -> Places:
        """How long the row of each measure is."""
        return np.array([len(row) for row in self.rows], dtype=np.intp)

    @cached_property
    def _begun(self) -> list[int]:
        onsets = [float(note.onset) for note in self.line]
        return [bisect_left(onsets, float(at)) for at in (*self.starts, self.ends[-1])]

    @cached_property
    def _heads(self) -> tuple[tuple[str, ...], list[int]]:
        """All heads of the line, and where those of each note begin; last the end."""
        places = [0]
        for note in self.line:
            places.append(places[-1] + len(note.heads))
        return tuple(chain.from_iterable(note.heads for note in self.line)), places


@dataclass(frozen=True)
class Hits:
    """Pairs of alike measures: of one line, of a line later, and their likeness.

    The first line is moved by ``half_steps``. Likeness is of single precision, so that its sums, in
    double precision, are exact.
    """

    half_steps: int
    firsts: Places
    laters: Places
    likeness: npt.NDArray[np.float32]


def grow_hits(
    one: MeasuredLine, two: MeasuredLine, seeds: Sequence[tuple[int, int]], half_steps: int
) -> Hits:
    """Alike measures around the seeds of one transposition."""
    known = dict.fromkeys(seeds, 1.0)
    # In music that goes round and round the same two measures meet again and again.
    compared: dict[tuple[int, int], float] = {}
    kinds = one.kinds.tolist(), two.kinds.tolist()
    count = len(kinds[1])
    for seed in seeds:
        for step in (1, -1):
            first, later = seed[0] + step, seed[1] + step
            while first >= 0 and later < count and (first, later) not in known:
                asked = kinds[0][first], kinds[1][later]
                before, after = one.contents[first], two.contents[later]
                if asked not in compared:
                    compared[asked] = alike_when_moved(before, after, half_steps)
                much = compared[asked]
                if much < ALIKE and not (before.silent and after.silent):
                    break
                known[first, later] = much
                first, later = first + step, later + step
    likeness = np.array([*known.values()], dtype=np.float32)
    pairs = np.array([*known], dtype=np.intp).reshape(-1, 2)
    alike = likeness >= ALIKE
    return Hits(half_steps, pairs[alike, 0], pairs[alike, 1], likeness[alike])


def find_runs(one: MeasuredLine, two: MeasuredLine, hits: Sequence[Hits]) -> Iterator[Run]:
    """Runs of neighbouring hits at one distance, one transposition after the other."""
    moved = np.repeat(np.arange(len(hits)), [len(each.firsts) for each in hits])
    if not len(moved):
        return
    firsts = np.concatenate([each.firsts for each in hits])
    laters = np.concatenate([each.laters for each in hits])
    order = np.lexsort((firsts, laters - firsts, moved))
    moved, firsts, laters = moved[order], firsts[order], laters[order]
    likeness = np.concatenate([each.likeness for each in hits])[order].astype(float)
    low, high = _without_unlike_ends(likeness, *_pieces(one, two, moved, firsts, laters))
    weights = one.weights[firsts]
    whole, alike = (
        np.concatenate(([0], np.cumsum(each))) for each in (weights, weights * likeness)
    )
    similarity = (alike[high] - alike[low]) / (whole[high] - whole[low])
    begin, end = firsts[low], firsts[high - 1] + 1
    enough = np.where(similarity == 1, _LEAST_NOTES_EXACT, _LEAST_NOTES)
    moves = np.array([each.half_steps for each in hits])[moved[low]]
    least = np.where(moves == 0, _ALIKE_ON_THE_WHOLE, ALIKE_TRANSPOSED)
    kept = (end - begin >= _LEAST_MEASURES) & (similarity >= least)
    kept &= one.begun[end] - one.begun[begin] >= enough
    for run in zip(
        *(begin[kept].tolist(), laters[low[kept]].tolist(), (end - begin)[kept].tolist()),
        *(moves[kept].tolist(), similarity[kept].tolist()),
        strict=True,
    ):
        yield _with_rests(one, two, Run(*run))


def _pieces(
    one: MeasuredLine, two: MeasuredLine, moved: Places, firsts: Places, laters: Places
) -> tuple[Places, Places]:
    """Stretches of hits cut where a passage would overlap its return, in order of the hits.

    Of each stretch pieces as long as its distance, and the two measures around each cut: so every
    two measures inside the stretch lie together in one piece. For each piece the place of its first
    hit among all, and the place after its last.
    """
    starts = np.flatnonzero(np.concatenate(([True], ~_follow(one, two, moved, firsts, laters))))
    ends = np.concatenate((starts[1:], [len(firsts)]))
    lengths = firsts[ends - 1] + 1 - firsts[starts]
    most = laters[starts] - firsts[starts] if one is two else np.full(len(starts), len(two.kinds))
    turns = np.where(most >= _LEAST_MEASURES, -(-lengths // np.maximum(most, 1)), 0)
    stretch = np.repeat(np.arange(len(starts)), turns)
    turn = np.arange(len(stretch)) - np.repeat(np.cumsum(turns) - turns, turns)
    into, most, lengths = turn * most[stretch], most[stretch], lengths[stretch]
    # A measure of a stretch is looked up among all hits by one number.
    width = int(lengths.max(initial=0)) + 1
    of_hits = np.repeat(np.arange(len(starts)), ends - starts)
    numbers = of_hits * width + firsts - firsts[starts][of_hits]
    borders = (into, np.minimum(into + most, lengths), np.maximum(into - 1, 0), into + 1)
    low, high, before, after = (
        np.searchsorted(numbers, stretch * width + np.minimum(border, lengths))
        for border in borders
    )
    cut = np.stack([np.ones(len(turn), dtype=bool), turn > 0], axis=1)
    return np.stack([low, before], axis=1)[cut], np.stack([high, after], axis=1)[cut]


def _follow(
    one: MeasuredLine, two: MeasuredLine, moved: Places, firsts: Places, laters: Places
) -> npt.NDArray[np.bool_]:
    """Whether each hit goes on from the one before: the next measure, or after silence in both."""
    follow = (np.diff(laters - firsts) == 0) & (np.diff(moved) == 0)
    follow &= np.diff(firsts) <= LONGEST_SILENCE + 1
    for line, places in ((one, firsts), (two, laters)):
        follow &= line.begun[places[1:]] == line.begun[places[:-1] + 1]
    return np.asarray(follow)


def _without_unlike_ends(likeness: _Array, low: Places, high: Places) -> tuple[Places, Places]:
    """Pieces from their first to their last hit that may end a passage; none without one."""
    places = np.arange(len(likeness))
    clear = likeness >= _ALIKE_AT_THE_ENDS
    following = np.where(clear, places, len(places))[::-1]
    following = np.concatenate((np.minimum.accumulate(following)[::-1], [len(places)]))
    past = np.concatenate(([0], np.maximum.accumulate(np.where(clear, places + 1, 0))))
    first, end = following[low], past[high]
    held = first < end
    return first[held], end[held]


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


def to_repeat(one: MeasuredLine, two: MeasuredLine, run: Run) -> Repeat:
    """A run as a passage and its return; nothing is said of the harmony yet."""
    return Repeat(
        first=one.span(run.first, run.length),
        later=two.span(run.later, run.length),
        part=one.part,
        transposition=run.half_steps,
        similarity=round(run.similarity, 3),
        reharmonised=False,
        first_notes=one.heads(run.first, run.length),
        later_notes=two.heads(run.later, run.length),
        sounding=min(one.count(run.first, run.length), two.count(run.later, run.length)),
        later_part="" if one.part == two.part else two.part,
    )
