"""What chords do between their neighbours, and what is said of it.

Sources: Open Music Theory v1, *harmonicFunctions* (ii and IV prepare V), *popRockHarmony* (double
plagal; VI and VII of minor). Six-fours: cadential, passing, neighbouring (pedal) and arpeggiated,
textbook practice (from memory). Modes: their scales. IV–iv–I and walking dominants: common practice
in pop teaching, no source.
"""

from __future__ import annotations

import pytest

from analysis.marks import ChordFact
from analysis.vocabulary.wording import chord_sentence
from tests.analysis.rows import SHIFTS, facts, moved, numeral


def _said(row: str, at: int, key: str = "C major") -> str:
    return chord_sentence(facts(row, key)[at])


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize(
    ("row", "key"),
    [
        ("C Dm7 G7 C", "C major"),
        ("C Dm Db7 C", "C major"),
        ("C Dm C/G G7 C", "C major"),
        ("C F G7 C", "C major"),
        ("C Ab G7 C", "C major"),
        ("C Dm7b5 G7 C", "C major"),
        ("C Fm G7 C", "C major"),
        ("Cm Dm7b5 G7 Cm", "C minor"),
        ("Cm Ab G7 Cm", "C minor"),
        ("Cm Fm G Cm", "C minor"),
    ],
)
def test_what_prepares_the_dominant_says_so(row: str, key: str, fifths: int) -> None:
    fact = moved(row, key, fifths)[1]
    assert fact.function == "S"
    assert "getting ready for the dominant" in chord_sentence(fact)


@pytest.mark.parametrize("row", ["C Dm Am", "C Dm Gm7 C7 F", "C F Am"])
def test_what_leads_elsewhere_does_not(row: str) -> None:
    assert "dominant" not in _said(row, 1)


@pytest.mark.parametrize("fifths", SHIFTS)
def test_the_subdominant_that_darkens_is_one_gesture(fifths: int) -> None:
    major, minor = moved("C F Fm6 C", "C major", fifths)[1:3]
    assert chord_sentence(major).endswith("it darkens to minor on its way home.")
    assert chord_sentence(minor).endswith("the subdominant darkens on its way home.")
    assert "mixture" in minor.tags
    for fact in (major, minor):
        assert len(chord_sentence(fact).split()) < 30


def test_it_goes_where_it_goes() -> None:
    assert _said("C F Fm G7 C", 2).endswith("the subdominant darkens on its way to the dominant.")
    assert _said("C F/A Fm/Ab C/G D7/F# G", 2).endswith("the subdominant darkens.")
    assert "plagal" in _said("C F C", 1)
    assert "plagal" not in _said("C F C/E Dm", 1)
    assert "plagal" not in _said("C F C/G F#m7b5", 1)


def _six_four(row: str, at: int = 1) -> ChordFact:
    fact = facts(row, "C major")[at]
    assert fact.chord is not None
    assert fact.chord.inversion == 2
    return fact


@pytest.mark.parametrize(
    ("row", "tag"),
    [
        ("F C/G G7 C", "cadential six-four"),
        ("Fm/Ab C/G D7/F#", "passing six-four"),
        ("Am C/G E7/G#", "unsettled six-four"),
        ("F C/G F", "neighbouring six-four"),
        ("F#dim7 C/G C", "unsettled six-four"),
        ("Dm C/G C", "unsettled six-four"),
    ],
)
def test_a_six_four_is_no_home(row: str, tag: str) -> None:
    fact = _six_four(row)
    assert tag in fact.tags
    assert "home" not in chord_sentence(fact)
    assert fact.confidence < facts("F C F", "C major")[1].confidence


