"""Times as they are typed, and the edits they ask for."""

import re

import pytest

from analysis.errors import ExportError
from analysis.timebase import Fraction
from app.export.timecodes import RATES, frame_at, rate_named, to_timecode
from app.export.timing import VideoTime
from app.review.document import Document, Time
from app.views.typed_times import (
    all_shifted,
    points_of,
    read_length,
    read_shift,
    read_start,
    retimed,
    retimed_with_later,
    rows_of,
    shifted_from,
    untimed,
)
from tests.app.reviews import read_sample

VIDEO = VideoTime()
PAL = rate_named("25")
DROP = rate_named("29.97 drop")


def times(document: Document, video: VideoTime = VIDEO) -> dict[str, Time]:
    return {point.mark.id: point.time for point in points_of(document, video)}


@pytest.fixture
def document() -> Document:
    return read_sample("wednesday-table")[1]


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("00:01:00:05", Fraction(60) + Fraction(5, 25)),
        ("1:00:05", Fraction(60) + Fraction(5, 25)),
        ("12:05", Fraction(12) + Fraction(5, 25)),
        (" 12.05 ", Fraction(12) + Fraction(5, 25)),
        ("7", Fraction(7, 25)),
        ("2.5 s", Fraction(5, 2)),
        ("2,5s", Fraction(5, 2)),
    ],
)
def test_short_forms(text: str, seconds: Fraction) -> None:
    assert read_length(text, PAL) == seconds


@pytest.mark.parametrize("rate", RATES, ids=lambda rate: rate.name)
def test_every_timecode_is_read_back_at_every_rate(rate) -> None:  # type: ignore[no-untyped-def]
    for frame in (1, 59, 1798, 1800, 17982, 107_892):
        code = to_timecode(frame, rate)
        assert frame_at(read_start(code, VideoTime(rate)), rate) == frame


@pytest.mark.parametrize(
    ("text", "video", "words"),
    [
        ("soon", VIDEO, "“soon” is no time; write 00:00:12:05"),
        ("", VIDEO, "is no time"),
        ("00:00:00:25", VIDEO, "There is no frame 00:00:00:25 at 25 frames a second"),
        ("00:01:00;00", VideoTime(DROP), "There is no frame 00:01:00:00 at 29.97 drop"),
        ("00:59:59:00", VideoTime(PAL, 90_000), "The video begins at 01:00:00:00"),
    ],
)
def test_what_is_no_place_is_said_in_words(text: str, video: VideoTime, words: str) -> None:
    with pytest.raises(ExportError, match=re.escape(words)):
        read_start(text, video)


def test_a_place_is_counted_from_the_beginning_of_the_video() -> None:
    assert read_start("01:00:10:00", VideoTime(PAL, 90_000)) == 10


def test_a_shift_may_go_back_and_a_length_may_not() -> None:
    assert read_shift("-1:00", PAL) == -1
    assert read_shift("− 2 s", PAL) == -2
    assert read_shift("+0:05", PAL) == Fraction(1, 5)
    with pytest.raises(ExportError, match="at least one frame"):
        read_length("0", PAL)


def test_a_typed_time_moves_nothing_else(document: Document) -> None:
    before = times(document)
    for mark_id in before:
        after = times(
            retimed(document, VIDEO, mark_id, Time(Fraction(90), Fraction(3))).apply(document)
        )
        assert after.pop(mark_id) == Time(Fraction(90), Fraction(3))
        assert after == {one: time for one, time in before.items() if one != mark_id}


def test_later_ones_move_along(document: Document) -> None:
    before = points_of(document, VIDEO)
    chosen = before[2]
    longer = Time(chosen.time.start, chosen.time.length + 4)
    edit = retimed_with_later(document, VIDEO, chosen.mark.id, longer)
    after = times(edit.apply(document))
    for point in before[:2]:
        assert after[point.mark.id] == point.time
    for point in before[3:]:
        assert after[point.mark.id] == Time(point.time.start + 4, point.time.length)


def test_all_are_shifted_but_not_before_the_video(document: Document) -> None:
    before = times(document)
    later = all_shifted(document, VIDEO, Fraction(10)).apply(document)
    assert times(later) == {one: Time(t.start + 10, t.length) for one, t in before.items()}
    back = all_shifted(later, VIDEO, Fraction(-1000)).apply(later)
    assert min(time.start for time in times(back).values()) == 0
    first = min(time.start for time in before.values())
    assert times(back) == {one: Time(t.start - first, t.length) for one, t in before.items()}


def test_a_shift_from_here_leaves_what_comes_before(document: Document) -> None:
    before = points_of(document, VIDEO)
    here = before[4].time.start
    after = times(shifted_from(document, VIDEO, before[4].mark.id, Fraction(5)).apply(document))
    for point in before:
        by = 5 if point.time.start >= here else 0
        assert after[point.mark.id] == Time(point.time.start + by, point.time.length)


def test_the_score_says_it_again(document: Document) -> None:
    before = times(document)
    shifted = all_shifted(document, VIDEO, Fraction(10)).apply(document)
    assert all(row.typed for row in rows_of(shifted, VIDEO))
    again = untimed(shifted, tuple(before)).apply(shifted)
    assert times(again) == before
    assert again.decisions == document.decisions


def test_rows_say_what_is_too_short_to_be_read(document: Document) -> None:
    first = rows_of(document, VIDEO)[0]
    assert not first.short
    mark_id = first.point.mark.id
    brief = Time(first.point.time.start, Fraction(1))
    row = rows_of(retimed(document, VIDEO, mark_id, brief).apply(document), VIDEO)[0]
    assert (row.short, row.typed, row.length) == (True, True, "00:00:01:00")
