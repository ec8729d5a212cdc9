"""Runs in rows of pitches: arithmetic with known answers."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from analysis.lines.line_runs import Step, find_fifth_runs, find_stepwise_runs, sides_of
from analysis.timebase import Span


def row(*sounds: int, lengths: tuple[int, ...] = (), register: bool = True) -> list[Step]:
    steps = []
    start = Fraction(0)
    for at, sound in enumerate(sounds):
        end = start + (lengths[at] if lengths else 4)
        steps.append(Step(Span(start, end), sound, register))
        start = end
    return steps


def found(steps: list[Step]) -> list[tuple[int, int, str, str]]:
    return [(run.first, run.last, run.kind, run.direction) for run in find_stepwise_runs(steps)]


@pytest.mark.parametrize(
    ("sounds", "runs"),
    [
        ((48, 50, 52, 53), [(0, 3, "diatonic", "up")]),
        ((48, 47, 46), [(0, 2, "chromatic", "down")]),
        ((52, 50, 49, 48, 47), [(0, 4, "chromatic", "down")]),
        # Two half steps in a long line of whole ones leave it a line of the scale.
        ((48, 50, 52, 53, 54, 56, 58), [(0, 6, "diatonic", "up")]),
        ((48, 50, 52, 50, 48), [(0, 2, "diatonic", "up"), (2, 4, "diatonic", "down")]),
        ((48, 50, 48), []),
        ((48, 55, 53), []),
    ],
)
def test_stepwise_runs(sounds: tuple[int, ...], runs: list[tuple[int, int, str, str]]) -> None:
    assert found(row(*sounds)) == runs


def test_without_register_a_step_is_the_near_one() -> None:
    assert found(row(1, 0, 11, 10, register=False)) == [(0, 3, "chromatic", "down")]
    assert found(row(13, 12, 23, 22)) == []


def test_a_run_ends_on_a_pitch_that_rests() -> None:
    steps = row(43, 44, 45, 46, 48, lengths=(4, 4, 4, 8, 4))
    assert found(steps) == [(0, 3, "chromatic", "up")]
    slower = row(43, 44, 45, 46, 48, lengths=(2, 2, 4, 4, 4))
    assert found(slower) == [(0, 3, "chromatic", "up")]


def test_a_chromatic_run_ends_with_its_last_half_step() -> None:
    assert found(row(53, 52, 51, 50, 48)) == [(0, 3, "chromatic", "down")]
    # 8–♭7–6–♭6–5: a whole step at the head is a part of it.
    assert found(row(60, 58, 57, 56, 55)) == [(0, 4, "chromatic", "down")]


def test_a_run_arrives_on_the_first_pitch_of_a_section_and_goes_no_further() -> None:
    steps = row(60, 59, 57, 55, 53, 52, 50)
    steps = [replace(step, begins=at == 3) for at, step in enumerate(steps)]
    assert found(steps) == [(0, 3, "diatonic", "down"), (3, 6, "diatonic", "down")]


def test_a_gap_parts_two_runs() -> None:
    steps = row(48, 50, 52, 53)
    late = [*steps[:2], *(Step(Span(s.span.start + 4, s.span.end + 4), s.sound) for s in steps[2:])]
    assert found(late) == []


def test_fifths_with_one_diminished_fifth_inside() -> None:
    circle = row(45, 50, 43, 48, 41, 47, 52)
    assert [(run.first, run.last) for run in find_fifth_runs(circle)] == [(0, 6)]
    at_the_end = row(50, 43, 48, 41, 47)
    assert [(run.first, run.last) for run in find_fifth_runs(at_the_end)] == [(0, 3)]
    assert find_fifth_runs(row(50, 43, 48)) == ()


@pytest.mark.parametrize(
    ("other", "motion"),
    [
        ((72, 74, 76, 79), "contrary"),
        ((64, 62, 60, 59), "parallel"),
        ((72, 72, 76, 79), ""),
        ((72, None, 76, 79), ""),
    ],
)
def test_motion_against_a_falling_bass(other: tuple[int | None, ...], motion: str) -> None:
    assert sides_of(row(48, 47, 45, 43), other) == motion
