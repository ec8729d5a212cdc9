"""Chords under a melody and under its return, side by side; common practice, no source."""

from __future__ import annotations

import pytest

from analysis.marks import ChordDifference, Repeat
from tests.analysis.tunes import study, tune

PHRASE = "E4:1 G4:1 A4:1 G4:1 E4:1.5 D4:.5 C4:2"
OTHER = "D4:2 F4:1 E4:1 B3:1 C4:1 D4:2"
MELODY = f"{PHRASE} {OTHER} {PHRASE}"
HOME = "C:4 F:4 G:4 G7:4"


def the_return(first: str, later: str, melody: str = MELODY, **others: str) -> Repeat:
    """The return of measures 1 and 2 in measures 5 and 6, over chords of two measures each."""
    (found,) = study(tune(melody, f"{first} G:4 G7:4 {later}", **others)).repeats
    return found


def exchanges(found: Repeat) -> list[str]:
    return [f"{one.was} > {one.now}" for one in found.differences]


def only(found: Repeat) -> ChordDifference:
    (one,) = found.differences
    return one


def test_the_same_chords_are_no_reharmonisation() -> None:
    found = the_return("C:4 F:4", "C:4 F:4")
    assert (found.reharmonised, found.differences) == (False, ())


def test_a_new_chord_is_named_with_numeral_function_effect_and_new_roles() -> None:
    found = the_return("C:4 F:4", "Am:4 F:4")
    one = only(found)
    assert found.reharmonised
    assert [one.first_at, one.later_at] == [0, 16]
    assert (one.was, one.was_numeral, one.was_function) == ("C", "I", "T")
    assert (one.now, one.now_numeral, one.now_function) == ("Am", "vi", "T")
    assert one.effect == "the same function in another colour"
    assert one.roles == ("E: third → fifth", "G: fifth → seventh", "A: sixth → root")


def test_every_pair_of_chords_that_stand_against_each_other_is_told() -> None:
    found = the_return("C:4 F:4", "Am:2 Em:2 Dm:4")
    assert exchanges(found) == ["C > Am", "C > Em", "F > Dm"]


def test_what_becomes_of_the_function() -> None:
    assert only(the_return("C:4 F:4", "C:4 G:4")).effect == "subdominant became dominant"
    assert only(the_return("C:4 F:4", "C:4 Fm:4")).effect == "a chord from outside the key"
    assert only(the_return("C:4 Fm:4", "C:4 F:4")).effect == (
        "a chord of the key instead of one from outside"
    )


def test_a_return_can_resolve_deceptively() -> None:
    plain, deceived = "G7:4 C:4", "E7:4 F:4"
    found = the_return(plain, deceived)
    assert found.differences[0].effect == "it resolves deceptively"


@pytest.mark.parametrize(
    "later",
    [
        "C:3 F:5",
        "C:3.5 F:4.5",
        "C/E:4 F/A:4",
        "Cmaj7:4 F6:4",
        "C5:4 Fsus4:4",
        "Am7/C:4 Dm7/F:4",
        "C:4 Dm7/F:4",
    ],
)
def test_early_revoiced_enriched_suspended_and_renamed_chords_are_the_same(later: str) -> None:
    assert the_return("C6:4 F:4", later).reharmonised is False
    assert the_return(later, "C6:4 F:4").reharmonised is False


def test_a_respelled_chord_is_the_same() -> None:
    assert not the_return("C:4 Db7:4", "C:4 C#7:4").reharmonised
    assert not the_return("C:4 F#dim7:4", "C:4 Ebdim7:4").reharmonised


def test_a_chord_for_one_beat_that_the_other_pass_has_not_is_new() -> None:
    assert exchanges(the_return("C:4 F:4", "C:3 E7:1 F:4")) == ["C > E7"]


def test_half_a_beat_is_an_ornament() -> None:
    assert not the_return("C:4 F:4", "C:3.5 E7:.5 F:4").reharmonised


def test_more_than_a_beat_early_is_another_harmony() -> None:
    assert exchanges(the_return("C:4 F:4", "C:2 F:6")) == ["C > F"]


@pytest.mark.parametrize(("first", "later"), [("C:4 F:4", "C:8"), ("C:8", "C:4 F:4")])
def test_a_symbol_left_out_is_told_by_the_accompaniment(first: str, later: str) -> None:
    played = "C3:4 F3:4 G3:4 G3:4 C3:4 F3:4"
    chords = "E3+G3:4 F3+A3:4 G3+B3:4 G3+B3:4 E3+G3:4 F3+A3:4"
    assert not the_return(first, later, piano=chords, bass=played).reharmonised


def test_a_chord_that_goes_on_in_the_accompaniment_is_meant() -> None:
    played = "C3:4 F3:4 G3:4 G3:4 C3:4 C3:4"
    chords = "E3+G3:4 F3+A3:4 G3+B3:4 G3+B3:4 E3+G3:4 E3+G3:4"
    found = the_return("C:4 F:4", "C:8", piano=chords, bass=played)
    assert exchanges(found) == ["F > C"]


def test_without_accompaniment_the_melody_tells() -> None:
    on_f = "E4:1 G4:1 A4:1 G4:1 F4:1.5 A4:.5 C5:2"
    melody = f"{on_f} {OTHER} {on_f}"
    assert not the_return("C:4 F:4", "C:8", melody).reharmonised
    on_c = "E4:1 G4:1 A4:1 G4:1 E4:1.5 G4:.5 C5:2"
    melody = f"{on_c} {OTHER} {on_c}"
    assert exchanges(the_return("C:4 F:4", "C:8", melody)) == ["F > C"]


def test_a_return_in_another_key_is_compared_in_that_key() -> None:
    up = "F#4:1 A4:1 B4:1 A4:1 F#4:1.5 E4:.5 D4:2"
    melody = f"{PHRASE} {OTHER} {up}"
    assert not the_return("C:4 F:4", "D:4 G:4", melody).reharmonised
    found = the_return("C:4 F:4", "Bm:4 G:4", melody)
    assert exchanges(found) == ["C > Bm"]
    assert found.differences[0].roles[0] == "F#: third → fifth"


def test_a_sequence_within_a_key_is_no_reharmonisation() -> None:
    up = "A4:1 C5:1 D5:1 C5:1 A4:1.5 G4:.5 F4:2"
    found = the_return("C:4 G:4", "F:4 Am:4", f"{PHRASE} {OTHER} {up}")
    assert (found.transposition, found.reharmonised) == (5, False)


def test_swapping_the_passes_swaps_the_pair() -> None:
    one = only(the_return("C:4 F:4", "C:4 Fm:4"))
    other = only(the_return("C:4 Fm:4", "C:4 F:4"))
    assert (one.was, one.now) == (other.now, other.was)
    assert (one.was_numeral, one.now_numeral) == (other.now_numeral, other.was_numeral)


def test_no_chord_in_one_pass_claims_nothing() -> None:
    assert not the_return("C:4 F:4", "C:4 N.C.:4").reharmonised


def test_a_chord_that_differs_under_a_rest_has_no_roles() -> None:
    short = "E4:1 G4:1 A4:1 G4:1 E4:1 C4:1 r:2"
    found = the_return("C:4 C:2 F:2", "C:4 C:2 G:2", f"{short} {OTHER} {short}")
    assert only(found).roles == ()
