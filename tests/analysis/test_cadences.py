"""Cadences at phrase ends: PAC, IAC, HC, PC, DC.

The closed list is that of Open Music Theory v1, *cadenceTypes* (from memory).
Each tune is one phrase and a rest, the last note over the last chord.
"""

from __future__ import annotations

import pytest

from analysis.marks import Mark, mark_id
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


# The cadence belongs to the chord under the last note, or to one that comes before that note ends;
# the V of a half cadence is major (OMT v1 *cadenceTypes*, from memory). Confidence: a claim about
# two chords holds only where both do.
@pytest.mark.parametrize(
    ("last", "chords", "kinds"),
    [
        ("C5", "C:4 F:4 Dm:4 G7:1 C:3", ["PAC"]),
        ("D5", "C:4 F:4 Dm:4 G:2 C:2", ["HC"]),
        ("C5", "C:4 F:4 Dm:4 F:1 G7:.5 C:2.5", ["PAC"]),
        ("D5", "C:4 F:4 Dm:4 Gm:4", []),
        ("C5", "C:4 Am:4 F:4 C/E:4", []),
        ("C5", "C:4 F:4 G7:4 Am/C:4", ["DC"]),
    ],
)
def test_the_last_chord_that_comes_under_the_last_note(
    last: str, chords: str, kinds: list[str]
) -> None:
    assert [mark.label for mark in cadences(phrase(last), chords)] == kinds


@pytest.mark.parametrize(("last", "chords", "kind"), CADENCES)
def test_no_cadence_is_surer_than_its_chords(last: str, chords: str, kind: str) -> None:
    found = study(tune(phrase(last), chords), "C major")
    (mark,) = [one for one in found.marks if one.kind == "cadence" and "–" not in one.label]
    under = [one for one in found.chords if one.span.start >= mark.span.start]
    assert under
    assert mark.confidence < min(one.confidence for one in under)


@pytest.mark.parametrize(
    ("last", "chords", "sentence"),
    [
        ("C5", "C:4 F:4 G7:4 C:4", "V⁷ to I with C on top closes the phrase."),
        ("E5", "C:4 F:4 G7:4 C:4", "V⁷ to I, left a little open by E on top."),
        ("C5", "C:4 G:4 F:4 C:4", "IV falls home to I."),
        ("D5", "C:4 F:4 Dm:4 G:4", "the phrase stops on V and waits for an answer."),
    ],
)
def test_the_sentence_names_both_chords(last: str, chords: str, sentence: str) -> None:
    (mark,) = cadences(phrase(last), chords)
    assert mark.sentence.endswith(sentence)


def test_a_cadences_id_tells_its_kind_its_place_and_its_name() -> None:
    """What a person made of a mark is kept by its id, so that must stay as it is."""
    (mark,) = cadences(phrase("C5"), "C:4 F:4 G7:4 C:4")
    assert mark.id == mark_id("cadence", mark.span.start, "PAC")
