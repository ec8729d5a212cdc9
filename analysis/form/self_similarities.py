"""A piece compared with itself, measure by measure.

The task: how alike each two measures are in melody and in harmony, where a common stretch begins
and ends, and how much is new at each barline; for whatever looks for sections.

Conventions. Melody is compared as `analysis.returns.measure_contents` says, harmony by root and
third at eight points of the measure. All arrays are over the measures of the piece.

Time and memory grow with the square of the number of measures, in cheap array operations; what is
not kept is worked out in blocks of rows that stay in the processor's cache.

References
----------
J. Foote, "Automatic audio segmentation using a measure of audio novelty", ICME 2000 (novelty on the
diagonal). J. Serrà et al., "Unsupervised music structure annotation by time series structure
features and segment similarity", IEEE Transactions on Multimedia 16/5, 2014 (diagonals that begin
and end) (both from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
import numpy.typing as npt

from analysis.marks import ChordFact
from analysis.returns.measure_contents import ContentKinds, MeasureContent, measure_contents
from analysis.score import Measure
from analysis.vocabulary.voices import HeldNote

Array = npt.NDArray[np.float64]
Places = npt.NDArray[np.intp]

#: Points in a measure at which its chord is asked.
POINTS: Final = 8
#: Measures on each side that a barline is judged by.
NEAR: Final = 4
#: Places as floating numbers may round by so much.
_ROUNDING: Final = 1e-6
#: Likeness of silence to silence in the melody alone, and share of the harmony's where one of two
#: measures is silent.
_BOTH_SILENT: Final = 0.6
_SUNG_ONCE: Final = 0.3
#: Numbers in a block of rows.
_BLOCK: Final = 1 << 13


@dataclass(frozen=True)
class SelfSimilarity:
    """A piece measure by measure, each compared with each.

    Parameters
    ----------
    measures, line, chords
        Measures, the melody as one line, and the chords in order of time.
    """

    measures: tuple[Measure, ...]
    line: tuple[HeldNote, ...]
    chords: tuple[ChordFact, ...]

    @cached_property
    def silent(self) -> npt.NDArray[np.bool_]:
        """Which measures the melody begins no note in."""
        return np.array([content.silent for content in self._contents], dtype=bool)

    @cached_property
    def melody(self) -> Array:
        """Likeness of the melody in each pair of measures; 0 for silent ones."""
        kinds = ContentKinds([self._contents])
        return np.asarray(kinds.likeness()[np.ix_(kinds.rows[0], kinds.rows[0])], dtype=float)

    @cached_property
    def harmony(self) -> Array:
        """Share of the time in which each pair of measures has the same chord."""
        known: dict[tuple[int, ...], int] = {}
        rows = [known.setdefault(tuple(row), len(known)) for row in self.roots.tolist()]
        same = np.zeros((len(known), len(known)), dtype=np.uint8)
        for sounding in np.array(list(known)).T:
            same += (sounding[:, None] == sounding) & (sounding >= 0)
        return np.asarray((same / POINTS).take(rows, 0).take(rows, 1))

    @cached_property
    def onsets(self) -> list[float]:
        """Where the melody's notes begin, as floats, which compare fast."""
        return [float(note.onset) for note in self.line]

    @cached_property
    def both(self) -> Array:
        """Melody and harmony together."""
        mixed = self.harmony + self.melody
        mixed /= 2
        silent, sung = np.flatnonzero(self.silent), np.flatnonzero(~self.silent)
        neither = np.ix_(silent, silent)
        mixed[neither] = self.harmony[neither]
        for once in (np.ix_(silent, sung), np.ix_(sung, silent)):
            mixed[once] = _SUNG_ONCE * self.harmony[once]
        return mixed

    @cached_property
    def sung(self) -> Array:
        """Melody alone; silence is somewhat like silence."""
        silent = np.flatnonzero(self.silent)
        alike = self.melody.copy()
        alike[np.ix_(silent, silent)] = _BOTH_SILENT
        return alike

    @cached_property
    def roots(self) -> npt.NDArray[np.intp]:
        """Root and third at eight points of each measure; -1 where there is no chord."""
        # Chords that begin at a point sound there, however floating numbers round.
        starts = [float(chord.span.start) - _ROUNDING for chord in self.chords]
        sounds = [
            2 * chord.root.pc + (chord.triad in ("min", "dim")) if chord else -1
            for chord in (fact.chord for fact in self.chords)
        ]
        times = np.array([(float(one.onset), float(one.length)) for one in self.measures])
        places = times[:, :1] + times[:, 1:] * (np.arange(POINTS) / POINTS)
        # Before the first chord stands the last of these: none.
        at = np.searchsorted(starts, places, side="right") - 1
        return np.array([*sounds, -1], dtype=np.intp)[at]

    @cached_property
    def notes(self) -> Array:
        """Notes in each measure, repeated ones once."""
        return np.array([len(content.row) for content in self._contents], dtype=float)

    @cached_property
    def register(self) -> Array:
        """Mean key number in each measure; NaN where the melody is silent."""
        return np.array(
            [
                sum(content.row) / len(content.row) if content.row else np.nan
                for content in self._contents
            ]
        )

    @cached_property
    def _contents(self) -> tuple[MeasureContent, ...]:
        return measure_contents(self.measures, self.line)

    @cached_property
    def pickup(self) -> int:
        """1 where the first measure is a mere pickup."""
        first = self.measures[0]
        return int(first.pickup or first.length < first.meter.length)

    def of_sections(self, first: range, later: range) -> float:
        """Mean likeness of two stretches of measures laid side by side; the shorter decides.

        A pickup before the first measure is left out.
        """
        start = max(first.start, self.pickup)
        length = min(first.stop - start, len(later))
        if length <= 0:
            return 0.0
        count = len(self.measures)
        diagonal = self.both.reshape(-1)[start * count + later.start :: count + 1]
        return float(np.add.reduce(diagonal[:length])) / length


