"""The likeliest row of keys through a piece, and how sure each step of it is.

A hidden Markov model over 24 states, tonic times two (major, minor): state ``2 * tonic + mode``.
To stay costs nothing, to change mode on the same tonic or to change tonic costs a price, and a
change of tonic is cheaper to the relative key and at a likely border.

References
----------
L. R. Rabiner, "A tutorial on hidden Markov models", *Proceedings of the IEEE* 77/2, 1989 (from
memory).
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

STATES: Final = 24
#: Weights are scaled back every so many steps, long before they grow too small to hold.
_RESCALE: Final = 8
#: (24, 24) masks: same tonic; another mode of the same tonic; another tonic; the relative key.
SAME_TONIC: Final = np.kron(np.eye(12), np.ones((2, 2)))
MODE_CHANGE: Final = np.kron(np.eye(12), 1 - np.eye(2))
TONIC_CHANGE: Final = 1 - SAME_TONIC


def _relative_keys() -> Floats:
    mask = np.zeros((12, 2, 12, 2))
    for tonic in range(12):
        mask[tonic, 0, (tonic + 9) % 12, 1] = 1
        mask[tonic, 1, (tonic + 3) % 12, 0] = 1
    return mask.reshape(STATES, STATES)


RELATIVE: Final = _relative_keys()


def change_costs(tonic_price: float, mode_price: float, relative_rebate: float) -> Floats:
    """(24, 24) log weight of going from one state to another, before borders are counted."""
    return -tonic_price * TONIC_CHANGE - mode_price * MODE_CHANGE + relative_rebate * RELATIVE


def state_chances(evidence: Floats, costs: Floats, openness: Floats) -> Floats:
    """Posterior probability of every state at every step.

    Parameters
    ----------
    evidence
        (steps, 24) log weights.
    costs
        (24, 24) from `change_costs`.
    openness
        (steps, 24) log rebate for changing into a state at a step.

    Returns
    -------
    ndarray
        (steps, 24), rows sum to 1.
    """
    steps = len(evidence)
    weights = np.exp(costs)
    local = np.exp(evidence - evidence.max(axis=1, keepdims=True))
    # All moves at once: (steps, 24 from, 24 to).
    moves = weights * SAME_TONIC + weights * TONIC_CHANGE * np.exp(openness)[:, None, :]
    moves *= local[:, None, :]
    forward = np.empty_like(local)
    forward[0] = here = local[0] / local[0].sum()
    for step in range(1, steps):
        here = here @ moves[step]
        if step % _RESCALE == 0:
            here /= here.sum()
        forward[step] = here
    chances = forward
    ahead = np.ones(STATES)
    for step in range(steps - 1, 0, -1):
        ahead = moves[step] @ ahead
        if step % _RESCALE == 0:
            ahead /= ahead.sum()
        chances[step - 1] *= ahead
    return np.asarray(chances / chances.sum(axis=1, keepdims=True))


def best_states(evidence: Floats, costs: Floats, openness: Floats) -> Ints:
    """(steps,) the likeliest row of states (Viterbi); arguments as in `state_chances`."""
    steps = len(evidence)
    moves = np.where(SAME_TONIC > 0, costs, costs + openness[:, None, :])
    origin = np.zeros((steps, STATES), np.int64)
    best = evidence[0]
    columns = np.arange(STATES)
    for step in range(1, steps):
        ways = best[:, None] + moves[step]
        came = ways.argmax(axis=0)
        best = ways[came, columns] + evidence[step]
        origin[step] = came
    path = np.empty(steps, np.int64)
    path[-1] = best.argmax()
    for step in range(steps - 1, 0, -1):
        path[step - 1] = origin[step, path[step]]
    return path
