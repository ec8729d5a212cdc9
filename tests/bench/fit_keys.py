"""Count the key finder's tables and fit its weights on the development split of the rock songs.

``python -m tests.bench.fit_keys`` writes ``analysis/tables/keys.json``; with ``--left-out`` it
also fits the weights once for every song without it (some minutes) and writes them beside this
script, so that a song of the split can be scored by numbers that never saw it
(`left_out_tables`).
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

import numpy as np

from analysis.keys.key_cues import Cues, Floats, find_cues, read_events
from analysis.keys.key_evidence import block_evidence, opening_evidence
from analysis.keys.key_tables import (
    OPENING,
    TABLES,
    KeyTables,
    KeyWeights,
    counts_from,
    qualities_of,
    stored_weights,
    tables_from,
    weights_from,
)
from analysis.pitch import PitchName
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from analysis.vocabulary.placements import place_symbols
from analysis.vocabulary.roles import find_melody_line, find_roles
from tests.bench.key_fits import Lesson, fit_weights

REFERENCE: Final = Path(__file__).parents[3] / "shared" / "reference" / "rock"
TABLE: Final = Path(__file__).parents[2] / "analysis" / "tables" / "keys.json"
LEFT_OUT: Final = Path(__file__).with_name("keys_left_out.json")
_UNIT_WEIGHTS: Final = KeyWeights(np.ones(8), np.zeros(5), 0.0, 8.0, 5.0, 1.5)


@dataclass(frozen=True)
class Song:
    """One song: its cues, the analyst's tonic at each chord event, and its counts by table."""

    name: str
    cues: Cues
    tonics: np.ndarray[Any, np.dtype[np.int64]]
    counts: Mapping[str, Floats]


def read_song(path: Path) -> Song:
    """A song of the split with its reference analysis."""
    score = read_score(read_source(path))
    placed = place_symbols(score)
    events = read_events(placed)
    line = find_melody_line(score, find_roles(score))
    cues = find_cues(events, line, score.measures)
    chords = json.loads(path.with_suffix(".json").read_text("utf-8"))["chords"]
    tonics = np.array([_tonic_at(chords, event.start, event.end) for event in events])
    return Song(path.stem, cues, tonics, _count(cues, tonics))


def _tonic_at(chords: Sequence[Mapping[str, Any]], start: float, end: float) -> int:
    """Pitch class of the reference's tonic for most of a stretch."""
    time: dict[str, float] = {}
    for chord in chords:
        shared = min(end, chord["onset"] + chord["duration"]) - max(start, chord["onset"])
        if shared > 0:
            tonic = chord["key"]["tonic"]
            time[tonic] = time.get(tonic, 0.0) + shared
    return PitchName.parse(max(time, key=lambda tonic: time[tonic])).pc


def _modes(cues: Cues, tonics: np.ndarray[Any, np.dtype[np.int64]]) -> list[int]:
    """0 major, 1 minor at each event: by the tonic chord, or else by the other degrees."""
    leaning: dict[int, float] = {}
    for own in (True, False):
        for event, tonic in zip(cues.events, tonics, strict=True):
            interval = (event.root - int(tonic)) % 12
            if own and interval == 0:
                side = 1 if event.quality == 1 else -1
                leaning[int(tonic)] = leaning.get(int(tonic), 0.0) + side * event.duration
            elif not own and int(tonic) not in leaning:
                minor = interval in (3, 8, 10) or (interval in (5, 7) and event.quality == 1)
                major = interval in (2, 4, 9) or (interval in (5, 7) and event.quality != 1)
                leaning.setdefault(-1 - int(tonic), 0.0)
                leaning[-1 - int(tonic)] += minor - major
    return [int(leaning.get(int(tonic), leaning.get(-1 - int(tonic), 0.0)) > 0) for tonic in tonics]


