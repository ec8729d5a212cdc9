"""Runs in a row of pitches: up or down by step, by half steps, by fifths.

The task is pure arithmetic: given pitches with the time each lasts, find the longest stretches that
move one way by step, and say whether they are chromatic; find the stretches that move by fifths.

Conventions
-----------
A step is one or two half steps. A run is *chromatic* where half of its moves or more are half steps
that follow each other, at least two; two half steps in one direction always leave the scale. It
ends with its last half step; a whole step at its head belongs to it, as in C–B♭–A–A♭–G. A line
ends where it comes to rest: on a pitch that lasts twice as long as the longest before it and
longer than the next. It may arrive on the first pitch of a section, and goes no further.

Common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from analysis.timebase import Offset, Span


@dataclass(frozen=True, slots=True)
class Step:
    """One pitch of a row: its time, and its key number or, without a register, pitch class.

    ``begins`` says that a section begins with it.
    """

    span: Span
    sound: int
    register: bool = True
    begins: bool = False


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of a row, from index ``first`` to ``last`` with both."""

    first: int
    last: int
    kind: Literal["chromatic", "diatonic", "fifths"]
    direction: Literal["up", "down"]

    @property
    def length(self) -> int:
        """How many pitches it has."""
        return self.last - self.first + 1


def interval(left: Step, right: Step) -> int:
    """Half steps from one pitch to the next; within a half octave where a register is missing."""
    if left.register and right.register:
        return right.sound - left.sound
    return (right.sound - left.sound + 5) % 12 - 5


def step_at(row: Sequence[Step], offset: Offset) -> Step | None:
    """The pitch of a row that holds an offset, None in its gaps."""
    at = bisect_right(row, offset, key=lambda step: step.span.start) - 1
    return row[at] if at >= 0 and offset in row[at].span else None


def find_stepwise_runs(row: Sequence[Step], least: int = 3) -> tuple[Run, ...]:
    """Runs of at least so many pitches that move by step in one direction."""
    runs: list[Run] = []
    for sign in (1, -1):
        for first, last in _stretches(row, lambda move, s=sign: move * s in (1, 2)):  # type: ignore[misc]
            for start, stop in _until_rest(row, first, last):
                if stop - start + 1 >= least:
                    kind = _kind(row, start, stop)
                    if kind == "chromatic":
                        stop = _last_half_step(row, start, stop)
                    runs.append(Run(start, stop, kind, "up" if sign > 0 else "down"))
    return tuple(sorted(runs, key=lambda run: run.first))


def find_fifth_runs(row: Sequence[Step], least: int = 4) -> tuple[Run, ...]:
    """Runs of at least so many pitches that fall by fifths (or rise by fourths), or the reverse.

    One diminished fifth may stand inside a run, as between the fourth and seventh degree.
    """
    runs: list[Run] = []
    ways: tuple[tuple[int, Literal["up", "down"]], ...] = ((5, "down"), (7, "up"))
    for steps, direction in ways:
        for first, last in _stretches(row, lambda move, s=steps: move % 12 in (s, 6)):  # type: ignore[misc]
            for start, stop in _pure(row, first, last):
                if stop - start + 1 >= least:
                    runs.append(Run(start, stop, "fifths", direction))
    return tuple(sorted(runs, key=lambda run: run.first))


def _pure(row: Sequence[Step], first: int, last: int) -> list[tuple[int, int]]:
    """A stretch as it is if it has one diminished fifth inside, else the pieces between them."""
    cuts = [at for at in range(first, last) if interval(row[at], row[at + 1]) % 12 == 6]
    if len(cuts) == 1 and first < cuts[0] < last - 1:
        return [(first, last)]
    starts = [first, *(cut + 1 for cut in cuts)]
    return list(zip(starts, [*cuts, last], strict=True))


def sides_of(
    row: Sequence[Step], other: Sequence[int | None]
) -> Literal["", "contrary", "parallel"]:
    """Whether a second voice, given at each pitch of a line, moves against it or along with it.

    Parallel means that it keeps its distance within a half step (parallel thirds, sixths, tenths).
    Both need at least two moves and no move that does otherwise.
    """
    against = along = 0
    for at in range(1, len(row)):
        low, high = other[at - 1], other[at]
        if low is None or high is None:
            return ""
        move, its = interval(row[at - 1], row[at]), high - low
        against += move * its < 0
        along += move * its > 0 and abs(move - its) <= 1
    moves = len(row) - 1
    if moves >= 2 and against == moves:
        return "contrary"
    return "parallel" if moves >= 2 and along == moves else ""


def _stretches(row: Sequence[Step], fits: Callable[[int], bool]) -> list[tuple[int, int]]:
    """Longest stretches without a gap in time in which every move fits."""
    found: list[tuple[int, int]] = []
    first = 0
    for at in range(1, len(row) + 1):
        joined = at < len(row) and row[at].span.start <= row[at - 1].span.end
        if joined and fits(interval(row[at - 1], row[at])):
            continue
        if at - first > 1:
            found.append((first, at - 1))
        first = at
    return found


def _until_rest(row: Sequence[Step], first: int, last: int) -> list[tuple[int, int]]:
    """The stretch cut after each pitch on which it comes to rest, or a section begins."""
    pieces = []
    longest = row[first].span.duration
    start = first
    for at in range(first + 1, last):
        length = row[at].span.duration
        rests = length >= 2 * longest and length > row[at + 1].span.duration
        if row[at].begins or (at - start >= 2 and rests):
            pieces.append((start, at))
            start, longest = at, length
        longest = max(longest, length)
    pieces.append((start, last))
    return pieces


def _kind(row: Sequence[Step], first: int, last: int) -> Literal["chromatic", "diatonic"]:
    best = run = 0
    for at in range(first + 1, last + 1):
        run = run + 1 if abs(interval(row[at - 1], row[at])) == 1 else 0
        best = max(best, run)
    return "chromatic" if best >= 2 and 2 * best >= last - first else "diatonic"


def _last_half_step(row: Sequence[Step], first: int, last: int) -> int:
    """Where the last half step of a chromatic stretch arrives."""
    return max(at + 1 for at in range(first, last) if abs(interval(row[at], row[at + 1])) == 1)
