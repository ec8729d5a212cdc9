"""Sections and returns against songs that people analysed, where those are at hand.

Sections: boundaries within four quarter notes of those that the analysts heard, rehearsal marks
aside, each song decoded with weights that were fitted without it.

Reharmonised returns: every two stretches of two measures that hold the same notes at the same
places, four or more, and whose chords by the analysts have other roots for a beat or more. Such a
pair is found if a return that is called reharmonised holds both in their places.
"""

from __future__ import annotations

import json
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import combinations
from pathlib import Path
from typing import Any, Final

from analysis.marks import Repeat
from analysis.pipeline import analyse
from analysis.pitch import PitchName
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from analysis.score import Score
from tests.bench.fit_sections import left_out, read_songs

SONGS: Final = Path(__file__).parents[3] / "shared" / "reference" / "rock"
_LEAST_F: Final = 0.55
_LEAST_RECALL: Final = 0.95
_LEAST_NOTES: Final = 4
#: Steps to the quarter note in which chords are compared, and how many must differ.
_STEPS: Final = 4
_LEAST_STEPS: Final = 4

_Facts = dict[str, Any]


def measure(folder: Path = SONGS) -> Iterator[dict[str, Any]]:
    """Figures of both kinds; none where the songs are missing."""
    if not folder.is_dir():
        return
    agreed = left_out(read_songs(folder))
    yield _figure("section boundaries, F of all songs", agreed.f_of_all, _LEAST_F)
    yield _figure("section boundaries, mean F", agreed.mean_f, _LEAST_F)
    yield _figure("section boundaries, precision", agreed.precision, None)
    yield _figure("section boundaries, recall", agreed.recall, None)
    found = missed = 0
    for path in sorted(folder.glob("*.mxl")):
        facts = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
        for hit in hits_and_misses(read_score(read_source(path)), facts):
            found, missed = found + hit, missed + (not hit)
    share = found / max(found + missed, 1)
    yield _figure("reharmonised two-measure returns, recall", share, _LEAST_RECALL)


def _figure(name: str, value: float, limit: float | None) -> dict[str, Any]:
    return {"name": name, "value": value, "limit": limit, "holds": limit is None or value >= limit}


def hits_and_misses(score: Score, facts: _Facts) -> Iterator[bool]:
    """For each reharmonised pair of a song, whether it is found."""
    repeats = [one for one in analyse(score).repeats if one.reharmonised]
    starts = [float(measure.onset) for measure in score.measures]
    lengths = [float(measure.length) for measure in score.measures]
    for places in _same_melody(facts, starts, lengths):
        for one, two in combinations(places, 2):
            length = lengths[one] + lengths[one + 1]
            if two - one >= 2 and _other_roots(facts, starts[one], starts[two], length):
                yield any(_holds(repeat, starts[one], starts[two], length) for repeat in repeats)


def _same_melody(
    facts: _Facts, starts: Sequence[float], lengths: Sequence[float]
) -> Iterator[list[int]]:
    """Measures from which on two hold the same notes, four or more, in groups."""
    notes: defaultdict[int, list[tuple[float, str]]] = defaultdict(list)
    for note in facts["melody"]:
        at = bisect_right(starts, note["onset"] + 1e-6) - 1
        notes[at].append((round(note["onset"] - starts[at], 3), note["pitch"]))
    groups: defaultdict[tuple[Any, ...], list[int]] = defaultdict(list)
    for at in range(len(starts) - 1):
        if len(notes[at]) + len(notes[at + 1]) >= _LEAST_NOTES:
            held = tuple(notes[at]), tuple(notes[at + 1]), lengths[at], lengths[at + 1]
            groups[held].append(at)
    yield from groups.values()


def _other_roots(facts: _Facts, one: float, two: float, length: float) -> bool:
    onsets = [chord["onset"] for chord in facts["chords"]]

    def root(at: float) -> int | None:
        chord = facts["chords"][max(bisect_right(onsets, at + 1e-6) - 1, 0)]
        inside = chord["onset"] <= at + 1e-6 < chord["onset"] + chord["duration"]
        return PitchName.parse(chord["root"]).pc if inside and not chord["nc"] else None

    differing = 0
    for step in range(int(length * _STEPS)):
        first, later = root(one + step / _STEPS), root(two + step / _STEPS)
        differing += first is not None and later is not None and first != later
    return differing >= _LEAST_STEPS


def _holds(repeat: Repeat, one: float, two: float, length: float) -> bool:
    """Whether a return holds both stretches, each at the same place in its passage."""
    first, later = float(repeat.first.start), float(repeat.later.start)
    return (
        abs((later - first) - (two - one)) < 0.01
        and first <= one + 0.01
        and float(repeat.first.end) >= one + length - 0.01
    )
