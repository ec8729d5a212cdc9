"""Cadences at phrase ends: PAC, IAC, HC, PC, DC.

The closed list is that of Open Music Theory v1, *cadenceTypes* (from memory).
Each tune is one phrase and a rest, the last note over the last chord.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from analysis.marks import Corrections, Mark, mark_id
from analysis.pipeline import analyse
from analysis.pitch import Key
from analysis.timebase import Span
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
        # Dominants other than V and vii°, one that is another chord's, a tonic that leads on.
        "C:4 F:4 Db7:4 C:4",
        "C:4 Fm:4 Bb7:4 C:4",
        "C:4 F:4 E7:4 Am:4",
        "C:4 F:4 G7:4 C7:2 F:2",
        "NC:16 C:4",
    ],
)
def test_what_is_no_cadence(chords: str) -> None:
    assert cadences(phrase("C5"), chords) == []


def test_the_lowered_seventh_degree_of_minor_makes_no_authentic_cadence() -> None:
    """VII has no leading tone (OMT v1 *popRockHarmony*: VI–VII–i is S–D–T, but no V–i)."""
    assert cadences(phrase("C5"), "Cm:4 Ab:4 Bb:4 Cm:4", "C minor") == []


def test_a_dominant_before_the_phrase_is_none_of_its_cadence() -> None:
    """The second phrase is sung over a tonic that has already come."""
    melody = "C5:1 D5:1 E5:1 F5:1 " * 2 + "D5:2 r:4 E5:1 D5:1 C5:2 r:2"
    assert [mark.label for mark in cadences(melody, "C:4 F:4 G7:4 C:8")] == ["HC"]


def test_a_dominant_of_another_key_makes_no_cadence() -> None:
    """Up to the last chord the tune is heard in D minor, where G7 is the blue IV."""
    score = tune(phrase("C5"), "C:4 F:4 G7:4 C:4")
    borders = Span(Fraction(0), Fraction(12)), Span(Fraction(12), score.end)
    keys = tuple(zip(borders, (Key.parse("D minor"), Key.parse("C major")), strict=True))
    marks = analyse(score, corrections=Corrections(keys=keys)).marks
    assert [mark for mark in marks if mark.kind == "cadence"] == []


def test_a_mark_points_at_both_chords_and_the_last_note() -> None:
    """A half cadence is one chord."""
    (closed,) = cadences(phrase("C5"), "C:4 F:4 G7:4 C:4")
    assert closed.span == Span(Fraction(8), Fraction(16))
    assert closed.elements == ("h3", "h4", "voice13")
    assert closed.parts == ("voice",)
    assert [one.statement for one in closed.evidence] == [
        "G7 is V⁷.", "C is I.", "The phrase ends on C.", "The phrase goes T–S–D–T.",
    ]  # fmt: skip
    assert [one.elements for one in closed.evidence] == [("h3",), ("h4",), ("voice13",), ()]
    (half,) = cadences(phrase("D5"), "C:4 F:4 Dm:4 G:4")
    assert half.span == Span(Fraction(12), Fraction(16))
    assert half.elements == ("h4", "voice13")


def test_the_perfect_cadence_is_the_surest() -> None:
    """It is the strongest close: OMT v1 *cadenceTypes* (from memory)."""
    sure = {kind: cadences(phrase(last), chords)[0].confidence for last, chords, kind in CADENCES}
    assert max(sure, key=lambda kind: sure[kind]) == "PAC"


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
        # A tonic struck again, or one that comes after a break, is still what the dominant led to.
        ("C5", "C:4 F:4 G7:2 C:2 C:4", ["PAC"]),
        ("C5", "C:4 F:4 G7:3 NC:1 C:4", ["PAC"]),
        # A half cadence stands on a root position; its fourth may still hang over.
        ("D5", "C:4 F:4 Dm:4 G/B:4", []),
        ("C5", "C:4 F:4 Dm:4 Gsus4:4", ["HC"]),
        # A short V that only carries the bass from IV to vi deceives nobody; a longer one does.
        ("C5", "C:4 C:4 F:3 G:1 Am:4", []),
        ("C5", "C:4 C:4 F:2 G:2 Am:4", ["DC"]),
        # Nor does a diminished chord that comes.
        ("C5", "C:4 F:4 G7:4 Adim:4", []),
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


def test_a_turnaround_into_the_next_round_closes_nothing() -> None:
    """V under the upbeat belongs to the round before; the line it leads into stands on I."""
    line = "E5:1 D5:1 C5:2 C5:1 D5:1 C5:2"
    melody = f"C5:1 D5:1 E5:1 F5:1 E5:2 r:2 r:3 G4:1 {line} r:4"
    found = cadences(melody, "C:4 C:4 G7:4 C:8 C:4")
    assert [mark.label for mark in found] == []


def test_what_leads_on_under_a_held_tonic_takes_nothing_from_its_close() -> None:
    """The phrase ends with the tonic; A7–Dm–G7 under its last note is the way back."""
    melody = "C5:1 D5:1 E5:1 F5:1 " * 2 + "D5:4 C5:4 r:4"
    (closed,) = cadences(melody, "C:4 F:4 G7:4 C:1 A7:1 Dm:1 G7:1 C:4")
    assert closed.label == "PAC"


@pytest.mark.parametrize(
    ("after", "said"),
    [
        ("C:4", "and C answers."),
        ("Am:4", "and Am answers in place of C."),
        ("NC:4", "waits for an answer."),
    ],
)
def test_a_half_cadence_says_what_its_chord_says(after: str, said: str) -> None:
    """What the mark of the dominant calls its resolution, the cadence calls the answer."""
    melody = "C5:1 D5:1 E5:1 F5:1 " * 2 + "E5:2 D5:2 r:4 " + "E5:4"
    (half,) = cadences(melody, f"C:4 F:4 G7:4 {after} C:4")
    assert half.label == "HC"
    assert half.sentence.endswith(said)
