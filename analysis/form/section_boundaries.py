"""Where a section begins, when nobody has written it.

The task: of the barlines of a piece, find those at which a new section of the form begins.

Method. Each measure is a point at which something may begin, described by fourteen features: what
comes back from here on, or came back up to here (the longest diagonals of self-similarity of melody
and chords that begin or end here); novelty of melody and chords together, and of chords alone, on
the diagonal of the self-similarity; the rest in the melody before and after; a change of chord, and
to the tonic; how much chords, notes a measure, register and harmonic rhythm differ between the four
measures on both sides. A logistic regression turns them into odds, counted against the piece's own
upper odds, since some pieces are marked more clearly than others all through. A dynamic programme
takes the boundaries with the best sum of log odds and of a preference for lengths of eight, sixteen
or four measures. Neighbours that hold the same music are joined: a verse sung twice is one section.

What it cannot do: a section that goes on with the same material and no rest is not seen; boundaries
are barlines.

References
----------
J. Foote, "Automatic audio segmentation using a measure of audio novelty", ICME 2000 (novelty on the
diagonal). J. Serrà et al., "Unsupervised music structure annotation by time series structure
features and segment similarity", IEEE Transactions on Multimedia 16/5, 2014 (diagonals that begin
and end) (both from memory). The weights are fitted to songs of the Rock Corpus, as
``tables/sections.json`` says.
"""

from __future__ import annotations

import json
from bisect import bisect_left, bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from importlib.resources import files
from typing import Final

import numpy as np
import numpy.typing as npt

from analysis.marks import ChordFact
from analysis.returns.measure_contents import ContentKinds, measure_contents
from analysis.score import Measure
from analysis.timebase import Offset
from analysis.vocabulary.voices import HeldNote

Array = npt.NDArray[np.float64]

#: Points in a measure at which its chord is asked.
_POINTS: Final = 8
#: Measures on each side that a feature looks at; the wider window of the novelty.
_NEAR: Final = 4
_WIDE: Final = 8
#: What the log odds are counted against, and how much of it.
_UPPER: Final = 90
_SHARE_OF_UPPER: Final = 0.6
#: Price of a boundary, and weight of the preference for lengths.
_PRICE: Final = -3.5
_WEIGHT_OF_LENGTH: Final = 1.25
#: Neighbours as alike as this are one section.
_ONE_SECTION: Final = 0.7


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
        cells = self.roots
        known = cells >= 0
        share = np.zeros((len(cells), len(cells)))
        for point in range(_POINTS):
            same = cells[:, point, None] == cells[None, :, point]
            share += same & known[:, point, None]
        return share / _POINTS

    @cached_property
    def onsets(self) -> list[float]:
        """Where the melody's notes begin, as floats, which compare fast."""
        return [float(note.onset) for note in self.line]

    @cached_property
    def both(self) -> Array:
        """Melody and harmony together."""
        silent = self.silent[:, None] & self.silent[None]
        sung_once = self.silent[:, None] ^ self.silent[None]
        mixed = np.where(silent, self.harmony, (self.harmony + self.melody) / 2)
        return np.where(sung_once, 0.3 * self.harmony, mixed)

    @cached_property
    def sung(self) -> Array:
        """Melody alone; silence is somewhat like silence."""
        return np.where(self.silent[:, None] & self.silent[None], 0.6, self.melody)

    @cached_property
    def roots(self) -> npt.NDArray[np.intp]:
        """Root and third at eight points of each measure; -1 where there is no chord."""
        starts = [float(chord.span.start) for chord in self.chords]
        cells = np.full((len(self.measures), _POINTS), -1, dtype=np.intp)
        for measure in self.measures:
            for point in range(_POINTS):
                place = measure.onset + measure.length * point / _POINTS
                at = bisect_right(starts, float(place)) - 1
                chord = self.chords[at].chord if at >= 0 else None
                if chord is not None:
                    minor = chord.triad in ("min", "dim")
                    cells[measure.index, point] = 2 * chord.root.pc + minor
        return cells

    @cached_property
    def notes(self) -> Array:
        """Notes in each measure, repeated ones once."""
        return np.array([len(content.row) for content in self._contents], dtype=float)

    @cached_property
    def register(self) -> Array:
        """Mean key number in each measure; NaN where the melody is silent."""
        return np.array(
            [np.mean(content.row) if content.row else np.nan for content in self._contents]
        )

    @cached_property
    def _contents(self) -> tuple:  # type: ignore[type-arg]
        return measure_contents(self.measures, self.line)

    @property
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
        stretch = self.both[start : start + length, later.start : later.start + length]
        return float(stretch.diagonal().sum()) / length


