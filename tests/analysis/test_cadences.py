"""Cadences at phrase ends: PAC, IAC, HC, PC, DC.

The closed list is that of Open Music Theory v1, *cadenceTypes* (from memory).
Each tune is one phrase and a rest, the last note over the last chord.
"""

from __future__ import annotations

import pytest

from analysis.marks import Mark
from tests.analysis.tunes import study, tune


def cadences(melody: str, chords: str, key: str = "C major") -> list[Mark]:
    marks = study(tune(melody, chords), key).marks
    return [mark for mark in marks if mark.kind == "cadence" and "–" not in mark.label]


def phrase(last: str) -> str:
    """Three measures of quarter notes, then one long note and a rest."""
    return "C5:1 D5:1 E5:1 F5:1 " * 3 + f"{last}:2 r:2"


CADENCES = [
    ("C5", "C:4 F:4 G7:4 C:4", "PAC"),
    ("E5", "C:4 F:4 G7:4 C:4", "IAC"),
    ("C5", "C:4 F:4 G7/B:4 C:4", "IAC"),
    ("C5", "C:4 F:4 G7:4 C/E:4", "IAC"),
    ("C5", "C:4 F:4 Bdim7:4 C:4", "IAC"),
    ("D5", "C:4 F:4 Dm:4 G:4", "HC"),
    ("C5", "C:4 G:4 F:4 C:4", "PC"),
    ("C5", "C:4 Am:4 Fm:4 C:4", "PC"),
    ("C5", "C:4 F:4 G7:4 Am:4", "DC"),
    ("C5", "C:4 F:4 G7:4 Ab:4", "DC"),
    # IV over the dominant's bass is a suspended V, no plagal step (pop teaching, no source).
    ("C5", "C:4 Am:4 F/G:4 C:4", "IAC"),
]


#: What each is called in full.
NAMES = {
    "PAC": "A perfect authentic cadence: ",
    "IAC": "An imperfect authentic cadence: ",
    "HC": "A half cadence: ",
    "PC": "A plagal cadence: ",
    "DC": "A deceptive cadence: ",
}


@pytest.mark.parametrize(("last", "chords", "kind"), CADENCES)
def test_the_kinds(last: str, chords: str, kind: str) -> None:
    (mark,) = cadences(phrase(last), chords)
    assert mark.label == kind
    assert mark.sentence.startswith(NAMES[kind])
    assert len(mark.sentence.split()) < 30
    assert any("phrase ends on" in one.statement for one in mark.evidence)
    assert 0.5 <= mark.confidence < 1


@pytest.mark.parametrize(
    ("chords", "kind"), [("Cm:4 Fm:4 G7:4 Cm:4", "PAC"), ("Cm:4 Fm:4 G7:4 Ab:4", "DC")]
)
def test_in_minor(chords: str, kind: str) -> None:
    assert [mark.label for mark in cadences(phrase("C5"), chords, "C minor")] == [kind]


@pytest.mark.parametrize(
    "chords",
    [
        # A tonic that goes on, a backdoor, a six-four that has not yet given way, the key's IV.
        "C:4 C:4 C:4 C:4",
        "C:4 F:4 C:4 F:4",
        "C:4 F:4 D7:4 Dm:4",
    ],
)
def test_what_is_no_cadence(chords: str) -> None:
    assert cadences(phrase("C5"), chords) == []


def test_a_pedal_six_four_is_no_plagal_cadence() -> None:
    assert cadences(phrase("C5"), "C:4 C:4 F/C:4 C:4") == []


def test_a_deceptive_cadence_names_what_was_promised_and_what_came() -> None:
    (mark,) = cadences(phrase("C5"), "C:4 F:4 G7:4 Am:4")
    assert "V⁷ promises the tonic and vi comes" in mark.sentence
