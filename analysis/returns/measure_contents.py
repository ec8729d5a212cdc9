"""What a line holds in each measure, and how alike two measures are.

The task is one measure of likeness for everything that compares stretches of melody: returns of
phrases, and sections of like content.

Conventions. A measure is sampled on a grid of twelve cells to the quarter note, each holding the
pitch that sounds at its middle, and read as a row of notes in which a repeated note counts once: so
syllables, ties and repeated notes make no difference. Two measures are alike by the mean of two
shares: of the time that either sounds, the part in which both sound the same pitch; and of their
rows, the longest common one. Measures of different length are not alike, nor silent ones.

Time and memory grow with the square of the number of *different* measures in cheap array
operations; rows are compared only where the grid leaves a chance.

References
----------
Longest common subsequence and self-similarity matrices are textbook methods (no source); the bits
after H. Hyyrö, "Bit-parallel LCS-length computation revisited", AWOCA 2004 (from memory).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain, groupby, pairwise
from math import lcm
from typing import Final, overload

import numpy as np
import numpy.typing as npt

from analysis.score import Measure
from analysis.timebase import Offset
from analysis.vocabulary.voices import HeldNote

#: Cells to the quarter note: sixteenths and triplets fall between cells.
GRID: Final = 12
SILENT: Final = -1
#: Share of common time under which two measures are not looked at any further.
_LEAST_IN_TIME: Final = 0.25
#: Pairs of measures that are compared at once: so few that they stay in the processor's cache.
_BLOCK: Final = 1 << 14
#: Rows as long as this do not fit into the bits of one number of an array.
_MOST_BITS: Final = 63

Floats = npt.NDArray[np.float32]
_Places = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class MeasureContent:
    """What one line holds in one measure: pitches on the grid, and its row of notes."""

    cells: tuple[int, ...]
    row: tuple[int, ...]

    @property
    def silent(self) -> bool:
        """Whether no note begins in it."""
        return not self.row


def measure_contents(
    measures: Sequence[Measure], line: Sequence[HeldNote]
) -> tuple[MeasureContent, ...]:
    """What a line holds in each measure, in order.

    Parameters
    ----------
    measures
        The measures of the piece.
    line
        One line: of notes together the later in the sequence counts.
    """
    cells = [[SILENT] * max(1, round(measure.length * GRID)) for measure in measures]
    rows: list[list[int]] = [[] for _ in measures]
    times = [(note.onset, note.end) for note in line]
    onsets = [measure.onset for measure in measures]
    # Whole numbers of one common fraction of a quarter note are much faster than fractions.
    whole = lcm(*{time.denominator for time in chain(onsets, *times)})
    begins = [onset.numerator * (whole // onset.denominator) for onset in onsets]
    for note, (onset, end) in zip(line, times, strict=True):
        begin = onset.numerator * (whole // onset.denominator)
        stop = end.numerator * (whole // end.denominator)
        at = max(bisect_right(begins, begin) - 1, 0)
        if not rows[at] or rows[at][-1] != note.midi:
            rows[at].append(note.midi)
        while at < len(measures) and begins[at] < stop:
            held, start = cells[at], begins[at]
            low = max(0, _cell(begin - start, whole))
            high = min(len(held), max(low + (begin >= start), _cell(stop - start, whole)))
            held[low:high] = [note.midi] * (high - low)
            at += 1
    return tuple(
        MeasureContent(tuple(held), tuple(row)) for held, row in zip(cells, rows, strict=True)
    )


def _cell(into: int, whole: int) -> int:
    """The first cell whose middle lies at or after a place, of whose unit a quarter has ``whole``.

    The place in cells less a half, rounded up.
    """
    return -((whole - 2 * GRID * into) // (2 * whole))


@dataclass(frozen=True)
class TimedLine:
    """One line, by onset, with its times as plain numbers."""

    line: Sequence[HeldNote]

    @cached_property
    def onsets(self) -> list[float]:
        """Where each note begins."""
        return [float(note.onset) for note in self.line]

    @cached_property
    def midis(self) -> list[int]:
        """The pitch of each note."""
        return [note.midi for note in self.line]

    @cached_property
    def longest(self) -> int:
        """Quarter notes that no note outlasts."""
        pairs = zip(self.line, self.onsets, strict=True)
        return 1 + int(max((float(note.end) - onset for note, onset in pairs), default=0.0))


class LateContents(Sequence[MeasureContent]):
    """What a line holds in measures moved later, found only where it is asked for.

    The same as `measure_contents` says of all at once, of the line from the first measure on.

    Parameters
    ----------
    measures
        The measures as they stand.
    late
        By how much later they are, in quarter notes.
    sung
        The line.
    """

    def __init__(self, measures: Sequence[Measure], late: Offset, sung: TimedLine) -> None:
        self._measures, self._late, self._sung = measures, late, sung
        self._heads = [bisect_left(sung.onsets, float(one.onset + late)) for one in measures]
        self._known: dict[int, MeasureContent] = {}

    def __len__(self) -> int:
        return len(self._measures)

    @overload
    def __getitem__(self, at: int) -> MeasureContent: ...
    @overload
    def __getitem__(self, at: slice) -> tuple[MeasureContent, ...]: ...
    def __getitem__(self, at: int | slice) -> MeasureContent | tuple[MeasureContent, ...]:
        if isinstance(at, slice):
            return tuple(self[one] for one in range(*at.indices(len(self))))
        if at not in self._known:
            self._known[at] = self._content(at)
        return self._known[at]

    def rows(self) -> list[tuple[int, ...]]:
        """The row of notes of each measure."""
        midis = self._sung.midis
        return [
            tuple(midi for midi, _ in groupby(midis[start:end]))
            for start, end in pairwise((*self._heads, len(midis)))
        ]

    def _content(self, at: int) -> MeasureContent:
        """From the notes that may sound in a measure, those before it in a measure of their own."""
        written = self._measures[at]
        measure = replace(written, onset=written.onset + self._late)
        early = replace(measure, onset=measure.onset - self._sung.longest)
        start = max(self._heads[0], bisect_left(self._sung.onsets, float(early.onset)))
        end = self._heads[at + 1] if at + 1 < len(self) else len(self._sung.line)
        return measure_contents((early, measure), self._sung.line[start:end])[1]


class ContentKinds:
    """The different measure contents of one or several lines, numbered, and their likeness.

    Parameters
    ----------
    lines
        Contents of each line, measure by measure.

    Attributes
    ----------
    kinds
        The different contents.
    rows
        For each line the number of its content in each measure.
    """

    def __init__(self, lines: Sequence[Sequence[MeasureContent]]) -> None:
        known: dict[MeasureContent, int] = {}
        self.rows = [
            np.array([known.setdefault(one, len(known)) for one in line], dtype=np.intp)
            for line in lines
        ]
        self.kinds = tuple(known)
        self.silent = np.array([kind.silent for kind in self.kinds], dtype=bool)

    def likeness(self) -> Floats:
        """Likeness of each pair of kinds at the same pitches, in [0, 1]; 1 on the diagonal.

        Returns
        -------
        array of float32, shape (kinds, kinds)
            Symmetric; 0 for silent kinds, the diagonal included.
        """
        count = len(self.kinds)
        alike = np.zeros((count, count), dtype=np.float32)
        by_length: dict[int, list[int]] = {}
        for number, kind in enumerate(self.kinds):
            if not kind.silent:
                by_length.setdefault(len(kind.cells), []).append(number)
        for numbers in by_length.values():
            first, later, share = _common_time([self.kinds[n].cells for n in numbers])
            rows = [self.kinds[n].row for n in numbers]
            notes = np.array([len(row) for row in rows])
            common = 2 * _common_rows(rows, first, later) / (notes[first] + notes[later])
            one, two = (np.array(numbers)[at] for at in (first, later))
            alike[one, two] = alike[two, one] = (share.astype(float) + common) / 2
            alike[numbers, numbers] = 1.0
        return alike


def _common_time(cells: Sequence[Sequence[int]]) -> tuple[_Places, _Places, Floats]:
    """Pairs of measures of one length with the least share of common time and more.

    The number of the first and of the later of each pair, and the share.
    """
    grid = np.array(cells, dtype=np.int16)
    # Cells that in no measure differ from the one before count with it.
    begins = np.flatnonzero(np.concatenate(([True], (grid[:, 1:] != grid[:, :-1]).any(axis=0))))
    lasts = np.diff([*begins, grid.shape[1]]).astype(np.float32)
    grid = grid[:, begins]
    sounding = (grid != SILENT).astype(np.float32)
    pitches = np.unique(grid[grid != SILENT])
    # One column for each cell and pitch: a product counts the cells with the same pitch.
    columns = (grid[:, :, None] == pitches).reshape(len(grid), -1).astype(np.float32)
    weighted, weights = sounding * lasts, columns * np.repeat(lasts, len(pitches))
    heard = weighted.sum(axis=1)
    found = []
    height = max(1, _BLOCK // len(grid))
    for low in range(0, len(grid), height):
        rows = slice(low, low + height)
        together = weights[rows] @ columns.T
        either = heard[rows, None] + heard[None] - weighted[rows] @ sounding.T
        share: Floats = together / np.maximum(either, 1)
        first, later = np.nonzero(np.triu(share >= _LEAST_IN_TIME, low + 1))
        found.append((first + low, later, share[first, later]))
    firsts, laters, shares = (np.concatenate(one) for one in zip(*found, strict=True))
    return firsts, laters, shares


def _common_rows(rows: Sequence[Sequence[int]], first: _Places, later: _Places) -> _Places:
    """Length of the longest common row of each pair; as `longest_common`, all pairs at once."""
    longest = max(len(row) for row in rows)
    if longest >= _MOST_BITS:
        pairs = zip(first.tolist(), later.tolist(), strict=True)
        return np.array([longest_common(rows[a], rows[b]) for a, b in pairs], dtype=np.intp)
    numbers = {midi: at for at, midi in enumerate(sorted({one for row in rows for one in row}))}
    # The last column stands for no note, and is found nowhere.
    steps = np.full((len(rows), longest), len(numbers))
    places = np.zeros((len(rows), len(numbers) + 1), dtype=np.uint64)
    for number, row in enumerate(rows):
        for at, midi in enumerate(row):
            steps[number, at] = numbers[midi]
            places[number, numbers[midi]] |= np.uint64(1 << at)
    whole = np.array([(1 << len(row)) - 1 for row in rows], dtype=np.uint64)[later]
    flat = whole.copy()
    for step in range(longest):
        here = flat & places[later, steps[first, step]]
        flat = (flat + here | flat - here) & whole
    return (np.bitwise_count(whole) - np.bitwise_count(flat)).astype(np.intp)


def alike_when_moved(first: MeasureContent, later: MeasureContent, half_steps: int) -> float:
    """Likeness of two measures, the first moved by so many half steps; in [0, 1]."""
    if len(first.cells) != len(later.cells) or first.silent or later.silent:
        return 0.0
    pairs = list(zip(first.cells, later.cells, strict=True))
    either = sum(1 for one, two in pairs if one != SILENT or two != SILENT)
    together = sum(1 for one, two in pairs if one != SILENT and one + half_steps == two)
    in_time = together / either
    if in_time < _LEAST_IN_TIME:
        return 0.0
    return mean_with_rows(in_time, [midi + half_steps for midi in first.row], later.row)


def mean_with_rows(in_time: float, first: Sequence[int], later: Sequence[int]) -> float:
    """Mean of a share of common time and the share of the longest common row."""
    common = longest_common(first, later)
    return (in_time + 2 * common / (len(first) + len(later))) / 2


def longest_common(first: Sequence[int], later: Sequence[int]) -> int:
    """Length of the longest common subsequence.

    Examples
    --------
    >>> longest_common([60, 62, 64, 65], [60, 64, 62, 65])
    3
    """
    if first == later:
        return len(first)
    # A row of the usual table is kept in the bits of one number: 0 where its length grows.
    places: dict[int, int] = {}
    for at, one in enumerate(later):
        places[one] = places.get(one, 0) | 1 << at
    whole = flat = (1 << len(later)) - 1
    for one in first:
        here = flat & places.get(one, 0)
        flat = (flat + here | flat - here) & whole
    return len(later) - flat.bit_count()