def test_the_tonic_with_its_fifth_put_below_is_still_home() -> None:
    fact = _six_four("C C/G Am")
    assert (fact.function, fact.tags) == ("T", ())
    assert chord_sentence(fact).endswith(": home.")


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize(
    ("mode", "symbols"),
    [
        ("mixolydian", "Bb Gm"),
        ("dorian", "F Dm"),
        ("phrygian", "Db Bbm"),
        ("lydian", "D Bm"),
    ],
)
def test_a_modes_own_chords_are_no_mixture(mode: str, symbols: str, fifths: int) -> None:
    tonic = "C" if mode in ("mixolydian", "lydian") else "Cm"
    for symbol in symbols.split():
        fact = moved(f"{tonic} {symbol} {tonic}", f"C {mode}", fifths)[1]
        assert not {"mixture", "first outside"} & set(fact.tags), symbol
        assert not any("borrowed" in reason for reason in fact.reasons)
        assert not fact.foreign
    # What the reference means by outside the key is judged in major and minor all the same.
    assert moved(f"{tonic} {symbols.split()[0]} {tonic}", f"C {mode}", fifths)[1].outside_key


def test_what_a_mode_does_not_hold_is_borrowed() -> None:
    fact = facts("C Ab C", "C mixolydian")[1]
    assert {"mixture", "first outside"} <= set(fact.tags)
    assert fact.foreign


def test_what_no_scale_explains_is_said_to_come_from_outside() -> None:
    assert _said("C C#m Am", 1).endswith("a chord from outside the key.")
    assert _said("C Dbmaj7 C", 1).endswith("a chord from outside the key.")
    assert "Its raised sixth is heard as dorian as well." in facts("Cm F Cm", "C minor")[1].reasons


@pytest.mark.parametrize("fifths", SHIFTS)
def test_a_fifth_that_climbs_leaves_the_tonic_where_it_is(fifths: int) -> None:
    """5–#5–6–b7 over one root is a line; V+ of IV is offered beside it."""
    fact = moved("C Caug C6 C7 F", "C major", fifths)[1]
    assert (numeral(fact), fact.function) == ("I+", "T")
    assert [one.label for one in fact.alternatives] == ["V+/IV"]
    assert "moving fifth" in moved("C Caug Am", "C major", fifths)[1].tags
    assert "moving fifth" not in moved("C Caug Ebm", "C major", fifths)[1].tags
    straight = moved("C Caug F", "C major", fifths)[1]
    assert (numeral(straight), straight.function) == ("V+/IV", "D")


def test_a_dominant_in_a_walking_bass_promises_nothing() -> None:
    fact = facts("C G/B Am F", "C major")[1]
    assert (fact.function, fact.resolution, fact.expected) == ("D", "", "")
    assert "links two chords" in chord_sentence(fact)
    assert facts("C G7 Am F", "C major")[1].resolution == "deceptive"


def test_a_tonic_that_comes_as_a_dominant_leads_on() -> None:
    fact = facts("C G/B C7/Bb F/A", "C major")[1]
    assert chord_sentence(fact).endswith("and C7/B♭ comes, itself a dominant that leads on.")


@pytest.mark.parametrize(
    ("row", "key", "at", "said"),
    [
        ("Am G F E", "A minor", 1, "one step of the descent from tonic to dominant"),
        ("C Ab Bb C", "C major", 1, "climbing home by way of ♭VII"),
        ("C Ab Bb C", "C major", 2, "stepping up to the tonic"),
        ("Am Am/G# Am7/G F", "A minor", 1, "home, while the bass moves on"),
        ("Am Am(maj7) Am7 Am6", "A minor", 2, "home, while a voice moves on inside it"),
        ("C Csus4 C", "C major", 1, "home, its third held back by the fourth"),
        ("F C/E Dm", "C major", 1, "the tonic in passing"),
        ("C Db/F G", "C major", 1, "the Neapolitan, a dark subdominant before the dominant."),
        ("C Db/F C", "C major", 1, "the Neapolitan, a dark subdominant."),
        ("C Db C", "C major", 1, "a chord from outside the key."),
        ("C G7sus4 G7 C", "C major", 1, "its third held back by the fourth"),
    ],
)
def test_what_is_said_of_steps_on_the_way(row: str, key: str, at: int, said: str) -> None:
    assert said in _said(row, at, key)


def test_blues_sevenths_have_no_far_fetched_readings() -> None:
    assert facts("A7 D7 A7 E7 A7", "A major")[1].alternatives == ()
    assert facts("C Fm7 Bb7 C", "C major")[2].alternatives == ()
