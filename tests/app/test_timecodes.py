"""Frames and timecodes, held against opentimelineio at every rate."""

from __future__ import annotations

from fractions import Fraction

import opentimelineio as otio
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.errors import ExportError
from app.export.timecodes import (
    RATES,
    FrameRate,
    frame_at,
    frames_of,
    rate_named,
    read_timecode,
    seconds_of,
    to_timecode,
)

DROP = rate_named("29.97 drop")
#: Around each place where numbers are left out, and the end of the day.
EDGES = (0, 1, 1799, 1800, 1801, 3597, 3598, 17981, 17982, 17983, 35963, 35964, 107891, 107892)


@pytest.mark.parametrize("rate", RATES, ids=lambda rate: rate.name)
@given(frame=st.one_of(st.sampled_from(EDGES), st.integers(0, 2_000_000)))
def test_timecodes_are_those_of_opentimelineio_and_come_back(rate: FrameRate, frame: int) -> None:
    speed = float(rate.frames_per_second)
    time = otio.opentime.RationalTime(frame, speed)
    text = to_timecode(frame, rate)
    assert text == otio.opentime.to_timecode(time, speed, rate.drop)
    assert read_timecode(text, rate) == frame
    assert otio.opentime.from_timecode(text, speed).value == frame


def test_drop_frame_keeps_to_the_clock() -> None:
    assert to_timecode(1799, DROP) == "00:00:59;29"
    assert to_timecode(1800, DROP) == "00:01:00;02"
    assert to_timecode(17982, DROP) == "00:10:00;00"
    hour = read_timecode("01:00:00;00", DROP)
    assert abs(seconds_of(hour, DROP) - 3600) < Fraction(1, 250)
    assert to_timecode(24 * hour, DROP) == "00:00:00;00"


@pytest.mark.parametrize("text", ["00:01:00;00", "00:01:00;01", "00:00:00;30", "24:00:00;00", "1"])
def test_a_timecode_that_is_left_out_is_refused(text: str) -> None:
    with pytest.raises(ExportError):
        read_timecode(text, DROP)


@pytest.mark.parametrize("rate", RATES, ids=lambda rate: rate.name)
@given(frame=st.integers(0, 10**7))
def test_a_frame_s_own_time_gives_it_back(rate: FrameRate, frame: int) -> None:
    assert frame_at(seconds_of(frame, rate), rate) == frame


@given(
    st.fractions(0, 10_000),
    st.lists(st.fractions(Fraction(1, 10), 50), min_size=1, max_size=20),
    st.sampled_from(RATES),
)
def test_stretches_that_touch_in_time_touch_in_frames(
    start: Fraction, lengths: list[Fraction], rate: FrameRate
) -> None:
    begin, at, total = frame_at(start, rate), start, 0
    for length in lengths:
        first, frames = frames_of(at, length, rate)
        assert first == begin + total
        total += frames
        at += length
    assert abs(total - (at - start) * rate.frames_per_second) <= 1


def test_halves_go_to_the_later_frame_and_nothing_lasts_no_frame() -> None:
    rate = rate_named("25")
    assert frame_at(Fraction(1, 50), rate) == 1
    assert frames_of(Fraction(3), Fraction(1, 1000), rate) == (75, 1)


def test_rates_go_by_name() -> None:
    assert rate_named("29.97-DROP") is DROP
    assert rate_named("59.94df").drop
    with pytest.raises(ExportError, match=r"23\.976, 24, 25"):
        rate_named("26")
