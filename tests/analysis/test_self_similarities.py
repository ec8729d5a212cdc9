"""A piece compared with itself, against the plain definitions."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from analysis.form.section_boundaries import describe_barlines
from analysis.form.self_similarities import NEAR, Array, SelfSimilarity, novelty, stretch_ends
from analysis.score import Score
from analysis.vocabulary.voices import lead_line
from tests.analysis.tunes import study, tune


def likeness(count: int) -> Array:
    """A symmetric likeness of so many measures."""
    values = np.random.default_rng(count).random((count, count))
    return np.asarray((values + values.T) / 2)


def clarity(alike: Array, one: int, two: int) -> tuple[float, float]:
    """How clearly a common stretch begins, and ends, at two distant measures."""
    if abs(one - two) < NEAR:
        return -1.0, -1.0
    room, past = len(alike) - max(one, two), min(one, two)
    ahead = np.mean([alike[one + step, two + step] for step in range(min(NEAR, room))])
    before = [alike[one - step, two - step] for step in range(1, min(NEAR, past) + 1)]
    behind = np.mean(before) if before else 0.0
    return float(ahead * (1 - behind)), float(behind * (1 - ahead))


@pytest.mark.parametrize("count", [1, 2, 3, 5, 9, 40, 137])
@pytest.mark.parametrize("passes", [1, 4])
def test_stretches_begin_and_end_where_four_measures_say_so(count: int, passes: int) -> None:
    alike = likeness(count)
    for found, way in zip(stretch_ends(alike, passes), (0, 1), strict=True):
        for at in range(count):
            every = sorted(clarity(alike, at, other)[way] for other in range(count))
            assert found[at] == pytest.approx(np.mean(every[-passes:]))


@pytest.mark.parametrize("count", [1, 2, 9, 40])
def test_novelty_is_what_each_side_shares_less_what_both_do(count: int) -> None:
    alike, width = likeness(count), 8
    found = novelty(alike, width)
    assert found[0] == 0
    for at in range(1, count):
        before, after = alike[max(at - width, 0) : at], alike[at : at + width]
        one, two = slice(max(at - width, 0), at), slice(at, at + width)
        within = (before[:, one].mean() + after[:, two].mean()) / 2
        assert found[at] == pytest.approx(within - before[:, two].mean())


def piece(score: Score) -> SelfSimilarity:
    return SelfSimilarity(score.measures, lead_line(score.parts[0]), study(score).chords)


def test_measures_are_like_each_other_by_melody_and_chords() -> None:
    found = piece(tune("C4:2 E4:2 C4:2 E4:2 r:4 r:4", "C:4 C:2 F:2 F:4 F:4"))
    assert found.harmony[0].tolist() == [1, 0.5, 0, 0]
    assert found.melody[0].tolist() == [1, 1, 0, 0]
    assert found.both[0].tolist() == [1, 0.75, 0, 0]
    assert found.both[1, 2] == pytest.approx(0.3 * 0.5)
    assert found.both[2, 3] == 1
    assert found.sung[2, 3] == 0.6
    assert found.of_sections(range(2), range(2, 4)) == pytest.approx((0 + 0.15) / 2)


def test_a_melody_that_is_over_rests_until_the_end_of_the_piece() -> None:
    score = tune("C4:2 E4:2 G4:4 r:4 r:4", "C:4 C:4 C:4 C:4")
    *others, last = score.measures
    cut = replace(score, measures=(*others, replace(last, length=Fraction(1))))
    described = describe_barlines(piece(cut))
    assert described["gap in melody"].tolist() == [0, 0.5, 2.25, 3]
    assert described["wait for melody"].tolist() == [0, 0, 1.25, 1]


def test_unknown_values_make_no_difference() -> None:
    # The register of a melody that sings in the middle only.
    score = tune(" ".join(["r:4"] * 5 + ["C4:4", "C5:4"] + ["r:4"] * 5), "C:4")
    register = describe_barlines(piece(score))["register"]
    assert np.flatnonzero(register).tolist() == [6]
    assert register[6] == 2