def stretch_ends(alike: Array, passes: int = 1) -> tuple[Array, Array]:
    """How clearly a stretch that comes back begins, and how clearly one ends, at each measure.

    A stretch begins where the next four measures are like four distant ones and those before both
    are not.

    Parameters
    ----------
    alike
        Likeness of each pair of measures, in [0, 1].
    passes
        Of so many distant places with the clearest the mean is taken.

    Returns
    -------
    tuple of two arrays
        In [0, 1], for each measure; -1 in pieces without distant measures.
    """
    count = len(alike)
    at = np.arange(count)
    ahead_of, behind_of = (np.minimum(way, NEAR) for way in (count - at, at))
    starts, ends = np.empty(count), np.empty(count)
    height = max(1, _BLOCK // count)
    for low in range(0, count, height):
        rows = at[low : low + height]
        ahead, behind = _sums_around(alike, low, low + len(rows))
        ahead /= np.minimum.outer(ahead_of[rows], ahead_of)
        behind /= np.maximum(np.minimum.outer(behind_of[rows], behind_of), 1)
        near = np.abs(rows[:, None] - at) < NEAR
        for found, here, there in ((starts, ahead, behind), (ends, behind, ahead)):
            clear = here * (1 - there)
            clear[near] = -1.0
            found[rows] = _mean_of_greatest(clear, passes)
    return starts, ends


def _sums_around(alike: Array, low: int, high: int) -> tuple[Array, Array]:
    """Sums of likeness over four measures along the diagonals, from some rows on and up to them."""
    count = len(alike)
    ahead, behind = np.zeros((high - low, count)), np.zeros((high - low, count))
    for step in range(min(NEAR, count)):
        inside = alike[low + step : high + step, step:]
        ahead[: len(inside), : count - step] += inside
    for step in range(1, min(NEAR, count - 1) + 1):
        first = max(low, step)
        if first < high:
            behind[first - low :, step:] += alike[first - step : high - step, : count - step]
    return ahead, behind


def _mean_of_greatest(values: Array, most: int) -> Array:
    """For each row the mean of so many of its greatest values."""
    if most == 1:
        return np.asarray(values.max(axis=1))
    most = min(most, values.shape[1])
    greatest = np.sort(np.partition(values, -most, axis=1)[:, -most:], axis=1)
    return np.asarray(greatest.mean(axis=1))


def novelty(alike: Array, width: int) -> Array:
    """How unlike the measures on both sides of each barline are, against each side within.

    Parameters
    ----------
    alike
        Likeness of each pair of measures.
    width
        How many measures on each side are looked at.
    """
    count = len(alike)
    total = np.zeros((count + 1, count + 1))
    total[1:, 1:] = alike.cumsum(axis=0).cumsum(axis=1)
    at = np.arange(1, count)
    before, after = (np.maximum(at - width, 0), at), (at, np.minimum(at + width, count))

    def mean(rows: tuple[Places, Places], columns: tuple[Places, Places]) -> Array:
        (top, bottom), (left, right) = rows, columns
        area = total[bottom, right] - total[top, right] - total[bottom, left] + total[top, left]
        return np.asarray(area / ((bottom - top) * (right - left)))

    new = (mean(before, before) + mean(after, after)) / 2 - mean(before, after)
    return np.concatenate(([0.0], new))
