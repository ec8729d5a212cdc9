"""How alike measures are, with known answers."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.returns.measure_contents import (
    SILENT,
    ContentKinds,
    alike_when_moved,
    longest_common,
    measure_contents,
)
from analysis.vocabulary.voices import lead_line
from tests.analysis.tunes import tune
from tests.strategies import voice_lines


def likeness(text: str, meter: str = "4/4") -> list[list[float]]:
    """Likeness of each pair of measures of a line."""
    score = tune(text, meter=meter)
    kinds = ContentKinds([measure_contents(score.measures, lead_line(score.parts[0]))])
    table = kinds.likeness()
    row = kinds.rows[0]
    return [[float(table[one, two]) for two in row] for one in row]


def test_a_measure_holds_its_pitches_on_the_grid_and_its_row_without_repetitions() -> None:
    score = tune("C4:1 C4:1 r:1 E4:1~ E4:4")
    first, second = measure_contents(score.measures, lead_line(score.parts[0]))
    assert first.cells == (60,) * 24 + (SILENT,) * 12 + (64,) * 12
    assert first.row == (60, 64)
    assert second.cells == (64,) * 48
    assert second.silent


def test_syllables_and_repeated_notes_make_no_difference() -> None:
    assert likeness("C4:2 E4:2 C4:1 C4:1 E4:.5 E4:1.5")[0][1] == 1


def test_half_of_the_time_and_half_of_the_row_is_half_alike() -> None:
    assert likeness("C4:2 E4:2 C4:2 F4:2")[0][1] == pytest.approx((0.5 + 0.5) / 2)


def test_many_measures_are_compared_in_blocks_to_the_same_end(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    text = "C4:2 E4:2 C4:2 F4:2 C4:4 r:4 G4:2 E4:2 C4:1 E4:1 F4:2 E4:4 C4:3 E4:1"
    whole = likeness(text)
    monkeypatch.setattr("analysis.returns.measure_contents._BLOCK", 2)
    assert likeness(text) == whole
    assert sum(0 < one < 1 for row in whole for one in row) >= 10


def test_silent_measures_and_other_lengths_are_not_alike() -> None:
    table = likeness("C4:4 r:4 r:4 C4:4")
    assert table[1][2] == 0
    assert table[0][1] == 0
    assert table[0][3] == 1


def test_triplets_are_told_from_eighths() -> None:
    table = likeness("C4:1/3 D4:1/3 E4:1/3 C4:3 C4:1/2 E4:1/2 C4:3")
    assert 0.7 < table[0][1] < 1


def test_moved_measures_are_alike_at_their_distance_only() -> None:
    score = tune("C4:1 E4:1 G4:2 D4:1 F#4:1 A4:2")
    first, second = measure_contents(score.measures, lead_line(score.parts[0]))
    assert alike_when_moved(first, second, 2) == 1
    assert alike_when_moved(first, second, 0) == 0


@given(voice_lines(4, 6))
def test_likeness_is_symmetric_and_in_range_and_agrees_with_the_slow_way(text: str) -> None:
    score = tune(text)
    line = lead_line(score.parts[0])
    contents = measure_contents(score.measures, line)
    kinds = ContentKinds([contents])
    table = kinds.likeness()
    assert (table == table.T).all()
    assert ((table >= 0) & (table <= 1)).all()
    for one, first in enumerate(kinds.kinds):
        for two, later in enumerate(kinds.kinds):
            if one != two:
                slow = alike_when_moved(first, later, 0)
                assert table[one, two] == pytest.approx(slow, abs=1e-6)


def test_rows_are_compared_in_order() -> None:
    assert longest_common([1, 2, 3, 4], [1, 3, 2, 4]) == 3
    assert longest_common([], [1]) == 0


@given(st.lists(st.integers(60, 65), max_size=9), st.lists(st.integers(60, 65), max_size=9))
def test_the_longest_common_row_is_that_of_the_usual_table(one: list[int], two: list[int]) -> None:
    table = [[0] * (len(two) + 1) for _ in range(len(one) + 1)]
    for at, first in enumerate(one):
        for by, later in enumerate(two):
            longer = max(table[at][by + 1], table[at + 1][by])
            table[at + 1][by + 1] = table[at][by] + 1 if first == later else longer
    assert longest_common(one, two) == table[-1][-1]
