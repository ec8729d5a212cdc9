"""Keys of short plain songs: begun on I, ended by V–I, eight to twenty-four measures.

The progressions are common practice, no source; tunes are chord tones on the strong beats with
steps between them. In all keys, with and without a signature, each is heard in its own key. Songs
that begin elsewhere or end on V are not among them: without a signature some of those are open.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random
from typing import Final

import pytest

from analysis.groundwork import lay_groundwork
from analysis.marks import Corrections, Settings
from analysis.pitch import Key, PitchName
from analysis.timebase import Meter
from tests.bench.songs import MEASURES, METERS, TONICS, Harmony, Phrase, Song, draw_tune, to_score

SONGS: Final = 80
#: Degrees by measure, counted from 0.
FIRST: Final = (
    (0, 3, 4, 0), (0, 5, 3, 4), (0, 5, 1, 4), (0, 3, 0, 4), (0, 5, 4, 0), (0, 0, 3, 4),
    (0, 1, 4, 0), (0, 4, 0, 4), (0, 0, 4, 4), (0, 2, 3, 4), (0, 4, 3, 4), (0, 5, 4, 4),
    (0, 4, 4, 0),
)  # fmt: skip
INNER: Final = (*FIRST, (5, 3, 0, 4), (3, 0, 4, 0), (5, 1, 4, 0), (3, 4, 0, 5))
LAST: Final = (
    (0, 3, 4, 0), (0, 5, 4, 0), (3, 1, 4, 0), (5, 1, 4, 0), (0, 1, 4, 0), (3, 4, 4, 0),
    (0, 4, 4, 0),
)  # fmt: skip
KINDS: Final = ("major", "minor", "minor", "major", "major", "minor")


def plain_song(random: Random) -> Song:
    meter = Meter(*random.choice(METERS))
    pool = random.choices(INNER, k=3)
    rows = [random.choice(FIRST), *random.choices(pool, k=random.randrange(5)), random.choice(LAST)]
    phrases = []
    for row in rows:
        harmonies = tuple(
            Harmony(
                at * meter.length,
                step,
                "dominant" if step == 4 and random.random() < 0.3 else KINDS[step],
            )
            for at, step in enumerate(row)
        )
        tones = tuple(draw_tune(random, meter, harmonies))
        phrases.append(Phrase(MEASURES * meter.length, tones, harmonies, harmonies))
    key = Key(PitchName(random.choice(TONICS)), "major")
    return Song(key, meter, tuple(phrases), random.random() < 0.5)


@pytest.mark.parametrize("signed", [True, False])
def test_each_is_heard_in_its_own_key(signed: bool) -> None:
    wrong = []
    for number in range(SONGS):
        random = Random(f"plain {number}")
        song = plain_song(random)
        score = to_score(song, random)
        if not signed:
            score = replace(score, key_signatures=())
        regions = lay_groundwork(score, Settings(), Corrections()).regions
        if [region.key for region in regions] != [song.key]:
            wrong.append((number, str(song.key), [str(region.key) for region in regions]))
    assert wrong == []
