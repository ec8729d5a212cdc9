"""Frame rates, frames and timecodes of video.

A time is exact seconds, a `Fraction`; a frame is a count from 0. The rates whose names end in .976,
.97 and .94 are 1000/1001 of whole ones, so 23.976 is 24000/1001. A time becomes the frame that
begins nearest to it, the later one where two are as near (`frame_at`). A stretch goes from the
frame of its start to the frame of its end, so stretches that touch in time touch in frames, and
rounding never adds up; it holds at least one frame.

A timecode ``hh:mm:ss:ff`` counts frames at the whole rate. Drop-frame timecodes, ``hh:mm:ss;ff``,
skip the first 2 numbers (4 at 59.94) of each minute but every tenth, and so stay within two frames
of the clock. After 24 hours they begin again.

References
----------
SMPTE ST 12-1, *Time and control code* (from memory); the tests compare with opentimelineio.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from analysis.errors import ExportError
from analysis.timebase import Fraction

_TIMECODE: Final = re.compile(r"(\d{2}):([0-5]\d):([0-5]\d)([:;])(\d{2})")
_HALF: Final = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class FrameRate:
    """A frame rate.

    Parameters
    ----------
    name
        As people write it, such as ``"29.97 drop"``.
    frames_per_second
        Exact.
    drop
        Whether its timecodes leave out numbers to keep to the clock.
    """

    name: str
    frames_per_second: Fraction
    drop: bool = False

    @property
    def whole(self) -> int:
        """Frames that a timecode counts to a second."""
        return -(-self.frames_per_second.numerator // self.frames_per_second.denominator)


RATES: Final = (
    FrameRate("23.976", Fraction(24000, 1001)),
    FrameRate("24", Fraction(24)),
    FrameRate("25", Fraction(25)),
    FrameRate("29.97", Fraction(30000, 1001)),
    FrameRate("29.97 drop", Fraction(30000, 1001), drop=True),
    FrameRate("30", Fraction(30)),
    FrameRate("50", Fraction(50)),
    FrameRate("59.94", Fraction(60000, 1001)),
    FrameRate("59.94 drop", Fraction(60000, 1001), drop=True),
    FrameRate("60", Fraction(60)),
)


def rate_named(name: str) -> FrameRate:
    """The rate of that name; a hyphen stands for the space, and small differences do not matter.

    Raises
    ------
    ExportError
        If there is none.
    """
    wanted = " ".join(name.lower().replace("-", " ").replace("df", " drop").split())
    for rate in RATES:
        if wanted == rate.name:
            return rate
    names = ", ".join(rate.name for rate in RATES)
    raise ExportError(f"“{name}” is no frame rate; there are {names}.")


def frame_at(seconds: Fraction, rate: FrameRate) -> int:
    """The frame that begins nearest to a time, the later one of two."""
    return (seconds * rate.frames_per_second + _HALF).__floor__()


def frames_of(start: Fraction, length: Fraction, rate: FrameRate) -> tuple[int, int]:
    """First frame of a stretch and how many it holds, at least one."""
    first = frame_at(start, rate)
    return first, max(frame_at(start + length, rate) - first, 1)


def seconds_of(frame: int, rate: FrameRate) -> Fraction:
    """When a frame begins."""
    return frame / rate.frames_per_second


def to_timecode(frame: int, rate: FrameRate) -> str:
    """The timecode of a frame, 0 or more.

    Examples
    --------
    >>> to_timecode(1800, rate_named("29.97 drop"))
    '00:01:00;02'
    """
    if frame < 0:
        raise ValueError("there is no timecode before the first frame")
    if rate.drop:
        frame += _dropped_before(frame, rate.whole)
    seconds, within = divmod(frame, rate.whole)
    minutes, second = divmod(seconds, 60)
    hours, minute = divmod(minutes, 60)
    mark = ";" if rate.drop else ":"
    return f"{hours % 24:02d}:{minute:02d}:{second:02d}{mark}{within:02d}"


def read_timecode(text: str, rate: FrameRate) -> int:
    """The frame of a timecode.

    Raises
    ------
    ExportError
        If it is none, or names a frame that the rate does not have.
    """
    match = _TIMECODE.fullmatch(text.strip())
    if match is None:
        raise ExportError(f"“{text}” is no timecode; write for example 01:00:00:00.")
    hour, minute, second, within = (int(match[at]) for at in (1, 2, 3, 5))
    dropped = _dropped_a_minute(rate.whole) if rate.drop else 0
    if hour > 23 or within >= rate.whole or (minute % 10 and not second and within < dropped):
        raise ExportError(f"There is no frame {text} at {rate.name} frames a second.")
    minutes = 60 * hour + minute
    return (60 * minutes + second) * rate.whole + within - dropped * (minutes - minutes // 10)


def _dropped_a_minute(whole: int) -> int:
    return whole // 15


def _dropped_before(frame: int, whole: int) -> int:
    """How many numbers are left out before a frame."""
    dropped = _dropped_a_minute(whole)
    minute = 60 * whole - dropped
    tens, rest = divmod(frame, 10 * minute + dropped)
    return 9 * dropped * tens + (dropped * ((rest - dropped) // minute) if rest >= dropped else 0)
