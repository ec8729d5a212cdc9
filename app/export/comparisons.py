"""Comparisons: a phrase and its return in one frame, beat under beat, with what differs set off.

The layout is that of the compare view (`app.engraving.comparisons`), fitted to a frame: as many
measures around the first change as can be read. Free of Qt.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from analysis.marks import Repeat
from analysis.sources import Source
from analysis.timebase import Offset, Span
from app.engraving import bounds
from app.engraving.aligned_lines import Side
from app.engraving.bounds import shape_edges
from app.engraving.comparisons import Comparison, compare
from app.engraving.labels import Toned
from app.engraving.layouts import STAFF_HEIGHT, STAFF_SPACE
from app.engraving.metrics import CAP_HEIGHT, UNITS_PER_EM
from app.engraving.pages import Box
from app.engraving.pair_engraving import Passage as PartPassage
from app.engraving.pair_engraving import engrave_pair
from app.engraving.signs import panel
from app.export.excerpts import smallest_em
from app.export.frames import Frame, Picture, Piece
from app.export.legibility import text_warnings
from app.export.passages import SUITING, Contents, passages_of
from app.review.document import Document, ReviewedMark

#: All in one line.
_ENDLESS: Final = 1e6
#: Text of two passages may be smaller by this than where one has the frame alone.
_OF_TWO: Final = 0.65
_CORNER: Final = 0.5 * STAFF_SPACE
_CAPITAL: Final = CAP_HEIGHT / UNITS_PER_EM


def lay_out_comparison(
    document: Document,
    source: Source,
    reviewed: ReviewedMark,
    frame: Frame,
    contents: Contents = SUITING,
) -> Picture:
    """The comparison of a repeat's two passages.

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
    fact = reviewed.mark.fact
    if not isinstance(fact, Repeat):
        raise TypeError("only a repeat has two passages to compare")
    found: list[Picture] = []
    # The words go before the last but two measures do: without a measure there is no phrase.
    for most, lyrics in ((4, True), (3, True), (2, True), (2, False), (1, True), (1, False)):
        if lyrics and not contents.lyrics:
            continue
        sides = _sides(document, reviewed, fact, most)
        picture = _fitted(_compared(document, source, fact, sides, lyrics=lyrics), frame)
        measures = tuple(_indexes(document, side.span) for side in sides)
        found.append(replace(picture, measures=measures))
        if picture.text_height >= _OF_TWO * frame.least_text:
            return found[-1]
    return max(found, key=lambda picture: picture.text_height)


def _sides(
    document: Document, reviewed: ReviewedMark, fact: Repeat, most: int
) -> tuple[Side, Side]:
    """Both passages over the same stretch of their phrase, at most ``most`` measures long."""
    measures = document.score.measures
    passage = passages_of(document, reviewed, most)[0]
    begins = max(measures[passage.first].onset, fact.first.start) - fact.first.start
    ends = min(measures[passage.last].span.end, fact.first.end) - fact.first.start
    ends = min(ends, fact.later.duration)
    sides = []
    for span, part in (
        (fact.first, fact.part),
        (fact.later, fact.later_part or fact.part),
    ):
        stretch = Span(span.start + begins, span.start + max(ends, begins + Offset(1, 4)))
        sides.append(Side(_name_of(document, stretch), stretch, part))
    return sides[0], sides[1]


def _indexes(document: Document, span: Span) -> tuple[int, int]:
    score = document.score
    last = max(span.start, span.end - Offset(1, 1024))
    return score.measure_at(span.start).index, score.measure_at(last).index


def _name_of(document: Document, span: Span) -> str:
    """``Verse 1 · measures 5–6``."""
    first, last = (document.score.measures[at].number for at in _indexes(document, span))
    place = f"measure {first}" if first == last else f"measures {first}–{last}"
    sections = document.analysis.sections
    names = [one.name or one.label for one in sections if span.start in one.span]
    return " · ".join([*filter(None, names[:1]), place])


def _compared(
    document: Document, source: Source, fact: Repeat, sides: tuple[Side, Side], *, lyrics: bool
) -> Comparison:
    """The comparison in one line, as wide as it needs."""
    first, later = sides
    one, other = (
        PartPassage(side.part, *_indexes(document, side.span), lyrics) for side in (first, later)
    )
    lines = list(engrave_pair(source, one, other, _ENDLESS))
    differences = [change for change in fact.differences if change.first_at in first.span]
    return compare(document, first, later, differences, lines, 1.0)


def _fitted(comparison: Comparison, frame: Frame) -> Picture:
    """The comparison in the middle of the frame, as large as fits."""
    bands = [Toned("tint", panel("", band, _CORNER)) for band in comparison.bands]
    music = [Toned("ink", shape) for page in comparison.pages for shape in page.shapes]
    strokes = [*bands, *music, *comparison.overlay.strokes]
    left, top, right, bottom = bounds.union(shape_edges(stroke.shape) for stroke in strokes)
    width, height = right - left, bottom - top
    _, _, safe_width, safe_height = frame.title_safe
    padding = frame.padding
    scale = min(
        (safe_width - 2 * padding) / width,
        (safe_height - 2 * padding) / height,
        frame.theme.staff * frame.shorter / STAFF_HEIGHT,
    )
    x, y = (frame.width - width * scale) / 2, (frame.height - height * scale) / 2
    plate: Box = (
        x - padding,
        y - padding,
        width * scale + 2 * padding,
        height * scale + 2 * padding,
    )
    ems = [smallest_em(page, comparison.overlay) for page in comparison.pages]
    text_height = min(ems, default=0.0) * _CAPITAL * scale
    return Picture(
        frame,
        (Piece(strokes, scale, x - left * scale, y - top * scale),),
        (plate,),
        (),
        text_height,
        text_warnings(text_height, frame),
    )
