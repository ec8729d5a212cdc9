"""The script: the talking points as a Markdown outline, in the order in which they are told.

Each point has its measures, when it is played and when it stands in the video, its sentence, the
user's comment, the names of its pictures, and the words with the time to speak them at 160 to 180
words a minute. All text is escaped, so nothing in a title or a comment becomes markup.

References
----------
CommonMark 0.31: *Backslash escapes*. Words a minute: Ofcom, quoted by BBC R&D, 2015.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from analysis.timebase import Fraction
from app.export.legibility import FASTEST, SLOWEST, words_of
from app.export.talking_points import title_of
from app.export.timing import Clock, TimedPoint
from app.review.document import Document, ReviewedMark

#: Signs that can mean something in Markdown wherever they stand.
_SIGNS: Final = re.compile(r"([\\`*_{}\[\]<>#|~&!])")
#: Signs that mean something at the beginning of a line.
_BEGINNINGS: Final = re.compile(r"^(\d{1,9})([.)])(?=\s|$)|^([-+=]+)(?=\s|$|[-+=])")


def to_outline(
    document: Document,
    points: Sequence[TimedPoint],
    pictures: Mapping[str, Sequence[str]] | None = None,
) -> str:
    """The outline as Markdown text, ending in a line feed.

    Parameters
    ----------
    points
        The talking points; they are told in the order of their numbers.
    pictures
        Files of each point's stills and cards, by mark id.
    """
    pictures = pictures or {}
    told = sorted(points, key=lambda point: point.number)
    title = document.score.title or document.source.name
    lines = [f"# {escaped(title)}", ""]
    if document.score.composer:
        lines += [escaped(document.score.composer), ""]
    words = sum(words_of(point.mark.sentence) for point in told)
    count = "one point" if len(told) == 1 else f"{len(told)} points"
    lines += [f"Talking points: {count}, {words} words, {_speaking(words)} to speak.", ""]
    clock = Clock(document.score)
    for point in told:
        lines += _of_point(document, point, clock, pictures.get(point.mark.id, ()))
    return "\n".join(lines).rstrip("\n") + "\n"


def escaped(text: str) -> str:
    """A text on one line that Markdown shows as it is."""
    one_line = " ".join(text.split())
    signs = _SIGNS.sub(r"\\\1", one_line)
    return _BEGINNINGS.sub(lambda m: f"{m[1]}\\{m[2]}" if m[1] else f"\\{m[3]}", signs)


def clock_time(seconds: Fraction) -> str:
    """Minutes and seconds as ``m:ss``, from an hour on ``h:mm:ss``; rounded down, like a player."""
    minutes, second = divmod(int(seconds), 60)
    hours, minute = divmod(minutes, 60)
    return f"{hours}:{minute:02d}:{second:02d}" if hours else f"{minute}:{second:02d}"


def _of_point(
    document: Document, point: TimedPoint, clock: Clock, pictures: Sequence[str]
) -> Iterator[str]:
    reviewed = point.mark
    heading = title_of(reviewed)
    yield f"## {point.number}. {escaped(heading)}"
    yield ""
    yield f"- {_where(document, reviewed)}"
    played = [clock_time(time) for time in clock.times_of(reviewed.mark.span.start)]
    yield f"- Played at {', '.join(played)}" if played else "- Never played"
    length = float(point.time.length)
    yield f"- In the video at {clock_time(point.time.start)} for {length:.1f} s"
    words = words_of(reviewed.sentence)
    yield f"- {words} {'word' if words == 1 else 'words'}, {_speaking(words)}"
    if pictures:
        yield f"- Pictures: {', '.join(_code(name) for name in pictures)}"
    yield ""
    if reviewed.sentence.strip():
        yield escaped(reviewed.sentence)
        yield ""
    for paragraph in re.split(r"\n\s*\n", reviewed.comment.strip()):
        if paragraph:
            yield f"> {escaped(paragraph)}"
            yield ""


def _where(document: Document, reviewed: ReviewedMark) -> str:
    """The measures of a mark and the beat it begins on, as printed."""
    score, span = document.score, reviewed.mark.span
    first = score.measure_at(span.start)
    inside = [measure for measure in score.measures if measure.span.overlaps(span)]
    last = inside[-1] if inside else first
    beat = score.beat_at(span.start)
    shown = str(beat) if beat.denominator == 1 else f"{float(beat):.2f}".rstrip("0")
    if last.index == first.index:
        return f"Measure {escaped(first.number)}, beat {shown}"
    return f"Measures {escaped(first.number)}–{escaped(last.number)}, from beat {shown}"


def _speaking(words: int) -> str:
    """How long so many words take to speak, from fast to slow."""
    fast, slow = (-(-60 * words // rate) for rate in (FASTEST, SLOWEST))
    return f"{fast} s" if fast == slow else f"{fast}–{slow} s"


def _code(name: str) -> str:
    """A file's name as code, whatever backticks it has."""
    runs = [len(run) for run in re.findall("`+", name)]
    fence = "`" * next(n for n in range(1, len(runs) + 2) if n not in runs)
    space = " " if name.startswith("`") or name.endswith("`") else ""
    return f"{fence}{space}{name}{space}{fence}"
