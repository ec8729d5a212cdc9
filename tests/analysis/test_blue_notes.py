"""Blue notes and mixed thirds, and all that looks like them and is something else.

The natural third in the harmony with the lowered one in the melody: D. Temperley, I. Ren & Z. Duan,
"Mediant mixture and ‘blue notes’ in rock", *Music Theory Online* 23.1, 2017. What sets the near
misses apart is common practice without a source.
"""

from __future__ import annotations

import pytest

from analysis.pitch import PitchName
from tests.analysis.tunes import facts, shown, study, tune

KEYS = ["Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B"]


@pytest.mark.parametrize(
    ("melody", "chords", "at", "blue", "third"),
    [
        pytest.param("C5:1 Eb5:1 C5:2", "C:4", 1, "3", True, id="third over I"),
        pytest.param("C5:1 Eb5:1 C5:2", "C7:4", 1, "3", True, id="third over I7, no tension only"),
        pytest.param("C5:1 Eb5:1 C5:2", "G:4", 1, "3", False, id="third against the key, over V"),
        pytest.param(
            "C5:1 Eb5:1 C5:2", "Am:4", 1, "3", False, id="third over vi, whose fifth is E"
        ),
        pytest.param("D5:1 Bb4:1 D5:2", "G:4", 1, "7", False, id="seventh over V"),
        pytest.param("C5:1 Bb4:1 C5:2", "C:4", 1, "7", False, id="seventh against the key"),
        pytest.param("F4:1 Gb4:1 F4:2", "C:4", 1, "5", False, id="fifth"),
        pytest.param("G4:1 F#4:1 F4:2", "C:4", 1, "5", False, id="fifth written as raised fourth"),
        pytest.param("C5:1 D#5:1 C5:2", "C:4", 1, "3", True, id="third written as raised second"),
    ],
)
def test_blue_notes(melody: str, chords: str, at: int, blue: str, third: bool) -> None:
    fact = facts(melody, chords)[at]
    assert (fact.blue, fact.blue_third) == (blue, third)


@pytest.mark.parametrize(
    ("melody", "chords", "key", "at", "third"),
    [
        pytest.param("E5:1 D#5:1 E5:2", "C:4", "C major", 1, True, id="raised second leads up"),
        pytest.param("C5:1 Eb5:1 C5:2", "C7#9:4", "C major", 1, True, id="sharp ninth chord"),
        pytest.param("C5:1 Eb5:1 C5:2", "Cm:4", "C major", 1, False, id="minor tonic borrowed"),
        pytest.param("C5:1 Eb5:1 C5:2", "Ab:4", "C major", 1, False, id="bVI shares it"),
        pytest.param("C5:1 Eb5:1 C5:2", "F7:4", "C major", 1, False, id="IV7 shares it"),
        pytest.param("C5:1 Eb5:1 C5:2", "Cm:4", "C minor", 1, False, id="minor key"),
        pytest.param("C5:1 Bb4:1 C5:2", "Bb:4", "C major", 1, False, id="bVII shares the seventh"),
        pytest.param("C5:1 Bb4:1 C5:2", "C:4", "C mixolydian", 1, False, id="mixolydian seventh"),
        pytest.param("F4:1 F#4:1 G4:2", "C:4", "C major", 1, False, id="raised fourth goes up"),
        pytest.param("D5:1 F#4:1 G4:2", "D:4", "C major", 1, False, id="third of V of V"),
        # By definition the lowered third is over I, by ear it comes early for IV7.
        pytest.param("C5:7/2 Eb5:1/2~ Eb5:4", "C:4 F7:4", "C major", 1, True, id="anticipates IV7"),
    ],
)
def test_what_looks_blue_and_is_not(
    melody: str, chords: str, key: str, at: int, third: bool
) -> None:
    fact = facts(melody, chords, key)[at]
    assert (fact.blue, fact.blue_third) == ("", third)


def test_a_major_tonic_in_a_minor_key_makes_the_minor_third_blue() -> None:
    fact = facts("C5:1 Eb5:1 C5:2", "C:4", "C minor")[1]
    assert (fact.blue, fact.blue_third) == ("3", True)


def test_a_raised_second_is_told_as_such_with_the_other_reading() -> None:
    (mark,) = shown(study(tune("E5:1 D#5:1 E5:2", "C:4")), "melody", "mixed third")
    assert mark.label == "♯2"
    assert [reading.label for reading in mark.alternatives] == ["♭3"]


