"""Frames around notes, strokes along lines, and the short texts beside them.

A melody mark stands around the note heads it names: a ring where the note is foreign to its chord,
a pointed frame where it is a blue note, a cap where it is some other note outside the chord. Lines
and pedals join the heads of their notes; a line that no voice plays is given notes of its own
(`app.engraving.implied_notes`). A mark's label stands beside its first head where there is
room.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from copy import copy
from itertools import pairwise
from typing import Final

from analysis.marks import Line, MarkKind, MelodyFact
from app.engraving.bounds import Edges, shape_box, shape_edges, to_box, to_edges, union
from app.engraving.callouts import FreeSpace, ink_pieces, nearest_point
from app.engraving.implied_notes import lay_out_implied
from app.engraving.labels import LAYERS_OF, Area, Label, Layer, Overlay, Style, Toned
from app.engraving.layouts import STAFF_SPACE
from app.engraving.musictext import SetText, set_text
from app.engraving.pages import Box, Page, PathShape
from app.engraving.palettes import Tone
from app.engraving.signs import cap, joined, peak, pointed, ring, rule
from app.engraving.timed_systems import TimedSystem
from app.review.document import ReviewedMark, State

#: Em of a text beside a note, and the distance from its note that asks for a leader, in staff
#: spaces.
TEXT: Final = 1.45
_NEAR: Final = 1.0
_CLEAR: Final = 0.95 * STAFF_SPACE
_FROM_SYMBOL: Final = 1.5 * STAFF_SPACE

#: What the engraver prints above a system in a box.
_BOXED: Final = frozenset({"reh"})
_NOWHERE: Final[Box] = (0.0, 0.0, 0.0, 0.0)

Draw = Callable[[str, Box, State | None], Iterator[PathShape]]


def stands_at_notes(kind: MarkKind) -> bool:
    """Whether marks of a kind are shown at the notes they name."""
    return LAYERS_OF[kind][0] in ("melody", "lines", "remarks")


def free_space(page: Page) -> FreeSpace:
    """What the engraving of a page leaves free for texts."""
    space = FreeSpace(ink_pieces(page))
    space.stay_within(page.width, page.height)
    # A degree beside a chord symbol would be read as part of it.
    symbols = (shape_box(shape) for shape in page.shapes if shape.role == "harm")
    space.take(_around(box, _FROM_SYMBOL) for box in symbols)
    return space


def lay_out_note_signs(
    page: Page,
    systems: Sequence[TimedSystem],
    marks: Sequence[ReviewedMark],
    style: Style,
    taken: Sequence[Box],
    free: FreeSpace | None = None,
) -> Overlay:
    """All signs at notes of a page, and their texts clear of all ink and of the boxes taken.

    ``free`` is the page's `free_space`, where it is at hand; it stays as it is.
    """
    areas: list[Area] = []
    strokes: list[Toned] = []
    callouts: list[tuple[ReviewedMark, Layer, Box]] = []
    for m in marks:
        layer = LAYERS_OF[m.mark.kind][0]
        if not stands_at_notes(m.mark.kind):
            continue
        state = m.state if style.states else None
        drawn, places = _signs(page, systems, m, state)
        if not places:
            continue
        strokes += drawn
        areas += [Area(m.id, layer, place) for place in places]
        callouts.append((m, layer, places[0]))
    if not callouts:
        return Overlay(page.index)
    space = copy(free) if free is not None else free_space(page)
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


def _signs(
    page: Page, systems: Sequence[TimedSystem], reviewed: ReviewedMark, state: State | None
) -> tuple[list[Toned], list[Box]]:
    """What shows a mark at notes, and the places of those notes; nothing where none is here."""
    fact = reviewed.mark.fact
    if isinstance(fact, Line) and fact.implied_at:
        drawn, places = lay_out_implied(page, systems, reviewed.id, fact, state)
        return drawn, [_around(place, 0.3 * STAFF_SPACE) for place in places]
    heads = _heads(page, reviewed)
    if not heads:
        return [], []
    if LAYERS_OF[reviewed.mark.kind][0] == "lines":
        return _line(page, reviewed.id, heads, state)
    if _frame_of(reviewed)[0] is pointed:
        heads = _with_accidentals(page, systems, reviewed)
    return _frames(page, reviewed, heads, state)


def _heads(page: Page, reviewed: ReviewedMark) -> list[Box]:
    """Boxes of the mark's notes on the page, in its order; what prints nothing is left out."""
    boxes = (page.boxes.get(element) for element in reviewed.mark.elements)
    return [box for box in boxes if box is not None and box[2] > 0]


