"""The edit timeline: stills and cards on tracks above the footage, as OpenTimelineIO.

The lowest track is a gap as long as the video, where the footage goes. Above it lie the tracks of
stills, then those of cards; pictures that overlap in time go to further tracks. Every talking point
has a marker at its start. Media references are relative to the timeline's file, so a folder can be
moved as a whole. Times are whole frames of the rate (see `app.export.timecodes`).

Other editors' exchange formats are written by adapters, packages of their own; `other_formats`
says which are installed. They hold less: where an adapter refuses what the timeline has, the error
says so. The adapter for .fcpxml is not offered: it cuts times down to a frame after dividing
floats, so that clips begin a frame early, fails at rates of 1000/1001, and writes today's date.

References
----------
OpenTimelineIO 0.18: *Timeline.1*, *Stack.1*, *Track.1*, *Clip.2*, *Gap.1*, *Marker.2*.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import quote

import opentimelineio as otio

from analysis.errors import ExportError
from analysis.timebase import Fraction
from app.export.timecodes import FrameRate, frames_of
from app.export.timing import TimedPoint
from app.review.document import Time

#: Name of an adapter, and the ending of the files it writes.
_ENDINGS: Final[Mapping[str, str]] = {
    "cmx_3600": "edl",
    "fcp_xml": "xml",
}


@dataclass(frozen=True, slots=True)
class Shot:
    """A picture in the video: its file, relative to the timeline's, and the point it shows.

    ``time`` is when it stands, where that is not as long as its point.
    """

    file: str
    point: TimedPoint
    time: Time | None = None


def edit_timeline(
    title: str,
    stills: Sequence[Shot],
    cards: Sequence[Shot],
    rate: FrameRate,
    length: Fraction,
    start_frame: int = 0,
) -> otio.schema.Timeline:
    """The timeline of a video.

    Parameters
    ----------
    title
        Its name.
    stills, cards
        The pictures.
    rate
        Frame rate of the video.
    length
        Of the footage, in seconds; longer where a picture stands longer.
    start_frame
        Frame of the timecode at which the video begins, such as that of 01:00:00:00.
    """
    speed = float(rate.frames_per_second)
    timeline = otio.schema.Timeline(_plain(title))
    if start_frame:
        timeline.global_start_time = otio.opentime.RationalTime(start_frame, speed)
    ends = [sum(_frames(shot, rate)) for shot in (*stills, *cards)]
    frames = max([frames_of(Fraction(0), length, rate)[1], *ends])
    footage = otio.schema.Track("Footage", kind=otio.schema.TrackKind.Video)
    footage.append(otio.schema.Gap(name="Footage", source_range=_range(0, frames, speed)))
    timeline.tracks.append(footage)
    for name, shots in (("Stills", stills), ("Cards", cards)):
        timeline.tracks.extend(_tracks(name, shots, rate))
    points = {shot.point.mark.id: shot for shot in (*reversed(cards), *reversed(stills))}
    in_order = sorted(points.values(), key=lambda shot: (_frames(shot, rate), shot.point.number))
    timeline.tracks.markers.extend(_marker(shot, rate) for shot in in_order)
    return timeline


def to_otio(timeline: otio.schema.Timeline) -> str:
    """The timeline as OpenTimelineIO's JSON; the same timeline gives the same text."""
    return f"{otio.adapters.write_to_string(timeline, 'otio_json', indent=1)}\n"


def other_formats() -> dict[str, str]:
    """Further formats that can be written here: the ending of the file, and its adapter."""
    installed = set(otio.adapters.available_adapter_names())
    return {ending: name for name, ending in _ENDINGS.items() if name in installed}


def to_other_format(timeline: otio.schema.Timeline, ending: str, rate: FrameRate) -> str:
    """The timeline in another exchange format.

    Parameters
    ----------
    timeline
        As `edit_timeline` made it.
    ending
        One of `other_formats`. ``edl`` holds one track: the first of the stills, or of the cards
        where there are none; without either it lists nothing. Its times are timecodes from the
        start of the timeline.
    rate
        That of the timeline.

    Raises
    ------
    ExportError
        If it is not installed, or its adapter refuses the timeline.
    """
    adapter = other_formats().get(ending)
    if adapter is None:
        raise ExportError(
            f"Timelines ending in .{ending} need an adapter that is not installed; "
            "pip install 'overstave[editors]' brings those there are."
        )
    try:
        if ending != "edl":
            return str(otio.adapters.write_to_string(timeline, adapter))
        listed = _one_track(timeline, rate)
        return str(otio.adapters.write_to_string(listed, adapter, rate=_listed_rate(rate)))
    except Exception as error:
        # Adapters are other people's code, each with errors of its own.
        raise ExportError(
            f"The timeline cannot be written as .{ending}; take the .otio file.", repr(error)
        ) from error


