"""The numerals that a decoder may choose among, and how one moves to another.

Task
----
A *state* is a numeral without a key: mode, root in fifths from the tonic, quality, inversion and,
for an applied chord, its target. This module lists the states that a table names, and sorts the
moves between them into classes that share a weight.

Conventions
-----------
Intervals are counted in fifths from a root or a tonic, from -`REACH` to `REACH`, and folded by
twelve beyond. The augmented sixths are reckoned from the raised fourth degree, as in RomanText.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from analysis.chords import KIND_DEGREES, ChordDegree, Seventh, Triad
from analysis.pitch import MAJOR_SCALE_FIFTHS
from analysis.vocabulary.note_grid import Ints

REACH: Final = 11
INTERVALS: Final = 2 * REACH + 1
#: Stands for the target of a chord that is not applied.
NO_TARGET: Final = -99


@dataclass(frozen=True, slots=True)
class Quality:
    """A kind of chord: its triad and seventh, its kind in MusicXML, its tones in fifths.

    The two augmented sixths are reckoned from the raised fourth degree, as a diminished chord with
    a lowered third; their triad has no name.
    """

    triad: Triad
    seventh: Seventh
    kind: str
    degrees: tuple[ChordDegree, ...]

    @property
    def tones(self) -> tuple[int, ...]:
        """Root, third, fifth, seventh, in fifths above the root."""
        return tuple(MAJOR_SCALE_FIFTHS[number - 1] + 7 * alter for number, alter in self.degrees)


def _quality(triad: Triad, seventh: Seventh, kind: str) -> Quality:
    return Quality(triad, seventh, kind, KIND_DEGREES[kind])


QUALITIES: Final = (
    _quality("maj", "", "major"),
    _quality("maj", "m7", "dominant"),
    _quality("maj", "M7", "major-seventh"),
    _quality("min", "", "minor"),
    _quality("min", "m7", "minor-seventh"),
    _quality("dim", "", "diminished"),
    _quality("dim", "m7", "half-diminished"),
    _quality("dim", "d7", "diminished-seventh"),
    _quality("aug", "", "augmented"),
    _quality("aug", "m7", "augmented-seventh"),
    Quality("aug", "M7", "other", ((1, 0), (3, 0), (5, 1), (7, 0))),
    Quality("", "", "Italian", ((1, 0), (3, -2), (5, -1))),
    Quality("", "d7", "German", ((1, 0), (3, -2), (5, -1), (7, -2))),
)
#: Every quality in every inversion, as (quality, inversion).
FORMS: Final = tuple(
    (quality, inversion)
    for quality, kind in enumerate(QUALITIES)
    for inversion in range(len(kind.tones))
)
FORM_QUALITY: Final = np.array([quality for quality, _ in FORMS])
FORM_INVERSION: Final = np.array([inversion for _, inversion in FORMS])


@dataclass(frozen=True, slots=True)
class NumeralState:
    """A numeral in a mode: 0 major, 1 minor; root and target in fifths from the tonic."""

    mode: int
    root: int
    quality: int
    inversion: int
    target: int | None = None

    @property
    def bass(self) -> int:
        """The bass tone, in fifths from the tonic."""
        return self.root + QUALITIES[self.quality].tones[self.inversion]


@dataclass(frozen=True)
class Vocabulary:
    """The states of both modes, in two rows padded to equal length N.

    ``root``, ``form``, ``type``, ``exists`` and ``bass`` have the shape (2, N). A type is a state
    without its inversion. ``target`` is `NO_TARGET` where there is none.
    """

    states: tuple[tuple[NumeralState, ...], tuple[NumeralState, ...]]
    root: Ints
    form: Ints
    type: Ints
    exists: NDArray[np.bool_]
    bass: Ints
    target: Ints

    @property
    def size(self) -> int:
        """N."""
        return int(self.root.shape[1])

    @property
    def types(self) -> int:
        """Number of types of the mode that has more."""
        return int(self.type.max()) + 1


def list_states(states: Iterable[NumeralState]) -> Vocabulary:
    """The vocabulary of some states, in any order; each once."""
    row = sorted(
        set(states),
        key=lambda one: (one.root, one.quality, one.target or 0, one.target is None, one.inversion),
    )
    modes = tuple(tuple(one for one in row if one.mode == mode) for mode in (0, 1))
    return _numbered((modes[0], modes[1]))


def _numbered(
    states: tuple[tuple[NumeralState, ...], tuple[NumeralState, ...]],
) -> Vocabulary:
    size = max(len(row) for row in states)
    arrays = {name: np.zeros((2, size), np.int64) for name in ("root", "form", "type", "bass")}
    target = np.full((2, size), NO_TARGET)
    exists = np.zeros((2, size), np.bool_)
    for mode, row in enumerate(states):
        order: dict[tuple[int, int, int | None], int] = {}
        for at, state in enumerate(row):
            exists[mode, at] = True
            arrays["root"][mode, at] = state.root
            arrays["bass"][mode, at] = state.bass
            arrays["form"][mode, at] = FORMS.index((state.quality, state.inversion))
            arrays["type"][mode, at] = order.setdefault(
                (state.root, state.quality, state.target), len(order)
            )
            target[mode, at] = NO_TARGET if state.target is None else state.target
    return Vocabulary(
        states,
        arrays["root"],
        arrays["form"],
        arrays["type"],
        exists,
        arrays["bass"],
        target,
    )


def fold_interval(fifths: Ints) -> Ints:
    """Intervals folded by twelve fifths into -`REACH` to `REACH`."""
    folded: Ints = np.where(
        fifths > REACH,
        fifths - 12 * -((REACH - fifths) // 12),
        np.where(fifths < -REACH, fifths + 12 * -((REACH + fifths) // 12), fifths),
    )
    return folded


@dataclass(frozen=True)
class TransitionClasses:
    """Which weights a move from one numeral to another in one mode takes; shapes (n, n)."""

    type_pair: tuple[Ints, Ints]
    inversion_pair: tuple[Ints, Ints]
    root_move: Ints
    bass_move: Ints
    resolution: Ints
    stay: Ints


def classify_moves(vocabulary: Vocabulary, mode: int) -> TransitionClasses:
    """Classes of all moves of a mode: from the row's state to the column's."""
    count = len(vocabulary.states[mode])
    kinds = vocabulary.type[mode, :count]
    inversions = FORM_INVERSION[vocabulary.form[mode, :count]]
    roots, basses = vocabulary.root[mode, :count], vocabulary.bass[mode, :count]
    targets = vocabulary.target[mode, :count]

    def pairs(values: Ints) -> tuple[Ints, Ints]:
        first, second = np.meshgrid(values, values, indexing="ij")
        return first, second

    def moves(values: Ints) -> Ints:
        step: Ints = np.clip(values[None] - values[:, None], -REACH, REACH) + REACH
        return step

    applied = (targets != NO_TARGET)[:, None]
    chain = (targets[:, None] == targets[None]) & applied
    resolved = targets[:, None] == roots[None]
    same = kinds[:, None] == kinds[None]
    fixed = same & (inversions[:, None] == inversions[None])
    return TransitionClasses(
        pairs(kinds),
        pairs(inversions),
        moves(roots),
        moves(basses),
        resolved.astype(np.int64) + 2 * chain,
        np.where(fixed, 2, np.where(same, 1, 0)),
    )
