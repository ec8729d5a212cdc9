"""Excerpts for pictures: some measures engraved anew, with their marks, as large as the room lets.

An excerpt is never cut from a page: the measures are engraved for the room that they get, with the
clef, key and meter in force at their start, and the marks are laid out over them in the size that
the picture's least text height asks for. Free of Qt: the result is toned shapes with a scale.

Method. The measures around the mark go in one line; context is given up, first before it, then
after it, while the music would be too small to read. What is too wide even then is set in several
lines. Labels are enlarged against the music until their capitals have the least height; that takes
room, so the scale is settled in a few rounds.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from analysis.marks import ChordFact, Repeat
from analysis.sources import Source
from analysis.timebase import Offset, Span
from app.engraving import bounds
from app.engraving.bounds import shape_edges
from app.engraving.engraver import engrave
from app.engraving.labels import Layer, Overlay, Style, Toned
from app.engraving.layouts import STAFF_HEIGHT, STAFF_SPACE, Layout
from app.engraving.metrics import CAP_HEIGHT, UNITS_PER_EM
from app.engraving.overlay import lay_out, room
from app.engraving.pages import Box, Page, TextShape
from app.engraving.signs import frame
from app.review.document import Document, ReviewedMark

#: Measures of context before and after the mark, and most measures of an excerpt.
_BEFORE: Final = 1
_AFTER: Final = 1
MOST_MEASURES: Final = 4
#: Ems of lyrics and chord symbols in page units, the smallest texts of an excerpt that are read.
_LYRIC: Final = 34.4
_SYMBOL: Final = 42.0
#: Em of the smallest labels, in staff spaces, with a little to spare.
_SMALLEST: Final = 1.4
#: Border of the engraved page, which the excerpt's own box replaces, and a height that holds all.
_MARGIN: Final = 20.0
_TALL: Final = 20000.0
#: Labels are never larger than this against the music, even where they then are too small to read.
_LARGEST: Final = 1.8
_ROUNDS: Final = 5
#: How far the frame around a chord's labels stands off.
_GROW: Final = 0.5 * STAFF_SPACE
_CAPITAL: Final = CAP_HEIGHT / UNITS_PER_EM


@dataclass(frozen=True, slots=True)
class Passage:
    """Which measures of which parts to show, by index, both ends counted in.

    Directions are rehearsal marks, words, dynamics and tempos.
    """

    first: int
    last: int
    parts: tuple[str, ...] | None
    lyrics: bool = True
    directions: bool = True


@dataclass(frozen=True, slots=True)
class Space:
    """Room for an excerpt in pixels, the highest staff, and the least height of capitals.

    ``printed`` is the share of that height with which the music's own text makes do.
    """

    width: float
    height: float
    staff: float
    least_text: float
    printed: float = 1.0


@dataclass(frozen=True, slots=True)
class Excerpt:
    """An engraved excerpt.

    ``box`` holds all its ink in page units, ``scale`` is pixels per unit, ``text_height`` the
    height of the capitals of its smallest text in pixels.
    """

    passage: Passage
    page: Page
    overlay: Overlay
    strokes: tuple[Toned, ...]
    box: Box
    scale: float
    text_height: float

    @property
    def width(self) -> float:
        """Width in pixels."""
        return self.box[2] * self.scale

    @property
    def height(self) -> float:
        """Height in pixels."""
        return self.box[3] * self.scale


def passages_of(
    document: Document, reviewed: ReviewedMark, most: int = MOST_MEASURES
) -> list[Passage]:
    """What a picture of a mark shows: one passage, or the two that a repeat compares.

    ``most`` is how many measures a passage may have. Of a longer one the beginning is shown, of a
    repeat the measures from the first difference on.
    """
    fact = reviewed.mark.fact
    parts = parts_for(document, reviewed)
    if not isinstance(fact, Repeat):
        return [_stretch(document, reviewed.mark.span, reviewed.mark.span.start, most, parts)]
    first_at, later_at = fact.first.start, fact.later.start
    if fact.differences:
        first_at, later_at = fact.differences[0].first_at, fact.differences[0].later_at
    return [
        _stretch(document, fact.first, first_at, most, parts),
        _stretch(document, fact.later, later_at, most, parts),
    ]


def parts_for(document: Document, reviewed: ReviewedMark) -> tuple[str, ...] | None:
    """The mark's own parts, the one that carries the chord symbols, and for a chord the lowest."""
    score = document.score
    shown = set(reviewed.mark.parts)
    sung = [part.id for part in score.parts if any(note.lyrics for note in part.notes)]
    symbols = [symbol.part for symbol in score.chord_symbols]
    shown.update(sung[:1] or symbols[:1] or [part.id for part in score.parts[:1]])
    if isinstance(reviewed.mark.fact, ChordFact):
        pitched = [part for part in score.parts if not part.percussion and part.notes]
        shown.update(part.id for part in pitched[-1:])
    return tuple(part.id for part in score.parts if part.id in shown) or None


