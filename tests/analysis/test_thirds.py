"""Chords without a third: what is sung, what sounds elsewhere, what the key has."""

from __future__ import annotations

from tests.analysis.rows import facts, numeral
from tests.analysis.tunes import study, tune


def test_the_melody_decides_first() -> None:
    """Common practice, no source; so are the other rules here."""
    chords = study(tune("Eb5:4 E5:4", "C5:4 C5:4"), "C major").chords
    assert [numeral(fact) for fact in chords] == ["i5", "I5"]
    assert any("the melody's E♭ makes it minor" in one for one in chords[0].reasons)
    assert "no third" in chords[0].tags


def test_the_same_root_elsewhere_decides_next() -> None:
    row = facts("Am D5 D5 D", "A minor")
    assert numeral(row[1]) == "IV5"
    assert any("on this root the chord is major elsewhere" in one for one in row[1].reasons)


def test_the_key_decides_last() -> None:
    row = facts("C5 D5 F5 A5", "C major")
    assert [numeral(fact) for fact in row] == ["I5", "ii5", "IV5", "vi5"]
    assert all(fact.confidence < 0.75 for fact in row)


def test_suspensions_are_not_asked() -> None:
    row = facts("Csus4 Gsus2 C", "C major")
    assert not any("no third" in reason for fact in row for reason in fact.reasons)