def describe_barlines(piece: SelfSimilarity) -> dict[str, Array]:
    """The fourteen features of each barline, by name; each an array over the measures."""
    melody_starts, _ = _diagonals(piece.sung)
    starts, ends = _diagonals(piece.both)
    chord_starts, _ = _diagonals(piece.harmony)
    gap, to_next = _rests(piece)
    change, tonic = _chords_at_barlines(piece)
    moves = (np.diff(piece.roots, axis=1) != 0).sum(axis=1).astype(float)
    return {
        "return begins": starts.max(axis=1),
        "return ends": ends.max(axis=1),
        "melody returns": melody_starts.max(axis=1),
        "chords return": np.sort(chord_starts, axis=1)[:, -_NEAR:].mean(axis=1),
        "novelty": _novelty(piece.both, _WIDE),
        "novelty of chords": _novelty(piece.harmony, _NEAR),
        "gap in melody": gap,
        "wait for melody": to_next,
        "tonic chord": tonic,
        "chord changes": change,
        "other chords": _other_chords(piece),
        "notes": _differs(piece.notes, 4.0),
        "register": _differs(piece.register, 5.0),
        "harmonic rhythm": _differs(moves, 1.0),
    }


def find_boundaries(
    piece: SelfSimilarity, features: Mapping[str, Array], weights: Mapping[str, float]
) -> list[tuple[int, float]]:
    """Indexes of the measures at which sections begin, the first measure always among them.

    Parameters
    ----------
    piece, features
        The piece and what `describe_barlines` says of it.
    weights
        A weight for each feature, and ``bias``.

    Returns
    -------
    list of (int, float)
        Measure index and probability in [0, 1], in order.
    """
    count = len(piece.measures)
    if count < 2 * _NEAR:
        return [(0, 1.0)]
    odds = log_odds(features, weights)
    mean = weights["mean upper odds"]
    odds = odds - _SHARE_OF_UPPER * (np.percentile(odds, _UPPER) - mean)
    # A pickup is no section, and does not count in the length of the first one.
    starts = [piece.pickup + at for at in _best_boundaries(odds[piece.pickup :] - _PRICE)]
    kept = [0]
    for before, begin, end in zip(starts, starts[1:], [*starts[2:], count], strict=False):
        if piece.of_sections(range(before, begin), range(begin, end)) <= _ONE_SECTION:
            kept.append(begin)
    return [(at, float(1 / (1 + np.exp(_PRICE / 2 - odds[at]))) if at else 1.0) for at in kept]


def log_odds(features: Mapping[str, Array], weights: Mapping[str, float]) -> Array:
    """Log odds of a boundary at each measure."""
    return weights["bias"] + sum(
        (weights[name] * values for name, values in features.items()),
        np.zeros(len(next(iter(features.values())))),
    )


def read_weights() -> dict[str, float]:
    """The fitted weights."""
    text = files("analysis").joinpath("tables", "sections.json").read_text("utf-8")
    return {**json.loads(text)["weights"]}


def _diagonals(alike: Array) -> tuple[Array, Array]:
    """For each pair of distant measures: how clearly a common stretch begins, and ends, there."""
    count = len(alike)
    ahead, behind = np.zeros((count, count)), np.zeros((count, count))
    seen = np.zeros((count, count)), np.zeros((count, count))
    for step in range(min(_NEAR, count)):
        inside = slice(0, count - step)
        ahead[inside, inside] += alike[step:, step:]
        seen[0][inside, inside] += 1
    for step in range(1, min(_NEAR, count - 1) + 1):
        behind[step:, step:] += alike[: count - step, : count - step]
        seen[1][step:, step:] += 1
    ahead /= np.maximum(seen[0], 1)
    behind /= np.maximum(seen[1], 1)
    at = np.arange(count)
    distant = np.abs(at[:, None] - at[None]) >= _NEAR
    return (
        np.where(distant, ahead * (1 - behind), -1.0),
        np.where(distant, behind * (1 - ahead), -1.0),
    )


