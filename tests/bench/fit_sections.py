"""Fit the weights of the section boundaries and say how well they do.

``python -m tests.bench.fit_sections --scores FOLDER [--write]``: the folder holds songs as MusicXML
with a JSON of the same stem that lists ``sections`` with their ``onset``. Every song is decoded
with weights fitted to the others; with ``--write`` the weights fitted to all go to
``analysis/tables/sections.json``, which names its source.

A boundary counts as found within four quarter notes; the figures are over all boundaries of all
songs, and the mean of the songs' F.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt

from analysis.form.section_boundaries import describe_barlines, find_boundaries, log_odds
from analysis.form.self_similarities import SelfSimilarity
from analysis.marks import Settings
from analysis.pipeline import analyse
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from analysis.vocabulary.roles import find_melody_line, find_roles

Array = npt.NDArray[np.float64]

TOLERANCE: Final = 4.0
#: Ridge on standardised features.
_RIDGE: Final = 10.0
_STEPS: Final = 12
_WEIGHTS: Final = Path(__file__).parents[2] / "analysis" / "tables" / "sections.json"
_SOURCE: Final = {
    "what": "Weights of a logistic regression over features of barlines.",
    "source": "Fitted to songs of the Rock Corpus v2.1 by Trevor de Clercq and David Temperley "
    "(“A corpus analysis of rock harmony”, Popular Music 30/1, 2011).",
    "licence": "CC BY 4.0",
    "made by": "python -m tests.bench.fit_sections",
}


@dataclass(frozen=True)
class Song:
    """One song with the boundaries that people heard, in quarter notes."""

    piece: SelfSimilarity
    features: dict[str, Array]
    heard: tuple[float, ...]

    @property
    def onsets(self) -> Array:
        return np.array([float(measure.onset) for measure in self.piece.measures])

    def targets(self) -> tuple[Array, Array]:
        """1 at the measure nearest to each boundary; weight 0 for its neighbours."""
        target, weight = np.zeros(len(self.onsets)), np.ones(len(self.onsets))
        for onset in self.heard:
            at = int(np.abs(self.onsets - onset).argmin())
            weight[max(at - 1, 0) : at + 2] = 0
            target[at] = 1
        weight[target == 1] = 1
        weight[0] = 0
        return target, weight


def read_songs(folder: Path) -> list[Song]:
    """All songs of a folder that list more than their notes."""
    songs = []
    for path in sorted(folder.glob("*.mxl")):
        facts = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
        if not facts.get("sections"):
            continue
        score = read_score(read_source(path))
        found = analyse(score, Settings(use_rehearsal_marks=False))
        line = find_melody_line(score, find_roles(score))
        piece = SelfSimilarity(score.measures, line, found.chords)
        heard = tuple(float(section["onset"]) for section in facts["sections"])
        songs.append(Song(piece, describe_barlines(piece), heard))
    return songs


def fit(songs: Sequence[Song]) -> dict[str, float]:
    """A ridge logistic regression by Newton's method; weights of the plain features."""
    names = list(songs[0].features)
    rows = np.vstack([np.stack([song.features[name] for name in names], 1) for song in songs])
    target, weight = (np.hstack(one) for one in zip(*(s.targets() for s in songs), strict=True))
    mean, spread = rows.mean(0), rows.std(0) + 1e-9
    inputs = np.hstack([(rows - mean) / spread, np.ones((len(rows), 1))])
    ridge = np.diag([_RIDGE] * len(names) + [0.0])
    found = np.zeros(len(names) + 1)
    for _ in range(_STEPS):
        likely = 1 / (1 + np.exp(-inputs @ found))
        slope = inputs.T @ (weight * (target - likely)) - ridge @ found
        curve = (inputs * (weight * likely * (1 - likely))[:, None]).T @ inputs + ridge
        found = found + np.linalg.solve(curve, slope)
    plain = found[:-1] / spread
    weights = {name: float(value) for name, value in zip(names, plain, strict=True)}
    weights["bias"] = float(found[-1] - plain @ mean)
    upper = [np.percentile(log_odds(song.features, weights), 90) for song in songs]
    return weights | {"mean upper odds": float(np.mean(upper))}


def count_hits(heard: Sequence[float], found: Sequence[float]) -> int:
    """How many boundaries are found, each found one counting once."""
    free = set(found)
    hits = 0
    for onset in sorted(heard):
        near = [(abs(one - onset), one) for one in free if abs(one - onset) <= TOLERANCE]
        if near:
            free.discard(min(near)[1])
            hits += 1
    return hits


@dataclass(frozen=True)
class Agreement:
    """How boundaries agree with those that people heard, each song decoded without itself."""

    precision: float
    recall: float
    f_of_all: float
    mean_f: float
    certain: tuple[tuple[float, int], ...]


def left_out(songs: Sequence[Song]) -> Agreement:
    """Every song decoded with weights fitted to the others.

    ``certain`` pairs the confidence of each boundary with whether it was heard.
    """
    counts, certain = [], []
    for at, song in enumerate(songs):
        weights = fit([*songs[:at], *songs[at + 1 :]])
        boundaries = find_boundaries(song.piece, song.features, weights)
        found = [float(song.onsets[index]) for index, _ in boundaries]
        counts.append((count_hits(song.heard, found), len(song.heard), len(found)))
        certain += [
            (sure, count_hits(song.heard, [float(song.onsets[index])]))
            for index, sure in boundaries
            if index
        ]
    hits, heard, found_all = (sum(column) for column in zip(*counts, strict=True))
    each = [2 * one / (two + three) for one, two, three in counts]
    return Agreement(
        precision=hits / found_all,
        recall=hits / heard,
        f_of_all=2 * hits / (heard + found_all),
        mean_f=float(np.mean(each)),
        certain=tuple(certain),
    )


def main() -> int:
    """Fit, measure and on request write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--scores", type=Path, required=True)
    parser.add_argument("--write", action="store_true")
    chosen = parser.parse_args()
    songs = read_songs(chosen.scores)
    agreed = left_out(songs)
    print(f"precision {agreed.precision:.3f} recall {agreed.recall:.3f}")
    print(f"F of all {agreed.f_of_all:.3f}, mean of songs {agreed.mean_f:.3f}")
    for low in np.arange(0, 1, 0.1):
        row = [hit for sure, hit in agreed.certain if low <= sure < low + 0.1]
        print(f"confidence {low:.1f}: {len(row):4d} of which heard {np.mean(row or [0]):.2f}")
    if chosen.write:
        weights = {name: round(value, 4) for name, value in fit(songs).items()}
        text = json.dumps({**_SOURCE, "weights": weights}, ensure_ascii=False, indent=1)
        _WEIGHTS.write_text(text + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
