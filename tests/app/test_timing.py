"""When talking points stand: tempo, played order, reading time, shift and ripple."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.errors import EditError, ReviewFileError
from analysis.score import Score, Tempo
from analysis.timebase import Span
from app.export.legibility import reading_warnings, words_of
from app.export.talking_points import KINDS, talking_points, words_on_card
from app.export.timecodes import RATES, frame_at, seconds_of
from app.export.timing import (
    Clock,
    TimedPoint,
    reading_time,
    rippled,
    shifted,
    timed_points,
    typed_time,
)
from app.review.document import Decision, Time
from app.review.edits import Decide
from app.review.storage import from_bytes, stored, to_bytes
from app.review.times import SetTimes
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
        assert point.time.length >= reading_time(point.mark)
        # What stands by itself is never said to stand too short.
        assert not reading_warnings(words_on_card(point.mark), 1, float(point.time.length))
        # In the most crowded sample half a minute of music takes more than that to read.
        music = clock.first_time(point.mark.mark.span).start
        assert abs(point.time.start - music) < Fraction(17, 2)
        assert points[point.number - 1].id == point.mark.id
        if following is not None:
            assert point.time.end <= following.time.start


@pytest.mark.parametrize("name", SAMPLES)
def test_crowded_points_move_both_ways_and_others_not_at_all(name: str) -> None:
    _, document = read_sample(name)
    points = talking_points(document)
    # Late enough that none meets the beginning of the video.
    timed = timed_points(document, points, Fraction(60))
    clock = Clock(document.score)
    crowd: list[Fraction] = []
    for point, following in zip(timed, [*timed[1:], None], strict=True):
        music = clock.first_time(point.mark.mark.span).start + 60
        crowd.append(point.time.start - music)
        needed = reading_time(point.mark)
        if following is None or point.time.start + needed < following.time.start:
            assert sum(crowd) == 0
            crowd = []


def test_typed_times_stand_and_the_first_note_moves_the_rest() -> None:
    _, document = read_sample(SAMPLES[0])
    chosen = talking_points(document)[0].id
    typed = Time(Fraction(500), Fraction(3))
    document = SetTimes(((chosen, typed),)).apply(document)
    points = talking_points(document)
    timed = {p.mark.id: p for p in timed_points(document, points)}
    later = {p.mark.id: p for p in timed_points(document, points, Fraction(10))}
    assert timed[chosen].time == later[chosen].time == typed
    for point in points:
        if point.id != chosen:
            assert later[point.id].time.start == timed[point.id].time.start + 10


def test_a_typed_time_changes_no_state_and_can_be_taken_back() -> None:
    _, document = read_sample(SAMPLES[0])
    chosen = talking_points(document)[0].id
    edit = SetTimes(((chosen, Time(Fraction(1), Fraction(2))), ("no such mark", None)))
    after = edit.apply(document)
    assert after.mark(chosen).state == document.mark(chosen).state == "open"
    assert SetTimes(((chosen, None),)).apply(after) == document
    accepted = Decide((chosen,), "accepted").apply(after)
    assert typed_time(accepted.mark(chosen)) == Time(Fraction(1), Fraction(2))
    reopened = Decide((chosen,), "open").apply(accepted)
    assert typed_time(reopened.mark(chosen)) == Time(Fraction(1), Fraction(2))


def test_a_typed_time_is_kept_in_the_review_file() -> None:
    _, document = read_sample(SAMPLES[0])
    chosen = talking_points(document)[0].id
    time = Time(Fraction(1001, 30), Fraction(2, 3))
    content = to_bytes(stored(SetTimes(((chosen, time),)).apply(document)))
    assert from_bytes(content).decisions[chosen].time == time
    with pytest.raises(ReviewFileError):
        from_bytes(content.replace(b'"1001/30"', b'"-1"'))


@given(st.fractions(0, 9999), st.fractions(0, 600).map(lambda length: length + Fraction(1, 9999)))
def test_any_time_can_be_typed_saved_and_read_to_the_frame(
    start: Fraction, length: Fraction
) -> None:
    _, document = read_sample(SAMPLES[0])
    chosen = talking_points(document)[0].id
    after = SetTimes(((chosen, Time(start, length)),)).apply(document)
    (kept,) = (decision.time for decision in from_bytes(to_bytes(stored(after))).decisions.values())
    assert kept is not None
    assert kept == typed_time(after.mark(chosen))
    assert abs(kept.start - start) < Fraction(1, 100_000)
    for rate in RATES:
        frame = frame_at(start, rate)
        exact = SetTimes(((chosen, Time(seconds_of(frame, rate), length)),)).apply(document)
        typed = typed_time(exact.mark(chosen))
        assert typed is not None
        assert typed.start == seconds_of(frame, rate)


def test_a_time_that_no_video_has_is_refused_in_words() -> None:
    _, document = read_sample(SAMPLES[0])
    chosen = talking_points(document)[0].id
    with pytest.raises(EditError):
        SetTimes(((chosen, Time(Fraction(10**7), Fraction(1))),)).apply(document)
    with pytest.raises(ValueError, match="later"):
        Time(Fraction(-1), Fraction(1))


def test_a_shifted_list_can_be_typed_at_once() -> None:
    _, document = read_sample(SAMPLES[0])
    moved = shifted(some_points(), Fraction(5))
    edit = SetTimes(tuple((point.mark.id, point.time) for point in moved), "Shift times")
    after = edit.apply(document)
    times = timed_points(after, talking_points(after))
    for point, wanted in zip(times, moved, strict=True):
        assert point.mark.id == wanted.mark.id
        assert abs(point.time.start - wanted.time.start) < Fraction(1, 100_000)


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


def test_a_card_is_read_with_its_title_at_the_slow_end() -> None:
    mark = next(read_sample(SAMPLES[0])[1].shown_marks())
    worded = replace(mark, decision=Decision("edited", label="Two words", sentence="word " * 14))
    assert reading_time(worded) == 6
    untitled = replace(mark, decision=Decision("edited", label="", sentence="word " * 15))
    assert reading_time(untitled) == Fraction(60 * (15 + words_of(KINDS[mark.mark.kind])), 160)
    short = replace(mark, decision=Decision("edited", label="one", sentence=""))
    assert reading_time(short) == 2
