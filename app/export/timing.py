"""When stills and cards stand in the video.

The score's clock counts seconds in played order: repeats and endings are gone through as the score
says, and each written place has the tempo written last before it in the score, 120 quarter notes a
minute where none is. So music played twice is played at the same tempo twice; a tempo that would
hold on through a jump back is not followed.

A talking point stands where its music is first played, for as long as that lasts, but no shorter
than the words of its card take to read. Points follow each other without overlap: where they crowd,
the earlier come a little before their music and the later a little after it, and one ends at the
latest when the next begins. Times typed by the user stand as they are.

`shifted` and `rippled` are pure: they take a list of timed points and give another.

References
----------
160 to 180 words a minute for text on screen: Ofcom, quoted by BBC R&D, 2015.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from analysis.score import Score
from analysis.timebase import Fraction, Offset, Span
from app.engraving.lanes import pack
from app.export.legibility import SHORTEST, SLOWEST
from app.export.talking_points import words_on_card
from app.export.timecodes import FrameRate, rate_named
from app.review.document import Document, ReviewedMark, Time

#: Quarter notes a minute where the score has no tempo.
USUAL_TEMPO: Final = Fraction(120)
#: The frame rate where nothing is said.
USUAL_RATE: Final = rate_named("25")


@dataclass(frozen=True, slots=True)
class VideoTime:
    """How the score's time becomes the video's.

    Parameters
    ----------
    rate
        Frames a second.
    start_frame
        Frame of the timecode at which the video begins.
    first_note
        When the score's first measure begins, in seconds from the video's beginning.
    """

    rate: FrameRate = USUAL_RATE
    start_frame: int = 0
    first_note: Fraction = Fraction(0)


#: 25 frames a second from 0, and the score with them.
USUAL_TIME: Final = VideoTime()


@dataclass(frozen=True, slots=True)
class TimedPoint:
    """A talking point and when it stands. ``number`` is its place in the order, from 1."""

    number: int
    mark: ReviewedMark
    time: Time


class Clock:
    """When each place of a score is played, in seconds from the first note.

    Parameters
    ----------
    score
        Its `played` gives the order, its `tempos` the speed.
    """

    def __init__(self, score: Score) -> None:
        self._score = score
        self._tempos = [(tempo.onset, _exact(tempo.quarters_per_minute)) for tempo in score.tempos]
        self._onsets = [onset for onset, _ in self._tempos]
        played = score.played or tuple(range(len(score.measures)))
        self._begins: dict[int, list[Fraction]] = {}
        at = Fraction(0)
        for index in played:
            self._begins.setdefault(index, []).append(at)
            at += self._lasting(score.measures[index].span)
        #: Length of the whole piece as played.
        self.length = at

    def times_of(self, offset: Offset) -> list[Fraction]:
        """Each time at which a written place is played; none where it never is."""
        measure = self._score.measure_at(offset)
        into = self._lasting(Span(measure.onset, max(offset, measure.onset)))
        return [begin + into for begin in self._begins.get(measure.index, [])]

    def first_time(self, span: Span) -> Time:
        """When a span is first played and how long it lasts as written.

        A span whose start is never played stands at the next place after it that is.
        """
        times = self.times_of(span.start)
        if not times:
            later = [
                begins[0]
                for index, begins in sorted(self._begins.items())
                if self._score.measures[index].onset >= span.start
            ]
            times = later[:1] or [self.length]
        return Time(times[0], self._lasting(span))

    def _lasting(self, span: Span) -> Fraction:
        """Seconds that a stretch of written music takes."""
        at, seconds = span.start, Fraction(0)
        while at < span.end:
            index = bisect_right(self._onsets, at)
            tempo = self._tempos[index - 1][1] if index else USUAL_TEMPO
            until = min(self._onsets[index], span.end) if index < len(self._onsets) else span.end
            seconds += (until - at) * 60 / tempo
            at = until
        return seconds


def timed_points(
    document: Document,
    points: Sequence[ReviewedMark],
    first_note: Fraction = Fraction(0),
) -> list[TimedPoint]:
    """When each talking point stands, in order of start.

    Parameters
    ----------
    points
        In the order in which they are told; their numbers count from 1 in it.
    first_note
        When the score's first measure begins in the video, in seconds.
    """
    clock = Clock(document.score)
    own = {point.id: clock.first_time(point.mark.span) for point in points}
    numbered = sorted(enumerate(points, start=1), key=lambda one: (own[one[1].id].start, one[0]))
    free = [(number, point) for number, point in numbered if typed_time(point) is None]
    needed = [reading_time(point) for _, point in free]
    wanted = [first_note + own[point.id].start for _, point in free]
    zero = Fraction(0)
    # As for labels in a row: no overlap, and as near as can be to where each wants to be.
    starts = pack(wanted, needed, zero, zero, sum(needed, max(wanted, default=zero)))
    placed = _without_overlap(
        [
            TimedPoint(number, point, Time(start, max(own[point.id].length, reading)))
            for (number, point), start, reading in zip(free, starts, needed, strict=True)
        ]
    )
    for number, point in numbered:
        if (time := typed_time(point)) is not None:
            placed.append(TimedPoint(number, point, time))
    return sorted(placed, key=_by_start)


def typed_time(point: ReviewedMark) -> Time | None:
    """The time that the user typed for a mark."""
    return point.decision.time if point.decision else None


def shifted(points: Iterable[TimedPoint], by: Fraction) -> list[TimedPoint]:
    """All points earlier or later by so many seconds; none begins before 0."""
    points = list(points)
    by = max(by, -min((point.time.start for point in points), default=Fraction(0)))
    return [_moved(point, by) for point in points]


def rippled(points: Iterable[TimedPoint], mark_id: str, time: Time) -> list[TimedPoint]:
    """Give one point another time, and move all that begin after it with its end.

    Points that begin with it or before stand still. Where it did not exist nothing changes. None
    begins before 0.
    """
    points = list(points)
    chosen = next((point for point in points if point.mark.id == mark_id), None)
    if chosen is None:
        return points
    by = time.end - chosen.time.end
    moved = []
    for point in points:
        if point is chosen:
            moved.append(replace(point, time=time))
        elif point.time.start > chosen.time.start:
            moved.append(_moved(point, max(by, -point.time.start)))
        else:
            moved.append(point)
    return sorted(moved, key=_by_start)


def reading_time(point: ReviewedMark) -> Fraction:
    """Seconds that most people need for a point's card, at the slow end, at least `SHORTEST`."""
    return max(Fraction(60 * words_on_card(point), SLOWEST), Fraction(SHORTEST))


def _without_overlap(points: list[TimedPoint]) -> list[TimedPoint]:
    """Points in order of start, each cut where the next begins."""
    cut = []
    for at, point in enumerate(points):
        if at + 1 < len(points) and point.time.end > points[at + 1].time.start:
            start = point.time.start
            point = replace(point, time=Time(start, points[at + 1].time.start - start))
        cut.append(point)
    return cut


def _moved(point: TimedPoint, by: Fraction) -> TimedPoint:
    return replace(point, time=Time(point.time.start + by, point.time.length))


def _by_start(point: TimedPoint) -> tuple[Fraction, int]:
    return point.time.start, point.number


def _exact(tempo: float) -> Fraction:
    """A tempo as it was written: three decimals hold all that scores say."""
    return Fraction(tempo).limit_denominator(1000)
