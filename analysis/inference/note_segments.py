"""Measurements of stretches of a note grid, each a candidate for one chord.

Task
----
A segment is a run of 1 to `LONGEST` grid steps that begins and ends where a note is struck or a
measure begins. For every segment of a grid this module gives how its notes, its bass and its place
in the measure look, as numbers that a linear model can weigh. Nothing here knows a chord or a key.

Method
------
Notes are measured in thirteen ways and the bass in three, each over the line of fifths. Harmonic
pace is measured too: how much the pitch classes change at measures, at half measures and at beats
nearby, since in one piece the harmony moves with the measure and in another with the beat.

References
----------
Which measurements help was found by trial on the analyses that the table of weights names.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from analysis.vocabulary.note_grid import LEVEL_WEIGHTS, LINE, LOW, Floats, Ints, NoteGrid

Doubles = NDArray[np.float64]

#: Longest segment, in steps; a longer chord is several segments.
LONGEST: Final = 12
#: Ways in which notes, bass and key are measured, and numbers of classes of the other features.
NOTE_CHANNELS: Final = 13
BASS_CHANNELS: Final = 3
KEY_CHANNELS: Final = 4
LENGTH_CLASSES: Final = 9
FRACTION_CLASSES: Final = 6
BOUNDARY_CLASSES: Final = 128
PACES: Final = 3
TEXTURES: Final = 3
_LENGTH_EDGES: Final = (0.4, 0.6, 0.9, 1.4, 1.9, 2.9, 3.9, 4.1)
_NOVELTY_EDGES: Final = (0.12, 0.35, 0.6)
_PACE_EDGES: Final = (-0.45, 0.05)
_TEXTURE_EDGES: Final = (2.2, 3.6)
_NEARBY: Final = 32.0
_TINY: Final = 1e-6


@dataclass(frozen=True)
class SegmentMeasures:
    """Measures of the segments that begin at some neighbouring steps.

    The first axis is the step of the beginning, the second the length less one (`LONGEST`).

    Parameters
    ----------
    notes, basses, keys
        Shapes (n, LONGEST, channels, columns), for the columns that `GridSegments` names.
    beats, length
        Length in beats, and its class, shape (n, LONGEST).
    valid
        Whether the segment exists, shape (n, LONGEST).
    """

    notes: Floats
    basses: Floats
    keys: Floats
    beats: Floats
    length: Ints
    valid: NDArray[np.bool_]


class GridSegments:
    """All segments of a grid, measured in slices so that memory does not grow with their number.

    Attributes
    ----------
    columns
        The columns of the grid in which a note ever stands; the others are left out.
    starts
        Whether a segment may begin at each step; T + 1 long, the end of the piece included.
    boundary
        Class of each step as a boundary: level, bass change, novelty, notes struck; shape (T,).
    pace, texture
        How fast the harmony moves nearby against the measure, and how many notes sound; (T,).
    change
        Change of pitch classes at each step: itself, against others of its level, and the pace at
        half measures and beats; shape (T, 4).
    fraction
        Class of each segment's length against its measure, shape (T, LONGEST).
    """

    def __init__(self, grid: NoteGrid) -> None:
        self.grid = grid
        steps = grid.steps
        lengths = np.diff(np.array([float(time) for time in grid.times]))
        weight = np.array(LEVEL_WEIGHTS, np.float32)[grid.levels][:, None]
        quarters = lengths[:, None].astype(np.float32)
        self.columns: Ints = np.flatnonzero(grid.channels[:, 0].any(axis=0))
        self._place = np.full(LINE + 1, -1)
        self._place[self.columns] = np.arange(len(self.columns))
        counts = grid.channels[:, :, self.columns]
        self._sounding = _summed(counts[:, 0])
        self._weighted = _summed(counts[:, 0] * weight)
        self._struck = _summed(np.minimum(counts[:, 2], 2))
        self._figures = [_summed(counts[:, channel]) for channel in (1, 5, 6)]
        self._highest = _summed(counts[:, 4] * quarters)
        self._at_start = np.minimum(counts[:, 3], 1)
        self._present = np.minimum(counts[:, 0] / _TINY, 1)
        self._bass = np.zeros((steps, len(self.columns)), np.float32)
        heard = np.flatnonzero(grid.bass >= 0)
        self._bass[heard, self._place[grid.bass[heard]]] = 1
        self._bass_share = _summed(self._bass * quarters * weight)
        self.quarters = np.concatenate([[0.0], np.cumsum(lengths)])
        self.beats = np.concatenate([[0.0], np.cumsum(grid.beats, dtype=float)])
        self.starts = np.append((grid.onsets > 0) | (grid.levels == 0), True)
        self.starts[0] = True
        # A long rest or a long note must be cut somewhere, for no segment is longer.
        bounds = np.flatnonzero(self.starts)
        for first, last in pairwise(bounds):
            self.starts[first + LONGEST : last : LONGEST] = True
        self.boundary = self._boundaries()
        self._measure_pace()

    def _boundaries(self) -> Ints:
        grid, sounding = self.grid, self.grid.channels[:, 0]
        before, after = np.zeros_like(sounding), sounding.copy()
        after[:-1] += sounding[1:]
        before[1:] += sounding[:-1]
        before[2:] += sounding[:-2]
        new = (after * (before <= 0)).sum(axis=1) / np.maximum(after.sum(axis=1), _TINY)
        moved = grid.bass != np.concatenate([[-2], grid.bass[:-1]])
        novelty = np.digitize(new, _NOVELTY_EDGES)
        struck = np.digitize(grid.onsets, (1, 2, 4))
        classes: Ints = ((grid.levels * 2 + moved) * 4 + novelty) * 4 + struck
        return classes

    def _measure_pace(self) -> None:
        grid, steps, levels = self.grid, self.grid.steps, self.grid.levels
        measure, unit = self._units()
        chroma = np.zeros((steps, 12))
        for column in range(LINE):
            chroma[:, (column + LOW) * 7 % 12] += grid.channels[:, 0, column]
        total = np.concatenate([np.zeros((1, 12)), np.cumsum(chroma, axis=0)])
        at = np.arange(steps)
        past = total[at] - total[np.maximum(at - unit, 0)]
        coming = total[np.minimum(at + unit, steps)] - total[at]
        size = np.linalg.norm(past, axis=1) * np.linalg.norm(coming, axis=1)
        change = 1 - (past * coming).sum(axis=1) / np.maximum(size, 1e-9)
        change[:1] = 0.5
        left = np.searchsorted(self.beats, self.beats[:-1] - _NEARBY)
        right = np.minimum(np.searchsorted(self.beats, self.beats[1:] + _NEARBY), steps)

        def nearby(chosen: NDArray[np.bool_]) -> Doubles:
            sums = np.concatenate([[0.0], np.cumsum(np.where(chosen, change, 0.0))])
            number = np.concatenate([[0], np.cumsum(chosen)])
            # A third of a change is taken for granted where the level has no boundary nearby.
            mean: Doubles = (sums[right] - sums[left] + 0.3) / (number[right] - number[left] + 1)
            return mean

        typical = [nearby(levels == level) for level in range(4)]
        if not (levels == 1).any():
            typical[1] = typical[2]
        by_half = np.log((typical[1] + 0.05) / (typical[0] + 0.05))
        by_beat = np.log((typical[2] + 0.05) / (typical[0] + 0.05))
        own = np.choose(levels, typical) if steps else change
        voices = np.concatenate([[0.0], np.cumsum(grid.channels[:, 0].sum(axis=1), dtype=float)])
        span = np.maximum(self.quarters[right] - self.quarters[left], _TINY)
        self.texture = np.digitize((voices[right] - voices[left]) / span, _TEXTURE_EDGES)
        self.pace = np.digitize(by_half, _PACE_EDGES)
        self.change = np.stack([change, change - own, by_half, by_beat], axis=1).astype(np.float32)
        self.fraction = _fractions(measure, levels)

    def _units(self) -> tuple[Ints, Ints]:
        """Steps in the measure around each step, and in the unit that begins at its level."""
        steps, levels = self.grid.steps, self.grid.levels
        edges = np.unique(np.concatenate([[0], np.flatnonzero(levels == 0), [steps]]))
        sizes = np.diff(edges)
        if len(sizes) > 1:
            sizes[0] = max(sizes[0], int(np.median(sizes)))
        measure = np.repeat(np.maximum(sizes, 1), np.diff(edges))
        beat = np.maximum(np.round(1 / np.maximum(self.grid.beats, _TINY)).astype(np.int64), 1)
        unit = np.ones(steps, np.int64)
        for level, size in ((0, measure), (1, np.maximum(measure // 2, 1)), (2, beat)):
            unit = np.where(levels == level, size, unit)
        return measure, unit

    def measure(self, first: int, last: int) -> SegmentMeasures:
        """Measures of the segments that begin at the steps ``first`` to ``last`` less one."""
        steps = self.grid.steps
        start = np.arange(first, last)
        stop = start[:, None] + np.arange(1, LONGEST + 1)
        end = np.minimum(stop, steps)
        valid = (stop <= steps) & self.starts[end] & self.starts[start][:, None]
        quarters = (self.quarters[end] - self.quarters[start][:, None]).astype(np.float32)
        beats = (self.beats[end] - self.beats[start][:, None]).astype(np.float32)
        # Evidence grows with length, but slower: the steps of one chord are not independent.
        growth = np.sqrt(np.minimum(beats, 8))[:, :, None]

        def within(sums: Floats) -> Floats:
            inside: Floats = sums[end] - sums[start][:, None]
            return inside

        sounding = within(self._sounding)
        total = np.maximum(sounding.sum(axis=2, keepdims=True), _TINY)
        weighted = _share(within(self._weighted)) * growth
        struck = within(self._struck)
        shape = (len(start), LONGEST, NOTE_CHANNELS, len(self.columns))
        notes = np.empty(shape, np.float32)
        notes[:, :, 0] = sounding / total
        notes[:, :, 1] = weighted
        notes[:, :, 2] = np.minimum(1, sounding / (0.5 * quarters + _TINY)[:, :, None])
        notes[:, :, 3] = self._at_start[start][:, None]
        stepwise, leaping, falling = (within(sums) / total * growth for sums in self._figures)
        notes[:, :, 4] = stepwise
        notes[:, :, 5] = np.sqrt(struck / np.maximum(struck.sum(axis=2, keepdims=True), 1))
        notes[:, :, 6] = sounding > _TINY
        notes[:, :, 7] = within(self._highest) / (quarters + _TINY)[:, :, None]
        notes[:, :, 8] = self._present[np.minimum(end, steps) - 1]
        notes[:, :, 9], notes[:, :, 10] = leaping, falling
        coming = self._sounding[np.minimum(end + 2, steps)] - self._sounding[end]
        notes[:, :, 11] = _share(coming)
        gone = self._sounding[start] - self._sounding[np.maximum(start - 2, 0)]
        notes[:, :, 12] = _share(gone)[:, None]
        basses = np.zeros((*shape[:2], BASS_CHANNELS, shape[3]), np.float32)
        basses[:, :, 0] = self._bass[start][:, None]
        self._fill_lowest(basses[:, :, 1], start)
        basses[:, :, 2] = _share(within(self._bass_share)) * growth
        keys = np.stack(
            [weighted, notes[:, :, 6], basses[:, :, 1], notes[:, :, 0] * beats[:, :, None]], axis=2
        )
        return SegmentMeasures(notes, basses, keys, beats, np.digitize(beats, _LENGTH_EDGES), valid)

    def _fill_lowest(self, out: Floats, start: Ints) -> None:
        """Mark the lowest note of each segment in ``out``, shape (n, LONGEST, columns)."""
        grid, steps = self.grid, self.grid.steps
        key, column = np.full(len(start), 200), np.full(len(start), -1)
        for length in range(LONGEST):
            at = np.minimum(start + length, steps - 1)
            here = np.where(start + length < steps, grid.lowest_key[at], 200)
            column = np.where(here < key, grid.lowest[at], column)
            key = np.minimum(here, key)
            heard = np.flatnonzero(column >= 0)
            out[heard, length, self._place[column[heard]]] = 1


def _summed(steps: Floats) -> Floats:
    """Sums from the start, one row longer, so that a segment is a difference of two rows."""
    sums = np.cumsum(steps, axis=0, dtype=np.float64).astype(np.float32)
    return np.concatenate([np.zeros((1, steps.shape[1]), np.float32), sums])


def _share(mass: Floats) -> Floats:
    share: Floats = mass / np.maximum(mass.sum(axis=-1, keepdims=True), _TINY)
    return share


def _fractions(measure: Ints, levels: Ints) -> Ints:
    """Class of each length against its measure, shape (T, LONGEST).

    0 less than a quarter, 1 less than a half, 2 less than the whole, 3 the whole from its first
    beat, 4 as long as the whole but displaced, 5 longer.
    """
    length = np.arange(1, LONGEST + 1)
    whole = measure[:, None]
    out = np.where(4 * length >= whole, 1, 0)
    out = np.where(2 * length >= whole, 2, out)
    out = np.where(length == whole, np.where(levels[:, None] == 0, 3, 4), out)
    return np.where(length > whole, 5, out)
