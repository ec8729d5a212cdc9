"""Which returns are marked, and what is said of them."""

from __future__ import annotations

from dataclasses import replace

from analysis.marks import DEFAULT_CONFIDENCE, Mark
from analysis.returns.repeat_marks import likeness_of, make_repeat_marks, shift_text
from tests.analysis.test_reharmonisations import HOME, MELODY, OTHER, PHRASE
from tests.analysis.tunes import study, tune


def marks(melody: str, chords: str, **others: str) -> list[Mark]:
    return [mark for mark in study(tune(melody, chords, **others)).marks if mark.kind == "repeat"]


def test_a_reharmonised_return_is_shown_and_told() -> None:
    (mark,) = marks(MELODY, f"{HOME} Am:4 F:4")
    assert [mark.span.start, mark.span.end] == [16, 24]
    assert mark.label == "as m. 1, one new chord"
    assert mark.sentence == (
        "The melody of measure 1 comes back over other chords: in measure 5 Am (vi) "
        "replaces C (I): the sung E turns from third to fifth."
    )
    assert mark.confidence >= DEFAULT_CONFIDENCE
    told = [one.statement for one in mark.evidence]
    assert told[:2] == [
        "The melody is that of measure 1, 100 % alike.",
        "Measure 5: C (I) became Am (vi); the same function in another colour.",
    ]
    assert "The sung G: fifth → seventh." in told


def test_one_chord_of_many_is_no_other_harmony() -> None:
    verse = "C5:1 D5:1 E5:2 F5:2 D5:2 G5:1 E5:1 C5:2 B4:2 D5:2 "
    chords = "C:4 F:4 C:4 G:4 "
    again = [one for one in marks(verse * 2, chords + "C:4 Dm:4 C:4 G:4") if one.fact is not None]
    told = [one.sentence for one in again if "other chord" in one.sentence]
    assert told
    assert all("comes back with one other chord: in measure 6" in one for one in told)
    assert {one.label for one in again} == {"as m. 1, one new chord"}


def test_a_change_of_function_is_said_in_the_sentence() -> None:
    (mark,) = marks(MELODY, f"{HOME} C:4 G:4")
    assert mark.sentence.endswith(
        "in measure 6 G (V) replaces F (IV), dominant instead of subdominant."
    )


def test_a_plain_return_is_kept_but_not_shown() -> None:
    (mark,) = marks(MELODY, f"{HOME} C:4 F:4")
    assert mark.confidence < DEFAULT_CONFIDENCE
    assert mark.sentence == "The melody of measure 1 comes back over the same chords."


def test_a_difference_under_a_rest_only_is_not_shown() -> None:
    short = "E4:1 G4:1 A4:1 G4:1 E4:1 C4:1 r:2"
    (mark,) = marks(f"{short} {OTHER} {short}", "C:4 C:2 F:2 G:4 G7:4 C:4 C:2 G:2")
    assert mark.confidence < DEFAULT_CONFIDENCE


def test_one_statement_for_each_return_the_reharmonised_pair_first() -> None:
    melody = f"{PHRASE} {OTHER} {PHRASE} {OTHER} {PHRASE}"
    found = marks(melody, "C:4 F:4 G:4 G7:4 C:4 F:4 G:4 G7:4 Am:4 F:4")
    later = [mark.span.start for mark in found if mark.confidence >= DEFAULT_CONFIDENCE]
    assert later == [32]
    ends = [mark.span for mark in found]
    assert all(not one.overlaps(two) for one in ends for two in ends if one is not two)


def test_another_part_that_takes_the_melody_up_is_named() -> None:
    phrase = f"{PHRASE} {OTHER}"
    (mark,) = marks(f"{phrase} r:16", f"{HOME} {HOME}", guitar=f"r:16 {phrase}")
    assert mark.parts == ("guitar",)
    assert mark.sentence == "guitar takes up the melody of measure 1 over the same chords."
    assert mark.confidence >= DEFAULT_CONFIDENCE


def test_short_passages_are_doubted_sooner_than_long_ones() -> None:
    (found,) = study(tune(MELODY, f"{HOME} Am:4 F:4")).repeats
    unlike = replace(found, similarity=0.8)
    longer = replace(unlike, sounding=6 * unlike.sounding)
    assert likeness_of(unlike) < DEFAULT_CONFIDENCE < likeness_of(longer)
    score = tune(MELODY)
    (mark,) = make_repeat_marks(score, [unlike])
    assert mark.confidence == round(likeness_of(unlike), 3)


def test_shifts_in_words() -> None:
    assert [shift_text(n) for n in (1, 2, -3, 12, -12, 24)] == [
        "a half step higher",
        "a whole step higher",
        "3 half steps lower",
        "an octave higher",
        "an octave lower",
        "2 octaves higher",
    ]


def test_a_return_at_another_place_of_the_measure_says_so() -> None:
    melody = f"{PHRASE} {OTHER} r:2 {PHRASE} r:2"
    (mark,) = marks(melody, f"{HOME} C:2 Am:4 F:6")
    assert [mark.span.start, mark.span.end] == [18, 26]
    assert "It begins on beat 3 of the measure, not 1." in [one.statement for one in mark.evidence]
    assert "Am (vi) replaces C (I)" in mark.sentence


def test_a_phrase_that_another_part_has_exactly_over_other_chords_is_shown() -> None:
    (mark,) = marks(f"{PHRASE} {OTHER} r:8", f"{HOME} Am:4 F:4", guitar=f"r:16 {PHRASE}")
    assert mark.confidence >= DEFAULT_CONFIDENCE
    assert mark.sentence.startswith("guitar takes up the melody of measure 1")
    (plain,) = marks(f"{PHRASE} {OTHER} r:8", f"{HOME} C:4 F:4", guitar=f"r:16 {PHRASE}")
    assert plain.confidence < DEFAULT_CONFIDENCE
