"""Frames around notes, strokes along lines, and the short texts beside them.

A melody mark stands around the note heads it names: a ring where the note is foreign to its chord,
a pointed frame where it is a blue note, a cap where it is some other note outside the chord. Lines
and pedals join the heads of their notes. A mark's label stands beside its first head where there is
room.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Final

from analysis.marks import MelodyFact
from app.engraving.bounds import shape_box
from app.engraving.callouts import FreeSpace, ink_pieces, nearest_point
from app.engraving.labels import LAYERS_OF, Area, Label, Layer, Overlay, Style, Toned
from app.engraving.layouts import STAFF_SPACE
from app.engraving.musictext import SetText, set_text
from app.engraving.pages import Box, Page, PathShape
from app.engraving.palettes import Tone
from app.engraving.signs import cap, joined, peak, pointed, ring, rule
from app.review.document import ReviewedMark, State

#: Em of a text beside a note, and the distance from its note that asks for a leader, in staff
#: spaces.
TEXT: Final = 1.45
_NEAR: Final = 1.0
_CLEAR: Final = 0.95 * STAFF_SPACE
_FROM_SYMBOL: Final = 1.5 * STAFF_SPACE

Draw = Callable[[str, Box, State | None], Iterator[PathShape]]


def lay_out_note_signs(
    page: Page, marks: Sequence[ReviewedMark], style: Style, taken: Sequence[Box]
) -> Overlay:
    """All signs at notes of a page, and their texts clear of all ink and of the boxes taken."""
    areas: list[Area] = []
    strokes: list[Toned] = []
    callouts: list[tuple[ReviewedMark, Layer, Box]] = []
    for m in marks:
        layer = LAYERS_OF[m.mark.kind][0]
        if layer not in ("melody", "lines", "remarks"):
            continue
        heads = _heads(page, m)
        if not heads:
            continue
        state = m.state if style.states else None
        drawn, places = _line(page, m, state) if layer == "lines" else _frames(m, heads, state)
        strokes += drawn
        areas += [Area(m.id, layer, place) for place in places]
        callouts.append((m, layer, places[0]))
    if not callouts:
        return Overlay(page.index)
    space = FreeSpace(ink_pieces(page))
    space.stay_within(page.width, page.height)
    # A degree beside a chord symbol would be read as part of it.
    symbols = (shape_box(shape) for shape in page.shapes if shape.role == "harm")
    space.take(_around(box, _FROM_SYMBOL) for box in symbols)
    space.take([*taken, *(area.box for area in areas)])
    labels: list[Label] = []
    for m, layer, place in callouts:
        text = set_text(m.label, style.size(TEXT), "medium")
        box = space.place_near(place, text.width, text.height) if text.height else None
        if box is not None:
            space.take([box])
            labels.append(Label(m.id, layer, m.label, box))
            strokes += _callout(m, text, box, place, style)
    return Overlay(page.index, tuple(labels), tuple(areas), tuple(strokes))


def _heads(page: Page, reviewed: ReviewedMark) -> list[Box]:
    """Boxes of the mark's notes on the page, in its order; what prints nothing is left out."""
    boxes = (page.boxes.get(element) for element in reviewed.mark.elements)
    return [box for box in boxes if box is not None and box[2] > 0]


def _frames(
    reviewed: ReviewedMark, heads: Sequence[Box], state: State | None
) -> tuple[list[Toned], list[Box]]:
    """Frames around the notes of a mark, and the places that they enclose."""
    draw, tone = _frame_of(reviewed)
    strokes, places = [], []
    for head in heads:
        shapes = list(draw(reviewed.id, head, state))
        strokes += [Toned(tone, shape) for shape in shapes]
        places.append(_around(head, 0.6 * STAFF_SPACE))
    return strokes, places


def _frame_of(reviewed: ReviewedMark) -> tuple[Draw, Tone]:
    """The sign of a mark at one note, and its tone."""
    fact = reviewed.mark.fact
    if reviewed.mark.kind == "mixed third" or (isinstance(fact, MelodyFact) and fact.blue):
        return pointed, "accent"
    if reviewed.mark.kind in ("shape", "rhythm", "query"):
        return peak, "accent"
    if isinstance(fact, MelodyFact) and fact.role not in ("foreign", "chord tone", "tension"):
        return cap, "foreign"
    return ring, "foreign"


def _line(page: Page, reviewed: ReviewedMark, state: State | None) -> tuple[list[Toned], list[Box]]:
    """Strokes from head to head in each system, and the places of the heads."""
    heads = _heads(page, reviewed)
    runs: dict[int, list[tuple[float, float]]] = {}
    for x, y, width, height in heads:
        middle = (x + width / 2, y + height / 2)
        runs.setdefault(_system_at(page, middle[1]), []).append(middle)
    strokes = [
        Toned("line", shape)
        for run in runs.values()
        for shape in joined(reviewed.id, run, _CLEAR, state)
    ]
    return strokes, [_around(head, 0.3 * STAFF_SPACE) for head in heads]


def _system_at(page: Page, y: float) -> int:
    """Number of the system that a height lies in, or is nearest to."""
    middles = [system.box[1] + system.box[3] / 2 for system in page.systems]
    halves = [system.box[3] / 2 for system in page.systems]
    return min(range(len(middles)), key=lambda n: abs(y - middles[n]) - halves[n])


def _callout(
    reviewed: ReviewedMark, text: SetText, box: Box, place: Box, style: Style
) -> Iterator[Toned]:
    """A text in its place, with a leader where it stands off."""
    tone: Tone = "ink"
    x, y, width, height = box
    for shape in text.shapes(x, y - text.top, element=reviewed.id):
        yield Toned(tone, shape)
    start = nearest_point(place, x + width / 2, y + height / 2)
    end = nearest_point(box, *start)
    if math.dist(start, end) > _NEAR * STAFF_SPACE:
        yield Toned("soft", rule(reviewed.id, *start, *end))


def _around(box: Box, by: float) -> Box:
    x, y, width, height = box
    return (x - by, y - by, width + 2 * by, height + 2 * by)
