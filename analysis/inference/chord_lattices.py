"""All ways to cut a note grid into chords in keys, summed over: a semi-Markov lattice.

Task
----
A reading of a grid is a row of segments, each a numeral in a key. Every reading has a score, the
sum of fitted weights; its probability is in proportion to the exponential of the score. This
module sums over all readings, forward and backward in time, and gives the probability of every
numeral in every key at every step.

Conventions
-----------
Arrays over states have the shape (K, N): key, then numeral of the key's mode. The K keys are a
major and a minor one on each tonic that the notes make plausible somewhere in the piece, which
spares a third of the work. Logarithms are natural. The spelling of a key at a step is the one
nearest to the notes around, so the lattice needs one state for C sharp and D flat.

References
----------
S. Sarawagi and W. W. Cohen, *Semi-Markov conditional random fields for information extraction*,
NIPS 2004 (from memory). The forward and backward sums are those of L. Rabiner's tutorial on hidden
Markov models, Proceedings of the IEEE 77/2, 1989 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from analysis.inference.chord_vocabularies import FORM_QUALITY, FORMS
from analysis.inference.chord_weights import COARSE_LENGTHS, ROOTS, ChordTables, root_column
from analysis.inference.note_segments import LONGEST, GridSegments, SegmentMeasures
from analysis.vocabulary.note_grid import LINE, LOW, Floats, Ints, NoteGrid

#: Keys are numbered by twice the pitch class of their tonic, plus one in minor.
ALL_KEYS: Final = 24
#: Major and minor key profiles of Krumhansl and Kessler 1982, from the tonic up.
_PROFILES: Final = (
    (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88),
    (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17),
)
#: Steps whose segments are measured in one go.
_SLICE: Final = 64
_FLOOR: Final = np.float32(1e-37)
_FAINT: Final = np.float32(-60)
_NEVER: Final = np.float32(-1e4)


class Visitor(Protocol):
    """Who looks on while a lattice is summed: the script that fits the weights."""

    def see_scores(self, step: int, scores: Floats) -> None:
        """Scores of the segments that begin at a step, (LONGEST, K, N), going forward."""

    def see_boundary(self, step: int, ends: Floats, begins: Floats) -> None:
        """Log sums up to a boundary and from it on, each (K, N), going backward."""

    def see_segments(
        self, step: int, row: int, measures: SegmentMeasures, posterior: Floats
    ) -> None:
        """Probabilities of the segments that begin at a step, (lengths, K, N), going backward.

        ``row`` is the step's row in ``measures``.
        """

    def see_slice(self, measures: SegmentMeasures) -> None:
        """A slice of steps that is done with, going backward."""


@dataclass(frozen=True)
class ForwardSums:
    """Log sums of all readings up to the beginning of a segment at each step, (T, K, N).

    ``final`` are those up to the end of the piece, (K, N), and ``total`` their sum. ``ends`` are
    those up to the end of a segment, before the move to the next; kept for a visitor alone.
    """

    begins: Floats
    final: Floats
    total: float
    ends: Floats | None


class ChordLattice:
    """The lattice of one grid.

    Parameters
    ----------
    tables
        Merged weights.
    segments
        The grid's segments.
    allowed
        Keys that may hold at each step, shape (T, 24); None for all.
    tonics
        Spelling of each key's tonic at each step in fifths, shape (T, 24); None for the nearest.
    pitch_classes
        Tonics that may occur, as rising pitch classes; None for the plausible ones.

    Attributes
    ----------
    keys
        Numbers of the K keys in order, shape (K,).
    """

    def __init__(
        self,
        tables: ChordTables,
        segments: GridSegments,
        allowed: NDArray[np.bool_] | None = None,
        tonics: Ints | None = None,
        pitch_classes: Ints | None = None,
    ) -> None:
        grid = segments.grid
        self.tables, self.segments = tables, segments
        self.steps = grid.steps
        self._notes = used_rows(tables.notes, segments.columns)
        self._basses = used_rows(tables.basses, segments.columns)
        self._keys = used_rows(tables.keys, segments.columns)
        chosen = plausible_tonics(grid) if pitch_classes is None else pitch_classes
        self.keys = (2 * chosen[:, None] + np.arange(2)).ravel()
        self._modes = self.keys % 2
        spelled = near_tonics(grid.centre) if tonics is None else tonics
        self.tonics = np.ascontiguousarray(spelled[:, self.keys])
        self.signature = (self.tonics - 3 * self._modes - grid.signature[:, None] + 6) % 12
        heard = grid.bass[grid.bass >= 0]
        last = int(heard[-1]) + LOW if len(heard) else 0
        self.last_bass = (last * 7 - self.keys // 2) % 12
        self.use_signature = grid.has_signature
        weights = tables.weights
        levels = grid.levels
        self.boundary = (
            weights["boundary"][segments.boundary]
            + weights["boundary_at_pace"][self.pace_class]
            + (weights["boundary_change"][levels] * segments.change).sum(axis=1)
        )
        self.stay = segments.pace * 2 + (levels >= 2)
        self._first = np.exp(weights["first_in_key"] + tables.missing)
        self._last = np.exp(weights["last_in_key"] + tables.missing)
        self._key_odds = np.exp(tables.key_moves[np.ix_(self.keys, self.keys)])
        self._at_level = np.exp(weights["key_change_at_level"])[levels]
        self._forbidden: Ints | None = None
        if allowed is not None:
            start = np.zeros((1, len(self.keys)), np.int64)
            self._forbidden = np.concatenate([start, np.cumsum(~allowed[:, self.keys], axis=0)])
        self._places: dict[bytes, tuple[Ints, Ints]] = {}

    @property
    def pace_class(self) -> Ints:
        """Class of each step for the weights ``boundary_at_pace``."""
        segments = self.segments
        classes: Ints = (segments.pace * 3 + segments.texture) * 4 + segments.grid.levels
        return classes

    def places(self, step: int) -> tuple[Ints, Ints]:
        """Where each state's (root, form) and each key's (tonic, mode) stand in the scores."""
        tonics = self.tonics[step]
        known = self._places.get(tonics.tobytes())
        if known is None:
            vocabulary = self.tables.vocabulary
            roots = root_column(tonics[:, None] + vocabulary.root[self._modes])
            forms = roots * len(FORMS) + vocabulary.form[self._modes]
            known = forms.ravel(), root_column(tonics) * 2 + self._modes
            self._places[tonics.tobytes()] = known
        return known

    def _slices(self, backward: bool = False) -> Iterator[tuple[int, int]]:
        firsts = range(0, self.steps, _SLICE)
        for first in reversed(firsts) if backward else firsts:
            yield first, min(first + _SLICE, self.steps)

    def _segment_scores(
        self, first: int, last: int
    ) -> tuple[SegmentMeasures, Floats, Floats, Floats]:
        """Measures of a slice; scores by (root, form), by (tonic, mode) and by length alone."""
        measures = self.segments.measure(first, last)
        weights = self.tables.weights
        rows = (last - first) * LONGEST
        notes = (measures.notes.reshape(rows, -1) @ self._notes).reshape(rows, ROOTS, -1)
        basses = (measures.basses.reshape(rows, -1) @ self._basses).reshape(rows, ROOTS, -1)
        forms = (notes[:, :, FORM_QUALITY] + basses).reshape(last - first, LONGEST, -1)
        keys = (measures.keys.reshape(rows, -1) @ self._keys).reshape(last - first, LONGEST, -1)
        pace = self.segments.pace[first:last, None]
        lengths = (
            weights["length"][measures.length]
            + weights["length_at_pace"][pace, measures.length]
            + weights["fraction_at_pace"][pace, self.segments.fraction[first:last]]
        )
        return measures, forms, keys, np.where(measures.valid, lengths, _NEVER)

    def key_bias(self, step: int) -> tuple[Floats, Floats]:
        """What signature and last bass say for each key: once, and for each beat; (K,) each."""
        weights, last = self.tables.weights, self.last_bass
        bias = [weights["last_bass"][self._modes, per, last] for per in (0, 1)]
        if self.use_signature:
            signature = self.signature[step]
            for per in (0, 1):
                bias[per] = (
                    bias[per]
                    + weights["signature"][self._modes, per, signature]
                    + weights["home"][self._modes, per, signature, last]
                )
        return bias[0], bias[1]

    def _step_scores(
        self, step: int, row: int, scores: tuple[SegmentMeasures, Floats, Floats, Floats]
    ) -> Floats:
        """Scores of the segments that begin at a step, (LONGEST, K, N)."""
        measures, forms, keys, lengths = scores
        tables, weights = self.tables, self.tables.weights
        size = tables.vocabulary.size
        form_place, key_place = self.places(step)
        out: Floats = forms[row][:, form_place].reshape(LONGEST, -1, size)
        once, per_beat = self.key_bias(step)
        beats = measures.beats[row][:, None]
        by_key = keys[row][:, key_place] + once + per_beat * beats + lengths[row][:, None]
        if self._forbidden is not None:
            end = np.minimum(step + 1 + np.arange(LONGEST), self.steps)
            by_key += _NEVER * (self._forbidden[end] > self._forbidden[step])
        out += by_key[:, :, None].astype(np.float32)
        coarse = COARSE_LENGTHS[measures.length[row]]
        by_mode = weights["numeral_of_length"][:, coarse].transpose(1, 0, 2)
        by_mode = by_mode + tables.numeral[:, self.segments.grid.levels[step]]
        out.reshape(LONGEST, -1, 2, size)[:] += by_mode[:, None]
        return out

    def forward(self, visitor: Visitor | None = None) -> ForwardSums:
        """Sum over all readings from the beginning on."""
        tables, starts = self.tables, self.segments.starts
        size = tables.vocabulary.size
        begins = np.full((self.steps, len(self.keys), size), -1e30, np.float32)
        ends = np.full((self.steps, len(self.keys), size), -1e30, np.float32) if visitor else None
        open_scores: dict[int, Floats] = {}
        for first, last in self._slices():
            scores = self._segment_scores(first, last)
            for step in range(first, last):
                if not starts[step]:
                    continue
                if step == 0:
                    opening = tables.weights["mode"][:, None] + tables.weights["start"]
                    begins[0] = (opening + tables.missing)[self._modes] + self.boundary[0]
                else:
                    end = self._end_at(step, open_scores, begins)
                    begins[step] = self._move(step, end)
                    if ends is not None:
                        ends[step] = end
                open_scores[step] = self._step_scores(step, step - first, scores)
                open_scores.pop(step - LONGEST, None)
                if visitor is not None:
                    visitor.see_scores(step, open_scores[step])
        final = self._end_at(self.steps, open_scores, begins) + tables.weights["final"][self._modes]
        return ForwardSums(begins, final, _log_total(final), ends)

    def _end_at(self, step: int, open_scores: dict[int, Floats], begins: Floats) -> Floats:
        """Log sum of the readings whose last segment ends at a step, (K, N)."""
        reach = range(max(0, step - LONGEST), step)
        parts = [
            open_scores[start][step - start - 1] + begins[start]
            for start in reach
            if start in open_scores
        ]
        stack = np.stack(parts)
        top = stack.max(axis=0)
        stack -= top
        total: Floats = top + np.log(_exp(stack).sum(axis=0))
        return total

    def _move(self, step: int, end: Floats) -> Floats:
        """From the ends at a boundary to the beginnings there, (K, N)."""
        top = end.max()
        odds = np.exp(end - top).reshape(-1, 2, end.shape[1])
        out = np.empty_like(odds)
        for mode in (0, 1):
            out[:, mode] = odds[:, mode] @ self.tables.odds[self.stay[step], mode]
        leaving = (odds * self._last).sum(axis=2).ravel()
        entering = (leaving @ self._key_odds * self._at_level[step]).reshape(-1, 2, 1)
        out += entering * self._first
        moved: Floats = np.log(np.maximum(out, _FLOOR)).reshape(end.shape)
        moved += top + self.boundary[step]
        return moved

    def _move_back(self, step: int, begin: Floats) -> Floats:
        """From the sums after a boundary to the sums before it, (K, N)."""
        later = begin + self.boundary[step]
        top = later.max()
        odds = np.exp(later - top).reshape(-1, 2, later.shape[1])
        out = np.empty_like(odds)
        for mode in (0, 1):
            out[:, mode] = odds[:, mode] @ self.tables.odds[self.stay[step], mode].T
        entered = (odds * self._first).sum(axis=2).ravel()
        left = (self._key_odds @ entered * self._at_level[step]).reshape(-1, 2, 1)
        out += left * self._last
        moved: Floats = np.log(np.maximum(out, _FLOOR)).reshape(begin.shape) + top
        return moved

    def backward(self, sums: ForwardSums, visitor: Visitor | None = None) -> Floats:
        """Probability of every state at every step, shape (T, K, N)."""
        size, steps = self.tables.vocabulary.size, self.steps
        marginals = np.zeros((steps, len(self.keys), size), np.float32)
        # Sums from the ends at each of the next steps on, and what is known of each step's share.
        after = np.full((LONGEST + 1, len(self.keys), size), -1e30, np.float32)
        after[steps % len(after)] = self.tables.weights["final"][self._modes]
        shares = np.zeros((LONGEST, len(self.keys), size), np.float32)
        for first, last in self._slices(backward=True):
            scores = self._segment_scores(first, last)
            for step in range(last - 1, first - 1, -1):
                lengths = min(LONGEST, steps - step)
                after[step % len(after)] = -1e30
                if self.segments.starts[step]:
                    coming = (step + 1 + np.arange(lengths)) % len(after)
                    onward = self._step_scores(step, step - first, scores)[:lengths]
                    onward += after[coming]
                    top = onward.max()
                    begin = np.log(_exp(onward - top).sum(axis=0)) + top
                    onward += sums.begins[step] - np.float32(sums.total)
                    odds = _exp(onward)
                    if step:
                        after[step % len(after)] = self._move_back(step, begin)
                        if visitor is not None:
                            visitor.see_boundary(step, after[step % len(after)], begin)
                    if visitor is not None:
                        visitor.see_segments(step, step - first, scores[0], odds)
                    for shorter in range(lengths - 1, -1, -1):
                        if shorter + 1 < lengths:
                            odds[shorter] += odds[shorter + 1]
                        shares[(step + shorter) % LONGEST] += odds[shorter]
                done = step + LONGEST - 1
                if done < steps:
                    marginals[done] = shares[done % LONGEST]
                    shares[done % LONGEST] = 0
            if visitor is not None:
                visitor.see_slice(scores[0])
        for step in range(min(LONGEST - 1, steps)):
            marginals[step] = shares[step % LONGEST]
        return marginals


def near_tonics(centre: Floats) -> Ints:
    """Spelling of every key's tonic nearest to the notes around each step, shape (T, 24).

    The scale of a major key lies two fifths above its tonic on the average, that of a minor key,
    with its raised degrees, about at it.
    """
    key = np.arange(ALL_KEYS)
    place = key // 2 * 7 % 12
    wanted = centre[:, None] - np.where(key % 2 == 0, 2, 0)
    tonics: Ints = place + 12 * np.round((wanted - place) / 12).astype(np.int64)
    return tonics


def plausible_tonics(grid: NoteGrid, within: float = 0.3, window: float = 8.0) -> Ints:
    """Pitch classes of tonics that fit the notes of some window nearly as well as the best does.

    Fit is the correlation of sounding time with a key profile, in windows of eight beats.

    References
    ----------
    C. L. Krumhansl, *Cognitive Foundations of Musical Pitch*, Oxford 1990: profiles and method.
    """
    profiles = np.stack([np.roll(_PROFILES[key % 2], key // 2) for key in range(ALL_KEYS)])
    profiles = profiles - profiles.mean(axis=1, keepdims=True)
    profiles /= np.linalg.norm(profiles, axis=1, keepdims=True)
    chroma = np.zeros((grid.steps, 12))
    for column in range(LINE):
        chroma[:, (column + LOW) * 7 % 12] += grid.channels[:, 0, column]
    sums = np.concatenate([np.zeros((1, 12)), np.cumsum(chroma, axis=0)])
    beats = np.concatenate([[0.0], np.cumsum(grid.beats, dtype=float)])
    first = np.arange(0, grid.steps, 4)
    last = np.minimum(np.searchsorted(beats, beats[first] + window), grid.steps)
    heard = sums[last] - sums[first]
    heard = heard[heard.sum(axis=1) > 0]
    heard -= heard.mean(axis=1, keepdims=True)
    heard /= np.maximum(np.linalg.norm(heard, axis=1, keepdims=True), 1e-9)
    fit = (heard @ profiles.T).reshape(-1, 12, 2).max(axis=2)
    near = fit >= fit.max(axis=1, keepdims=True) - within
    found: Ints = np.flatnonzero(near.any(axis=0))
    return found


def used_rows(table: Floats, columns: Ints) -> Floats:
    """The rows of a merged table that belong to some columns of the grid."""
    return np.ascontiguousarray(table.reshape(-1, LINE, table.shape[1])[:, columns]).reshape(
        -1, table.shape[1]
    )


def _exp(values: Floats) -> Floats:
    """Exponentials in place, but never so small that arithmetic with them gets slow."""
    np.maximum(values, _FAINT, out=values)
    return np.exp(values, out=values)


def _log_total(values: Floats) -> float:
    top = values.max()
    return float(top + np.log(np.exp(values - top).sum()))
