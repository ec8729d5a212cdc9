"""Which passages of a piece hold the same music."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random
from unittest.mock import patch

from hypothesis import given
from hypothesis import strategies as st

from analysis.marks import Repeat
from analysis.pipeline import analyse
from analysis.returns.alike_passages import AlikePassages
from analysis.returns.reharmonisations import compare_harmony
from analysis.score import Score
from analysis.timebase import Span
from analysis.vocabulary.voices import PitchedNotes
from tests.analysis.tunes import study, tune
from tests.bench.returns import song_with_returns
from tests.bench.songs import to_score

MELODY = " ".join(["C4:1 E4:1 G4:2 A4:2 r:2"] * 4)
CHORDS = "C:4 F:4 " * 4


def numbers(score: Score, first: int, later: int) -> tuple[int, int]:
    """Numbers of two passages of two measures, by their first measures."""
    notes = {
        at: tuple(one.id for one in score.parts[0].notes if 0 <= one.onset - 4 * at < 8)
        for at in (first, later)
    }
    spans = [Span(Fraction(4 * at), Fraction(4 * at + 8)) for at in (first, later)]
    repeat = Repeat(
        first=spans[0],
        later=spans[1],
        part="voice",
        transposition=0,
        similarity=1.0,
        reharmonised=False,
        first_notes=notes[first],
        later_notes=notes[later],
    )
    passages = AlikePassages(study(score).chords, PitchedNotes(score))
    return passages.of(repeat, Fraction(1))[:2]


def test_the_same_music_has_one_number() -> None:
    one, two = numbers(tune(MELODY, CHORDS), 2, 4)
    assert one == two


def test_another_chord_note_spelling_or_length_has_another_number() -> None:
    chords = CHORDS.split()
    for changed in (
        tune(MELODY, " ".join([*chords[:5], "Dm:4", *chords[6:]])),
        tune(MELODY, CHORDS, bass="r:16 C3:4 r:12"),
        tune(" ".join([*MELODY.split()[:11], "Fb4:1", *MELODY.split()[12:]]), CHORDS),
    ):
        one, two = numbers(changed, 2, 4)
        assert one != two


def test_what_is_held_into_the_passage_and_a_chord_just_after_it_count() -> None:
    held = tune(MELODY, CHORDS, bass="r:6 C3:3 r:23")
    assert len({*numbers(held, 2, 4)}) == 2
    assert len({*numbers(tune(MELODY, CHORDS, bass="r:6 C3:2 r:24"), 2, 4)}) == 1
    after = tune(MELODY, "C:4 F:4 C:4 F:4 C:4 F:4 G:4 F:4")
    assert len({*numbers(after, 2, 4)}) == 2


@given(st.integers(0, 10**6))
def test_returns_are_compared_to_the_same_end_all_at_once_and_each_alone(seed: int) -> None:
    score = to_score(song_with_returns(Random(seed))[0], Random(seed))
    found = analyse(score)
    plain = [replace(one, differences=(), reharmonised=False) for one in found.repeats]
    alone = [compare_harmony(score, [one], found.chords)[0] for one in plain]
    with patch("analysis.returns.reharmonisations._MANY", 2):
        assert list(compare_harmony(score, plain, found.chords)) == alone
