"""Edit timelines, read back by opentimelineio and its adapters."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

import opentimelineio as otio
import pytest

from analysis.errors import ExportError
from app.export import edit_timelines
from app.export.edit_timelines import Shot, edit_timeline, to_other_format, to_otio
from app.export.talking_points import talking_points
from app.export.timecodes import RATES, FrameRate, frames_of, rate_named, read_timecode
from app.export.timing import Clock, TimedPoint, timed_points
from app.review.document import Time
from tests.app.reviews import SAMPLES, read_sample

DROP = rate_named("29.97 drop")
HOUR = read_timecode("01:00:00;00", DROP)


def sample_shots(name: str = SAMPLES[0]) -> tuple[list[Shot], Fraction]:
    _, document = read_sample(name)
    points = timed_points(document, talking_points(document))
    shots = [Shot(f"stills/{point.number:02d} é.png", point) for point in points]
    return shots, Clock(document.score).length


def made(rate: FrameRate, start_frame: int = 0) -> Any:
    shots, length = sample_shots()
    cards = [Shot(shot.file.replace("stills", "cards"), shot.point) for shot in shots]
    return edit_timeline("A Song", shots, cards, rate, length, start_frame)


@pytest.mark.parametrize("rate", RATES, ids=lambda rate: rate.name)
def test_clips_stand_at_their_frames(rate: FrameRate) -> None:
    shots, length = sample_shots()
    read = otio.adapters.read_from_string(to_otio(made(rate)), "otio_json")
    assert [track.name for track in read.tracks] == ["Footage", "Stills", "Cards"]
    footage, stills, cards = read.tracks
    assert [type(child) for child in footage] == [otio.schema.Gap]
    assert footage.duration().value == frames_of(Fraction(0), length, rate)[1]
    for track in (stills, cards):
        for clip, shot in zip(track.find_clips(), shots, strict=True):
            placed = clip.range_in_parent()
            wanted = frames_of(shot.point.time.start, shot.point.time.length, rate)
            assert (placed.start_time.value, placed.duration.value) == wanted
            assert placed.duration.rate == float(rate.frames_per_second)
    for marker, shot in zip(read.tracks.markers, shots, strict=True):
        first, frames = frames_of(shot.point.time.start, shot.point.time.length, rate)
        assert marker.marked_range.start_time.value == first
        assert marker.marked_range.duration.value == frames
        assert marker.metadata["overstave"]["mark"] == shot.point.mark.id
        assert marker.comment == shot.point.mark.sentence


def test_media_are_relative_and_escaped_as_addresses() -> None:
    urls = [clip.media_reference.target_url for clip in made(DROP).find_clips()]
    assert urls
    for url in urls:
        assert re.fullmatch(r"(stills|cards)/\d\d%20%C3%A9\.png", url)


def test_the_video_begins_at_its_timecode() -> None:
    read = otio.adapters.read_from_string(to_otio(made(DROP, HOUR)), "otio_json")
    start = read.global_start_time
    assert otio.opentime.to_timecode(start, start.rate, True) == "01:00:00;00"
    assert read.tracks[0].trimmed_range().start_time.value == 0
    assert made(DROP).global_start_time is None


def test_the_same_review_gives_the_same_bytes() -> None:
    assert to_otio(made(DROP, HOUR)) == to_otio(made(DROP, HOUR))


def test_pictures_that_overlap_go_to_tracks_of_their_own() -> None:
    shots, length = sample_shots()
    over = [
        Shot(
            shot.file,
            TimedPoint(shot.point.number, shot.point.mark, Time(Fraction(at), Fraction(3))),
        )
        for at, shot in enumerate(shots[:4])
    ]
    timeline = edit_timeline("A Song", over, [], rate_named("25"), length)
    assert [track.name for track in timeline.tracks] == [
        "Footage", "Stills", "Stills 2", "Stills 3",
    ]  # fmt: skip
    starts = sorted(int(c.range_in_parent().start_time.value) for c in timeline.find_clips())
    assert starts == [0, 25, 50, 75]


def test_a_timeline_is_as_long_as_its_last_picture() -> None:
    shots, _ = sample_shots()
    timeline = edit_timeline("A Song", shots, [], DROP, Fraction(1))
    assert timeline.tracks[0].duration() == timeline.tracks[1].duration()


@pytest.mark.parametrize("rate", RATES, ids=lambda rate: rate.name)
def test_the_other_format_with_tracks_holds_the_same_clips(rate: FrameRate) -> None:
    timeline = made(rate)
    read = otio.adapters.read_from_string(to_other_format(timeline, "xml", rate), "fcp_xml")
    assert placed_clips(read) == placed_clips(timeline)
    assert len(read.tracks.markers) == len(timeline.tracks.markers)
    assert to_other_format(made(rate), "xml", rate) == to_other_format(timeline, "xml", rate)


def placed_clips(timeline: Any) -> list[tuple[str, float, float, str]]:
    """Name, first frame, frames and file of each clip."""
    return [
        (
            clip.name,
            clip.range_in_parent().start_time.value,
            clip.duration().value,
            clip.media_reference.target_url,
        )
        for clip in timeline.find_clips()
    ]


@pytest.mark.parametrize("rate", RATES, ids=lambda rate: rate.name)
def test_a_decision_list_holds_the_stills_at_their_timecodes(rate: FrameRate) -> None:
    start = read_timecode("01:00:00;00" if rate.drop else "01:00:00:00", rate)
    shots, length = sample_shots()
    timeline = edit_timeline("A Song", shots, [], rate, length, start)
    lines = to_other_format(timeline, "edl", rate).splitlines()
    events = [line.split() for line in lines if line[:3].isdigit()]
    assert len(events) == len(shots)
    for event, shot in zip(events, shots, strict=True):
        first, frames = frames_of(shot.point.time.start, shot.point.time.length, rate)
        begin, end = (read_timecode(text, rate) for text in event[-2:])
        assert event[1] == "AX"
        assert (begin - start, end - begin) == (first, frames)
        assert (";" in event[-1]) == rate.drop


@pytest.mark.parametrize("start", [0, HOUR])
def test_without_pictures_every_format_is_written_and_a_decision_list_has_no_events(
    start: int,
) -> None:
    timeline = edit_timeline("A Song", [], [], DROP, Fraction(60), start)
    assert to_other_format(timeline, "edl", DROP).split() == ["TITLE:", "A", "Song"]
    read = otio.adapters.read_from_string(to_other_format(timeline, "xml", DROP), "fcp_xml")
    assert list(read.find_clips()) == []


def test_what_is_not_installed_is_said_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    timeline = made(DROP)
    monkeypatch.setattr(edit_timelines, "other_formats", dict)
    with pytest.raises(ExportError, match=r"overstave\[editors\]"):
        to_other_format(timeline, "xml", DROP)
