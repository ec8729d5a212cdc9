"""Orders of functions: what a phrase goes through, and where it turns the usual order round."""

from __future__ import annotations

from analysis.marks import Analysis
from analysis.timebase import Fraction, Span
from tests.analysis.tunes import study, tune

PHRASE = "C5:1 D5:1 E5:1 F5:1 " * 3 + "C5:2 r:2 "


def analysis(chords: str, phrases: int = 1) -> Analysis:
    return study(tune(PHRASE * phrases, chords), "C major")


def test_the_usual_order() -> None:
    """T–S–D–T (Open Music Theory v1, *harmonicFunctions*)."""
    (phrase,) = analysis("C:4 F:4 G7:4 C:4").phrases
    assert phrase.order == "T–S–D–T"
    assert phrase.back is None


def test_like_neighbours_are_joined_and_each_phrase_is_by_itself() -> None:
    found = analysis("C:2 Am:2 F:2 Dm:2 G:4 C:4 F:4 C:4 F:4 C:4 ", 2).phrases
    assert [phrase.order for phrase in found] == ["T–S–D–T", "S–T–S–T"]


def test_a_dominant_that_steps_back_is_pointed_at() -> None:
    """After V, IV comes in 22.5 % of cases in rock (theory notes, *Rock corpus*)."""
    found = analysis("C:4 G:4 F:4 C:4")
    (phrase,) = found.phrases
    assert phrase.order == "T–D–S–T"
    assert phrase.back is not None
    assert phrase.back == Span(Fraction(4), Fraction(12))
    (mark,) = [mark for mark in found.marks if mark.label == "D–S"]
    assert mark.span == phrase.back
    assert mark.elements == ("h2", "h3")
    assert "V steps back to IV" in mark.sentence
    assert len(mark.sentence.split()) < 30


def test_in_a_blues_that_is_the_order() -> None:
    """Open Music Theory v1, *popRockHarmony*: V IV I/ ends the twelve measures."""
    found = analysis("C7:4 G7:4 F7:4 C7:4")
    assert [phrase.back for phrase in found.phrases] == [None]
    assert not [mark for mark in found.marks if mark.label == "D–S"]


def test_an_applied_dominant_of_two_is_no_step_back() -> None:
    found = analysis("C:4 A7:4 Dm:4 G7:4")
    assert [phrase.back for phrase in found.phrases] == [None]