def _novelty(alike: Array, width: int) -> Array:
    """How unlike the measures on both sides of each barline are, against each side within."""
    count = len(alike)
    total = np.zeros((count + 1, count + 1))
    total[1:, 1:] = alike.cumsum(axis=0).cumsum(axis=1)

    def mean(rows: tuple[int, int], columns: tuple[int, int]) -> float:
        (top, bottom), (left, right) = rows, columns
        area = total[bottom, right] - total[top, right] - total[bottom, left] + total[top, left]
        return float(area / ((bottom - top) * (right - left)))

    novelty = np.zeros(count)
    for at in range(1, count):
        before, after = (max(0, at - width), at), (at, min(count, at + width))
        novelty[at] = (mean(before, before) + mean(after, after)) / 2 - mean(before, after)
    return novelty


def _rests(piece: SelfSimilarity) -> tuple[Array, Array]:
    """In measures: from the last note before a barline to the first after it; from it to that."""
    onsets = [note.onset for note in piece.line]
    gap, to_next = np.zeros(len(piece.measures)), np.zeros(len(piece.measures))
    for measure in piece.measures:
        # A pickup of a beat and a half belongs to what it leads to.
        at = bisect_left(onsets, measure.onset - Offset(3, 2))
        after = onsets[at] if at < len(onsets) else piece.measures[-1].onset + measure.length
        before = onsets[at - 1] if at else Offset(0)
        length = float(measure.length) or 1.0
        gap[measure.index] = min(float(after - before) / length, 3)
        to_next[measure.index] = min(max(0.0, float(after - measure.onset)) / length, 2)
    return gap, to_next


def _chords_at_barlines(piece: SelfSimilarity) -> tuple[Array, Array]:
    """Whether the chord changes at each barline, and whether it is the tonic from there on."""
    chords = [chord for chord in piece.chords if chord.chord is not None]
    starts = [chord.span.start for chord in chords]
    change, tonic = np.zeros(len(piece.measures)), np.zeros(len(piece.measures))
    for measure in piece.measures:
        around = []
        for shift in (Offset(-1, 4), Offset(1, 4)):
            at = bisect_right(starts, measure.onset + shift) - 1
            around.append(chords[at] if at >= 0 else None)
        before, after = around
        if after is not None and after.numeral is not None:
            tonic[measure.index] = after.numeral.degree == 1 and not after.numeral.applied_to
        if before is not None and after is not None:
            change[measure.index] = _quality(before) != _quality(after)
    return change, tonic


def _quality(fact: ChordFact) -> tuple[object, ...]:
    return (fact.chord.root.pc, fact.chord.triad) if fact.chord else ()


def _other_chords(piece: SelfSimilarity) -> Array:
    """One less the cosine of the chords' shares in the four measures before and after."""
    count = len(piece.measures)
    shares = np.zeros((count, 24))
    for point in range(_POINTS):
        known = piece.roots[:, point] >= 0
        np.add.at(shares, (np.nonzero(known)[0], piece.roots[known, point]), 1 / _POINTS)
    other = np.zeros(count)
    for at in range(1, count):
        before, after = shares[max(0, at - _NEAR) : at].sum(0), shares[at : at + _NEAR].sum(0)
        norm = np.linalg.norm(before) * np.linalg.norm(after)
        other[at] = 1 - before @ after / (norm + 1e-9)
    return other


def _differs(values: Array, unit: float) -> Array:
    """By how many units the means of four measures before and after differ, at most two."""
    difference = np.zeros(len(values))
    for at in range(1, len(values)):
        before, after = values[max(0, at - _NEAR) : at], values[at : at + _NEAR]
        before, after = before[~np.isnan(before)], after[~np.isnan(after)]
        if len(before) and len(after):
            difference[at] = min(abs(before.mean() - after.mean()) / unit, 2)
    return difference


def _preference(length: int) -> float:
    """Log preference for a section of so many measures."""
    value = -0.4 if length % 8 == 0 else -1.0 if length % 4 == 0 else -2.2
    if length % 2:
        value = -3.0
    if length == 12:
        value = -0.8
    return value - 1.0 if length < _NEAR else value


def _best_boundaries(gains: Array) -> list[int]:
    """The boundaries with the best sum of gains and preferences of length, 0 first."""
    count = len(gains)
    prefers = _WEIGHT_OF_LENGTH * np.array([_preference(length) for length in range(1, count + 1)])
    best = np.zeros(count + 1)
    back = np.zeros(count + 1, dtype=int)
    for end in range(1, count + 1):
        sums = best[:end] + prefers[:end][::-1]
        back[end] = int(sums.argmax())
        best[end] = sums[back[end]] + (gains[end] if end < count else 0.0)
    row = [int(back[count])]
    while row[-1] > 0:
        row.append(int(back[row[-1]]))
    return row[::-1]
