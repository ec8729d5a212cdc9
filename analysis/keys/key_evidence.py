"""What the cues of a piece say about every key at every chord, in log units.

Rows of numbers follow the piece's chord events, columns the 24 keys of `analysis.keys.key_paths`.
The evidence of a chord is the weighted lift of every cue that falls on it. Three things look
further. A root that holds more than a third of the piece is heard as its tonic: that was so in
every song where one root held more than 0.42. A few phrases may well dwell on the dominant, so in
pieces shorter than those songs this counts less. A piece that begins and ends on one root, and
comes to its end from the dominant of it, is framed by its tonic. A major chord that turns minor on
its root is mostly IV on its way home by iv. And chords in the same surroundings share a key: after
a first guess, every chord is drawn to what its twins are heard in, and a stretch that returns some
steps higher to the key that lies as much higher. This is repeated a few times (a mean-field
approximation of a model in which twins are tied).

References
----------
Ties between far places by repeated marginals: M. J. Wainwright & M. I. Jordan, "Graphical models,
exponential families, and variational inference", *Foundations and Trends in Machine Learning* 1,
2008, section 5 (from memory). IV–iv, frames: common practice, no source; frames tell the tonic in
all eight framed songs of the 55 that the tables are counted on.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from analysis.keys.key_cues import BLOCKS, Cues, Floats
from analysis.keys.key_paths import STATES, change_costs, state_chances
from analysis.keys.key_tables import OPENING, KeyTables, KeyWeights

#: A root's share of the piece counts from here on, on a scale where the piece is this long.
SHARE_FROM: Final = 0.35
_WHOLE: Final = 20.0
#: The share was weighed on songs of this many quarters and more.
_SHARE_KNOWN: Final = 160.0
#: Weight of a frame, half of it at each end. Common practice, not fitted: at 2, 3 and 6 the
#: 55 songs come out the same.
_FRAME: Final = 3.0
#: Weight of a major chord that turns minor, half of it at each. Common practice, not fitted.
_DARKENED: Final = 3.0
#: Qualities of a dominant, as indexes into `analysis.keys.key_cues.QUALITIES`.
_DOMINANTS: Final = (0, 4)
_ROUNDS: Final = 8
_TONICS: Final = np.arange(12)
_TWIN_PULL: Final = 1.0
_SHIFT_PULL: Final = 1.0
#: Tying gives every change more witnesses than the prices were fitted with. On songs left out all
#: values from 0.9 to 0.95 do as well.
_TIED_PRICE: Final = 0.93
#: Weight of agreement with the written signature over a whole piece, and of a written change of it.
#: Common practice, not fitted: the songs the rest is fitted on carry no signatures.
_SIGNATURE: Final = 0.25
_SIGNATURE_CHANGE: Final = 2.0
_REHEARSAL_MARK: Final = 1.0


def block_evidence(cues: Cues, tables: KeyTables) -> Floats:
    """(events, 24, blocks + 1) evidence by kind of cue, unweighted; a root's share comes last."""
    count = len(cues.events)
    found = np.zeros((count, 12, 2, len(BLOCKS) + 1))
    tonics = np.arange(12)
    for number, block in enumerate(BLOCKS):
        at, pc, quality, weight = cues.seen[block]
        intervals = (pc[:, None] - tonics) % 12
        for mode in range(2):
            lifts = tables.lifts[block][mode][intervals, quality[:, None]]
            np.add.at(found[:, :, mode, number], at, weight[:, None] * lifts)
    known = min(float(cues.durations.sum()) / _SHARE_KNOWN, 1.0)
    excess = known * np.maximum(cues.shares - SHARE_FROM, 0)
    found[..., -1] = piece_weights(cues)[:, None, None] * excess[None, :, None]
    return found.reshape(count, STATES, -1)


def frame_evidence(cues: Cues) -> Floats:
    """(events, 24) for the root that begins and ends a piece, if its dominant comes last but one.

    It stands at both ends alone, since keys may change between them.
    """
    found = np.zeros((len(cues.events), STATES))
    roots = cues.roots
    if len(roots) < 3 or roots[0] != roots[-1]:
        return found
    if (roots[-2] - roots[-1]) % 12 == 7 and cues.qualities[-2] in _DOMINANTS:
        found[[0, -1], 2 * roots[0] : 2 * roots[0] + 2] = _FRAME / 2
    return found


