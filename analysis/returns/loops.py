"""Chord loops: a few chords that go round.

The task: find stretches in which the same row of chords is heard again and again, say which chords
they are, how often they go round, and where the loop is broken.

Conventions. A turn is one to eight measures long and holds two to eight different chords. A loop is
a turn heard at least three times on end (four times where it is a single measure). Chords are
compared at eight points of a measure by root and third, and six points in eight must agree, so that
anticipations and added tones make no difference. Of several possible lengths the shortest counts.
Places where the same chords go round again belong to one fact, whichever chord they begin with. A
loop is broken where it stops before a turn is full.

References
----------
Common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from analysis.chords import Chord
from analysis.marks import ChordFact
from analysis.score import Measure, Score
from analysis.timebase import Span

_POINTS: Final = 8
_ROUNDING: Final = 1e-6
_AGREE: Final = 6
_LONGEST: Final = 8
_MOST_CHORDS: Final = 8
_LEAST_TURNS: Final = 3
_LEAST_TURNS_OF_ONE: Final = 4

_Cells = NDArray[np.int_]
#: Measure indexes from the first to past the last, and measures to the turn.
Round = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Loop:
    """One loop with all its places.

    Parameters
    ----------
    chords
        The chords of the first turn, repeated ones once.
    length
        Measures to the turn.
    places
        Where it goes round, in order; each at least the least number of turns.
    turns
        How often it is heard in all, full turns.
    breaks
        For each place that stops inside a turn: the measure index where another chord comes.
    """

    chords: tuple[ChordFact, ...]
    length: int
    places: tuple[Span, ...]
    turns: int
    breaks: tuple[int, ...]


def find_loops(
    score: Score, chords: Sequence[ChordFact], rounds: Sequence[Round] | None = None
) -> tuple[Loop, ...]:
    """The chord loops of a piece, by their first place.

    Parameters
    ----------
    score
        For its measures.
    chords
        Chords in their keys, in order of time.
    rounds
        Where chords go round, where that is known; `find_rounds` finds it whatever the key is.
    """
    groups: dict[tuple[tuple[object, ...], ...], list[Round]] = {}
    for begin, end, length in find_rounds(score, chords) if rounds is None else rounds:
        row = [_quality(fact) for fact in _row(score, chords, begin, length)]
        turned = min((tuple(row[at:] + row[:at]) for at in range(len(row))), key=repr, default=())
        groups.setdefault(turned, []).append((begin, end, length))
    return tuple(_loop(score, chords, group) for turned, group in groups.items() if turned)


def find_rounds(score: Score, chords: Sequence[ChordFact]) -> tuple[Round, ...]:
    """Stretches of measures in which chords go round, in order; they do not overlap."""
    cells = _cells(score.measures, chords)
    taken = [False] * len(cells)
    rounds: list[Round] = []
    for length in range(1, _LONGEST + 1):
        for begin, end in _rounds(cells, length):
            if any(taken[begin:end]) or not _is_loop(cells[begin : begin + length]):
                continue
            taken[begin:end] = [True] * (end - begin)
            rounds.append((begin, end, length))
    return tuple(sorted(rounds))


def _cells(measures: Sequence[Measure], chords: Sequence[ChordFact]) -> _Cells:
    """Root and third at eight points of each measure, a row each; -1 where there is no chord."""
    # Chords that begin at a point sound there, however floating numbers round.
    starts = np.array([float(fact.span.start) for fact in chords]) - _ROUNDING
    # The last one is for what comes before the first chord.
    sounds = np.array([*(_sound(fact.chord) for fact in chords), -1])
    onsets, lengths = (
        np.array([float(at) for at in row])[:, None]
        for row in ((one.onset for one in measures), (one.length for one in measures))
    )
    points = onsets + lengths * np.arange(_POINTS) / _POINTS
    cells: _Cells = sounds[np.searchsorted(starts, points, side="right") - 1]
    return cells


def _sound(chord: Chord | None) -> int:
    """A number for root and third; -1 for no chord."""
    return -1 if chord is None else 2 * chord.root.pc + (chord.triad in ("min", "dim"))


def _rounds(cells: _Cells, length: int) -> Iterator[tuple[int, int]]:
    """Longest stretches in which every measure is that of a turn before, often enough."""
    least = (_LEAST_TURNS_OF_ONE if length == 1 else _LEAST_TURNS) * length
    count = len(cells)
    earlier, later = cells[: max(count - length, 0)], cells[length:]
    alike = (((earlier == later) & (later >= 0)).sum(axis=1) >= _AGREE).tolist()
    begin = 0
    for at in range(length, count + 1):
        if at < count and alike[at - length]:
            continue
        if at - begin >= least:
            yield begin, at
        begin = at - length + 1


def _is_loop(turn: _Cells) -> bool:
    return 2 <= len(set(turn[turn >= 0].tolist())) <= _MOST_CHORDS


def _row(score: Score, chords: Sequence[ChordFact], begin: int, length: int) -> list[ChordFact]:
    """The chords of one turn, repeated ones once, the last not repeating the first."""
    turn = Span(score.measures[begin].onset, score.measures[begin + length - 1].span.end)
    row: list[ChordFact] = []
    low = max(bisect_right(chords, turn.start, key=lambda fact: fact.span.start) - 1, 0)
    for fact in chords[low : bisect_left(chords, turn.end, key=lambda fact: fact.span.start)]:
        sounds = fact.chord is not None and fact.span.overlaps(turn)
        if sounds and not (row and _quality(row[-1]) == _quality(fact)):
            row.append(fact)
    while len(row) > 2 and _quality(row[0]) == _quality(row[-1]):
        row.pop()
    return row


def _loop(score: Score, chords: Sequence[ChordFact], group: Sequence[Round]) -> Loop:
    measures = score.measures
    begin, _, length = group[0]
    return Loop(
        chords=tuple(_row(score, chords, begin, length)),
        length=length,
        places=tuple(
            Span(measures[start].onset, measures[stop - 1].span.end) for start, stop, _ in group
        ),
        turns=sum((stop - start) // length for start, stop, _ in group),
        breaks=tuple(
            stop for start, stop, _ in group if (stop - start) % length and stop < len(measures)
        ),
    )


def _quality(fact: ChordFact) -> tuple[object, ...]:
    return (fact.chord.root.pc, fact.chord.triad) if fact.chord else ()
