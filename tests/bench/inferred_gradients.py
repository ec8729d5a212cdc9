"""The gradient of a reading's log probability with respect to the weights of the chord decoder.

The gradient is what the analysts' reading has of each feature less what the model expects of it.
The analysts' chords are longer than the longest segment here and there, and how they are cut is
not known, so all ways of cutting them are summed over, as all readings are for the model.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from analysis.inference.chord_lattices import ChordLattice, ForwardSums, used_rows
from analysis.inference.chord_vocabularies import (
    FORM_QUALITY,
    FORMS,
    INTERVALS,
    QUALITIES,
    classify_moves,
)
from analysis.inference.chord_weights import (
    COARSE_LENGTHS,
    HALF_STEPS,
    INTERVAL_BINS,
    ROOTS,
    STAYS,
    bins_from_tone,
    weight_shapes,
)
from analysis.inference.note_segments import LONGEST, SegmentMeasures
from analysis.vocabulary.note_grid import Floats, Ints

Doubles = NDArray[np.float64]


class Gradient:
    """Gathers the gradient of one piece while its lattice is summed.

    Parameters
    ----------
    lattice
        The lattice of the piece.
    gold
        The analysts' state at each step: place of the key in ``lattice.keys`` times N plus
        numeral, shape (T,). It changes only where a segment may begin.

    Attributes
    ----------
    loss
        Negative log probability of the analysts' reading, after `run`.
    """

    def __init__(self, lattice: ChordLattice, gold: Ints) -> None:
        self.lattice, self.gold = lattice, gold
        tables = lattice.tables
        size = tables.vocabulary.size
        self.size, self.keys = size, len(lattice.keys)
        self.modes = lattice.keys % 2
        self.sums: dict[str, Doubles] = {
            name: np.zeros(shape) for name, shape in weight_shapes(tables.vocabulary).items()
        }
        self._columns = lattice.segments.columns
        self._notes, self._basses, self._keys = (
            np.zeros_like(used_rows(table, self._columns))
            for table in (tables.notes, tables.basses, tables.keys)
        )
        self._moves = np.zeros((STAYS, 2, size, size))
        self._key_moves = np.zeros((self.keys, self.keys))
        self._key_moves_now = tables.key_moves[np.ix_(lattice.keys, lattice.keys)]
        self._gold_scores = np.full((lattice.steps, LONGEST), -np.inf)
        self._gold_segments: Doubles = np.zeros((lattice.steps, LONGEST))
        self._forward: ForwardSums | None = None
        self._slice: dict[int, tuple[Floats, Floats]] = {}
        self.loss = 0.0

    def run(self) -> dict[str, Doubles]:
        """Sum the lattice both ways and hand back the gradient of each table of weights."""
        self._forward = self.lattice.forward(self)
        passages = self._sum_gold()
        self.lattice.backward(self._forward, self)
        for step, probability in passages:
            self._add_gold_move(step, probability)
        self._add_final()
        return self._shared()

    # What the lattice shows on its way.

    def see_scores(self, step: int, scores: Floats) -> None:
        """Keep the scores of the analysts' own state."""
        self._gold_scores[step] = scores.reshape(LONGEST, -1)[:, self.gold[step]]

    def see_boundary(self, step: int, ends: Floats, begins: Floats) -> None:
        """Take off the moves that the model expects at a boundary."""
        lattice, tables, forward = self.lattice, self.lattice.tables, self._forward
        assert forward is not None
        assert forward.ends is not None
        before, after = forward.ends[step], begins + lattice.boundary[step]
        top, later = float(before.max()), float(after.max())
        # Everything is scaled so that the largest product is the largest probability.
        scale = math.exp(min(top + later - forward.total, 80.0))
        left = np.exp(before - top).reshape(-1, 2, self.size)
        right = np.exp(after - later).reshape(-1, 2, self.size)
        stay = lattice.stay[step]
        for mode in (0, 1):
            pairs = left[:, mode].T @ right[:, mode]
            self._moves[stay, mode] -= pairs * tables.odds[stay, mode] * scale
        first = np.exp(tables.weights["first_in_key"] + tables.missing)
        last = np.exp(tables.weights["last_in_key"] + tables.missing)
        level = lattice.segments.grid.levels[step]
        odds = np.exp(self._key_moves_now + tables.weights["key_change_at_level"][level])
        leaving = (left * last).sum(axis=2).ravel()
        entering = (right * first).sum(axis=2).ravel()
        changes = np.outer(leaving, entering) * odds * scale
        self._key_moves -= changes
        self.sums["key_change_at_level"][level] -= changes.sum()
        into = (leaving @ odds).reshape(-1, 2, 1) * right * first * scale
        out_of = (odds @ entering).reshape(-1, 2, 1) * left * last * scale
        self.sums["first_in_key"] -= into.sum(axis=0)
        self.sums["last_in_key"] -= out_of.sum(axis=0)

    def see_segments(
        self, step: int, row: int, measures: SegmentMeasures, posterior: Floats
    ) -> None:
        """Add what the analysts have at a step and take off what the model expects."""
        lattice, sums = self.lattice, self.sums
        lengths, grid = len(posterior), self.lattice.segments.grid
        differ = -posterior.reshape(lengths, -1)
        differ[:, self.gold[step]] += self._gold_segments[step, :lengths]
        form_place, key_place = lattice.places(step)
        forms = _scattered(differ, form_place, ROOTS * len(FORMS))
        by_state = differ.reshape(lengths, self.keys, self.size)
        by_key = by_state.sum(axis=2)
        keys = _scattered(by_key, key_place, ROOTS * 2)
        by_numeral = by_state.reshape(lengths, -1, 2, self.size).sum(axis=1)
        level = grid.levels[step]
        sums["numeral_at_level"][:, level] += by_numeral.sum(axis=0)
        classes = measures.length[row, :lengths]
        for length in range(lengths):
            coarse = COARSE_LENGTHS[classes[length]]
            sums["numeral_of_length"][:, coarse] += by_numeral[length]
        alone = by_key.sum(axis=1)
        pace = lattice.segments.pace[step]
        np.add.at(sums["length"], classes, alone)
        np.add.at(sums["length_at_pace"][pace], classes, alone)
        np.add.at(sums["fraction_at_pace"][pace], lattice.segments.fraction[step, :lengths], alone)
        total = alone.sum()
        sums["boundary"][lattice.segments.boundary[step]] += total
        sums["boundary_at_pace"][lattice.pace_class[step]] += total
        sums["boundary_change"][level] += total * lattice.segments.change[step]
        beats = measures.beats[row, :lengths, None]
        for per, weight in enumerate((by_key.sum(axis=0), (by_key * beats).sum(axis=0))):
            self._add_key_bias(step, per, weight)
        if step == 0:
            opening = by_state.sum(axis=0).reshape(-1, 2, self.size).sum(axis=0)
            sums["start"] += opening
            sums["mode"] += opening.sum(axis=1)
        self._slice[row] = (forms, keys)

    def see_slice(self, measures: SegmentMeasures) -> None:
        """Turn the differences of a slice into those of the measured features."""
        count = len(measures.beats)
        forms = np.zeros((count, LONGEST, ROOTS * len(FORMS)), np.float32)
        keys = np.zeros((count, LONGEST, ROOTS * 2), np.float32)
        for row, (by_form, by_key) in self._slice.items():
            forms[row, : len(by_form)] = by_form
            keys[row, : len(by_key)] = by_key
        self._slice.clear()
        rows = count * LONGEST
        by_root = forms.reshape(rows, ROOTS, len(FORMS))
        qualities = np.zeros((rows, ROOTS, len(QUALITIES)), np.float32)
        for form, quality in enumerate(FORM_QUALITY):
            qualities[:, :, quality] += by_root[:, :, form]
        self._notes += measures.notes.reshape(rows, -1).T @ qualities.reshape(rows, -1)
        self._basses += measures.basses.reshape(rows, -1).T @ by_root.reshape(rows, -1)
        self._keys += measures.keys.reshape(rows, -1).T @ keys.reshape(rows, -1)

    def _add_key_bias(self, step: int, per: int, weight: Floats) -> None:
        lattice, sums = self.lattice, self.sums
        last = lattice.last_bass
        np.add.at(sums["last_bass"][:, per], (self.modes, last), weight)
        if lattice.use_signature:
            signature = lattice.signature[step]
            np.add.at(sums["signature"][:, per], (self.modes, signature), weight)
            np.add.at(sums["home"][:, per], (self.modes, signature, last), weight)

    # The analysts' reading.

    def _gold_move(self, step: int) -> float:
        """Score of the analysts' move at a boundary, which may be from a chord to itself."""
        lattice, tables = self.lattice, self.lattice.tables
        (key, numeral), (to_key, to_numeral) = self._states(step)
        if key == to_key:
            move = tables.moves[lattice.stay[step], self.modes[key], numeral, to_numeral]
        else:
            weights = tables.weights
            move = (
                weights["last_in_key"][self.modes[key], numeral]
                + self._key_moves_now[key, to_key]
                + weights["key_change_at_level"][lattice.segments.grid.levels[step]]
                + weights["first_in_key"][self.modes[to_key], to_numeral]
            )
        return float(move + lattice.boundary[step])

    def _states(self, step: int) -> tuple[tuple[int, int], tuple[int, int]]:
        """Key and numeral of the analysts before and after a boundary."""
        before, after = int(self.gold[step - 1]), int(self.gold[step])
        return divmod(before, self.size), divmod(after, self.size)

    def _run_ends(self) -> Ints:
        """End of the analysts' chord around each step."""
        edges = np.append(np.flatnonzero(np.diff(self.gold)) + 1, len(self.gold))
        ends: Ints = edges[np.searchsorted(edges, np.arange(len(self.gold)), side="right")]
        return ends

    def _sum_gold(self) -> list[tuple[int, float]]:
        """Sum over all ways of cutting; the probability that there is a cut at each step."""
        lattice, steps = self.lattice, self.lattice.steps
        starts, run_ends = lattice.segments.starts, self._run_ends()
        scores, weights = self._gold_scores, lattice.tables.weights
        key, numeral = divmod(int(self.gold[0]), self.size)
        mode = self.modes[key]
        opening = weights["mode"][mode] + weights["start"][mode, numeral] + lattice.boundary[0]
        moves = [0.0] + [self._gold_move(step) for step in range(1, steps)]
        until, begin = np.full(steps + 1, -np.inf), np.full(steps, -np.inf)
        for step in range(steps):
            if not starts[step]:
                continue
            begin[step] = until[step] + moves[step] if step else opening
            for length in self._lengths(step, run_ends):
                until[step + length] = np.logaddexp(
                    until[step + length], begin[step] + scores[step, length - 1]
                )
        key, numeral = divmod(int(self.gold[-1]), self.size)
        final = float(weights["final"][self.modes[key], numeral])
        total = until[steps] + final
        assert self._forward is not None
        self.loss = self._forward.total - float(total)
        onward = np.full(steps + 1, -np.inf)
        onward[steps] = final
        passages = []
        for step in range(steps - 1, -1, -1):
            if not starts[step]:
                continue
            coming = -np.inf
            for length in self._lengths(step, run_ends):
                value = scores[step, length - 1] + onward[step + length]
                coming = np.logaddexp(coming, value)
                self._gold_segments[step, length - 1] = math.exp(
                    min(begin[step] + value - total, 0.0)
                )
            if step:
                onward[step] = coming + moves[step]
                passages.append((step, math.exp(min(until[step] + onward[step] - total, 0.0))))
        return passages

    def _lengths(self, step: int, run_ends: Ints) -> Iterator[int]:
        """Lengths of segments that begin at a step and stay within the analysts' chord."""
        starts = self.lattice.segments.starts
        for length in range(1, min(LONGEST, int(run_ends[step]) - step) + 1):
            if starts[step + length]:
                yield length

    def _add_gold_move(self, step: int, probability: float) -> None:
        (key, numeral), (to_key, to_numeral) = self._states(step)
        if key == to_key:
            stay = self.lattice.stay[step]
            self._moves[stay, self.modes[key], numeral, to_numeral] += probability
            return
        self._key_moves[key, to_key] += probability
        level = self.lattice.segments.grid.levels[step]
        self.sums["key_change_at_level"][level] += probability
        self.sums["first_in_key"][self.modes[to_key], to_numeral] += probability
        self.sums["last_in_key"][self.modes[key], numeral] += probability

    def _add_final(self) -> None:
        forward = self._forward
        assert forward is not None
        chances = np.exp(forward.final - forward.total).reshape(-1, 2, self.size)
        self.sums["final"] -= chances.sum(axis=0)
        key, numeral = divmod(int(self.gold[-1]), self.size)
        self.sums["final"][self.modes[key], numeral] += 1

    # From merged tables back to the small ones that share weights.

    def _shared(self) -> dict[str, Doubles]:
        sums, vocabulary = self.sums, self.lattice.tables.vocabulary
        tones = _from_roots(self._notes, self._columns, len(QUALITIES))
        sums["tones"] += tones
        np.add.at(sums["tones_by_sound"].transpose(2, 0, 1), HALF_STEPS, tones.transpose(2, 0, 1))
        basses = _from_roots(self._basses, self._columns, len(FORMS))
        sums["basses"] += basses
        for form, (quality, inversion) in enumerate(FORMS):
            bins = bins_from_tone(QUALITIES[quality].tones[inversion])
            np.add.at(sums["basses_by_tone"][inversion].T, bins, basses[form].T)
        sums["keys"] += _from_roots(self._keys, self._columns, 2)
        sums["numeral"] += sums["numeral_at_level"].sum(axis=1)
        np.fill_diagonal(self._key_moves, 0)
        keys = self.lattice.keys
        interval = (keys[None] // 2 - keys[:, None] // 2) % 12
        pair = np.broadcast_arrays(self.modes[:, None], self.modes[None])
        np.add.at(sums["key_changes"], (*pair, interval), self._key_moves)
        for mode in (0, 1):
            held, count = classify_moves(vocabulary, mode), len(vocabulary.states[mode])
            by_stay = self._moves[:, mode, :count, :count]
            whole = by_stay.sum(axis=0)
            np.add.at(sums["types"][mode], held.type_pair, whole)
            np.add.at(sums["inversions"][mode], held.inversion_pair, whole)
            np.add.at(sums["root_moves"][mode], held.root_move, whole)
            np.add.at(sums["bass_moves"][mode], held.bass_move, whole)
            np.add.at(sums["resolutions"][mode], held.resolution, whole)
            for stay in range(STAYS):
                np.add.at(sums["stays"][stay, mode], held.stay, by_stay[stay])
        return sums


def _scattered(values: Floats, places: Ints, count: int) -> Floats:
    """Sums of columns that share a place, shape (lengths, count)."""
    rows = len(values)
    at = places + np.arange(rows)[:, None] * count
    out = np.bincount(at.ravel(), values.ravel(), minlength=rows * count)
    return out.reshape(rows, count).astype(np.float32)


def _from_roots(sums: Floats, columns: Ints, kinds: int) -> Doubles:
    """The transpose of laying weights out over roots: (kinds, channels, INTERVALS)."""
    laid = sums.reshape(-1, len(columns), ROOTS, kinds).astype(float)
    out = np.zeros((INTERVALS, laid.shape[0], kinds))
    np.add.at(out, INTERVAL_BINS[columns], laid.transpose(1, 2, 0, 3))
    return out.transpose(2, 1, 0)
