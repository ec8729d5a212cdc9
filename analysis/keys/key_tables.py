"""What tonic and mode make likely: counted tables and fitted weights of the key finder.

``tables/keys.json`` holds, for each kind of cue and each mode, how often each interval above the
tonic was seen (with the chord's quality where it has one), as shares summed over pieces, so that
a long piece counts no more than a short one. What is used is the *lift*: the log of how much
likelier an interval is in a key than if the tonic told nothing. Every table is mixed with a flat
one, so that a chord never seen is a surprise and no veto.

References
----------
Counted on the Rock Corpus v2.1 (T. de Clercq & D. Temperley, CC BY 4.0): "A corpus analysis of rock
harmony", *Popular Music* 30/1, 2011; "Statistical analysis of harmony and melody in rock music",
*Journal of New Music Research* 42/3, 2013. The script that counts and fits is in ``tests/bench``.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from analysis.keys.key_cues import BLOCKS, BORDERS, NOTE_BLOCKS, QUALITIES

Floats = npt.NDArray[np.float64]

#: Table of the chord on which a key begins.
OPENING: Final = "region starts"
TABLES: Final = (*BLOCKS, OPENING)
#: Share of a flat table in every table, and pieces' worth of both modes in each mode.
_FLAT: Final = 0.1
_BOTH: Final = 3.0


@dataclass(frozen=True)
class KeyWeights:
    """Fitted numbers.

    Parameters
    ----------
    blocks
        Weight of each of `BLOCKS`, in order, and of a root's share beyond `share_from` last.
    borders
        (len(BORDERS),) rebate on changing the tonic at each kind of border.
    opening
        Weight of the chord on which a new key begins.
    tonic_price, mode_price, relative_rebate
        What changes cost, in log units.
    """

    blocks: Floats
    borders: Floats
    opening: float
    tonic_price: float
    mode_price: float
    relative_rebate: float


@dataclass(frozen=True)
class KeyTables:
    """Lifts by table, each (2 modes, 12 intervals, qualities), and the fitted weights."""

    lifts: Mapping[str, Floats]
    weights: KeyWeights


def qualities_of(table: str) -> int:
    """How many qualities a table tells apart."""
    return 1 if table in NOTE_BLOCKS else len(QUALITIES)


def lifts_of(counts: Floats) -> Floats:
    """Lifts from counts, both (2 modes, 12 intervals, qualities)."""
    _, intervals, qualities = counts.shape
    total = max(float(counts.sum()), 1e-9)
    quality = counts.sum(axis=(0, 1)) + 0.05 * total / qualities
    flat = np.ones((1, intervals, 1)) / intervals * (quality / quality.sum())
    both = counts.sum(axis=0, keepdims=True) / total
    of_mode = counts.sum(axis=(1, 2), keepdims=True)
    own = counts / np.maximum(of_mode, 1e-9)
    pooled = _BOTH / (_BOTH + of_mode)
    shares = (1 - pooled) * own + pooled * both
    return np.asarray(np.log(((1 - _FLAT) * shares + _FLAT * flat) / flat))


def tables_from(counts: Mapping[str, Floats], weights: KeyWeights) -> KeyTables:
    """Tables from counts of cues and fitted weights."""
    return KeyTables({name: lifts_of(counts[name]) for name in TABLES}, weights)


def counts_from(stored: Mapping[str, Any]) -> dict[str, Floats]:
    """The counts of the stored form, by table, each (2 modes, 12 intervals, qualities)."""
    return {
        name: np.array(
            [stored["counts"][name][mode] for mode in ("major", "minor")], np.float64
        ).reshape(2, 12, qualities_of(name))
        for name in TABLES
    }


def weights_from(stored: Mapping[str, Any]) -> KeyWeights:
    """The weights of the stored form."""
    return KeyWeights(
        blocks=np.array([*(stored["blocks"][name] for name in BLOCKS), stored["share"]]),
        borders=np.array([stored["borders"][name] for name in BORDERS]),
        opening=stored["opening"],
        tonic_price=stored["tonic price"],
        mode_price=stored["mode price"],
        relative_rebate=stored["relative rebate"],
    )


def stored_weights(weights: KeyWeights) -> dict[str, Any]:
    """The stored form of weights, rounded to what matters."""
    rounded = [round(float(weight), 3) for weight in weights.blocks]
    return {
        "blocks": dict(zip(BLOCKS, rounded, strict=False)),
        "share": rounded[-1],
        "borders": dict(
            zip(BORDERS, (round(float(rebate), 3) for rebate in weights.borders), strict=True)
        ),
        "opening": round(weights.opening, 3),
        "tonic price": round(weights.tonic_price, 3),
        "mode price": round(weights.mode_price, 3),
        "relative rebate": round(weights.relative_rebate, 3),
    }


@cache
def read_key_tables() -> KeyTables:
    """The tables that come with the package; read once, never changed."""
    text = files("analysis").joinpath("tables", "keys.json").read_text("utf-8")
    stored = json.loads(text)
    return tables_from(counts_from(stored), weights_from(stored["weights"]))
