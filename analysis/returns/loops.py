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

_Cell = tuple[int, bool] | None
_Cells = tuple[_Cell, ...]
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
    alike = _Likeness(cells)
    taken = [False] * len(cells)
    rounds: list[Round] = []
    for length in range(1, _LONGEST + 1):
        for begin, end in _rounds(alike, length):
            if any(taken[begin:end]) or not _is_loop(cells[begin : begin + length]):
                continue
            taken[begin:end] = [True] * (end - begin)
            rounds.append((begin, end, length))
    return tuple(sorted(rounds))


def _cells(measures: Sequence[Measure], chords: Sequence[ChordFact]) -> list[_Cells]:
    """Root and minor third at eight points of each measure; None where there is no chord."""
    # Chords that begin at a point sound there, however floating numbers round.
    starts = [float(chord.span.start) - _ROUNDING for chord in chords]
    sounds: list[_Cell] = [
        (chord.root.pc, chord.triad in ("min", "dim")) if chord else None
        for chord in (fact.chord for fact in chords)
    ]

    def at(offset: float) -> _Cell:
        index = bisect_right(starts, offset) - 1
        return sounds[index] if index >= 0 else None

    rows = ((float(measure.onset), float(measure.length)) for measure in measures)
    return [
        tuple(at(onset + length * point / _POINTS) for point in range(_POINTS))
        for onset, length in rows
    ]


class _Likeness:
    """Which measures hold the same chords; each two different ones are compared once."""

    def __init__(self, cells: Sequence[_Cells]) -> None:
        known: dict[_Cells, int] = {}
        self.kinds = [known.setdefault(one, len(known)) for one in cells]
        self._cells = list(known)
        self._known: dict[tuple[int, int], bool] = {}

    def of(self, one: int, two: int) -> bool:
        """Whether two measures are alike."""
        asked = self.kinds[one], self.kinds[two]
        if asked not in self._known:
            self._known[asked] = _same(self._cells[asked[0]], self._cells[asked[1]])
        return self._known[asked]


def _rounds(alike: _Likeness, length: int) -> Iterator[tuple[int, int]]:
    """Longest stretches in which every measure is that of a turn before, often enough."""
    least = (_LEAST_TURNS_OF_ONE if length == 1 else _LEAST_TURNS) * length
    begin = 0
    count = len(alike.kinds)
    for at in range(length, count + 1):
        if at < count and alike.of(at, at - length):
            continue
        if at - begin >= least:
            yield begin, at
        begin = at - length + 1


def _same(one: _Cells, two: _Cells) -> bool:
    if one is two or one == two:
        return sum(cell is not None for cell in one) >= _AGREE
    return sum(a == b is not None for a, b in zip(one, two, strict=True)) >= _AGREE


def _is_loop(turn: Sequence[_Cells]) -> bool:
    return 2 <= len({cell for cells in turn for cell in cells if cell}) <= _MOST_CHORDS


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
