"""Likelihood of the analysts' tonics under the key model, its slope, and the climb along it.

The model is a conditional random field over the 24 keys of `analysis.keys.key_paths`; only the
tonic is given by the reference, the mode is left open (summed over). All pieces climb at once: they
are padded to one length and run through the forward and backward recursions side by side.

References
----------
C. Sutton & A. McCallum, "An introduction to conditional random fields", *Foundations and Trends in
Machine Learning* 4/4, 2012 (from memory). D. P. Kingma & J. Ba, "Adam: a method for stochastic
optimization", ICLR 2015 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from analysis.keys.key_paths import (
    MODE_CHANGE,
    RELATIVE,
    SAME_TONIC,
    STATES,
    TONIC_CHANGE,
    change_costs,
)
from analysis.keys.key_tables import KeyWeights

Floats = npt.NDArray[np.float64]

_PULL: Final = 0.02
_BORDER_PULL: Final = 0.05
#: Log weight of a key on the wrong tonic where the tonic is given.
_WRONG: Final = -80.0


@dataclass(frozen=True)
class Lesson:
    """What one piece teaches: evidence (events, 24, blocks), openings, borders, tonics by event."""

    evidence: Floats
    opening: Floats
    borders: Floats
    tonics: npt.NDArray[np.int64]


@dataclass(frozen=True)
class _Batch:
    """Lessons side by side: first axis events, second pieces."""

    evidence: Floats
    opening: Floats
    borders: Floats
    right: npt.NDArray[np.bool_]
    there: npt.NDArray[np.bool_]


def fit_weights(lessons: Sequence[Lesson], steps: int = 100, rate: float = 0.05) -> KeyWeights:
    """Weights that make the given tonics likely; steps of Adam, slower in the last two fifths."""
    batch = _side_by_side(lessons)
    blocks = batch.evidence.shape[-1]
    values = [
        np.full(blocks, 0.3),
        np.array([8.0, 5.0, 1.5]),
        np.zeros(batch.borders.shape[-1]),
        np.array([0.3]),
    ]
    rates = (rate, 0.1, rate, rate)
    means = [np.zeros_like(value) for value in values]
    squares = [np.zeros_like(value) for value in values]
    for step in range(1, steps + 1):
        slopes = _slopes(batch, *values)
        slopes[0] += _PULL * values[0]
        slopes[2] += _BORDER_PULL * values[2]
        pace = 1.0 if step <= 0.6 * steps else 0.3
        for value, slope, mean, square, own in zip(
            values, slopes, means, squares, rates, strict=True
        ):
            mean += 0.1 * (slope - mean)
            square += 0.02 * (slope**2 - square)
            size = np.sqrt(square / (1 - 0.98**step)) + 1e-8
            value -= pace * own * mean / (1 - 0.9**step) / size
        for number in (0, 3):
            np.maximum(values[number], 0, out=values[number])
        values[1][2] = max(values[1][2], 0.0)
    return KeyWeights(values[0], values[2], float(values[3][0]), *map(float, values[1]))


def _side_by_side(lessons: Sequence[Lesson]) -> _Batch:
    length, count = max(len(one.tonics) for one in lessons), len(lessons)
    blocks, kinds = lessons[0].evidence.shape[-1], lessons[0].borders.shape[-1]
    batch = _Batch(
        np.zeros((length, count, STATES, blocks)),
        np.zeros((length, count, STATES)),
        np.zeros((length, count, kinds)),
        np.ones((length, count, STATES), np.bool_),
        np.zeros((length, count), np.bool_),
    )
    for at, one in enumerate(lessons):
        here = slice(0, len(one.tonics)), at
        batch.evidence[here] = one.evidence
        batch.opening[here] = one.opening
        batch.borders[here] = one.borders
        batch.right[here] = np.repeat(np.arange(12) == one.tonics[:, None], 2, axis=1)
        batch.there[here] = True
    return batch


def _slopes(
    batch: _Batch, blocks: Floats, prices: Floats, borders: Floats, opening: Floats
) -> list[Floats]:
    """Slopes of the negative log likelihood by blocks, prices, borders and opening."""
    evidence = batch.evidence @ blocks
    costs = change_costs(*prices)
    open_to = (batch.borders @ borders)[..., None] + opening[0] * batch.opening
    given = _expect(batch, np.where(batch.right, evidence, _WRONG), costs, open_to)
    free = _expect(batch, evidence, costs, open_to)
    return [right - any_ for any_, right in zip(given, free, strict=True)]


def _expect(batch: _Batch, evidence: Floats, costs: Floats, open_to: Floats) -> list[Floats]:
    """Expected sums of every feature under the model with some evidence."""
    weights = np.exp(costs)
    stay, change = weights * SAME_TONIC, weights * TONIC_CHANGE
    local = np.exp(evidence - evidence.max(axis=2, keepdims=True))
    opened = np.exp(open_to)
    length, count, _ = local.shape
    there = batch.there[..., None]
    forward, scales = np.empty_like(local), np.ones((length, count, 1))
    here = local[0] / local[0].sum(axis=1, keepdims=True)
    forward[0] = here
    for step in range(1, length):
        ahead = (here @ stay + opened[step] * (here @ change)) * local[step]
        scale = ahead.sum(axis=1, keepdims=True)
        here = np.where(there[step], ahead / scale, here)
        scales[step] = np.where(there[step], scale, 1.0)
        forward[step] = here
    backward = np.ones_like(local)
    after = np.ones((count, STATES))
    for step in range(length - 1, 0, -1):
        ahead = local[step] * after
        before = (ahead @ stay.T + (opened[step] * ahead) @ change.T) / scales[step]
        after = np.where(there[step], before, after)
        backward[step - 1] = after
    chances = forward * backward
    chances *= there / chances.sum(axis=2, keepdims=True)
    left = forward[:-1] * there[1:]
    right = local[1:] * backward[1:] / scales[1:]
    stayed = np.tensordot(left, right, axes=([0, 1], [0, 1])) * stay
    entered = right * opened[1:]
    changed = np.tensordot(left, entered, axes=([0, 1], [0, 1])) * change
    entries = (left @ change) * entered
    return [
        np.tensordot(chances, batch.evidence, axes=([0, 1, 2], [0, 1, 2])),
        np.array(
            [
                -(changed * TONIC_CHANGE).sum(),
                -(stayed * MODE_CHANGE).sum(),
                (changed * RELATIVE).sum(),
            ]
        ),
        np.tensordot(entries.sum(axis=2), batch.borders[1:], axes=([0, 1], [0, 1])),
        np.array([(entries * batch.opening[1:]).sum()]),
    ]