def _count(cues: Cues, tonics: np.ndarray[Any, np.dtype[np.int64]]) -> dict[str, Floats]:
    """Shares of a song's cues by table, each (2 modes, 12 intervals, qualities)."""
    modes = np.array(_modes(cues, tonics))
    starts = np.flatnonzero(np.diff(tonics, prepend=-1))
    seen = dict(cues.seen)
    seen[OPENING] = (
        starts,
        cues.roots[starts],
        cues.qualities[starts],
        np.ones(len(starts)),
    )
    counts = {}
    for table in TABLES:
        at, pc, quality, weight = seen[table]
        counted = np.zeros((2, 12, qualities_of(table)))
        np.add.at(counted, (modes[at], (pc - tonics[at]) % 12, quality), weight)
        counts[table] = counted / max(weight.sum(), 1e-9)
    return counts


def lesson_of(song: Song, counts: Mapping[str, Floats]) -> Lesson:
    """What a song teaches, seen through tables that were counted without it."""
    tables = tables_from(counts, _UNIT_WEIGHTS)
    return Lesson(
        block_evidence(song.cues, tables),
        opening_evidence(song.cues, tables),
        song.cues.borders,
        song.tonics,
    )


def _total(songs: Sequence[Song]) -> dict[str, Floats]:
    return {table: np.sum([song.counts[table] for song in songs], axis=0) for table in TABLES}


def fit(songs: Sequence[Song]) -> KeyWeights:
    """Weights fitted to songs, each seen through tables counted on the others."""
    total = _total(songs)
    lessons = [
        lesson_of(song, {table: total[table] - song.counts[table] for table in TABLES})
        for song in songs
    ]
    return fit_weights(lessons)


def _stored(songs: Sequence[Song], weights: KeyWeights) -> dict[str, Any]:
    counts = {
        table: {
            mode: np.round(counted[number], 4).tolist()
            for number, mode in enumerate(("major", "minor"))
        }
        for table, counted in _total(songs).items()
    }
    return {
        "about": "Counts and weights of the key finder: analysis/keys/key_tables.py says how they "
        "are used, tests/bench/fit_keys.py makes them. Rows of a table are intervals in half steps "
        "above the tonic, columns the qualities of analysis/keys/key_cues.py.",
        "sources": [
            "Melody, keys and Roman numerals of 55 songs of the Rock Corpus v2.1, T. de Clercq and "
            "D. Temperley, CC BY 4.0, http://rockcorpus.midside.com"
        ],
        "licence": "CC BY 4.0, https://creativecommons.org/licenses/by/4.0/",
        "weights": stored_weights(weights),
        "counts": counts,
    }


@cache
def _stored_files() -> tuple[dict[str, Any], dict[str, Any]]:
    return json.loads(TABLE.read_text("utf-8")), json.loads(LEFT_OUT.read_text("utf-8"))


def left_out_tables(path: Path) -> KeyTables:
    """Tables and weights for a song of the split that were counted and fitted without it."""
    stored, left_out = _stored_files()
    song = read_song(path)
    counts = {table: counted - song.counts[table] for table, counted in counts_from(stored).items()}
    rounded = {table: np.maximum(counted, 0) for table, counted in counts.items()}
    return tables_from(rounded, weights_from(left_out[song.name]))


def main() -> None:
    """Fit to all songs, or also to all but each."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--left-out", action="store_true", help="also fit without each song")
    chosen = parser.parse_args()
    songs = [read_song(path) for path in sorted(REFERENCE.glob("*.mxl"))]
    weights = fit(songs)
    TABLE.write_text(_as_text(_stored(songs, weights)), "utf-8")
    print(json.dumps(stored_weights(weights)))
    if chosen.left_out:
        found = {}
        for song in songs:
            found[song.name] = stored_weights(fit([one for one in songs if one is not song]))
            print(song.name, json.dumps(found[song.name]), flush=True)
        LEFT_OUT.write_text(_as_text(found), "utf-8")


def _as_text(stored: Mapping[str, Any]) -> str:
    """JSON with one line for each entry of the first two levels."""
    lines = []
    for name, value in stored.items():
        if isinstance(value, dict):
            inner = ",\n".join(f"  {json.dumps(k)}: {json.dumps(v)}" for k, v in value.items())
            lines.append(f" {json.dumps(name)}: {{\n{inner}\n }}")
        else:
            lines.append(f" {json.dumps(name)}: {json.dumps(value)}")
    return "{\n" + ",\n".join(lines) + "\n}\n"


if __name__ == "__main__":
    main()
