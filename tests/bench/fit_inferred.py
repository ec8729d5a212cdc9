"""Fit the weights of the chord decoder and say how good they are on pieces they were not fitted to.

``python -m tests.bench.fit_inferred --folds 5`` scores every piece with weights fitted to the
others and prints the shares; ``--write`` first fits to all pieces and writes ``inferred.json``, and
after the folds writes the reliability of the probabilities as measured in them. ``--keep`` writes
the weights of each fold to ``inferred_folds.json.gz`` beside this script, so that the accuracy
bench can score every piece with weights that never saw it (`held_out_model`). Pieces are scored
without their signatures, as the decoder reads them, unless ``--signed`` is given.

Method
------
The weights maximise the probability of the analysts' readings (a semi-Markov conditional random
field), less a pull towards a plain start: chord tones count for a chord and others against it, and
numerals and their successions as often as they are counted. Steps follow Adam, a piece at a time,
and the weights of the second half of the way are averaged.

References
----------
D. P. Kingma and J. Ba, *Adam: a method for stochastic optimization*, ICLR 2015 (from memory).
"""

from __future__ import annotations

import argparse
import gzip
import json
import random
import time
from collections import Counter
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from analysis.inference.chord_lattices import ChordLattice
from analysis.inference.chord_paths import best_path
from analysis.inference.chord_vocabularies import QUALITIES, REACH, Vocabulary
from analysis.inference.chord_weights import FittedModel, merge_weights, model_of, weight_shapes
from analysis.vocabulary.note_grid import Floats, Ints
from tests.bench.inferred_gradients import Gradient
from tests.bench.inferred_pieces import (
    Gold,
    Piece,
    Stretch,
    count_states,
    read_pieces,
    stretches_of,
)
from tests.bench.inferred_scores import compare, report, summed

TABLE: Final = Path(__file__).parents[2] / "analysis" / "tables" / "inferred.json"
#: Weights of each fold with the names of the pieces that they were not fitted to.
FOLDS: Final = Path(__file__).with_name("inferred_folds.json.gz")
#: Strength of the pull to the start, and how much stronger or weaker for some tables.
PULL: Final = 4.0
PULLS: Final = {
    "types": 2.0,
    "numeral_at_level": 2.0,
    "numeral_of_length": 2.0,
    "basses": 1.5,
    "tones": 1.5,
    "first_in_key": 2.0,
    "last_in_key": 2.0,
    "home": 2.0,
    "last_bass": 0.5,
    "boundary": 0.5,
    "boundary_change": 0.5,
    "length": 0.5,
    "key_changes": 0.5,
    "numeral": 0.5,
    "stays": 0.5,
}
STEP: Final = 0.03
#: Share of pieces that are fitted without their signature, so that it is one hint among others.
UNSIGNED: Final = 0.12
_SCALES: Final = ((0, 2, 4, -1, 1, 3, 5), (0, 2, -3, -1, 1, -4, 5, -2))
ABOUT: Final = {
    "about": "Weights of the chord decoder: analysis/inference/chord_weights.py says how they "
    "are laid out, tests/bench/fit_inferred.py fits them.",
    "licence": "CC BY-SA 4.0, https://creativecommons.org/licenses/by-sa/4.0/",
    "sources": [
        "Roman-numeral analyses of 45 songs and keyboard preludes from When in Rome, M. Gotham and "
        "others, https://github.com/MarkGotham/When-in-Rome, CC BY-SA 4.0",
        "Analyses of 15 Bach chorales in RomanText, D. Tymoczko and others, as carried by the "
        "music21 package (bach/choraleAnalyses; also part of When in Rome, CC BY-SA 4.0)",
    ],
}
Weights = dict[str, Floats]


def start_weights(vocabulary: Vocabulary, rows: Sequence[Ints], keys: Sequence[Ints]) -> Weights:
    """Weights before fitting: plain chord tones and keys, counted numerals and successions."""
    weights = {
        name: np.zeros(shape, np.float32) for name, shape in weight_shapes(vocabulary).items()
    }
    for number, quality in enumerate(QUALITIES):
        weights["tones"][number, 0], weights["tones"][number, 2] = -2.0, -0.3
        for tone in quality.tones:
            weights["tones"][number, 0, tone + REACH] = 2.0
            weights["tones"][number, 2, tone + REACH] = 0.5
    weights["basses_by_tone"][:, :, REACH] = 1.0
    for mode, scale in enumerate(_SCALES):
        weights["keys"][mode, 0] = -0.6
        weights["keys"][mode, 0, np.array(scale) + REACH] = 0.2
    weights["signature"][:, 1] = -0.1 * np.abs(np.arange(12) - 6)
    weights["key_changes"][:] = -6.0
    weights["boundary"][:] = -1.0
    size = vocabulary.size
    counted = np.full((2, size), 0.3)
    pairs = np.zeros((2, vocabulary.types, vocabulary.types))
    for row, own in zip(rows, keys, strict=True):
        changes = row[np.append(True, np.diff(row) != 0)]
        place, numeral = np.divmod(changes, size)
        np.add.at(counted, (own[place] % 2, numeral), 1)
        for at in np.flatnonzero(np.diff(place) == 0):
            mode = int(own[place[at]] % 2)
            kinds = vocabulary.type[mode, numeral[at : at + 2]]
            pairs[mode, kinds[0], kinds[1]] += 1
    mean = (counted * vocabulary.exists).sum(axis=1) / vocabulary.exists.sum(axis=1)
    weights["numeral"] = (0.8 * np.log(counted / mean[:, None]) * vocabulary.exists).astype(
        np.float32
    )
    follow = pairs.sum(axis=1) + 0.3
    follow /= follow.sum(axis=1, keepdims=True)
    chance = (pairs + 4 * follow[:, None]) / (pairs.sum(axis=2, keepdims=True) + 4)
    weights["types"] = (0.7 * np.log(chance / follow[:, None] + 1e-3)).astype(np.float32)
    return weights


