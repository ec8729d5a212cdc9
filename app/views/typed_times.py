"""Times as they are typed: timecodes, short forms of them, and seconds; and the edits they ask for.

A timecode may leave out what stands before: ``12:05`` is 12 seconds and 5 frames, ``7`` is 7
frames. ``2.5 s`` is a time in seconds. The frame rate says how many frames there are and whether
numbers are dropped. Times are exact fractions of a second.

Automatic times depend on each other, so a typed one may move its neighbours; an edit made here
types those as well where they were, so that what is not meant to move does not.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from analysis.errors import ExportError
from analysis.timebase import Fraction
from app.export.legibility import FASTEST, reading_seconds
from app.export.talking_points import talking_points, words_on_card
from app.export.timecodes import (
    FrameRate,
    frame_at,
    frames_of,
    read_timecode,
    seconds_of,
    to_timecode,
)
from app.export.timing import Clock, TimedPoint, VideoTime, rippled, shifted, timed_points
from app.interface_words import said
from app.review.document import Document, Time
from app.review.times import SetTimes

_SECONDS: Final = re.compile(r"(\d{1,6}(?:[.,]\d{1,6})?)\s*s(?:ec(?:onds?)?)?")
_GROUPS: Final = re.compile(r"\d{1,2}(?:[:;.]\d{1,2}){0,3}")


@dataclass(frozen=True, slots=True)
class Row:
    """A timed point as it is shown: timecodes of start, end and length; whether it was typed.

    ``music`` is when its music is first played in the video, in seconds.
    """

    point: TimedPoint
    start: str
    end: str
    length: str
    typed: bool
    music: Fraction

    @property
    def needed(self) -> float:
        """Seconds in which fast readers have read its card."""
        return reading_seconds(words_on_card(self.point.mark), FASTEST)

    @property
    def away(self) -> Fraction:
        """Seconds by which it begins after its music, negative where before."""
        return self.point.time.start - self.music

    @property
    def short(self) -> bool:
        """Whether it goes before its card has been read."""
        return self.point.time.length < self.needed


def rows_of(document: Document, video: VideoTime) -> list[Row]:
    """The talking points in order of start."""
    clock = Clock(document.score)
    return [_row(point, video, clock) for point in points_of(document, video)]


def points_of(document: Document, video: VideoTime) -> list[TimedPoint]:
    """The talking points and when they stand, in order of start."""
    return timed_points(document, talking_points(document), first_note=video.first_note)


def read_length(text: str, rate: FrameRate) -> Fraction:
    """A length in seconds.

    Raises
    ------
    ExportError
        If the text is none, or nothing at all long.
    """
    length = _typed_seconds(text, rate)
    if length <= 0:
        raise ExportError(said("A picture stands for at least one frame."))
    return length


def read_start(text: str, video: VideoTime) -> Fraction:
    """A place in the video, in seconds from its beginning.

    Raises
    ------
    ExportError
        If the text is none, or lies before the video begins.
    """
    begins = seconds_of(video.start_frame, video.rate)
    if _SECONDS.fullmatch(text.strip()):
        return _typed_seconds(text, video.rate)
    start = _typed_seconds(text, video.rate) - begins
    if start < 0:
        first = to_timecode(video.start_frame, video.rate)
        raise ExportError(
            said(
                "The video begins at {first}; {time} lies before it.",
                first=first,
                time=text.strip(),
            )
        )
    return start


def read_shift(text: str, rate: FrameRate) -> Fraction:
    """By how much to move, in seconds; later, or earlier with a minus before it.

    Raises
    ------
    ExportError
        If the text is no time.
    """
    bare = text.strip()
    sign = -1 if bare[:1] in ("-", "−", "–") else 1
    return sign * _typed_seconds(bare.lstrip("+-−–").strip(), rate)


def start_text(seconds: Fraction, video: VideoTime) -> str:
    """The timecode of a place in the video."""
    return to_timecode(video.start_frame + frame_at(seconds, video.rate), video.rate)


def retimed(document: Document, video: VideoTime, mark_id: str, time: Time) -> SetTimes:
    """Give one point a time; all others stay where they are."""
    return _edit(document, video, {mark_id: time}, "Set time")


def retimed_with_later(document: Document, video: VideoTime, mark_id: str, time: Time) -> SetTimes:
    """Give one point a time, and move all that begin after it with its end."""
    points = points_of(document, video)
    return _edit(document, video, _moved(points, rippled(points, mark_id, time)), "Move times")


def all_shifted(document: Document, video: VideoTime, by: Fraction) -> SetTimes:
    """Move all points; none begins before the video does."""
    points = points_of(document, video)
    return _edit(document, video, _moved(points, shifted(points, by)), "Shift all times")


def shifted_from(document: Document, video: VideoTime, mark_id: str, by: Fraction) -> SetTimes:
    """Move one point and all that begin after it."""
    points = points_of(document, video)
    chosen = next((point for point in points if point.mark.id == mark_id), None)
    later = [p for p in points if chosen and p.time.start >= chosen.time.start]
    return _edit(document, video, _moved(later, shifted(later, by)), "Shift times from here")


def untimed(document: Document, mark_ids: tuple[str, ...]) -> SetTimes:
    """Let the score's tempo say again when points stand."""
    typed = [
        (mark.id, None)
        for mark in document.marks()
        if mark.id in mark_ids and mark.decision and mark.decision.time
    ]
    return SetTimes(tuple(typed), "Take times from the score")


def _edit(document: Document, video: VideoTime, wanted: Mapping[str, Time], text: str) -> SetTimes:
    """Set times, and hold automatic ones that would move with them."""
    before = {point.mark.id: point.time for point in points_of(document, video)}
    times = dict(wanted)
    while True:
        edit = SetTimes(tuple(times.items()), text)
        after = points_of(edit.apply(document), video)
        moved = {
            point.mark.id: before[point.mark.id]
            for point in after
            if point.mark.id not in times and point.time != before[point.mark.id]
        }
        if not moved:
            return edit
        times.update(moved)


def _moved(before: list[TimedPoint], after: list[TimedPoint]) -> dict[str, Time]:
    old = {point.mark.id: point.time for point in before}
    return {p.mark.id: p.time for p in after if p.time != old[p.mark.id]}


def _row(point: TimedPoint, video: VideoTime, clock: Clock) -> Row:
    start, length = frames_of(point.time.start, point.time.length, video.rate)
    first, decision = video.start_frame + start, point.mark.decision
    return Row(
        point,
        to_timecode(first, video.rate),
        to_timecode(first + length, video.rate),
        to_timecode(length, video.rate),
        decision is not None and decision.time is not None,
        video.first_note + clock.first_time(point.mark.mark.span).start,
    )


def _typed_seconds(text: str, rate: FrameRate) -> Fraction:
    bare = text.strip()
    if match := _SECONDS.fullmatch(bare.lower()):
        return Fraction(match[1].replace(",", "."))
    if not _GROUPS.fullmatch(bare):
        raise ExportError(
            said(
                "“{text}” is no time; write 00:00:12:05, or 12:05 for 12 seconds and 5 frames, "
                "or 12.2 s.",
                text=bare,
            )
        )
    groups = [group.zfill(2) for group in re.split("[:;.]", bare)]
    whole = ":".join(["00"] * (4 - len(groups)) + groups)
    return seconds_of(read_timecode(whole, rate), rate)
