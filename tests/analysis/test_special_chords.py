"""Chords with a name of their own, in all keys; sources beside each."""

from __future__ import annotations

import pytest

from analysis.chords import KIND_DEGREES, Chord
from analysis.pitch import Key, PitchName
from analysis.vocabulary.wording import chord_sentence
from tests.analysis.rows import SHIFTS, chord, facts, moved, numeral


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize(
    ("kind", "expected"), [("Italian", "It6"), ("French", "Fr43"), ("German", "Ger65")]
)
def test_the_three_augmented_sixths_are_subdominants(kind: str, expected: str, fifths: int) -> None:
    """Open Music Theory v1, *alteredSubdominants*; built on the lowered sixth degree."""
    root = PitchName.parse("Ab") + fifths
    sixth = Chord(root, KIND_DEGREES[kind], root, kind)
    home = Key.parse("C minor")
    row = [chord("Cm", fifths), sixth, chord("G", fifths), chord("Cm", fifths)]
    fact = facts(row, Key(home.tonic + fifths, "minor"))[1]
    assert (numeral(fact), fact.function) == (expected, "S")
    assert "subV⁷/V" in {one.label for one in fact.alternatives}


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize("row", ["C F Db/F G7 C", "C F Db G7 C"])
def test_the_neapolitan_keeps_its_degree_as_another_reading(row: str, fifths: int) -> None:
    """Open Music Theory v1, *alteredSubdominants*."""
    fact = moved(row, "C major", fifths)[2]
    assert numeral(fact) in ("N", "N6")
    assert fact.function == "S"
    assert fact.alternatives[0].label in ("♭II", "♭II⁶")


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize("row", ["C Cdim7 C", "C Ebdim7 C", "C F#dim7 C", "C Ebdim7 C/E"])
def test_common_tone_diminished_chords_neighbour_the_next(row: str, fifths: int) -> None:
    """They keep the next root and lead nowhere: textbook practice, from memory."""
    fact = moved(row, "C major", fifths)[1]
    assert (numeral(fact)[:2], fact.function) == ("CT", "")
    assert "common tone" in fact.tags


@pytest.mark.parametrize("fifths", SHIFTS)
def test_passing_diminished_chords_have_no_function(fifths: int) -> None:
    """Between two chords by half steps in the bass: textbook practice, from memory."""
    fact = moved("C/E Ebdim7 Dm7 G7", "C major", fifths)[1]
    assert fact.function == ""
    assert "passing" in fact.tags


@pytest.mark.parametrize("fifths", SHIFTS)
def test_chords_over_a_held_tonic_say_so(fifths: int) -> None:
    """A pedal: the bass holds while the chords change (theory notes, glossary)."""
    row = moved("C Bb/C F/C C", "C major", fifths)
    assert ["pedal" in fact.tags for fact in row] == [False, True, True, False]


def test_a_pedal_is_said() -> None:
    assert "over a held C in the bass" in chord_sentence(facts("C Dm/C C", "C major")[1])
    assert "5–6–5" in chord_sentence(facts("C F/C C", "C major")[1])


@pytest.mark.parametrize("fifths", SHIFTS)
def test_a_power_chord_says_what_it_lacks_and_how_it_is_heard(fifths: int) -> None:
    """Common practice, no source."""
    for symbol, expected, heard in (("A5", "vi5", "minor"), ("F5", "IV5", "major")):
        fact = moved(f"C {symbol} G C", "C major", fifths)[1]
        assert numeral(fact) == expected
        assert chord_sentence(fact).endswith(f"a chord without a third, heard as {heard}.")


def test_a_power_chord_is_heard_as_its_neighbours_on_that_root_are() -> None:
    fact = facts("Am A5 G Am", "C major")[1]
    assert "heard as minor" in fact.tags
    assert any("elsewhere" in one for one in fact.reasons)


@pytest.mark.parametrize(
    ("row", "key", "borrowed"),
    [
        # Open Music Theory v1, *modalMixture*: a chord of the parallel scale; the Neapolitan and
        # chords of neither scale are none.
        ("C Bb Ab Fm Eb", "C major", [False, True, True, True, True]),
        ("C Db Bbm F#", "C major", [False, False, False, False]),
        ("Cm F Am C", "C minor", [False, True, True, True]),
    ],
)
def test_mixture_is_of_the_parallel_scale(row: str, key: str, borrowed: list[bool]) -> None:
    assert ["mixture" in fact.tags for fact in facts(row, key)] == borrowed


def test_no_chord_has_no_numeral_and_breaks_no_row() -> None:
    row = facts("C N.C. F", "C major")
    assert row[1].numeral is None
    assert chord_sentence(row[1]) == "No chord sounds here."
    assert numeral(row[2]) == "IV"
