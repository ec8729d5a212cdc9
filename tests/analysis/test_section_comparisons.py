"""What is new when a section comes back."""

from __future__ import annotations

from dataclasses import replace

from analysis.marks import Mark
from analysis.score import RehearsalMark, Score
from tests.analysis.tunes import study, tune

VERSE = "E4:1 G4:1 A4:1 G4:1 E4:1.5 D4:.5 C4:2 D4:2 F4:1 E4:1 B3:1 C4:1 D4:2"
SUNG = VERSE.replace("E4:1 ", "E4:1=one ", 1)
OTHER_WORDS = VERSE.replace("E4:1 ", "E4:1=two ", 1)
CHORDS = "C:4 F:4 G:4 G7:4"


def named(score: Score, *marks: tuple[int, str]) -> Score:
    rehearsal = tuple(
        RehearsalMark(f"r{at}", at, score.measures[at].onset, text) for at, text in marks
    )
    return replace(score, rehearsal_marks=rehearsal)


def second(melody: str, chords: str, **others: str) -> Mark:
    """The mark of the second verse, which begins in measure 5."""
    score = named(tune(melody, chords, **others), (0, "Verse 1"), (4, "Verse 2"))
    marks = [mark for mark in study(score, melody_part="voice").marks if mark.kind == "section"]
    return marks[1]


def test_nothing_new_is_said_so() -> None:
    mark = second(f"{SUNG} {SUNG}", f"{CHORDS} {CHORDS}")
    assert mark.sentence == "Verse 2 is Verse 1 again."
    statements = [one.statement for one in mark.evidence]
    assert statements[-2:] == ["The melody is that of Verse 1.", "The words are the same."]


def test_new_chords_and_new_words() -> None:
    mark = second(f"{SUNG} {OTHER_WORDS}", f"{CHORDS} Am:4 F:4 G:4 G7:4")
    assert mark.sentence == (
        "Verse 2 brings Verse 1 back; new: Am (vi) in measure 5 where C (I) was, other words."
    )
    assert "Measure 5 has Am (vi) where measure 1 has C (I); other chords in 1 place." in [
        one.statement for one in mark.evidence
    ]


def test_another_length_and_melody() -> None:
    shorter = "E4:1 G4:1 A4:1 G4:1 A4:4"
    mark = second(f"{SUNG} {shorter}", f"{CHORDS} C:4 F:4")
    assert "2 measures instead of 4" in mark.sentence
    assert "another melody" in mark.sentence


def test_who_joins_and_who_rests() -> None:
    mark = second(
        f"{SUNG} {SUNG}",
        f"{CHORDS} {CHORDS}",
        strings="r:16 C5:4 C5:4 B4:4 B4:4",
        organ="C3:4 C3:4 B2:4 B2:4 r:16",
    )
    assert mark.sentence == "Verse 2 brings Verse 1 back; new: strings joins, organ rests."


def test_a_section_that_is_heard_once_says_where_it_begins() -> None:
    score = named(tune(f"{SUNG} {SUNG}", f"{CHORDS} {CHORDS}"), (0, "Verse"), (4, "Bridge"))
    marks = [mark for mark in study(score).marks if mark.kind == "section"]
    assert [mark.sentence for mark in marks] == [
        "Verse begins in measure 1.",
        "Bridge begins in measure 5.",
    ]
