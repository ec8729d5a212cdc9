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
from functools import lru_cache
from typing import Final

from analysis.errors import EngravingError
from analysis.marks import ChordFact
from analysis.reading.sources import Source
from app.engraving import bounds
from app.engraving.bounds import shape_edges
from app.engraving.engraver import engrave
from app.engraving.labels import Layer, Overlay, Style, Toned
from app.engraving.layouts import STAFF_HEIGHT, STAFF_SPACE, Layout
from app.engraving.metrics import CAP_HEIGHT, UNITS_PER_EM
from app.engraving.overlay import lay_out, room
from app.engraving.pages import Box, Page, TextShape
from app.engraving.signs import frame
from app.export.passages import MOST_MEASURES, Passage
from app.review.document import Document, ReviewedMark

#: Measures of context before and after the mark.
_BEFORE: Final = 1
_AFTER: Final = 1
#: Ems of lyrics and chord symbols in page units, the smallest texts of an excerpt that are read.
LYRIC: Final = 34.4
_SYMBOL: Final = 42.0
#: Em of the smallest labels, in staff spaces, with a little to spare.
_SMALLEST: Final = 1.4
#: Border of the engraved page, which the excerpt's own box replaces, and a height that holds all.
_MARGIN: Final = 20.0
_TALL: Final = 20000.0
#: Labels are never larger than this against the music, even where they then are too small to read.
_LARGEST: Final = 2.4
_ROUNDS: Final = 5
#: How much longer the lines of a long passage are tried, against those of readable size.
_WIDTHS: Final = (1.0, 1.3, 1.7, 2.2, 3.0)
#: A last line shorter than this against the first is left with too little; and how much longer
#: than even lines must be to hold the signs at their beginnings.
_LAST_LINE: Final = 0.65
_EVEN: Final = 1.12
#: How far the frame around a chord's labels stands off.
_GROW: Final = 0.36 * STAFF_SPACE
_CAPITAL: Final = CAP_HEIGHT / UNITS_PER_EM


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


def engrave_excerpt(
    document: Document,
    source: Source,
    marks: Sequence[ReviewedMark],
    passage: Passage,
    space: Space,
    layers: frozenset[Layer],
    meant: Collection[str] = (),
    *,
    context: bool = True,
) -> Excerpt:
    """The excerpt of a passage with its marks, fitted into a room.

    Parameters
    ----------
    document, source
        The review and its source.
    marks
        What may be shown; the layers choose among it.
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
    em = passage.text * (LYRIC if passage.lyrics else _SYMBOL)
    least = space.printed * space.least_text / (em * _CAPITAL)
    style = Style(layers, states=False, carried=True, smallest=1.0, arrows=True)
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
        for factor in _WIDTHS:
            in_lines = _in_lines(source, page, chosen, space, style, least / factor)
            laid = _fitted(document, marks, meant, chosen, in_lines, space, style)
            if laid.scale < fitted[-1].scale and len(fitted) > 1:
                break
            fitted.append(laid)
        even = _even_width(page, chosen, fitted[-1].page)
        if even:
            in_lines = _in_lines(source, page, chosen, space, style, space.width / even)
            if len(in_lines.systems) == len(fitted[-1].page.systems):
                fitted.append(_fitted(document, marks, meant, chosen, in_lines, space, style))
    return max(fitted, key=lambda excerpt: excerpt.scale)


def _even_width(line: Page, passage: Passage, lines: Page) -> float:
    """How long lines are of which the last has as much as the others; 0 where it nearly has."""
    count = len(lines.systems)
    if count < 2 or lines.systems[-1].box[2] > _LAST_LINE * lines.systems[0].box[2]:
        return 0.0
    return _EVEN * _width_of(line, passage) / count


def _in_lines(
    source: Source, line: Page, passage: Passage, space: Space, style: Style, scale: float
) -> Page:
    """The passage in lines as long as the room is wide at a scale."""
    widest = max(_width_of(line, replace(passage, first=m, last=m)) for m in passage.indexes)
    # Verovio squeezes a measure that is wider than its line until its notes run together.
    width = max(space.width / scale, 1.02 * widest) + 2 * _MARGIN
    above, below = room(replace(style, scale=label_scale(space, scale)))
    lines = Layout(
        page_width=width, page_height=_TALL, fit_height=True, room_above=above, room_below=below
    )
    return _page(source, lines, passage)


def _page(source: Source, layout: Layout, passage: Passage) -> Page:
    asked = replace(
        layout,
        margin=_MARGIN,
        measure_numbers=passage.measure_numbers,
        chord_symbols=passage.chord_symbols,
        part_names=False,
        lyrics=passage.lyrics,
        directions=passage.directions,
        parts=passage.parts,
        first=passage.first,
        last=passage.last,
        text=passage.text,
        naming=passage.naming,
        symbols=passage.symbols,
    )
    return _first_page(source, asked)


@lru_cache(maxsize=64)
def _first_page(source: Source, layout: Layout) -> Page:
    """Engraved once: a mark's still, card and reveal show the same measures, as neighbours do."""
    return next(engrave(source, layout))


def is_readable(excerpt: Excerpt, space: Space) -> bool:
    """Whether an excerpt is one line whose text, where it has any, has the least height."""
    least = space.printed * space.least_text
    high = not excerpt.text_height or excerpt.text_height >= 0.99 * least
    return len(excerpt.page.systems) == 1 and high


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
    if not measures:  # verovio draws as many measures as the first part has
        raise EngravingError(
            "These measures cannot be engraved: the first part ends before them. "
            "Fill it with rests in your notation editor and export again."
        )
    width = sum(m.box[2] for m in measures if passage.first <= m.index <= passage.last)
    signs = measures[0].x_at(0.0) - measures[0].box[0]
    return width + (signs if passage.first > measures[0].index else 0.0)


def label_scale(space: Space, scale: float) -> float:
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
        sized = replace(style, scale=label_scale(space, scale))
        overlay = lay_out(page, marks, document.score, sized)
        frames = list(frames_around(overlay, meant))
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
    # Its bracket stands over all parts; the notes themselves say who echoes.
    echoes = (m for m in marks if m.id in meant and m.mark.kind == "echo")
    heads = {element for echo in echoes for element in echo.mark.elements}
    music = [
        set_off(Toned("ink", shape), heads if shape.role == "notehead" else symbols - {""})
        for shape in page.shapes
    ]
    labels = [set_off(stroke, meant) for stroke in strokes]
    text = smallest_em(page, overlay) * _CAPITAL * scale
    box = bounds.to_box(edges)
    return Excerpt(passage, page, overlay, (*music, *labels), box, scale, text)


def smallest_em(page: Page, overlay: Overlay) -> float:
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


def frames_around(overlay: Overlay, meant: Collection[str]) -> Iterator[Toned]:
    """A frame around the labels of each chord or cadence that is meant."""
    boxes: dict[str, list[bounds.Edges]] = {}
    for label in overlay.labels:
        if label.mark in meant and label.layer in ("numerals", "functions", "cadences"):
            x, y, width, height = label.box
            boxes.setdefault(label.mark, []).append((x, y, x + width, y + height))
    for mark, edges in boxes.items():
        box = bounds.to_box(bounds.union(edges))
        yield Toned("accent", frame(mark, box, _GROW))


def set_off(stroke: Toned, meant: Collection[str]) -> Toned:
    """The marks that are meant in the accent's tone."""
    if stroke.shape.element in meant and stroke.tone in ("ink", "soft"):
        return Toned("accent", stroke.shape)
    return stroke
