"""Which chords are one chord; common practice, no source."""

from __future__ import annotations

import pytest

from analysis.harmony.chord_matches import same_chord
from tests.analysis.rows import chord


@pytest.mark.parametrize(
    ("first", "later"),
    [
        ("C", "C/E"),
        ("C", "Cmaj7"),
        ("G", "G7"),
        ("G7", "G9"),
        ("C", "C5"),
        ("Cm", "Csus4"),
        ("C+", "C"),
        ("C6", "Am7/C"),
        ("C#dim7", "Bbdim7/Db"),
        ("F#", "Gb"),
        ("F", "Dm7/F"),
        ("G", "F/G"),
        ("G7", "Dm7/G"),
    ],
)
def test_one_chord_in_two_forms(first: str, later: str) -> None:
    assert same_chord(chord(first), chord(later))
    assert same_chord(chord(later), chord(first))


@pytest.mark.parametrize(
    ("first", "later"),
    [
        ("G", "Em7"),
        ("C", "Am"),
        ("C", "Cm"),
        ("Cm", "Cdim"),
        ("Eb", "Cm7"),
        ("G7", "Db7"),
        ("Dm7", "F"),
        ("G7/C", "C"),
        ("Bdim", "G7"),
    ],
)
def test_two_chords(first: str, later: str) -> None:
    assert not same_chord(chord(first), chord(later))
    assert not same_chord(chord(later), chord(first))


def test_a_chord_moved_is_itself_so_many_half_steps_higher() -> None:
    assert same_chord(chord("G7"), chord("A7"), 2)
    assert not same_chord(chord("G7"), chord("A7"))
    assert same_chord(chord("C6"), chord("Bm7/D"), 2)
