"""Passages that come back, in tiny scores with known answers."""

from __future__ import annotations

from fractions import Fraction

import pytest

from analysis.marks import Repeat
from analysis.returns.repeats import find_repeats
from analysis.timebase import Span
from analysis.vocabulary.voices import lead_line
from tests.analysis.tunes import tune

PHRASE = "E4:1 G4:1 A4:1 G4:1 E4:1.5 D4:.5 C4:2"
OTHER = "D4:2 F4:1 E4:1 B3:1 C4:1 D4:2"


def returns(melody: str, **others: str) -> tuple[Repeat, ...]:
    score = tune(melody, **others)
    lines = [lead_line(part) for part in score.parts]
    return find_repeats(score, lines[0], lines[1:])


def places(found: tuple[Repeat, ...]) -> list[tuple[int, int, int]]:
    """First measure, later measure, measures; the first being 0."""
    return [
        (
            int(one.first.start / 4),
            int(one.later.start / 4),
            int((one.later.end - one.later.start) / 4),
        )
        for one in found
    ]


def test_an_exact_return_is_one_passage() -> None:
    (found,) = returns(f"{PHRASE} {OTHER} {PHRASE}")
    assert found.first == Span(Fraction(0), Fraction(8))
    assert found.later == Span(Fraction(16), Fraction(24))
    assert (found.similarity, found.transposition, found.later_part) == (1, 0, "")
    assert found.first_notes == tuple(f"voice{n}" for n in range(1, 8))
    assert found.later_notes == tuple(f"voice{n}" for n in range(14, 21))


def test_other_words_are_the_same_melody() -> None:
    words = "E4:.5 E4:.5 G4:1 A4:.5 A4:.5 G4:1 E4:1.5 D4:.5 C4:1 C4:1"
    assert [one.similarity for one in returns(f"{PHRASE} {OTHER} {words}")] == [1]


def test_another_rhythm_and_an_ornament_are_a_return_less_than_exact() -> None:
    varied = "E4:1.5 G4:.5 A4:.5 B4:.5 G4:1 E4:1.5 D4:.5 C4:2"
    (found,) = returns(f"{PHRASE} {OTHER} {varied}")
    assert 0.72 <= found.similarity < 1


def test_a_return_at_another_pitch_says_how_far() -> None:
    up = "F#4:1 A4:1 B4:1 A4:1 F#4:1.5 E4:.5 D4:2"
    (found,) = returns(f"{PHRASE} {OTHER} {up}")
    assert (found.transposition, found.similarity) == (2, 1)


def test_a_step_in_the_scale_is_not_the_same_intervals() -> None:
    assert returns(f"{PHRASE} {OTHER} F4:1 A4:1 B4:1 A4:1 F4:1.5 E4:.5 D4:2") == ()


def test_another_pickup_makes_no_difference() -> None:
    first = f"r:3 G4:1 {PHRASE}"
    later = f"r:2 C4:1 D4:1 {PHRASE}"
    assert places(returns(f"{first} {OTHER} {later}")) == [(1, 6, 2)]


def test_rests_inside_and_around_a_phrase_belong_to_it() -> None:
    melody = f"{PHRASE} r:4 {OTHER} r:4 {PHRASE} r:4"
    assert places(returns(melody)) == [(0, 6, 3)]


def test_a_figure_going_round_is_paired_turn_by_turn() -> None:
    found = places(returns(" ".join([PHRASE] * 3)))
    assert (0, 2, 2) in found
    assert (2, 4, 2) in found
    assert (0, 4, 2) in found
    assert all(later >= first + length for first, later, length in found)


def test_what_goes_round_for_ever_is_paired_with_its_first_and_its_last_turns() -> None:
    measures = []
    for turns in (60, 120):
        found = places(returns(" ".join([PHRASE] * turns)))
        measures.append(sum(length for _, _, length in found))
        assert {(0, 2 * turns - 2), (2 * turns - 4, 2 * turns - 2)} <= {one[:2] for one in found}
    assert measures[1] < 2.5 * measures[0]


def test_one_measure_and_unlike_phrases_are_no_return() -> None:
    assert returns(f"{PHRASE} {OTHER}") == ()
    assert returns("E4:1 G4:1 A4:1 G4:1 C4:4 E4:1 G4:1 A4:1 G4:1 D4:4") == ()


def test_three_notes_are_too_few() -> None:
    assert returns("E4:4 G4:4 D4:4 F4:4 E4:4 G4:4") == ()


def test_another_part_takes_the_melody_up() -> None:
    silence = " ".join(["r:4"] * 4)
    (found,) = returns(f"{PHRASE} {OTHER} r:8", guitar=f"{silence} {PHRASE}")
    assert (found.part, found.later_part) == ("voice", "guitar")
    assert found.later_notes[0] == "guitar1"


def test_an_octave_lower_in_another_part() -> None:
    low = "E3:1 G3:1 A3:1 G3:1 E3:1.5 D3:.5 C3:2"
    (found,) = returns(f"{PHRASE} {OTHER} r:8", guitar=f"r:16 {low}")
    assert (found.later_part, found.transposition) == ("guitar", -12)


def test_a_doubling_part_adds_no_returns() -> None:
    melody = f"{PHRASE} {OTHER} {PHRASE}"
    assert returns(melody, second=melody) == returns(melody)


@pytest.mark.parametrize("melody", ["", "r:4 r:4"])
def test_nothing_to_hear_is_nothing_to_find(melody: str) -> None:
    assert returns(melody) == ()


@pytest.mark.parametrize("beats", [1, 2, 3])
def test_a_return_some_beats_later_in_the_measure(beats: int) -> None:
    (found,) = returns(f"{PHRASE} {OTHER} r:{beats} {PHRASE} r:{4 - beats}")
    assert found.first == Span(Fraction(0), Fraction(8))
    assert found.later == Span(Fraction(16 + beats), Fraction(24 + beats))
    assert (found.similarity, found.later_part) == (1, "")
    assert found.later_notes == tuple(f"voice{n}" for n in range(14, 21))


def test_a_return_some_beats_sooner_is_the_same_pair() -> None:
    (found,) = returns(f"r:2 {PHRASE} {OTHER} r:2 {PHRASE}")
    assert found.first == Span(Fraction(2), Fraction(10))
    assert found.later == Span(Fraction(20), Fraction(28))


def test_a_return_later_in_the_measure_ends_with_its_last_common_note() -> None:
    """The barlines of the second pass cut into what follows; that is not part of the return."""
    (found,) = returns(f"{PHRASE} F4:2 D4:2 r:2 {PHRASE} B4:1 A4:1 r:4")
    assert found.later == Span(Fraction(14), Fraction(22))
    assert len(found.first_notes) == len(found.later_notes) == 7


def test_a_figure_of_two_beats_is_no_return_at_another_place() -> None:
    found = returns(" ".join(["E4:.5 G4:.5 A4:.5 G4:.5"] * 16))
    assert all(one.first.start % 4 == one.later.start % 4 == 0 for one in found)


def test_a_scale_that_passes_twice_is_no_return_at_another_place() -> None:
    assert returns(f"{OTHER} r:1 E4:1 G4:1 A4:1 B4:2 C5:2 D5:1 E4:1 G4:1 A4:1 C4:4") == ()