def meant_marks(document: Document, reviewed: ReviewedMark) -> frozenset[str]:
    """The mark, and for a repeat the chords in which its passages differ."""
    fact = reviewed.mark.fact
    if not isinstance(fact, Repeat):
        return frozenset({reviewed.id})
    places = {at for change in fact.differences for at in (change.first_at, change.later_at)}
    chords = (m for m in document.shown_marks() if m.mark.kind == "chord")
    changed = {chord.id for chord in chords if chord.mark.span.start in places}
    return frozenset({reviewed.id} | changed)


def _stretch(
    document: Document, span: Span, at: Offset, most: int, parts: tuple[str, ...] | None
) -> Passage:
    """Up to ``most`` measures of a span, with the one at an offset in it and as near its head."""
    score = document.score
    start = score.measure_at(span.start).index
    end = max(start, score.measure_at(_just_before(span)).index)
    first = max(start, min(score.measure_at(at).index, end - most + 1))
    return Passage(first, min(end, first + most - 1), parts)


def _just_before(span: Span) -> Offset:
    return max(span.start, span.end - Offset(1, 1024))


def engrave_excerpt(
    document: Document,
    source: Source,
    reviewed: ReviewedMark,
    passage: Passage,
    space: Space,
    layers: frozenset[Layer],
    meant: Collection[str] = (),
    *,
    context: bool = True,
) -> Excerpt:
    """The excerpt of a passage with a mark on it, fitted into a room.

    Parameters
    ----------
    document, source
        The review and its source.
    reviewed
        The mark that the picture is about.
    passage
        What to show at least.
    space
        The room; the excerpt is never larger.
    layers
        What is shown.
    meant
        Ids of the marks that are set off in the accent's tone.
    context
        Whether measures around the passage may be shown where there is room.

    Raises
    ------
    EngravingError
        If the measures cannot be engraved.
    """
    least = space.printed * space.least_text / ((_LYRIC if passage.lyrics else _SYMBOL) * _CAPITAL)
    style = Style(layers, states=False, carried=True, smallest=1.0)
    marks = list(_marks_for(document, reviewed))
    wide = _widened(document, passage) if context else passage
    page = _page(source, Layout(one_system=True), wide)
    chosen = next(
        (p for p in _choices(wide, passage) if _width_of(page, p) * least <= space.width), passage
    )
    if chosen != wide:
        page = _page(source, Layout(one_system=True), chosen)
    fitted = [_fitted(document, marks, meant, chosen, page, space, style)]
    if _width_of(page, chosen) * least > space.width:
        # Too wide to read in one line; several lines may be larger, unless they are high.
        widest = max(_width_of(page, replace(chosen, first=m, last=m)) for m in _indexes(chosen))
        # Verovio squeezes a measure that is wider than its line until its notes run together.
        width = max(space.width / least, 1.02 * widest) + 2 * _MARGIN
        above, below = room(replace(style, scale=_label_scale(space, least)))
        lines = Layout(
            page_width=width,
            page_height=_TALL,
            fit_height=True,
            room_above=above,
            room_below=below,
        )
        in_lines = _page(source, lines, chosen)
        fitted.append(_fitted(document, marks, meant, chosen, in_lines, space, style))
    return max(fitted, key=lambda excerpt: excerpt.scale)


def _page(source: Source, layout: Layout, passage: Passage) -> Page:
    asked = replace(
        layout,
        margin=_MARGIN,
        measure_numbers=False,
        part_names=False,
        lyrics=passage.lyrics,
        directions=passage.directions,
        parts=passage.parts,
        first=passage.first,
        last=passage.last,
    )
    return next(engrave(source, asked))


def is_readable(excerpt: Excerpt, space: Space) -> bool:
    """Whether an excerpt is one line whose text has the least height."""
    least = space.printed * space.least_text
    return len(excerpt.page.systems) == 1 and excerpt.text_height >= 0.99 * least


def _indexes(passage: Passage) -> range:
    return range(passage.first, passage.last + 1)


def _widened(document: Document, passage: Passage) -> Passage:
    """The passage with its context, not more than `MOST_MEASURES`."""
    last = len(document.score.measures) - 1
    room_left = max(0, MOST_MEASURES - 1 - (passage.last - passage.first))
    after = min(_AFTER, room_left, last - passage.last)
    before = min(_BEFORE, room_left - after, passage.first)
    return replace(passage, first=passage.first - before, last=passage.last + after)


