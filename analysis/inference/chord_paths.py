"""From probabilities at every step to one row of numerals: the reading that is right longest.

Task
----
The likeliest single reading of a lattice is not the one with most of its time right. Given the
probability of every state at every step, this module finds the row of states with the greatest
expected score, where a step scores for the whole numeral in its key, for the numeral in any key,
for the root's degree in its key, for the tonic and for the function. Each change costs a little, so
that chords do not flicker where two are equally likely.

References
----------
Decoding for the least expected loss: common practice, no source. Functions of the plain degrees:
Open Music Theory, *harmonicFunctions* (I and vi tonic, IV and ii subdominant, V and vii dominant).
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from analysis.inference.chord_vocabularies import QUALITIES, Vocabulary
from analysis.vocabulary.note_grid import Floats, Ints

#: What a beat scores for the numeral in its key, in any key, for its degree, for its tonic, and for
#: its function.
WHOLE: Final = 1.0
NUMERAL: Final = 0.5
DEGREE: Final = 1.0
TONIC: Final = 1.0
FUNCTION: Final = 1.0
#: What a change of chord costs in beats, and a change of key on top of it.
CHORD_CHANGE: Final = 0.03
KEY_CHANGE: Final = 0.5


def clear_functions(vocabulary: Vocabulary) -> Ints:
    """Function of each state where the table is clear: 1 T, 2 S, 3 D, else 0; shape (2, N)."""
    found = np.zeros(vocabulary.root.shape, np.int64)
    for mode, row in enumerate(vocabulary.states):
        for at, state in enumerate(row):
            triad, degree = QUALITIES[state.quality].triad, state.root * 7 % 12
            if state.target is not None:
                above = (state.root - state.target) * 7 % 12
                leads = (triad in ("maj", "aug") and above == 7) or (triad == "dim" and above == 11)
                found[mode, at] = 3 if leads else 0
            elif degree == 0:
                found[mode, at] = 0 if state.inversion == 2 else 1
            elif degree == 9:
                found[mode, at] = 1 if mode == 0 and triad != "maj" else 0
            elif degree == 5 or (degree == 2 and triad in ("min", "dim")):
                found[mode, at] = 2
            elif (degree == 7 and triad in ("maj", "aug")) or (degree == 11 and triad == "dim"):
                found[mode, at] = 3
    return found


def step_rewards(
    vocabulary: Vocabulary, functions: Ints, marginals: Floats, beats: float
) -> Floats:
    """Expected score of each state at one step, (K, N), from the probabilities there, (K, N)."""
    size = vocabulary.size
    chances = marginals.astype(np.float32).reshape(-1, 2, size)
    numerals = chances.sum(axis=0)
    rewards = WHOLE * chances + NUMERAL * numerals
    by_function = np.bincount(functions.ravel(), numerals.ravel(), minlength=4)
    by_function[0] = 0
    rewards += (FUNCTION * by_function[functions]).astype(np.float32)
    rewards += TONIC * chances.sum(axis=(1, 2))[:, None, None]
    for mode in (0, 1):
        degree = vocabulary.root[mode] * 7 % 12
        by_degree = np.zeros((len(chances), 12), np.float32)
        np.add.at(by_degree.T, degree, chances[:, mode].T)
        rewards[:, mode] += DEGREE * by_degree[:, degree]
    rewards[:, ~vocabulary.exists] = -1e3
    rewards *= np.float32(beats)
    out: Floats = rewards.reshape(-1, size)
    return out


def best_path(
    vocabulary: Vocabulary,
    marginals: Floats,
    beats: Floats,
    starts: NDArray[np.bool_],
    allowed: NDArray[np.bool_] | None = None,
) -> Ints:
    """The row of states with the greatest expected score.

    Parameters
    ----------
    marginals
        Probabilities, shape (T, K, N).
    beats
        Length of each step, shape (T,).
    starts
        Whether a chord may begin at each step, shape (T,) or longer.
    allowed
        Keys that may hold at each step, shape (T, K).

    Returns
    -------
    array
        One state a step, place of the key among the K times N plus numeral, shape (T,).
    """
    steps, keys, size = marginals.shape
    key_first = np.arange(keys) * size
    stays = np.zeros((steps, keys, size), np.bool_)
    sources = np.zeros((steps, keys), np.int64)
    score = np.zeros((keys, size), np.float32)
    functions = clear_functions(vocabulary)
    for step in range(steps):
        reward = step_rewards(vocabulary, functions, marginals[step], float(beats[step]))
        if allowed is not None:
            reward[~allowed[step]] -= 1e3
        if step == 0 or not starts[step]:
            stays[step] = True
        else:
            best_here = score.argmax(axis=1)
            in_key = score[np.arange(keys), best_here] - CHORD_CHANGE
            best_key = int(in_key.argmax())
            other = in_key[best_key] - KEY_CHANGE
            same = in_key >= other
            sources[step] = np.where(
                same, key_first + best_here, best_key * size + best_here[best_key]
            )
            moved = np.where(same, in_key, other)[:, None]
            stays[step] = score >= moved
            score = np.maximum(score, moved)
        score = score + reward
    path = np.zeros(steps, np.int64)
    state = int(score.argmax())
    for step in range(steps - 1, -1, -1):
        path[step] = state
        key, numeral = divmod(state, size)
        if not stays[step, key, numeral]:
            state = int(sources[step, key])
    return path
