"""The fitted weights that tell numerals apart, and the tables that a lattice makes of them.

Task
----
Weights are fitted as many small tables, so that chords share what they have in common; decoding
needs a few large ones. This module names the small tables and merges them into the large. Weights
live in a data file of their own, ``tables/inferred.json``, which names the analyses that they were
fitted on and their licence.

Conventions
-----------
Intervals are counted in fifths, see `analysis.inference.chord_vocabularies`. A key is numbered by
twice the pitch class of its tonic, plus one in minor; other modes count as the one that shares
their third.

References
----------
S. Sarawagi and W. W. Cohen, *Semi-Markov conditional random fields for information extraction*,
NIPS 2004 (from memory), for the family of models.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any, Final

import numpy as np

from analysis.inference.chord_vocabularies import (
    FORMS,
    INTERVALS,
    QUALITIES,
    REACH,
    NumeralState,
    Vocabulary,
    classify_moves,
    fold_interval,
    list_states,
)
from analysis.inference.note_segments import (
    BASS_CHANNELS,
    BOUNDARY_CLASSES,
    FRACTION_CLASSES,
    KEY_CHANNELS,
    LENGTH_CLASSES,
    NOTE_CHANNELS,
    PACES,
    TEXTURES,
)
from analysis.vocabulary.note_grid import LINE, LOW, Floats, Ints

#: Roots and tonics that have a column: from this place on the line of fifths, so many of them.
FIRST_ROOT: Final = -16
ROOTS: Final = 36
#: Lengths in beats, coarser than `LENGTH_CLASSES`: up to one, two, under four, four and more.
COARSE_LENGTHS: Final = np.array([0, 0, 0, 1, 1, 2, 2, 3, 3])
#: Classes of a boundary that change how likely a chord stays: pace, on or between strong beats.
STAYS: Final = PACES * 2
Weights = Mapping[str, Floats]


def weight_shapes(vocabulary: Vocabulary) -> dict[str, tuple[int, ...]]:
    """Name and shape of every table of weights as it is fitted.

    ``tones`` and ``basses`` weigh intervals above the root for each quality and form; in
    ``tones_by_sound`` enharmonic intervals share a weight, and in ``basses_by_tone`` the interval
    is counted from the tone that the inversion puts in the bass, for all qualities alike.
    """
    size, types = vocabulary.size, vocabulary.types
    qualities, forms = len(QUALITIES), len(FORMS)
    return {
        "tones": (qualities, NOTE_CHANNELS, INTERVALS),
        "tones_by_sound": (qualities, NOTE_CHANNELS, 12),
        "basses": (forms, BASS_CHANNELS, INTERVALS),
        "basses_by_tone": (4, BASS_CHANNELS, INTERVALS),
        "keys": (2, KEY_CHANNELS, INTERVALS),
        "signature": (2, 2, 12),
        "last_bass": (2, 2, 12),
        "home": (2, 2, 12, 12),
        "numeral": (2, size),
        "numeral_at_level": (2, 4, size),
        "numeral_of_length": (2, 4, size),
        "boundary": (BOUNDARY_CLASSES,),
        "boundary_at_pace": (PACES * TEXTURES * 4,),
        "boundary_change": (4, 4),
        "length": (LENGTH_CLASSES,),
        "length_at_pace": (PACES, LENGTH_CLASSES),
        "fraction_at_pace": (PACES, FRACTION_CLASSES),
        "types": (2, types, types),
        "inversions": (2, 4, 4),
        "root_moves": (2, INTERVALS),
        "bass_moves": (2, INTERVALS),
        "resolutions": (2, 4),
        "stays": (STAYS, 2, 3),
        "key_changes": (2, 2, 12),
        "key_change_at_level": (4,),
        "mode": (2,),
        "start": (2, size),
        "final": (2, size),
        "first_in_key": (2, size),
        "last_in_key": (2, size),
    }


def root_column(fifths: Ints) -> Ints:
    """Column of roots or tonics on the line of fifths, folded by twelve outside."""
    column = fifths - FIRST_ROOT
    column = np.where(column < 0, column + 12 * -(column // 12), column)
    inside: Ints = np.where(column >= ROOTS, column - 12 * ((column - ROOTS) // 12 + 1), column)
    return inside


#: Bin of the interval from each root to each column of the grid, shape (LINE, ROOTS).
INTERVAL_BINS: Final = (
    fold_interval((np.arange(LINE) + LOW)[:, None] - (np.arange(ROOTS) + FIRST_ROOT)[None, :])
    + REACH
)
#: Sounding interval in half steps of each bin.
HALF_STEPS: Final = (np.arange(INTERVALS) - REACH) * 7 % 12


def bins_from_tone(tone: int) -> Ints:
    """Bin of the interval from a chord tone, for each bin of the interval from the root."""
    return fold_interval(np.arange(INTERVALS) - REACH - tone) + REACH


@dataclass(frozen=True)
class ChordTables:
    """Weights merged into the tables that a lattice multiplies and adds.

    ``notes``, ``basses`` and ``keys`` turn measures over the line of fifths into scores of
    (root, quality), (root, form) and (tonic, mode); ``moves`` are logarithms for each class of
    boundary, mode and pair of states, ``odds`` their exponentials.
    """

    vocabulary: Vocabulary
    weights: Weights
    notes: Floats
    basses: Floats
    keys: Floats
    moves: Floats
    odds: Floats
    numeral: Floats
    missing: Floats
    key_moves: Floats


def merge_weights(vocabulary: Vocabulary, weights: Weights) -> ChordTables:
    """The merged tables of a set of weights."""
    tones = weights["tones"] + weights["tones_by_sound"][:, :, HALF_STEPS]
    by_tone = [
        weights["basses_by_tone"][inversion][:, bins_from_tone(QUALITIES[quality].tones[inversion])]
        for quality, inversion in FORMS
    ]
    basses = weights["basses"] + np.stack(by_tone)
    size = vocabulary.size
    moves = np.full((STAYS, 2, size, size), -30, np.float32)
    for mode in (0, 1):
        held = classify_moves(vocabulary, mode)
        count = len(vocabulary.states[mode])
        common = (
            weights["types"][mode][held.type_pair]
            + weights["inversions"][mode][held.inversion_pair]
            + weights["root_moves"][mode][held.root_move]
            + weights["bass_moves"][mode][held.bass_move]
            + weights["resolutions"][mode][held.resolution]
        )
        for stay in range(STAYS):
            moves[stay, mode, :count, :count] = common + weights["stays"][stay, mode][held.stay]
    missing = np.where(vocabulary.exists, 0, -60).astype(np.float32)
    key = np.arange(24)
    interval = (key[None] // 2 - key[:, None] // 2) % 12
    key_moves = weights["key_changes"][(key % 2)[:, None], (key % 2)[None], interval]
    key_moves = np.where(np.eye(24, dtype=np.bool_), np.float32(-30), key_moves)
    numeral = weights["numeral"][:, None] + weights["numeral_at_level"] + missing[:, None]
    return ChordTables(
        vocabulary=vocabulary,
        weights=weights,
        notes=_over_roots(tones),
        basses=_over_roots(basses),
        keys=_over_roots(weights["keys"]),
        moves=moves,
        odds=np.exp(moves),
        numeral=numeral,
        missing=missing,
        key_moves=key_moves,
    )


def _over_roots(weights: Floats) -> Floats:
    """Weights (kinds, channels, INTERVALS) laid out for every root.

    Returns
    -------
    array
        Shape (channels * LINE, ROOTS * kinds).
    """
    kinds, channels, _ = weights.shape
    laid = weights[:, :, INTERVAL_BINS].transpose(1, 2, 3, 0)
    return np.ascontiguousarray(laid, np.float32).reshape(channels * LINE, ROOTS * kinds)


@dataclass(frozen=True)
class FittedModel:
    """Merged tables and how far their probabilities can be believed.

    ``reliability`` pairs a probability of the model with the share of such chords that stood in
    pieces it was not fitted to, rising; it is read off linearly between.
    """

    tables: ChordTables
    reliability: tuple[tuple[float, float], ...]


@lru_cache(maxsize=1)
def read_model() -> FittedModel:
    """The model of ``tables/inferred.json``, read once."""
    return model_of(
        json.loads(files("analysis").joinpath("tables/inferred.json").read_text("utf-8"))
    )


def model_of(held: Mapping[str, Any]) -> FittedModel:
    """The model that a data file of weights holds."""
    vocabulary = list_states(NumeralState(*state) for state in held["states"])
    weights = {
        name: np.array(held["weights"][name], np.float32).reshape(shape)
        for name, shape in weight_shapes(vocabulary).items()
    }
    reliability = tuple((float(said), float(stood)) for said, stood in held["reliability"])
    return FittedModel(merge_weights(vocabulary, weights), reliability)