def _choices(wide: Passage, passage: Passage) -> Iterator[Passage]:
    """Ever less context: all of it, none before, none at all."""
    yield wide
    yield replace(wide, first=passage.first)
    yield passage


def _width_of(page: Page, passage: Passage) -> float:
    """Width of some measures of a page in one line, with the signs that stand before the first."""
    measures = page.systems[0].measures
    width = sum(m.box[2] for m in measures if passage.first <= m.index <= passage.last)
    signs = measures[0].x_at(0.0) - measures[0].box[0]
    return width + (signs if passage.first > measures[0].index else 0.0)


def _marks_for(document: Document, reviewed: ReviewedMark) -> Iterator[ReviewedMark]:
    """The mark and all chords and keys; everything else would speak of something else."""
    yield reviewed
    for other in document.shown_marks():
        if other.mark.kind in ("chord", "key") and other.id != reviewed.id:
            yield other


def _label_scale(space: Space, scale: float) -> float:
    """How much labels are enlarged so that the smallest has capitals of the least height."""
    smallest = _SMALLEST * STAFF_SPACE * _CAPITAL * scale
    return min(max(1.0, space.least_text / smallest), _LARGEST)


def _fitted(
    document: Document,
    marks: Sequence[ReviewedMark],
    meant: Collection[str],
    passage: Passage,
    page: Page,
    space: Space,
    style: Style,
) -> Excerpt:
    """The page with its labels, scaled into the room."""
    ink = bounds.union(shape_edges(shape) for shape in page.shapes)
    highest = space.staff / STAFF_HEIGHT
    scale = min(highest, space.width / (ink[2] - ink[0]))
    for _ in range(_ROUNDS):
        sized = replace(style, scale=_label_scale(space, scale))
        overlay = lay_out(page, marks, document.score, sized)
        frames = list(_frames(overlay, meant))
        strokes = [*overlay.strokes, *frames]
        edges = bounds.union([ink, *(shape_edges(stroke.shape) for stroke in strokes)])
        width, height = edges[2] - edges[0], edges[3] - edges[1]
        fitting = min(highest, space.width / width, space.height / height)
        if abs(fitting - scale) < 1e-3 * scale:
            break
        scale = fitting
    scale = min(scale, fitting)
    symbols = {
        m.mark.fact.symbol for m in marks if m.id in meant and isinstance(m.mark.fact, ChordFact)
    }
    music = [_set_off(Toned("ink", shape), symbols - {""}) for shape in page.shapes]
    labels = [_set_off(stroke, meant) for stroke in strokes]
    text = _smallest_em(page, overlay) * _CAPITAL * scale
    box = bounds.to_box(edges)
    return Excerpt(passage, page, overlay, (*music, *labels), box, scale, text)


def _smallest_em(page: Page, overlay: Overlay) -> float:
    """The smallest em of lyrics, chord symbols and labels; raised figures count as their label."""
    printed: dict[str, float] = {}
    for shape in page.shapes:
        if isinstance(shape, TextShape) and shape.role in ("syl", "harm"):
            printed[shape.element] = max(printed.get(shape.element, 0.0), shape.size)
    lettered: dict[str, list[TextShape]] = {}
    for _, shape in overlay.strokes:
        if isinstance(shape, TextShape):
            lettered.setdefault(shape.element, []).append(shape)
    ems = list(printed.values())
    for label in overlay.labels:
        _, top, _, height = label.box
        own = [s.size for s in lettered.get(label.mark, ()) if top <= s.y <= top + height + 1]
        ems += [max(own)] if own else []
    return min(ems, default=0.0)


def _frames(overlay: Overlay, meant: Collection[str]) -> Iterator[Toned]:
    """A frame around the labels of each chord that is meant."""
    boxes: dict[str, list[bounds.Edges]] = {}
    for label in overlay.labels:
        if label.mark in meant and label.layer in ("numerals", "functions"):
            x, y, width, height = label.box
            boxes.setdefault(label.mark, []).append((x, y, x + width, y + height))
    for mark, edges in boxes.items():
        box = bounds.to_box(bounds.union(edges))
        yield Toned("accent", frame(mark, box, _GROW))


def _set_off(stroke: Toned, meant: Collection[str]) -> Toned:
    """The marks that are meant in the accent's tone."""
    if stroke.shape.element in meant and stroke.tone in ("ink", "soft"):
        return Toned("accent", stroke.shape)
    return stroke