def _listed_rate(rate: FrameRate) -> float:
    """The rate to tell the adapter, which drops frames at each rate that can."""
    return float(rate.frames_per_second) if rate.drop else float(rate.whole)


def _one_track(timeline: otio.schema.Timeline, rate: FrameRate) -> otio.schema.Timeline:
    """The first track of pictures by itself, behind a gap up to its first timecode."""
    alone = otio.schema.Timeline(timeline.name)
    track = otio.schema.Track(kind=otio.schema.TrackKind.Video)
    alone.tracks.append(track)
    listed = _listed_rate(rate)
    start = timeline.global_start_time
    if start is not None:
        track.append(otio.schema.Gap(source_range=_range(0, int(start.value), listed)))
    # Without pictures only the footage's gap is left, and the list has a title and no events.
    for child in timeline.tracks[min(1, len(timeline.tracks) - 1)]:
        child = child.deepcopy()
        child.source_range = _range(0, int(child.source_range.duration.value), listed)
        if isinstance(child, otio.schema.Clip):
            child.media_reference.available_range = child.source_range
            # A picture comes from no reel; AX is the sign for that.
            child.metadata["cmx_3600"] = {"reel": "AX"}
        track.append(child)
    return alone


def _tracks(name: str, shots: Iterable[Shot], rate: FrameRate) -> list[otio.schema.Track]:
    """Tracks on which no two shots overlap, as few as can be."""
    speed = float(rate.frames_per_second)
    rows: list[tuple[otio.schema.Track, int]] = []
    for shot in sorted(shots, key=lambda shot: (_frames(shot, rate)[0], shot.point.number)):
        first, frames = _frames(shot, rate)
        at = next((at for at, (_, end) in enumerate(rows) if end <= first), len(rows))
        if at == len(rows):
            title = f"{name} {at + 1}" if at else name
            rows.append((otio.schema.Track(title, kind=otio.schema.TrackKind.Video), 0))
        track, end = rows[at]
        if first > end:
            track.append(otio.schema.Gap(source_range=_range(0, first - end, speed)))
        track.append(_clip(shot, frames, speed))
        rows[at] = (track, first + frames)
    return [track for track, _ in rows]


def _clip(shot: Shot, frames: int, speed: float) -> otio.schema.Clip:
    """A picture; as an image it is available for just as long as it is shown."""
    return otio.schema.Clip(
        name=_stem(shot.file),
        media_reference=otio.schema.ExternalReference(
            target_url=quote(shot.file), available_range=_range(0, frames, speed)
        ),
        source_range=_range(0, frames, speed),
        metadata={"overstave": _about(shot)},
    )


def _marker(shot: Shot, rate: FrameRate) -> otio.schema.Marker:
    first, frames = frames_of(shot.point.time.start, shot.point.time.length, rate)
    return otio.schema.Marker(
        name=_plain(shot.point.mark.label) or shot.point.mark.mark.kind,
        marked_range=_range(first, frames, float(rate.frames_per_second)),
        comment=_plain(shot.point.mark.sentence),
        color=otio.schema.MarkerColor.CYAN,
        metadata={"overstave": _about(shot)},
    )


def _about(shot: Shot) -> dict[str, Any]:
    mark = shot.point.mark
    return {
        "mark": mark.id,
        "kind": mark.mark.kind,
        "state": mark.state,
        "number": shot.point.number,
    }


def _frames(shot: Shot, rate: FrameRate) -> tuple[int, int]:
    time = shot.time or shot.point.time
    return frames_of(time.start, time.length, rate)


def _range(first: int, frames: int, rate: float) -> otio.opentime.TimeRange:
    start, length = (otio.opentime.RationalTime(value, rate) for value in (first, frames))
    return otio.opentime.TimeRange(start, length)


def _stem(file: str) -> str:
    return file.rpartition("/")[2].rpartition(".")[0]


def _plain(text: str) -> str:
    """A name on one line."""
    return " ".join(text.split())
