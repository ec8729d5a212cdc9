"""Two passages engraved for a comparison, line by line; how they are aligned comes later.

Both are broken into lines at the same measures, as many as fit into a width, so that each line of
one stands over the same line of the other. Calls the engraver, so run it where that may fail.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Final, NamedTuple

from analysis.reading.sources import Source
from app.engraving.alignments import PairLine
from app.engraving.engraver import engrave
from app.engraving.layouts import Layout
from app.engraving.pages import Page

#: Border of the engraved page in page units.
MARGIN: Final = 20.0
#: How much wider than each passage alone an aligned pair may get, at a guess.
_ALIGNED: Final = 1.12


class Passage(NamedTuple):
    """Measures of one part, by index, both ends counted in, with or without their words.

    ``text`` is the size of the words against the usual.
    """

    part: str
    first: int
    last: int
    lyrics: bool = True
    text: float = 1.0


def engrave_pair(
    source: Source, first: Passage, later: Passage, width: float
) -> Iterator[PairLine]:
    """The lines of a comparison, each at most ``width`` page units wide where that can be.

    Raises
    ------
    EngravingError
        If the measures cannot be engraved.
    """
    count = max(first.last - first.first, later.last - later.first) + 1
    widths = _measure_widths(source, first, later, count)
    for start, end in _breaks(widths, width / _ALIGNED):
        yield PairLine(*(_line(source, passage, start, end) for passage in (first, later)))


@lru_cache(maxsize=64)
def _line(source: Source, passage: Passage, start: int, end: int) -> Page | None:
    """One passage's measures from a number to another, counted from its first."""
    first, last = passage.first + start, min(passage.first + end - 1, passage.last)
    if first > passage.last:
        return None
    layout = Layout(
        margin=MARGIN,
        one_system=True,
        lyrics=passage.lyrics,
        directions=False,
        chord_symbols=False,
        part_names=False,
        measure_numbers=False,
        parts=(passage.part,),
        first=first,
        last=last,
        text=passage.text,
    )
    return next(engrave(source, layout))


def _measure_widths(source: Source, first: Passage, later: Passage, count: int) -> list[float]:
    """The wider of both at each measure; the first with its clef and signatures."""
    widths = [0.0] * count
    for passage in (first, later):
        page = _line(source, passage, 0, count)
        for at, measure in enumerate(page.systems[0].measures if page else ()):
            if at < count:
                widths[at] = max(widths[at], measure.box[2])
    return widths


def _breaks(widths: list[float], room: float) -> list[tuple[int, int]]:
    """Lines as (first, past the last) measure, about equally full."""
    head = min(widths[0] * 0.4, 160.0) if widths else 0.0
    lines = max(1, round((sum(widths) + 0.5 * room) // room))
    while True:
        aim = sum(widths) / lines
        found: list[tuple[int, int]] = []
        start, total = 0, 0.0
        for at, width in enumerate(widths):
            over = total + width + (head if start else 0.0) > room
            full = total + width / 2 > aim and len(found) < lines - 1
            if at > start and (over or full):
                found.append((start, at))
                start, total = at, 0.0
            total += width
        found.append((start, len(widths)))
        if len(found) <= lines or lines >= len(widths):
            return found
        lines = len(found)
