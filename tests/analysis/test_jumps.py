"""Played order: repeats, endings, jumps; known answers from common practice (no source)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.reading.jumps import Signs, played_order
from tests.analysis.snippets import attributes, note, read

WHOLE = note("C4", 16)


def left(content: str) -> str:
    return f'<barline location="left">{content}</barline>'


def right(content: str) -> str:
    return f'<barline location="right">{content}</barline>'


FORWARD = '<repeat direction="forward"/>'
BACKWARD = '<repeat direction="backward"/>'


def ending(numbers: str, kind: str) -> str:
    return f'<ending number="{numbers}" type="{kind}"/>'


def words(text: str) -> str:
    return f"<direction><direction-type><words>{text}</words></direction-type></direction>"


def sign(name: str, sound: str = "") -> str:
    return f"<direction><direction-type><{name}/></direction-type>{sound}</direction>"


def order(*measures: str) -> tuple[int, ...]:
    """Played order; ``|`` in a measure stands for its note."""
    music = [measure.replace("|", WHOLE) if "|" in measure else measure for measure in measures]
    music[0] = attributes() + music[0]
    return read(music).played


def test_without_signs_the_written_order_is_played() -> None:
    assert order("|", "|", "|") == (0, 1, 2)


def test_a_repeat_from_the_beginning() -> None:
    assert order("|", "|" + right(BACKWARD), "|") == (0, 1, 0, 1, 2)


def test_a_repeat_between_two_signs() -> None:
    assert order("|", left(FORWARD) + "|", "|" + right(BACKWARD), "|") == (0, 1, 2, 1, 2, 3)


def test_a_repeat_without_a_beginning_goes_back_to_the_last_one() -> None:
    assert order("|" + right(BACKWARD), "|" + right(BACKWARD), "|") == (0, 0, 1, 1, 2)


def test_a_repeat_may_be_played_three_times() -> None:
    assert order("|" + right('<repeat direction="backward" times="3"/>'), "|") == (0, 0, 0, 1)


def test_two_endings() -> None:
    played = order(
        left(FORWARD) + "|",
        left(ending("1", "start")) + "|" + right(ending("1", "stop") + BACKWARD),
        left(ending("2", "start")) + "|" + right(ending("2", "discontinue")),
        "|",
    )
    assert played == (0, 1, 0, 2, 3)


def test_endings_of_several_measures_and_for_several_passes() -> None:
    played = order(
        "|",
        left(ending("1, 2", "start")) + "|",
        "|" + right(ending("1, 2", "stop") + BACKWARD),
        left(ending("3", "start")) + "|",
        "|" + right(ending("3", "stop")),
        "|",
    )
    assert played == (0, 1, 2, 0, 1, 2, 0, 3, 4, 5)


def test_a_first_ending_alone() -> None:
    played = order(
        "|", left(ending("1", "start")) + "|" + right(ending("1", "stop") + BACKWARD), "|"
    )
    assert played == (0, 1, 0, 2)


def test_a_last_ending_that_repeats_too() -> None:
    played = order(
        "|",
        left(ending("1", "start")) + "|" + right(ending("1", "stop") + BACKWARD),
        left(ending("2", "start")) + "|" + right(ending("2", "stop") + BACKWARD),
        "|",
    )
    assert played == (0, 1, 0, 2, 3)


def test_two_groups_of_endings() -> None:
    first = left(ending("1", "start")) + "|" + right(ending("1", "stop") + BACKWARD)
    second = left(ending("2", "start")) + "|" + right(ending("2", "stop"))
    played = order("|", first, second, left(FORWARD) + "|", first, second)
    assert played == (0, 1, 0, 2, 3, 4, 3, 5)


def test_an_ending_that_only_says_where_it_stops() -> None:
    played = order(
        "|", "|" + right(ending("1", "stop") + BACKWARD), "|" + right(ending("2", "stop")), "|"
    )
    assert played == (0, 1, 0, 2, 3)


def test_a_second_ending_without_a_first_is_played() -> None:
    assert order("|" + right(BACKWARD), left(ending("2", "start")) + "|", "|") == (0, 0, 1, 2)


@pytest.mark.parametrize("jump", ["D.C.", "DC", "Da Capo", "D. C.", '<sound dacapo="yes"/>'])
def test_da_capo(jump: str) -> None:
    said = jump if jump.startswith("<") else words(jump)
    assert order("|", "|" + said) == (0, 1, 0, 1)


def test_da_capo_al_fine_takes_no_repeats_and_the_last_ending() -> None:
    played = order(
        "|",
        left(ending("1", "start")) + "|" + right(ending("1", "stop") + BACKWARD),
        left(ending("2", "start")) + "|" + right(ending("2", "stop")) + words("Fine"),
        "|" + words("D.C. al Fine"),
    )
    assert played == (0, 1, 0, 2, 3, 0, 2)


def test_dal_segno_al_fine() -> None:
    played = order("|", sign("segno") + "|", "|" + words("Fine"), "|" + words("D.S. al Fine"))
    assert played == (0, 1, 2, 3, 1, 2)


def test_dal_segno_al_coda() -> None:
    played = order(
        "|",
        sign("segno") + "|",
        "|" + words("To Coda"),
        "|" + words("D.S. al Coda"),
        sign("coda") + "|",
        "|",
    )
    assert played == (0, 1, 2, 3, 1, 2, 4, 5)


def test_dal_segno_al_coda_by_sounds() -> None:
    played = order(
        "|",
        sign("segno", '<sound segno="s"/>') + "|",
        "|" + sign("coda", '<sound tocoda="c"/>'),
        "|" + '<sound dalsegno="s"/>',
        sign("coda", '<sound coda="c"/>') + "|",
    )
    assert played == (0, 1, 2, 3, 1, 2, 4)


def test_two_coda_signs_without_a_word() -> None:
    played = order("|", "|" + sign("coda"), "|" + words("D.C. al Coda"), sign("coda") + "|")
    assert played == (0, 1, 2, 0, 1, 3)


def test_a_jump_whose_words_stand_before_the_last_repeat() -> None:
    played = order("|", left(FORWARD) + "|", "|" + words("D.C."), "|" + right(BACKWARD))
    assert played == (0, 1, 2, 3, 1, 2, 3, 0, 1, 2, 3)


def test_words_that_only_look_like_jumps() -> None:
    assert order("|" + words("D C G"), "|" + words("very fine"), "|" + words("Coda")) == (0, 1, 2)


def test_signs_of_any_part_count() -> None:
    music = [attributes() + WHOLE, WHOLE]
    repeated = [attributes() + WHOLE + right(BACKWARD), WHOLE]
    assert read(music, repeated).played == (0, 0, 1)


def test_signs_that_ask_for_no_end_leave_the_written_order() -> None:
    twenty = [Signs(forward=True, backward=20) for _ in range(3)]
    assert played_order(twenty) == (0,) * 20 + (1,) * 20 + (2,) * 20
    many = Signs(backward=20, endings=frozenset({99}), ending_starts=True, ending_stops=True)
    assert played_order([many]) == (0,)


signs = st.builds(
    Signs,
    forward=st.booleans(),
    backward=st.sampled_from([0, 0, 0, 2, 3]),
    endings=st.frozensets(st.integers(1, 4), max_size=2),
    ending_starts=st.booleans(),
    ending_stops=st.booleans(),
    segno=st.booleans(),
    coda=st.booleans(),
    tocoda=st.booleans(),
    fine=st.booleans(),
    dacapo=st.booleans(),
    dalsegno=st.booleans(),
)


@given(st.lists(signs, min_size=1, max_size=12))
def test_any_signs_come_to_an_end_within_the_score(measures: list[Signs]) -> None:
    played = played_order(measures)
    assert played
    assert set(played) <= set(range(len(measures)))
    assert len(played) <= 50 * len(measures)
