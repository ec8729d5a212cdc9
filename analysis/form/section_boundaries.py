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
Novelty and diagonals: see `analysis.form.self_similarities`. The weights are fitted to songs of the
Rock Corpus, as ``tables/sections.json`` says.
"""

from __future__ import annotations

import json
from bisect import bisect_right
from collections.abc import Mapping
from importlib.resources import files
from typing import Final

import numpy as np

from analysis.form.self_similarities import (
    NEAR,
    POINTS,
    Array,
    SelfSimilarity,
    novelty,
    stretch_ends,
)
from analysis.marks import ChordFact

#: The wider window of the novelty, in measures, and the longest pickup, in quarters.
_WIDE: Final = 8
_PICKUP: Final = 1.5
#: What the log odds are counted against, and how much of it.
_UPPER: Final = 90
_SHARE_OF_UPPER: Final = 0.6
#: Price of a boundary, and weight of the preference for lengths.
_PRICE: Final = -3.5
_WEIGHT_OF_LENGTH: Final = 1.25
#: Neighbours as alike as this are one section.
_ONE_SECTION: Final = 0.7


def describe_barlines(piece: SelfSimilarity) -> dict[str, Array]:
    """The fourteen features of each barline, by name; each an array over the measures."""
    starts, ends = stretch_ends(piece.both)
    gap, to_next = _rests(piece)
    change, tonic = _chords_at_barlines(piece)
    moves = (np.diff(piece.roots, axis=1) != 0).sum(axis=1).astype(float)
    return {
        "return begins": starts,
        "return ends": ends,
        "melody returns": stretch_ends(piece.sung)[0],
        "chords return": stretch_ends(piece.harmony, NEAR)[0],
        "novelty": novelty(piece.both, _WIDE),
        "novelty of chords": novelty(piece.harmony, NEAR),
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
    if count < 2 * NEAR:
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


def _rests(piece: SelfSimilarity) -> tuple[Array, Array]:
    """In measures: from the last note before a barline to the first after it; from it to that."""
    times = np.array([(float(one.onset), float(one.length) or 1.0) for one in piece.measures])
    barlines, lengths = times.T
    onsets = np.array([0.0, *piece.onsets, float(piece.measures[-1].span.end)])
    # A pickup of a beat and a half belongs to what it leads to.
    at = 1 + np.searchsorted(onsets[1:-1], barlines - _PICKUP)
    gap = np.minimum((onsets[at] - onsets[at - 1]) / lengths, 3)
    to_next = np.minimum(np.maximum(onsets[at] - barlines, 0) / lengths, 2)
    return gap, to_next


def _chords_at_barlines(piece: SelfSimilarity) -> tuple[Array, Array]:
    """Whether the chord changes at each barline, and whether it is the tonic from there on."""
    chords = [chord for chord in piece.chords if chord.chord is not None]
    starts = [float(chord.span.start) for chord in chords]
    change, tonic = np.zeros(len(piece.measures)), np.zeros(len(piece.measures))
    for measure in piece.measures:
        around = []
        for shift in (-0.25, 0.25):
            at = bisect_right(starts, float(measure.onset) + shift) - 1
            around.append(chords[at] if at >= 0 else None)
        before, after = around
        if after is not None and after.numeral is not None:
            tonic[measure.index] = after.numeral.degree == 1 and not after.numeral.applied_to
        if before is not None and after is not None:
            change[measure.index] = before is not after and _quality(before) != _quality(after)
    return change, tonic


def _quality(fact: ChordFact) -> tuple[object, ...]:
    return (fact.chord.root.pc, fact.chord.triad) if fact.chord else ()


def _other_chords(piece: SelfSimilarity) -> Array:
    """One less the cosine of the chords' shares in the four measures before and after."""
    count = len(piece.measures)
    shares = np.zeros((count + 1, 24))
    measure, point = np.nonzero(piece.roots >= 0)
    np.add.at(shares, (measure + 1, piece.roots[measure, point]), 1 / POINTS)
    so_far = shares.cumsum(axis=0)
    at = np.arange(1, count)
    before = so_far[at] - so_far[np.maximum(at - NEAR, 0)]
    after = so_far[np.minimum(at + NEAR, count)] - so_far[at]
    norm = np.sqrt((before**2).sum(axis=1)) * np.sqrt((after**2).sum(axis=1))
    return np.concatenate(([0.0], 1 - (before * after).sum(axis=1) / (norm + 1e-9)))


def _differs(values: Array, unit: float) -> Array:
    """By how many units the means of four measures before and after differ, at most two.

    Unknown values (NaN) are passed over; 0 where all on one side are unknown.
    """
    count = len(values)
    known = ~np.isnan(values)
    around = np.zeros((2, count + 2 * NEAR))
    around[:, NEAR : NEAR + count] = np.where(known, values, 0.0), known
    windows = [around[:, shift : shift + count] for shift in range(2 * NEAR)]
    nothing = np.zeros((2, count))
    totals, held = np.stack([sum(windows[:NEAR], nothing), sum(windows[NEAR:], nothing)], axis=1)
    before, after = totals / np.maximum(held, 1)
    difference = np.minimum(np.abs(before - after) / unit, 2)
    return np.where(held.min(axis=0) > 0, difference, 0.0)


def _preference(length: int) -> float:
    """Log preference for a section of so many measures."""
    value = -0.4 if length % 8 == 0 else -1.0 if length % 4 == 0 else -2.2
    if length % 2:
        value = -3.0
    if length == 12:
        value = -0.8
    return value - 1.0 if length < NEAR else value


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
