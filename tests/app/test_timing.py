"""When talking points stand: tempo, played order, reading time, shift and ripple."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.score import Score, Tempo
from analysis.timebase import Span
from app.export.talking_points import talking_points
from app.export.timing import (
    Clock,
    Time,
    TimedPoint,
    reading_time,
    rippled,
    shifted,
    timed_points,
    words_of,
)
from tests.app.reviews import SAMPLES, read_sample


def score_of(tempos: tuple[Tempo, ...], played: tuple[int, ...] = ()) -> Score:
    """A sample's first eight measures' grid, with these tempos and this order."""
    _, document = read_sample("wednesday-table")
    measures = document.score.measures
    return replace(document.score, measures=measures, tempos=tempos, played=played)


def quarters(score: Score) -> Fraction:
    return score.measures[-1].span.end - score.measures[0].onset


def test_a_score_without_tempo_goes_at_120() -> None:
    score = score_of(())
    assert Clock(score).length == quarters(score) / 2


def test_tempos_hold_from_their_place_even_within_a_measure() -> None:
    score = score_of(())
    middle = score.measures[2].onset + 1
    score = replace(score, tempos=(Tempo(Fraction(0), 60.0), Tempo(middle, 240.0)))
    clock = Clock(score)
    assert clock.times_of(middle) == [middle]
    assert clock.times_of(middle + 4) == [middle + 1]
    assert clock.first_time(Span(middle - 2, middle + 2)) == Time(middle - 2, Fraction(5, 2))


def test_repeats_are_played_again_at_the_tempo_written_there() -> None:
    score = score_of(())
    onset = score.measures[2].onset
    tempos = (Tempo(Fraction(0), 60.0), Tempo(onset, 120.0))
    score = replace(score, tempos=tempos, played=(0, 1, 2, 1, 2, 3))
    lengths = [measure.length for measure in score.measures]
    first = lengths[0] + lengths[1]
    again = first + lengths[2] / 2 + lengths[1]
    assert Clock(score).times_of(onset) == [first, again]
    assert Clock(score).length == again + lengths[2] / 2 + lengths[3] / 2


def test_a_place_that_is_never_played_stands_at_the_next_that_is() -> None:
    score = replace(score_of(()), played=(0, 1, 4))
    clock = Clock(score)
    assert clock.times_of(score.measures[2].onset) == []
    start = clock.first_time(score.measures[2].span).start
    assert [start] == clock.times_of(score.measures[4].onset)


def test_odd_tempos_stay_exact() -> None:
    score = replace(score_of(()), tempos=(Tempo(Fraction(0), 66.6),))
    assert Clock(score).length == quarters(score) * 60 / Fraction(333, 5)


@pytest.mark.parametrize("name", SAMPLES)
def test_points_follow_each_other_and_can_be_read(name: str) -> None:
    _, document = read_sample(name)
    points = talking_points(document)
    timed = timed_points(document, points)
    assert {point.mark.id for point in timed} == {point.id for point in points}
    clock = Clock(document.score)
    for point, following in zip(timed, [*timed[1:], None], strict=True):
        assert point.time.length >= reading_time(point.mark.sentence)
        assert point.time.start >= clock.first_time(point.mark.mark.span).start
        assert points[point.number - 1].id == point.mark.id
        if following is not None:
            assert point.time.end <= following.time.start


def test_typed_times_stand_and_the_first_note_moves_the_rest() -> None:
    _, document = read_sample(SAMPLES[0])
    points = talking_points(document)
    typed = Time(Fraction(500), Fraction(3))
    timed = {p.mark.id: p for p in timed_points(document, points, {points[0].id: typed})}
    later = {
        p.mark.id: p for p in timed_points(document, points, {points[0].id: typed}, Fraction(10))
    }
    assert timed[points[0].id].time == later[points[0].id].time == typed
    for point in points[1:]:
        assert later[point.id].time.start == timed[point.id].time.start + 10


def some_points() -> list[TimedPoint]:
    _, document = read_sample(SAMPLES[0])
    return timed_points(document, talking_points(document))


@given(st.fractions(-1000, 1000), st.fractions(-1000, 1000))
def test_shifting_keeps_all_distances_and_never_goes_below_nought(
    one: Fraction, other: Fraction
) -> None:
    points = some_points()
    moved = shifted(shifted(points, one), other)
    by = moved[0].time.start - points[0].time.start
    assert all(
        after.time == Time(before.time.start + by, before.time.length)
        for before, after in zip(points, moved, strict=True)
    )
    assert moved[0].time.start >= 0
    assert shifted(shifted(points, abs(one)), -abs(one)) == points
    assert shifted([], one) == []


@given(st.integers(0, 20), st.fractions(Fraction(1, 10), 100))
def test_rippling_moves_what_follows_by_what_the_end_moved(at: int, length: Fraction) -> None:
    points = some_points()
    chosen = points[at % len(points)]
    time = Time(chosen.time.start, length)
    moved = {point.mark.id: point for point in rippled(points, chosen.mark.id, time)}
    by = length - chosen.time.length
    for point in points:
        start = moved[point.mark.id].time.start
        if point.time.start > chosen.time.start:
            assert start == point.time.start + by
            assert moved[point.mark.id].time.length == point.time.length
        else:
            assert start == point.time.start
    back = rippled(moved.values(), chosen.mark.id, chosen.time)
    assert back == points
    assert rippled(points, "no such mark", time) == points


def test_words_are_what_is_spoken() -> None:
    assert words_of("D/F♯ is V⁶ – a  turn, no more.") == 7
    assert words_of("") == 0
    assert reading_time("word " * 16) == 6
    assert reading_time("one") == 2
