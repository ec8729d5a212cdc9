"""Chord scales: which note decides, and that none is claimed where none does."""

from __future__ import annotations

import pytest

from analysis.chord_scales import SCALES
from analysis.marks import ChordFact
from tests.analysis.rows import SHIFTS, facts, moved
from tests.analysis.tunes import study, tune


def over(melody: str, chords: str, key: str = "C major", at: int = 1) -> ChordFact:
    """The fact of one chord of a tune."""
    return study(tune(melody, chords), key).chords[at]


def test_the_backdoor_dominant_with_the_perfect_eleventh() -> None:
    """Over ♭VII7 the key's lowered third points to mixolydian (pop teaching, no source)."""
    fact = over("C5:4 D5:2 Eb5:2 C5:4", "F:4 Bb7:4 C:4")
    assert fact.scale == "B♭ mixolydian"
    assert any("E♭ in the melody, the perfect eleventh" in one for one in fact.reasons)


def test_the_backdoor_dominant_with_the_raised_eleventh() -> None:
    fact = over("C5:4 D5:2 E5:2 C5:4", "F:4 Bb7:4 C:4")
    assert fact.scale == "B♭ lydian dominant"
    assert any("E in the melody, the raised eleventh" in one for one in fact.reasons)


def test_a_neighbouring_chord_decides_where_the_melody_is_silent() -> None:
    fact = facts("C Bb7 Cm", "C major")[1]
    assert fact.scale == "B♭ mixolydian"
    assert any("E♭ in Cm" in one for one in fact.reasons)


def test_where_no_note_decides_both_are_offered() -> None:
    fact = facts("C E7 C", "C major")[1]
    assert " or " in fact.scale
    assert any("No note" in one for one in fact.reasons)


@pytest.mark.parametrize("fifths", SHIFTS)
def test_the_chord_itself_decides(fifths: int) -> None:
    """Tensions that only one scale has (common practice, no source)."""
    for symbol, name in (
        ("G7#9b13", "altered"),
        ("G7b9", "phrygian dominant"),
        ("Cmaj7#11", "lydian"),
    ):
        fact = moved(f"C {symbol} C", "C major", fifths)[1]
        assert name in fact.scale, (symbol, fact.scale)


def test_chords_of_the_key_need_no_scale() -> None:
    assert {fact.scale for fact in facts("C Am Dm7 G7 Cmaj7", "C major")} == {""}


def test_every_scale_begins_on_its_root_and_climbs() -> None:
    for steps in SCALES.values():
        assert steps[0] == 0
        assert list(steps) == sorted(set(steps))
        assert steps[-1] < 12