def fit(pieces: Sequence[Piece], epochs: int, seed: int = 1) -> tuple[Vocabulary, Weights]:
    """Weights fitted to some pieces, and the numerals that occur in them."""
    vocabulary = count_states(pieces)
    gold = Gold(vocabulary)
    tonics = [gold.lattice_keys(piece) for piece in pieces]
    keys = [(2 * own[:, None] + np.arange(2)).ravel() for own in tonics]
    rows = [gold.row(piece, own) for piece, own in zip(pieces, keys, strict=True)]
    start = start_weights(vocabulary, rows, keys)
    weights = {name: table.copy() for name, table in start.items()}
    first = {name: np.zeros_like(table) for name, table in start.items()}
    second = {name: np.zeros_like(table) for name, table in start.items()}
    sums = {name: np.zeros(table.shape) for name, table in start.items()}
    draw = random.Random(seed)
    steps, total = len(pieces) * epochs, sum(piece.grid.steps for piece in pieces)
    at = 0
    for epoch in range(epochs):
        began, loss = time.perf_counter(), 0.0
        for number in draw.sample(range(len(pieces)), len(pieces)):
            at += 1
            piece = pieces[number]
            lattice = ChordLattice(
                merge_weights(vocabulary, weights), piece.segments, pitch_classes=tonics[number]
            )
            lattice.use_signature = draw.random() >= UNSIGNED
            gradient = Gradient(lattice, rows[number])
            slopes = gradient.run()
            loss += gradient.loss
            pace = STEP * min(1.0, at / 20) * (1 - 0.9 * (at - 1) / steps)
            share = piece.grid.steps / total
            for name, table in weights.items():
                pull = PULL * PULLS.get(name, 1.0) * share * (table - start[name])
                slope = (slopes[name] - pull) / piece.grid.steps**0.5
                first[name] = (0.9 * first[name] + 0.1 * slope).astype(np.float32)
                second[name] = (0.98 * second[name] + 0.02 * slope**2).astype(np.float32)
                size = np.sqrt(second[name] / (1 - 0.98**at)) + 1e-2
                weights[name] = table + np.float32(pace) * (first[name] / (1 - 0.9**at)) / size
                sums[name] += weights[name] * (epoch >= epochs // 2)
        print(f"  epoch {epoch + 1}: loss a step {loss / total:.4f}", end="")
        print(f", {time.perf_counter() - began:.0f} s", flush=True)
    return vocabulary, {
        name: (table / (len(pieces) * (epochs - epochs // 2))).astype(np.float32)
        for name, table in sums.items()
    }


def score(
    pieces: Sequence[Piece],
    vocabulary: Vocabulary,
    weights: Mapping[str, Floats],
    signed: bool = False,
) -> tuple[dict[str, Counter[str]], list[tuple[float, float, float]]]:
    """Agreement by set of pieces, and (probability, beats that stood, beats) of each chord."""
    tables = merge_weights(vocabulary, weights)
    by_set: dict[str, Counter[str]] = {}
    said: list[tuple[float, float, float]] = []
    for piece in pieces:
        lattice = ChordLattice(tables, piece.segments)
        lattice.use_signature = signed
        marginals = lattice.backward(lattice.forward())
        path = best_path(vocabulary, marginals, piece.grid.beats, piece.segments.starts)
        found = stretches_of(piece, lattice, path)
        own = by_set.setdefault(piece.name.split("-")[0], Counter())
        own.update(compare(piece.chords, found))
        chance = marginals.reshape(len(path), -1)[np.arange(len(path)), path]
        said.extend(_stood(piece, found, path, chance))
    return by_set, said


def _stood(
    piece: Piece, found: Sequence[Stretch], path: Ints, chance: Floats
) -> list[tuple[float, float, float]]:
    """Mean probability, time that stood and time of each chord found."""
    edges = [0, *(np.flatnonzero(np.diff(path)) + 1), len(path)]
    out: list[tuple[float, float, float]] = []
    for at, stretch in enumerate(found):
        totals = compare(piece.chords, [stretch])
        if totals["time"]:
            beats = piece.grid.beats[edges[at] : edges[at + 1]]
            mean = float(np.average(chance[edges[at] : edges[at + 1]], weights=beats))
            out.append((mean, totals["the same, key right"], totals["time"]))
    return out


def reliability(said: Sequence[tuple[float, float, float]], bins: int = 8) -> list[list[float]]:
    """Mean probability and share of chords that stood, in bins of equally many chords, rising."""
    rows: NDArray[np.float64] = np.array(sorted(said))
    points = [[0.0, 0.0]]
    for chunk in np.array_split(rows, bins):
        stood = float((chunk[:, 1] / chunk[:, 2]).mean())
        points.append([round(float(chunk[:, 0].mean()), 3), round(max(stood, points[-1][1]), 3)])
    points[0][1] = round(points[1][1] / 2, 3)
    return [*points, [1.0, points[-1][1]]]


def table_text(
    vocabulary: Vocabulary, weights: Mapping[str, Floats], points: list[list[float]]
) -> str:
    """The data file: one table of weights a line, so that changes can be read."""
    states = [
        [one.mode, one.root, one.quality, one.inversion, one.target]
        for row in vocabulary.states
        for one in row
    ]
    lines = [f" {json.dumps(name)}: {json.dumps(value)}" for name, value in ABOUT.items()]
    lines.append(f' "reliability": {json.dumps(points)}')
    lines.append(f' "states": {json.dumps(states, separators=(",", ":"))}')
    rows = []
    for name, table in weights.items():
        values = ",".join(f"{value:.3g}" for value in table.ravel() + 0.0)
        rows.append(f"  {json.dumps(name)}: [{values}]")
    lines.append(' "weights": {\n' + ",\n".join(rows) + "\n }")
    return "{\n" + ",\n".join(lines) + "\n}\n"


def keep_folds(folds: Sequence[tuple[Sequence[str], str]]) -> None:
    """Write the tables of all folds, each with the names of the pieces held out of it."""
    held = [{"held_out": list(names), "table": json.loads(text)} for names, text in folds]
    FOLDS.write_bytes(gzip.compress(json.dumps(held).encode(), mtime=0))


@cache
def _kept() -> list[dict[str, Any]]:
    return list(json.loads(gzip.decompress(FOLDS.read_bytes()))) if FOLDS.exists() else []


@cache
def _model_of_fold(number: int) -> FittedModel:
    return model_of(_kept()[number]["table"])


def held_out_model(name: str) -> FittedModel | None:
    """Weights that were fitted without a piece of the two sets; None where none are kept."""
    for number, fold in enumerate(_kept()):
        if name in fold["held_out"]:
            return _model_of_fold(number)
    return None


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the folds, then fit to all pieces and write the table if asked to."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folds", type=int, default=5)
    parser.add_argument("--epochs", type=int, default=8)
    parser.add_argument("--signed", action="store_true", help="let the signature count")
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--keep", action="store_true", help="keep the weights of each fold")
    chosen = parser.parse_args(arguments)
    pieces = read_pieces()
    points = json.loads(TABLE.read_text("utf-8"))["reliability"]
    fitted = fit(pieces, chosen.epochs) if chosen.write else None
    if fitted:
        TABLE.write_text(table_text(*fitted, points), "utf-8")
    results: list[dict[str, Counter[str]]] = []
    said: list[tuple[float, float, float]] = []
    folds: list[tuple[list[str], str]] = []
    for fold in range(chosen.folds):
        print(f"fold {fold + 1} of {chosen.folds}", flush=True)
        rest = [piece for at, piece in enumerate(pieces) if at % chosen.folds != fold]
        held_out = [piece for at, piece in enumerate(pieces) if at % chosen.folds == fold]
        vocabulary, weights = fit(rest, chosen.epochs)
        folds.append(([piece.name for piece in held_out], table_text(vocabulary, weights, points)))
        by_set, stood = score(held_out, vocabulary, weights, chosen.signed)
        results.append(by_set)
        said.extend(stood)
        for name, totals in by_set.items():
            print(f"  {name}: {report(totals)}", flush=True)
    print("pieces that the weights were not fitted to:")
    for name in sorted({name for by_set in results for name in by_set}):
        print(f"  {name}: {report(summed(one[name] for one in results if name in one))}")
    if chosen.keep:
        keep_folds(folds)
    if fitted and said:
        TABLE.write_text(table_text(*fitted, reliability(said)), "utf-8")


if __name__ == "__main__":
    main()
