"""Echoes of the melody in another part, in tiny scores; common practice, no source."""

from __future__ import annotations

from fractions import Fraction

import pytest

from analysis.marks import Mark
from analysis.returns.echoes import Echo, find_echoes
from analysis.vocabulary.voices import lead_line
from tests.analysis.tunes import study, tune

CALL = "E4:.5 F4:.5 G4:1 C5:.5 A4:1.5"
#: The melody holds on while the other part answers, and goes on with something else.
MELODY = f"{CALL} G4:4 D4:2 B3:2 C4:4"


def echoes(answer: str, melody: str = MELODY) -> tuple[Echo, ...]:
    score = tune(melody, guitar=answer)
    voice, guitar = (lead_line(part) for part in score.parts)
    return find_echoes(score, voice, [guitar])


def marks(answer: str, melody: str = MELODY) -> list[Mark]:
    chords = "C:4 G:4 G7:4 C:4"
    found = study(tune(melody, chords, guitar=answer), melody_part="voice").marks
    return [mark for mark in found if mark.kind == "echo"]


def test_the_same_figure_a_measure_later() -> None:
    (echo,) = echoes(f"r:4 {CALL} r:8")
    assert [note.id for note in echo.model] == ["voice1", "voice2", "voice3", "voice4", "voice5"]
    assert [note.id for note in echo.answer] == [f"guitar{n}" for n in range(1, 6)]
    assert (echo.same_rhythm, echo.exact, echo.half_steps, echo.steps) == (True, True, 0, 0)


def test_an_octave_lower_and_a_step_higher_in_the_scale() -> None:
    (low,) = echoes("r:4 E3:.5 F3:.5 G3:1 C4:.5 A3:1.5 r:8")
    assert (low.steps, low.half_steps, low.exact) == (-7, -12, True)
    (up,) = echoes("r:4 F4:.5 G4:.5 A4:1 D5:.5 B4:1.5 r:8")
    assert (up.steps, up.exact) == (1, False)


def test_in_another_rhythm() -> None:
    (echo,) = echoes("r:4 E4:.75 F4:.25 G4:.5 C5:.25 A4:2.25 r:8")
    assert not echo.same_rhythm
    assert len(echo.answer) == 5


def test_one_step_may_differ() -> None:
    melody = "E4:.5 F4:.5 G4:1 C5:.5 A4:.25 B4:.25 C5:1 G4:4 D4:2 B3:2 C4:4"
    (echo,) = echoes("r:4 E4:.5 F4:.5 G4:1 A4:.5 F4:.25 G4:.25 A4:1 r:8", melody)
    assert len(echo.answer) == 7


@pytest.mark.parametrize(
    "answer",
    [
        "C3:4 G2:4 G2:4 C3:4",
        "r:4 C4:1 E4:1 G4:1 E4:1 r:8",
        "r:4 G4:.25 E4:.75 B4:.25 D4:.75 F4:.5 B3:1.5 r:8",
        "C3:1 E3:1 G3:1 E3:1 C3:1 E3:1 G3:1 E3:1 C3:1 E3:1 G3:1 E3:1 C3:1 E3:1 G3:1 E3:1",
    ],
)
def test_long_notes_broken_chords_licks_and_patterns_are_none(answer: str) -> None:
    assert echoes(answer) == ()


def test_a_walk_up_to_the_next_note_answers_nothing() -> None:
    sung = "C5:1 A4:1 G4:1 A4:1 B4:3 r:1 E4:4 " + "C5:4 A4:4 F4:4 " * 6
    score = tune(sung, bass="F2:4 G2:2 A2:1 B2:1 C3:4 " + "F2:4 C3:4 F2:4 " * 6)
    voice, bass = (lead_line(part) for part in score.parts)
    (echo,) = find_echoes(score, voice, [bass])
    assert [str(note.pitch) for note in echo.answer] == ["A2", "B2", "C3"]
    assert find_echoes(score, voice, [], [bass]) == ()


def test_a_bass_that_takes_a_figure_up_is_heard() -> None:
    score = tune(MELODY, bass="r:4 E2:.5 F2:.5 G2:1 C3:.5 A2:1.5 r:8")
    voice, bass = (lead_line(part) for part in score.parts)
    assert [len(echo.answer) for echo in find_echoes(score, voice, [], [bass])] == [5]


def test_a_second_voice_in_parallel_is_company() -> None:
    third = "C4:.5 D4:.5 E4:1 A4:.5 F4:1.5"
    melody = f"{CALL} {CALL} D4:2 B3:2 C4:4"
    assert echoes(f"{third} {third} B3:2 G3:2 E4:4", melody) == ()


def test_an_answer_long_after_is_no_echo() -> None:
    melody = f"{CALL} G4:4 r:4 r:4 r:4"
    assert echoes(f"r:4 r:4 r:4 r:4 {CALL}", melody) == ()


def test_the_mark_says_who_answers_what_and_how() -> None:
    worded = MELODY.replace("E4:.5", "E4:.5=call").replace("F4:.5", "F4:.5=me")
    (mark,) = marks("r:4 F3:.5 G3:.5 A3:1 D4:.5 B3:1.5 r:8", worded)
    assert mark.sentence == (
        "guitar answers “call me” in its rhythm, a step higher and an octave lower."
    )
    assert (mark.parts, mark.words, mark.label) == (("guitar",), "call me", "echo")
    assert mark.span.start == Fraction(4)
    assert mark.confidence >= 0.5


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        (CALL, "repeats {}."),
        ("E3:.5 F3:.5 G3:1 C4:.5 A3:1.5", "repeats {}, an octave lower."),
        ("B3:.5 C4:.5 D4:1 G4:.5 E4:1.5", "answers {} in its rhythm, a fourth lower."),
        ("E4:.75 F4:.25 G4:.5 C5:.25 A4:2.25", "takes up {} in another rhythm."),
    ],
)
def test_sentences(answer: str, said: str) -> None:
    (mark,) = marks(f"r:4 {answer} r:8")
    assert mark.sentence == "guitar " + said.format("the melody of measure 1")


def test_the_melody_takes_its_own_figure_up_at_another_pitch() -> None:
    figure = "E4:.25 F4:.25 G4:1.5 C5:.25 A4:.75 G4:1"
    lower = "D4:.25 E4:.25 F4:1.5 B4:.25 G4:.75 F4:1"
    rest = "C4:1 D4:1 E4:2 F4:2 E4:1 D4:1 C4:4 G3:4 C4:2 D4:2 E4:4"
    (echo,) = echoes("r:4", f"{figure} {lower} {rest}")
    assert echo.answer[0].part == "voice"
    assert echo.steps == -1
