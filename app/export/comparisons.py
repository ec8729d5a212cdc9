"""Comparisons: a phrase and its return in one frame, beat under beat, with what differs set off.

The layout is that of the compare view (`app.engraving.comparisons`), fitted to a frame: from the
first change on as many measures as can be read. Labels and words grow against the music until they
have the least height of text; where that cannot be, words and then measures are given up. A phrase
with more changes than one picture holds is shown in several, each from the next change on. Free of
Qt.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

from analysis.marks import Repeat
from analysis.reading.sources import Source
from analysis.timebase import Offset, Span
from app.engraving import bounds
from app.engraving.aligned_lines import Side
from app.engraving.bounds import shape_edges
from app.engraving.comparisons import Comparison, RowName, compare
from app.engraving.labels import Toned
from app.engraving.layouts import LARGEST_TEXT, STAFF_HEIGHT, STAFF_SPACE
from app.engraving.metrics import CAP_HEIGHT, UNITS_PER_EM
from app.engraving.pages import Box
from app.engraving.pair_engraving import Passage as PartPassage
from app.engraving.pair_engraving import engrave_pair
from app.engraving.signs import panel
from app.export.excerpts import LYRIC, smallest_em
from app.export.frames import Frame, Picture, Piece
from app.export.legibility import text_warnings
from app.export.legible_excerpts import SLACK
from app.export.passages import MOST_MEASURES, SUITING, Contents
from app.review.document import Document, ReviewedMark

#: All in one line.
_ENDLESS: Final = 1e6
_CORNER: Final = 0.5 * STAFF_SPACE
_CAPITAL: Final = CAP_HEIGHT / UNITS_PER_EM
#: Sizes of words are tried in steps, so that most are engraved once.
_STEPS: Final = 8
#: Rounds in which labels grow, how much more than is missing, and the largest em of a label.
_ROUNDS: Final = 8
_MORE: Final = 1.04
_LARGEST: Final = 5.0 * STAFF_SPACE
NOTHING: Final = frozenset[RowName]()
#: What is not told where there is no room: what a viewer can do without.
_FIRST_TO_GO: Final[frozenset[RowName]] = frozenset({"functions", "degrees"})


@dataclass(frozen=True, slots=True)
class FittedComparison:
    """A comparison in a frame.

    ``scale`` is pixels to the page unit, ``x, y`` where its origin stands, ``plate`` the box below
    it; ``measures`` are the first and last index of the measures of either passage, ``lyrics``
    whether their words are shown.
    """

    comparison: Comparison
    scale: float
    x: float
    y: float
    plate: Box
    text_height: float
    measures: tuple[tuple[int, int], ...]
    lyrics: bool

    @property
    def bands(self) -> list[Toned]:
        """What lies behind everything."""
        return [Toned("tint", panel("", band, _CORNER)) for band in self.comparison.bands]

    def piece(self, strokes: list[Toned]) -> Piece:
        """Some of its shapes in their places."""
        return Piece(strokes, self.scale, self.x, self.y)

    def picture(self, frame: Frame) -> Picture:
        """All of it."""
        music = [Toned("ink", shape) for page in self.comparison.pages for shape in page.shapes]
        strokes = [*self.bands, *music, *self.comparison.overlay.strokes]
        return Picture(
            frame, (self.piece(strokes),), (self.plate,), self.measures, self.text_height,
            text_warnings(self.text_height, frame),
        )  # fmt: skip


def lay_out_comparison(
    document: Document,
    source: Source,
    reviewed: ReviewedMark,
    frame: Frame,
    contents: Contents = SUITING,
) -> Picture:
    """The comparison of a repeat's two passages from their first difference on.

    Parameters
    ----------
    document, source
        The review and its source.
    reviewed
        A mark whose fact is a `Repeat`.
    frame
        Size, ink, backing and theme.
    contents
        Whether words are shown where there is room; a comparison has its own parts and layers.

    Raises
    ------
    EngravingError
        If the measures cannot be engraved.
    """
    fitted = next(fitted_comparisons(document, source, reviewed, frame, frame.title_safe, contents))
    return fitted.picture(frame)


def fitted_comparisons(
    document: Document,
    source: Source,
    reviewed: ReviewedMark,
    frame: Frame,
    room: Box,
    contents: Contents = SUITING,
    left_out: frozenset[RowName] = NOTHING,
) -> Iterator[FittedComparison]:
    """As many comparisons as show all differences, each in the middle of a room of the frame.

    ``left_out`` is not told; nor are functions and degrees of the melody where they have no room.
    """
    fact = reviewed.mark.fact
    if not isinstance(fact, Repeat):
        raise TypeError("only a repeat has two passages to compare")
    places = [change.first_at for change in fact.differences] or [fact.first.start]
    after = document.score.measure_at(fact.first.start).index
    for place in places:
        if document.score.measure_at(place).index >= after:
            shown = _Shown(document, source, fact, frame, room, contents.lyrics, left_out)
            fitted = shown.first_legible(place, after)
            yield fitted
            after = fitted.measures[0][1] + 1
            # Of one phrase all pictures are alike.
            contents = replace(contents, lyrics=fitted.lyrics)


@dataclass(frozen=True, slots=True)
class _Shown:
    """What is compared, and in which room."""

    document: Document
    source: Source
    fact: Repeat
    frame: Frame
    room: Box
    lyrics: bool
    left_out: frozenset[RowName]

    def first_legible(self, place: Offset, after: int) -> FittedComparison:
        """The most measures from a place on whose text is high enough, else the highest text."""
        found: list[FittedComparison] = []
        # Without a measure there is no phrase, so the words go first.
        with_words = (True, False) if self.lyrics else (False,)
        full = product((NOTHING,), range(MOST_MEASURES, 0, -1), with_words)
        bare = product((_FIRST_TO_GO,), (2, 1), (False,))
        for rows, most, lyrics in (*full, *bare):
            sides = _sides(self.document, self.fact, place, after, most)
            found.append(self._grown(sides, rows | self.left_out, lyrics=lyrics))
            if found[-1].text_height >= SLACK * self.frame.least_text:
                return found[-1]
        return max(found, key=lambda fitted: fitted.text_height)

    def _grown(
        self, sides: tuple[Side, Side], left_out: frozenset[RowName], *, lyrics: bool
    ) -> FittedComparison:
        """The comparison with labels grown until they can be read, or as far as helps."""
        least, text = 0.0, 1.0
        enough = self.frame.least_text
        best: FittedComparison | None = None
        for _ in range(_ROUNDS):
            comparison = self._compared(sides, left_out, least, text if lyrics else 0.0)
            measures = tuple(_indexes(self.document, side.span) for side in sides)
            fitted = _fitted(comparison, measures, self.frame, self.room, lyrics=lyrics)
            if best is None or fitted.text_height > best.text_height:
                best = fitted
            wanted = _MORE * enough / (_CAPITAL * fitted.scale)
            too_large = wanted > (LARGEST_TEXT * LYRIC if lyrics else _LARGEST)
            if best.text_height >= SLACK * enough or too_large:
                break
            least = wanted
            text = max(1.0, math.ceil(_STEPS * wanted / LYRIC) / _STEPS)
        assert best is not None
        return best

    def _compared(
        self, sides: tuple[Side, Side], left_out: frozenset[RowName], least: float, text: float
    ) -> Comparison:
        """The comparison in one line, as wide as it needs; without words for a text of 0."""
        first, later = sides
        one, other = (
            PartPassage(side.part, *_indexes(self.document, side.span), text > 0, text or 1.0)
            for side in (first, later)
        )
        lines = list(engrave_pair(self.source, one, other, _ENDLESS))
        changes = [change for change in self.fact.differences if change.first_at in first.span]
        return compare(self.document, first, later, changes, lines, 1.0, least, left_out)


def _sides(
    document: Document, fact: Repeat, place: Offset, after: int, most: int
) -> tuple[Side, Side]:
    """Both passages over the same stretch of their phrase, at most ``most`` measures long.

    The stretch begins at a place of the first, or before it where the phrase ends soon, but not
    before the measure of index ``after``.
    """
    score = document.score
    _, end = _indexes(document, fact.first)
    first = max(after, min(score.measure_at(place).index, end - most + 1))
    last = min(end, first + most - 1)
    begins = max(score.measures[first].onset, fact.first.start) - fact.first.start
    ends = min(score.measures[last].span.end, fact.first.end) - fact.first.start
    ends = min(ends, fact.later.duration)
    sides = []
    for span, part in (
        (fact.first, fact.part),
        (fact.later, fact.later_part or fact.part),
    ):
        stretch = Span(span.start + begins, span.start + max(ends, begins + Offset(1, 4)))
        sides.append(Side(stretch_name(document, stretch), stretch, part))
    return sides[0], sides[1]


def _indexes(document: Document, span: Span) -> tuple[int, int]:
    score = document.score
    last = max(span.start, span.end - Offset(1, 1024))
    return score.measure_at(span.start).index, score.measure_at(last).index


def stretch_name(document: Document, span: Span) -> str:
    """``Verse 1 · measures 5–6``."""
    first, last = (document.score.measures[at].number for at in _indexes(document, span))
    place = f"measure {first}" if first == last else f"measures {first}–{last}"
    sections = document.analysis.sections
    names = [one.name or one.label for one in sections if span.start in one.span]
    return " · ".join([*filter(None, names[:1]), place])


def _fitted(
    comparison: Comparison,
    measures: tuple[tuple[int, int], ...],
    frame: Frame,
    room: Box,
    *,
    lyrics: bool,
) -> FittedComparison:
    """The comparison in the middle of a room, as large as fits."""
    edges = [
        *((x, y, x + width, y + height) for x, y, width, height in comparison.bands),
        *(shape_edges(shape) for page in comparison.pages for shape in page.shapes),
        *(shape_edges(stroke.shape) for stroke in comparison.overlay.strokes),
    ]
    left, top, right, bottom = bounds.union(edges)
    width, height = right - left, bottom - top
    room_x, room_y, room_width, room_height = room
    padding = frame.padding
    scale = min(
        (room_width - 2 * padding) / width,
        (room_height - 2 * padding) / height,
        frame.theme.staff * frame.shorter / STAFF_HEIGHT,
    )
    wide, high = width * scale, height * scale
    x, y = room_x + (room_width - wide) / 2, room_y + (room_height - high) / 2
    plate = (x - padding, y - padding, wide + 2 * padding, high + 2 * padding)
    ems = [smallest_em(page, comparison.overlay) for page in comparison.pages]
    text_height = min(ems, default=0.0) * _CAPITAL * scale
    return FittedComparison(
        comparison, scale, x - left * scale, y - top * scale, plate, text_height, measures, lyrics
    )
