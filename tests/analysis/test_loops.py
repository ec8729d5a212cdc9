"""Chord loops: which, how often, where broken; common practice, no source."""

from __future__ import annotations

import pytest

from analysis.marks import Mark
from analysis.returns.loops import Loop, find_loops
from tests.analysis.tunes import study, tune

AXIS = "C:4 G:4 Am:4 F:4"


def loops(chords: str) -> tuple[Loop, ...]:
    score = tune("", chords)
    return find_loops(score, study(score).chords)


def marks(chords: str) -> list[Mark]:
    return [mark for mark in study(tune("", chords)).marks if mark.kind == "loop"]


def test_four_chords_three_times_are_a_loop() -> None:
    (loop,) = loops(f"{AXIS} {AXIS} {AXIS} Dm:4 G:4")
    assert [fact.chord and str(fact.chord.root) for fact in loop.chords] == ["C", "G", "A", "F"]
    assert (loop.length, loop.turns, loop.breaks) == (4, 3, ())
    assert [(int(one.start), int(one.end)) for one in loop.places] == [(0, 48)]


def test_twice_is_a_repetition_and_no_loop() -> None:
    assert loops(f"{AXIS} {AXIS} Dm:4 G:4") == ()


def test_a_vamp_of_one_measure_goes_round_four_times() -> None:
    assert [loop.turns for loop in loops("Am:2 D:2 Am:2 D:2 Am:2 D:2 Am:2 D:2 E:4")] == [4]
    assert loops("Am:2 D:2 Am:2 D:2 Am:2 D:2 E:4 E:4") == ()


def test_one_chord_is_no_loop() -> None:
    assert loops("C:4 C:4 C:4 C:4 C:4 C:4") == ()


def test_anticipations_and_added_tones_make_no_difference() -> None:
    (loop,) = loops(f"{AXIS} C:3.5 G:4 Am7:4 Fmaj7:4.5 {AXIS}")
    assert loop.turns == 3


def test_the_shortest_turn_counts() -> None:
    (loop,) = loops(" ".join(["Am:4 G:4"] * 8))
    assert (loop.length, loop.turns) == (2, 8)


def test_a_loop_is_broken_where_another_chord_comes_inside_a_turn() -> None:
    (loop,) = loops(f"{AXIS} {AXIS} {AXIS} C:4 E:4 Am:4 F:4")
    assert loop.breaks == (13,)


def test_places_with_the_same_chords_are_one_loop() -> None:
    round_three = f"{AXIS} {AXIS} {AXIS}"
    (loop,) = loops(f"{round_three} Dm:4 E:4 Dm:4 E:4 {round_three}")
    assert len(loop.places) == 2
    assert loop.turns == 6


def test_the_mark_names_the_loop_how_often_and_its_break() -> None:
    (mark,) = marks(f"{AXIS} {AXIS} {AXIS} C:4 E:4 Am:4 F:4")
    assert mark.label == "I–V–vi–IV ×3"
    assert mark.sentence == (
        "A loop of 4 chords, I–V–vi–IV, goes round 3 times, until another chord breaks it in "
        "measure 14."
    )
    assert [one.statement for one in mark.evidence] == [
        "C, G, Am, F go round in 4 measures.",
        "It goes round in measures 1 to 13.",
        "Another chord breaks it in measure 14.",
    ]
    assert mark.elements == ("h1", "h2", "h3", "h4")


@pytest.mark.parametrize("chords", ["", "C:4"])
def test_nothing_goes_round_in_nothing(chords: str) -> None:
    assert loops(chords) == ()
