"""The layout of stills: excerpts engraved for the frame, to lie over a video.

A still shows the measures of one mark with clef, key and meter, the numerals and functions of its
chords, and the mark itself set off: in the accent's tone, with the frame, bracket or line that its
kind has. A repeat shows both passages. Everything stays in the title-safe
area; labels have capitals of at least 2.5 % of the frame's height. The same document and frame give
the same bytes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from analysis.marks import Repeat
from analysis.reading.sources import Source
from analysis.timebase import Span
from app.engraving.engraver import engrave
from app.engraving.labels import Layer, Toned
from app.engraving.layouts import STAFF_HEIGHT, Layout
from app.engraving.musictext import set_text
from app.engraving.pages import Box
from app.export.comparisons import fitted_comparisons
from app.export.excerpts import Excerpt, Space, engrave_excerpt, is_readable
from app.export.frames import Frame, Picture, Piece
from app.export.legibility import text_warnings
from app.export.legible_excerpts import SLACK, most_legible
from app.export.passages import (
    HARMONY,
    MOST_MEASURES,
    SUITING,
    Contents,
    Passage,
    layers_for,
    leading_part,
    marks_around,
    meant_marks,
    passage_over,
    passages_of,
    spoken_part,
)
from app.export.sentences import CAPITAL
from app.review.document import Document, ReviewedMark

#: Space between two passages, against the frame's shorter side.
_BETWEEN: Final = 0.05
#: By how much passages side by side must be larger than above each other.
_CLEARLY: Final = 1.15
#: Least height of lyrics and chord symbols where two passages share a frame, against the labels'.
_OF_TWO: Final = 0.75
#: What is shown over a stretch of time.
_STRETCH: Final[frozenset[Layer]] = HARMONY | frozenset[Layer]({"keys"})
#: Measures of a picture where a stretch is too long for one.
_PHRASES: Final = (8, 4, 2, 1)
#: Text below this share of the least height does not become readable in the same measures.
_HOPELESS: Final = 0.3
#: Height of a title with the space under it, in its ems.
_TITLE: Final = 1.3
#: Pages as they are printed where nothing else is said.
_PAGES: Final = Layout()


@dataclass(frozen=True, slots=True)
class Still:
    """The excerpts of a still, and whether they stand side by side."""

    excerpts: tuple[Excerpt, ...]
    beside: bool


def lay_out_still(
    document: Document,
    source: Source,
    reviewed: ReviewedMark,
    frame: Frame,
    contents: Contents = SUITING,
) -> Picture:
    """The still of a mark.

    Raises
    ------
    EngravingError
        If its measures cannot be engraved.
    ExportError
        If the contents name no part of the score.
    """
    return next(lay_out_stills(document, source, reviewed, frame, contents))


def lay_out_stills(
    document: Document,
    source: Source,
    reviewed: ReviewedMark,
    frame: Frame,
    contents: Contents = SUITING,
) -> Iterator[Picture]:
    """The stills of a mark: one, or of a repeat as many as show what differs large enough.

    Raises
    ------
    EngravingError, ExportError
        As for one.
    """
    if isinstance(reviewed.mark.fact, Repeat) and contents.parts is None:
        room = frame.title_safe
        for fitted in fitted_comparisons(document, source, reviewed, frame, room, contents):
            yield fitted.picture(frame)
    else:
        yield _picture(engrave_still(document, source, reviewed, frame, contents), frame)


def lay_out_stretch(
    document: Document,
    source: Source,
    span: Span,
    frame: Frame,
    contents: Contents = SUITING,
    title: str = "",
) -> Picture:
    """The still of a stretch of time: a few measures, a section, or what stands on a page.

    All measures that the stretch touches are shown in one picture, in as many lines as make them
    largest; `lay_out_stretches` makes several where they are too many to read. A ``title`` stands
    above them.

    Raises
    ------
    EngravingError, ExportError
        As for marks.
    """
    passage = passage_over(document, span, contents)
    return _stretch(document, source, passage, frame, contents, title=title)


def lay_out_stretches(
    document: Document,
    source: Source,
    span: Span,
    frame: Frame,
    contents: Contents = SUITING,
    title: str = "",
) -> list[Picture]:
    """A stretch of time in as few pictures as have text that can be read, one after the other.

    A long stretch is cut after every eighth, fourth, second or single measure, as phrases are.

    Raises
    ------
    EngravingError, ExportError
        As for marks.
    """
    whole = passage_over(document, span, contents)
    count = len(whole.indexes)
    upbeat = _begins_with_an_upbeat(document, whole)
    for most in (count, *(size for size in _PHRASES if size < count)):
        starts = [whole.first, *whole.indexes[most + upbeat :: most]]
        ends = [start - 1 for start in starts[1:]] + [whole.last]
        passages = (
            replace(whole, first=first, last=last) for first, last in zip(starts, ends, strict=True)
        )
        pictures = []
        for passage in passages:
            hopeless = _HOPELESS if most > 1 else 0.0
            pictures.append(_stretch(document, source, passage, frame, contents, hopeless, title))
            if most > 1 and pictures[-1].text_height < SLACK * frame.least_text:
                break
        else:
            break
    return pictures


def lay_out_whole(
    document: Document,
    source: Source,
    span: Span,
    frame: Frame,
    contents: Contents = SUITING,
) -> list[Picture]:
    """A stretch of time in one picture, whatever its size."""
    return [lay_out_stretch(document, source, span, frame, contents)]


def _begins_with_an_upbeat(document: Document, passage: Passage) -> bool:
    """Whether the first measure is shorter than the next, and so belongs to it."""
    first, *after = document.score.measures[passage.first : passage.last + 1][:2]
    return bool(after) and first.length < after[0].length


def _stretch(
    document: Document,
    source: Source,
    passage: Passage,
    frame: Frame,
    contents: Contents,
    hopeless: float = 0.0,
    title: str = "",
) -> Picture:
    layers = _STRETCH if contents.layers is None else contents.layers
    measures = document.score.measures
    span = Span(measures[passage.first].onset, measures[passage.last].span.end)
    shown = [m for m in document.shown_marks() if m.mark.span.overlaps(span)]
    space = _space(frame)
    space = replace(space, height=space.height - _title_height(frame, title))

    def engraved(choice: Passage) -> Excerpt:
        return engrave_excerpt(document, source, shown, choice, space, layers, context=False)

    part = None if contents.parts else leading_part(document)
    excerpt = most_legible(
        engraved, passage, space.least_text, part, fewer_measures=False, hopeless=hopeless
    )
    return _titled(_picture(Still((excerpt,), False), frame), title)


def _title_height(frame: Frame, title: str) -> float:
    """Height of a title over a picture with the space under it, in pixels."""
    return _TITLE * frame.least_text / CAPITAL if title else 0.0


def _titled(picture: Picture, title: str) -> Picture:
    """The picture with a title at the head of its plate."""
    if not title:
        return picture
    frame, ((left, top, width, height), *_) = picture.frame, picture.plates
    added = _title_height(frame, title)
    top -= added / 2
    em = frame.least_text / CAPITAL
    text = set_text(title, em, "semibold")
    if text.width > width - 2 * frame.padding:
        text = set_text(title, em * (width - 2 * frame.padding) / text.width, "semibold")
    shapes = text.shapes(left + frame.padding, top + frame.padding + frame.least_text)
    head = Piece([Toned("ink", shape) for shape in shapes], 1.0, 0.0, 0.0)
    moved = (piece._replace(y=piece.y + added / 2) for piece in picture.pieces)
    plate: Box = (left, top, width, height + added)
    return replace(picture, pieces=(head, *moved), plates=(plate,))


def page_spans(document: Document, source: Source, layout: Layout = _PAGES) -> list[Span]:
    """The stretch of time that each page of an engraving shows, for `lay_out_stretch`."""
    measures = document.score.measures
    spans = []
    for page in engrave(source, layout):
        shown = [measure.index for system in page.systems for measure in system.measures]
        spans.append(Span(measures[shown[0]].onset, measures[shown[-1]].span.end))
    return spans


def _picture(still: Still, frame: Frame) -> Picture:
    pieces, plate = compose_still(still, frame)
    height = min(excerpt.text_height for excerpt in still.excerpts)
    return Picture(
        frame,
        tuple(pieces),
        (plate,),
        tuple((excerpt.passage.first, excerpt.passage.last) for excerpt in still.excerpts),
        height,
        text_warnings(height, frame),
    )


def _space(frame: Frame, room: Box | None = None) -> Space:
    """What lies inside a plate that fills a room, else the title-safe area."""
    _, _, width, height = room or frame.title_safe
    staff = frame.theme.staff * frame.shorter
    return Space(width - 2 * frame.padding, height - 2 * frame.padding, staff, frame.least_text)


def engrave_still(
    document: Document,
    source: Source,
    reviewed: ReviewedMark,
    frame: Frame,
    contents: Contents = SUITING,
    room: Box | None = None,
) -> Still:
    """The passages of a still: one, or the two that a repeat compares, then at one scale.

    ``room`` is where the plate may lie, in pixels; None for the title-safe area.
    """
    layers = layers_for(reviewed, contents)
    meant = meant_marks(document, reviewed)
    marks = list(marks_around(document, reviewed))

    def engraved(passages: Sequence[Passage], space: Space) -> tuple[Excerpt, ...]:
        alone = len(passages) == 1
        return tuple(
            engrave_excerpt(document, source, marks, passage, space, layers, meant, context=alone)
            for passage in passages
        )

    passages = passages_of(document, reviewed, contents=contents)
    if len(passages) == 1:
        space = _space(frame, room)
        part = None if contents.parts else spoken_part(reviewed, passages[0].parts)
        found = most_legible(
            lambda one: engraved([one], space)[0], passages[0], space.least_text, part
        )
        return Still((found,), False)

    def chosen(most: int) -> list[Passage]:
        found = passages_of(document, reviewed, most, contents)
        return [replace(passage, directions=False) for passage in found]

    return _compared(chosen, _space(frame, room), _BETWEEN * frame.shorter, engraved)


def _compared(
    chosen: Callable[[int], list[Passage]],
    whole: Space,
    between: float,
    engraved: Callable[[Sequence[Passage], Space], tuple[Excerpt, ...]],
) -> Still:
    """Two passages at one scale, as many measures of them as can be read in one line each.

    They stand one above the other, where they are compared best, or side by side where that makes
    them clearly larger. What is compared is the chords; directions are left out.
    """
    smaller = replace(whole, printed=_OF_TWO)
    over = replace(smaller, height=(whole.height - between) / 2)
    side = replace(smaller, width=(whole.width - between) / 2)
    for most in range(MOST_MEASURES, 0, -1):
        passages = chosen(most)
        stacked = engraved(passages, over)
        if most == 1 or _can_be_read(stacked, over):
            break
    abreast = engraved(passages, side)
    larger = _least_scale(abreast) > _CLEARLY * _least_scale(stacked)
    beside = _can_be_read(abreast, side) and larger
    space, found = (side, abreast) if beside else (over, stacked)
    common = replace(space, staff=_least_scale(found) * STAFF_HEIGHT)
    return Still(engraved(passages, common), beside)


def _can_be_read(excerpts: Sequence[Excerpt], space: Space) -> bool:
    return all(is_readable(excerpt, space) for excerpt in excerpts)


def compose_still(still: Still, frame: Frame, room: Box | None = None) -> tuple[list[Piece], Box]:
    """Place the excerpts in the middle of a room, else of the frame; pieces and their plate."""
    padding, between = frame.padding, _BETWEEN * frame.shorter
    excerpts = still.excerpts
    gaps = between * (len(excerpts) - 1)
    # Side by side their staves are level; above each other their left ends are.
    rises = [_rise(excerpt) if still.beside else 0.0 for excerpt in excerpts]
    if still.beside:
        width = sum(excerpt.width for excerpt in excerpts) + gaps
        below = (e.height - rise for e, rise in zip(excerpts, rises, strict=True))
        height = max(rises) + max(below)
    else:
        width = max(excerpt.width for excerpt in excerpts)
        height = sum(excerpt.height for excerpt in excerpts) + gaps
    room_x, room_y, room_width, room_height = room or (0.0, 0.0, frame.width, frame.height)
    left, top = room_x + (room_width - width) / 2, room_y + (room_height - height) / 2
    pieces, x, y = [], left, top
    for excerpt, rise in zip(excerpts, rises, strict=True):
        down = max(rises) - rise
        box_x, box_y, _, _ = excerpt.box
        scale = excerpt.scale
        pieces.append(Piece(excerpt.strokes, scale, x - box_x * scale, y + down - box_y * scale))
        if still.beside:
            x += excerpt.width + between
        else:
            y += excerpt.height + between
    plate = (left - padding, top - padding, width + 2 * padding, height + 2 * padding)
    return pieces, plate


def _rise(excerpt: Excerpt) -> float:
    """Height of what stands above the first staff, in pixels."""
    return (excerpt.page.systems[0].measures[0].box[1] - excerpt.box[1]) * excerpt.scale


def _least_scale(excerpts: Sequence[Excerpt]) -> float:
    return min(excerpt.scale for excerpt in excerpts)