def darkened_evidence(cues: Cues) -> Floats:
    """(events, 24) for the key in which a major chord that turns minor on its root is IV and iv.

    Where the minor chord goes on as ii to its V, it is the way into another key instead.
    """
    found = np.zeros((len(cues.events), STATES))
    roots, qualities = cues.roots, cues.qualities
    for at in range(1, len(roots)):
        turned = roots[at] == roots[at - 1] and (qualities[at - 1], qualities[at]) == (0, 1)
        leads_on = at + 1 < len(roots) and (roots[at + 1] - roots[at]) % 12 == 5
        if turned and not leads_on:
            found[[at - 1, at], 2 * ((roots[at] + 7) % 12)] += _DARKENED / 2
    return found


def opening_evidence(cues: Cues, tables: KeyTables) -> Floats:
    """(events, 24) lift of each chord as the one on which a key begins, before weighing."""
    intervals = (cues.roots[:, None] - np.arange(12)) % 12
    lifts = tables.lifts[OPENING][:, intervals, cues.qualities[:, None]]
    return np.asarray(lifts.transpose(1, 2, 0).reshape(len(cues.events), STATES))


def piece_weights(cues: Cues) -> Floats:
    """(events,) lengths on a scale where the whole piece is 20."""
    durations = cues.durations
    return np.asarray(durations * (_WHOLE / max(float(durations.sum()), 1e-9)))


def openness(cues: Cues, tables: KeyTables) -> Floats:
    """(events, 24) rebate on changing into a key at each chord."""
    weights = tables.weights
    borders = cues.borders @ weights.borders
    return np.asarray(borders[:, None] + weights.opening * opening_evidence(cues, tables))


def costs_of(weights: KeyWeights) -> Floats:
    """(24, 24) costs of changing from key to key."""
    tied = _TIED_PRICE * weights.tonic_price
    return change_costs(tied, weights.mode_price, weights.relative_rebate)


def signature_evidence(cues: Cues, signatures: Sequence[tuple[float, int]]) -> Floats:
    """(events, 24) agreement with the written signatures: whole for the key, half for neighbours.

    Parameters
    ----------
    signatures
        Onset in quarters and fifths, in order of time.
    """
    found = np.zeros((len(cues.events), STATES))
    if not signatures:
        return found
    keys = np.array(
        [(tonic * 7 + (0 if mode == 0 else -3)) % 12 for tonic in range(12) for mode in range(2)]
    )
    weights = piece_weights(cues)
    for at, event in enumerate(cues.events):
        fifths = [sign for onset, sign in signatures if onset <= event.start + 1e-6][-1:]
        apart = (keys - (fifths or [signatures[0][1]])[0] + 6) % 12 - 6
        found[at] = _SIGNATURE * weights[at] * np.maximum(0, 1 - np.abs(apart) / 2)
    return found


def written_borders(
    cues: Cues, signatures: Sequence[tuple[float, int]], rehearsal_marks: Sequence[float]
) -> Floats:
    """(events,) rebate where a new signature or a rehearsal mark is written."""
    changes = [onset for onset, _ in signatures[1:]]
    rebate = np.zeros(len(cues.events))
    for at, event in enumerate(cues.events):
        near = [abs(event.start - onset) < 1e-6 for onset in changes]
        rebate[at] += _SIGNATURE_CHANGE * any(near)
        rebate[at] += _REHEARSAL_MARK * any(
            abs(event.start - at_) < 1e-6 for at_ in rehearsal_marks
        )
    return rebate


def tie_twins(cues: Cues, evidence: Floats, costs: Floats, opening: Floats) -> Floats:
    """The evidence with every chord drawn to what its twins and shifted twins are heard in."""
    tied = evidence
    length = np.sqrt(np.minimum(cues.durations, 16))
    groups = int(cues.twins.max()) + 1
    for _ in range(_ROUNDS):
        chances = state_chances(tied, costs, opening)
        tonics = chances.reshape(-1, 12, 2).sum(axis=2)
        heard = np.zeros((groups, 12))
        np.add.at(heard, cues.twins, tonics * length[:, None])
        weight = np.bincount(cues.twins, length, groups)
        pull = _TWIN_PULL * np.log(heard / weight[:, None] + 0.01)[cues.twins]
        heard_as = np.log(tonics + 0.05)
        strength = _SHIFT_PULL / max(1.0, len(cues.shifts) / 2) ** 0.5
        for shift in cues.shifts:
            first = slice(shift.first, shift.first + shift.length)
            later = slice(shift.later, shift.later + shift.length)
            pull[later] += strength * heard_as[first][:, (_TONICS - shift.steps) % 12]
            pull[first] += strength * heard_as[later][:, (_TONICS + shift.steps) % 12]
        tied = evidence + np.repeat(pull, 2, axis=1)
    return tied