def test_where_most_raised_seconds_do_not_lead_up_all_are_lowered_thirds() -> None:
    melody = "C5:1 D#5:1 C5:2 C5:1 D#5:1 C5:2 C5:1 D#5:1 E5:2"
    blue = [fact.blue for fact in facts(melody, "C:12") if fact.degree == "#2"]
    assert blue == ["3", "3", "3"]


def test_a_lower_neighbour_of_the_third_stays_one_however_often_it_is_sung() -> None:
    melody = "E5:1 D#5:1/2 D#5:1/2 E5:2 E5:1 D#5:1 E5:2"
    found = facts(melody, "C:8")
    assert {(fact.blue, fact.role) for fact in found if fact.degree == "#2"} == {("", "neighbour")}
    assert shown(study(tune(melody, "C:8")), "mixed third") == []


def test_a_wavering_third_is_one_mark_with_each_instance_and_where_it_goes() -> None:
    melody = "C5:1=so Eb5:1/2=it E5:1/2=wa- Eb5:1=-vers C5:1=on E5:1=and D5:1=on C5:2"
    (mark,) = shown(study(tune(melody, "C7:8")), "melody", "mixed third")
    assert mark.kind == "mixed third"
    assert mark.elements == ("voice2", "voice3", "voice4", "voice6")
    assert mark.words == "it wavers on and"
    assert [one.statement for one in mark.evidence] == [
        "E♭, lowered, at measure 1, beat 2, up to E.",
        "E, natural, at measure 1, beat 2½, down to E♭.",
        "E♭, lowered, at measure 1, beat 3, down by leap to C.",
        "E, natural, at measure 2, beat 1, down to D.",
    ]


def test_thirds_far_apart_do_not_waver() -> None:
    marks = shown(
        study(tune("C5:1 Eb5:1 C5:2 r:8 C5:1 E5:1 C5:2", "C:16")), "melody", "mixed third"
    )
    assert [(mark.kind, mark.label) for mark in marks] == [("melody", "♭3")]


def test_the_same_blue_note_again_at_once_is_one_mark() -> None:
    (mark,) = shown(study(tune("Eb5:1 C5:1 Eb5:1 C5:1", "C:4")), "melody")
    assert mark.elements == ("voice1", "voice3")
    assert mark.sentence.endswith("twice.")


@pytest.mark.parametrize("tonic", KEYS)
def test_in_every_key(tonic: str) -> None:
    low = PitchName.parse(tonic) + -3
    fact = facts(f"{tonic}4:2 {low}5:2", f"{tonic}:4", f"{tonic} major")[1]
    assert (fact.degree, fact.blue, fact.blue_third) == ("b3", "3", True)


@pytest.mark.parametrize(
    ("sung", "backing", "label"),
    [
        pytest.param("G4:2 Eb5:2", "E4:4", "♭3/3", id="at once"),
        pytest.param("E5:2 G4:2", "C4:2 Eb4:2", "♭3/3", id="one after the other"),
    ],
)
def test_a_cross_relation_between_two_voices(sung: str, backing: str, label: str) -> None:
    words = " ".join(f"{token}=la" for token in sung.split())
    score = tune(f"{words} C5:4=la", "C:8", second=f"{backing} C4:4=ooh")
    (mark,) = shown(study(score), "mixed third", "melody")
    assert (mark.kind, mark.label, mark.parts) == ("mixed third", label, ("voice", "second"))
    assert mark.sentence.endswith("in second: a cross relation.")


@pytest.mark.parametrize(
    ("sung", "backing"),
    [
        pytest.param("E5:2 Eb5:2", "C4:2 Eb4:2", id="one voice makes the step itself"),
        pytest.param("Eb5:2 C5:2", "C4:2 G4:2", id="no natural form"),
        pytest.param("Eb5:1 C5:3", "C4:3 E4:1", id="far apart"),
    ],
)
def test_no_cross_relation(sung: str, backing: str) -> None:
    words = " ".join(f"{token}=la" for token in sung.split())
    score = tune(f"{words} C5:4=la", "C:8", second=f"{backing} C4:4=ooh")
    assert [mark for mark in shown(study(score), "mixed third") if len(mark.parts) > 1] == []


def test_the_natural_third_in_an_accompaniment_is_no_voice() -> None:
    score = tune("G4:2=la Eb5:2=la", "C:4", keys="C4+E4+G4:4")
    assert [mark.kind for mark in shown(study(score), "mixed third", "melody")] == ["melody"]