def _with_accidentals(
    page: Page, systems: Sequence[TimedSystem], reviewed: ReviewedMark
) -> list[Box]:
    """The blue notes of a mark with their accidentals, each in one box."""
    elements = _blue_notes(systems, reviewed)
    boxes = {one: page.boxes[one] for one in elements if page.boxes.get(one, _NOWHERE)[2] > 0}
    edges = {one: [to_edges(box)] for one, box in boxes.items()}
    for shape in page.shapes:
        if shape.role == "accid" and shape.element in edges:
            edges[shape.element].append(shape_edges(shape))
    return [to_box(union(own)) for own in edges.values()]


def _blue_notes(systems: Sequence[TimedSystem], reviewed: ReviewedMark) -> Sequence[str]:
    """The notes of a mark, of a third that wavers in one voice the lowered ones alone."""
    mark, fact = reviewed.mark, reviewed.mark.fact
    if mark.kind != "mixed third" or len(mark.parts) != 1 or not isinstance(fact, MelodyFact):
        return mark.elements
    notes = systems[0].score.part(fact.part).notes if systems else ()
    own = {n.id for n in notes if n.pitch is not None and n.pitch.name == fact.pitch.name}
    return [one for one in mark.elements if one in own]


def _frames(
    page: Page, reviewed: ReviewedMark, heads: Sequence[Box], state: State | None
) -> tuple[list[Toned], list[Box]]:
    """Frames around the notes of a mark, and the places that they enclose."""
    draw, tone = _frame_of(reviewed)
    printed = [shape_box(s) for s in page.shapes if s.role in _BOXED] if draw is peak else []
    strokes, places = [], []
    for head in heads:
        shapes = list(draw(reviewed.id, head, state))
        above = union(shape_edges(shape) for shape in shapes)
        if any(_meet(above, to_edges(box)) for box in printed):
            # A sign that runs into a box would be read as part of it; the others say it too.
            shapes = []
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


def _line(
    page: Page, mark: str, heads: Sequence[Box], state: State | None
) -> tuple[list[Toned], list[Box]]:
    """Strokes from head to head in each system, and the places of the heads.

    Where chord symbols stand for notes the strokes keep clear of their text.
    """
    runs: dict[int, list[Box]] = {}
    for head in heads:
        runs.setdefault(_system_at(page, head[1] + head[3] / 2), []).append(head)
    shapes: list[PathShape] = []
    for run in runs.values():
        if max(width for _, _, width, _ in run) <= 2 * _CLEAR:
            middles = [(x + width / 2, y + height / 2) for x, y, width, height in run]
            shapes += joined(mark, middles, _CLEAR, state)
            continue
        for left, right in pairwise(run):
            start = (left[0] + left[2] + _CLEAR / 2, left[1] + left[3] / 2)
            end = (right[0] - _CLEAR / 2, right[1] + right[3] / 2)
            if end[0] > start[0]:
                shapes += joined(mark, (start, end), 0.0, state)
    strokes = [Toned("line", shape) for shape in shapes]
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


def _meet(one: Edges, other: Edges) -> bool:
    """Whether two boxes share some of the page."""
    across = one[0] < other[2] and other[0] < one[2]
    return across and one[1] < other[3] and other[1] < one[3]


def _around(box: Box, by: float) -> Box:
    x, y, width, height = box
    return (x - by, y - by, width + 2 * by, height + 2 * by)
