"""Captions: the sentences of the talking points as WebVTT and SubRip (SRT) files.

A sentence becomes one cue or several that follow each other, of at most two lines of `WIDTH`
characters each, as even as they can be; its time is shared out by words. Cues begin and end on
frames of the video and are in order of start; times have three digits of milliseconds.

Music signs stay as they are, since both formats are Unicode. WebVTT escapes ``&`` and ``<``; SubRip
knows no escapes, so brackets that players take for markup are replaced by similar ones. An arrow
``-->`` ends a cue's head in both and becomes ``→``.

References
----------
WebVTT, W3C. SubRip: no standard, from memory. Two lines: BBC Subtitle Guidelines (second-hand);
42 characters a line: common practice, no source.
"""

from __future__ import annotations

import html
import textwrap
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

import srt
import webvtt

from analysis.timebase import Fraction
from app.export.legibility import words_of
from app.export.timecodes import FrameRate, frames_of, seconds_of
from app.export.timing import TimedPoint

#: Most characters of a line and most lines of a cue.
WIDTH: Final = 42
LINES: Final = 2
_NARROWEST: Final = 20
_LOOKALIKES: Final = str.maketrans("<>{}", "‹›()")


@dataclass(frozen=True, slots=True)
class Cue:
    """One caption: lines of text and when they stand, in milliseconds."""

    start: int
    end: int
    lines: tuple[str, ...]


def cues_of(points: Iterable[TimedPoint], rate: FrameRate) -> list[Cue]:
    """The captions of timed points, in order of start; points without words have none."""
    cues = [cue for point in points for cue in _cues_of_one(point, rate)]
    return sorted(cues, key=lambda cue: cue.start)


def to_webvtt(cues: Sequence[Cue]) -> str:
    """The cues as a WebVTT file."""
    file = webvtt.WebVTT()
    for cue in cues:
        text = html.escape("\n".join(cue.lines), quote=False)
        file.captions.append(webvtt.Caption(_stamp(cue.start), _stamp(cue.end), text))
    return str(file.content)


def to_srt(cues: Sequence[Cue]) -> str:
    """The cues as a SubRip file."""
    text: str = srt.compose(
        srt.Subtitle(
            number,
            timedelta(milliseconds=cue.start),
            timedelta(milliseconds=cue.end),
            "\n".join(cue.lines).translate(_LOOKALIKES),
        )
        for number, cue in enumerate(cues, start=1)
    )
    return text


def broken_lines(text: str) -> list[str]:
    """A text in lines of at most `WIDTH` characters: as few as can be, then as even as can be."""
    shown = "".join(c if unicodedata.category(c) != "Cc" else " " for c in text)
    # No line begins with a dash.
    words = " ".join(shown.split()).replace("-->", "→").replace(" –", "\N{NO-BREAK SPACE}–")
    lines = textwrap.wrap(words, WIDTH, break_on_hyphens=False)
    for width in range(WIDTH - 1, _NARROWEST - 1, -1):
        narrower = textwrap.wrap(words, width, break_on_hyphens=False)
        if len(narrower) > len(lines):
            break
        lines = narrower
    return [line.replace("\N{NO-BREAK SPACE}–", " –") for line in lines]


def _cues_of_one(point: TimedPoint, rate: FrameRate) -> Iterator[Cue]:
    lines = broken_lines(point.mark.sentence)
    count = -(-len(lines) // LINES)
    pages = [lines[at * LINES : (at + 1) * LINES] for at in range(count)]
    weights = [max(words_of(" ".join(page)), 1) for page in pages]
    start = point.time.start
    for page, weight in zip(pages, weights, strict=True):
        length = point.time.length * Fraction(weight, sum(weights))
        first, frames = frames_of(start, length, rate)
        begin, end = _milliseconds(first, rate), _milliseconds(first + frames, rate)
        yield Cue(begin, end, tuple(page))
        start += length


def _milliseconds(frame: int, rate: FrameRate) -> int:
    return (seconds_of(frame, rate) * 1000 + Fraction(1, 2)).__floor__()


def _stamp(milliseconds: int) -> str:
    seconds, thousandths = divmod(milliseconds, 1000)
    minutes, second = divmod(seconds, 60)
    hours, minute = divmod(minutes, 60)
    return f"{hours:02d}:{minute:02d}:{second:02d}.{thousandths:03d}"
