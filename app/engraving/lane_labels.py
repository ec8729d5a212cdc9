"""Labels in lanes: numerals, functions, keys and cadences under a system, section names above it.

Below a system's ink lie, from the top: a row of numerals, each beginning under its chord; the
letters of their functions; the names of keys where they begin (softer where a system goes on in the
same key) and cadences where they end. Rows hold one line of text each. A row's labels keep their
order and their places as far as the others let them (`app.engraving.lanes`); where they are crowded
the row's text gets smaller, and a label that still stands well off its place is led there by a fine
line.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from analysis.marks import ChordFact, Section
from app.engraving.arrows import arrows_between
from app.engraving.labels import Label, Layer, Overlay, Style, Toned, join
from app.engraving.lanes import pack
from app.engraving.layouts import STAFF_SPACE
from app.engraving.metrics import Face
from app.engraving.musictext import SetText, set_text
from app.engraving.pages import Page
from app.engraving.palettes import Tone
from app.engraving.signs import rule, underline
from app.engraving.timed_systems import TimedSystem
from app.review.document import ReviewedMark, State

#: Ems of the rows, in staff spaces.
NUMERAL: Final = 2.1
FUNCTION: Final = 1.55
KEY: Final = 1.55
SECTION: Final = 1.9
#: Space between the system's ink and the first row, in staff spaces; between labels, in ems.
CLEAR: Final = 0.75
_GAP: Final = 0.32
#: Height of a row, and of its text above the baseline, against its em: figures and flats stand out.
_ROW: Final = 1.22
_RISE: Final = 0.84
#: A label farther off than this many of its ems gets a leader.
_FAR: Final = 0.6
#: How far before a barred label its bar stands, in ems.
_BAR: Final = 0.22


@dataclass(frozen=True, slots=True)
class _Entry:
    """A label before it has its place: what it says and where it would begin.

    ``layer`` is the one it belongs to, where that is not its row's.
    """

    mark: str
    text: str
    x: float
    state: State | None
    tone: Tone
    barred: bool = False
    layer: Layer | None = None


@dataclass(frozen=True, slots=True)
class _Row:
    """A row of labels: its layer, its text, its upper edge, and how far its text may shrink."""

    layer: Layer
    em: float
    face: Face
    top: float
    smallest: float

    @property
    def bottom(self) -> float:
        return self.top + self.em * _ROW


def room_below(style: Style) -> float:
    """Height of the rows under a system."""
    rows = [em for em, layers in _rows_below() if style.layers & layers]
    return style.size(sum(rows) * _ROW + CLEAR) + STAFF_SPACE / 2 if rows else 0.0


def room_for_sections(style: Style) -> float:
    """Height of the row of section names."""
    return style.size(SECTION * _ROW) if "sections" in style.layers else 0.0


def _rows_below() -> tuple[tuple[float, frozenset[Layer]], ...]:
    return (
        (NUMERAL, frozenset({"numerals"})),
        (FUNCTION, frozenset({"functions"})),
        (KEY, frozenset({"keys", "cadences"})),
    )


def lay_out_below(
    system: TimedSystem, page: Page, marks: Sequence[ReviewedMark], style: Style
) -> Overlay:
    """The rows under a system."""
    top = system.bottom + style.size(CLEAR)
    parts = []
    carries = style.carried and page.systems[0] == system.system
    chords = [
        m
        for m in marks
        if m.mark.kind == "chord"
        and (m.mark.span.start in system.span or (carries and system.span.start in m.mark.span))
    ]
    anchors = {chord.id: _chord_x(system, page, chord) for chord in chords}
    chords.sort(key=lambda chord: (anchors[chord.id], chord.mark.span))
    tones = {m.id: _tone(system, m) for m in chords}
    if "numerals" in style.layers:
        row = _Row("numerals", style.size(NUMERAL), "regular", top, style.smallest)
        entries = [
            _Entry(m.id, m.label, anchors[m.id], _state(m, style), tones[m.id])
            for m in chords
            if m.label
        ]
        parts.append(_lay_out_row(system, row, entries))
        if style.arrows:
            of = {chord.id: chord for chord in chords}
            baseline = row.top + row.em * _RISE
            arrows = arrows_between(parts[0].labels, of, baseline, row.em)
            parts.append(Overlay(0, strokes=tuple(arrows)))
        anchors.update((label.mark, label.box[0]) for label in parts[0].labels)
        top = row.bottom
    if "functions" in style.layers:
        row = _Row("functions", style.size(FUNCTION), "semibold", top, style.smallest)
        # One stroke is enough for a chord: its numeral has it.
        alone = "numerals" not in style.layers
        entries = [
            _Entry(m.id, letter, anchors[m.id], _state(m, style) if alone else None, tones[m.id])
            for m in chords
            if (letter := m.function)
        ]
        parts.append(_lay_out_row(system, row, entries))
        top = row.bottom
    if style.layers & {"keys", "cadences"}:
        row = _Row("keys", style.size(KEY), "medium", top, style.smallest)
        parts.append(_lay_out_row(system, row, list(_key_entries(system, page, marks, style))))
    return join(page.index, parts)


def lay_out_sections(
    system: TimedSystem, page: Page, marks: Sequence[ReviewedMark], style: Style, bottom: float
) -> Overlay:
    """Section names that the source does not print, in a row that ends at ``bottom``."""
    entries = [
        _Entry(m.id, m.label, system.x_at(m.mark.span.start), _state(m, style), "ink", barred=True)
        for m in marks
        if m.mark.kind == "section" and m.mark.span.start in system.span and not _printed(m)
    ]
    em = style.size(SECTION)
    row = _Row("sections", em, "semibold", bottom - em * _ROW, style.smallest)
    return _lay_out_row(system, row, entries)


def _chord_x(system: TimedSystem, page: Page, reviewed: ReviewedMark) -> float:
    """Left edge of the printed chord symbol, else of what sounds where the chord begins."""
    fact = reviewed.mark.fact
    symbol = page.boxes.get(fact.symbol) if isinstance(fact, ChordFact) else None
    if symbol is not None and symbol[2] and system.top <= symbol[1] <= system.bottom:
        return symbol[0]
    return system.x_at(max(reviewed.mark.span.start, system.span.start))


def _tone(system: TimedSystem, reviewed: ReviewedMark) -> Tone:
    return "ink" if reviewed.mark.span.start in system.span else "soft"


def _key_entries(
    system: TimedSystem, page: Page, marks: Sequence[ReviewedMark], style: Style
) -> Iterator[_Entry]:
    """Keys that begin or go on in the system, and cadences that end in it, from left to right."""
    found = []
    for m in marks:
        span, state = m.mark.span, _state(m, style)
        if m.mark.kind == "key" and "keys" in style.layers and span.overlaps(system.span):
            begins = span.start in system.span
            x = system.x_at(max(span.start, system.span.start))
            if begins:
                found.append(_Entry(m.id, m.label, x, state, "accent", barred=True))
            elif not style.carried or page.systems[0] == system.system:
                # A picture is too short to say its key on each line.
                found.append(_Entry(m.id, m.label, x, None, "soft"))
        elif m.mark.kind == "cadence" and "cadences" in style.layers and span.start in system.span:
            x = system.x_at(span.start)
            found.append(_Entry(m.id, m.label, x, _state(m, style), "ink", layer="cadences"))
    yield from sorted(found, key=lambda entry: entry.x)


def _lay_out_row(system: TimedSystem, row: _Row, entries: Sequence[_Entry]) -> Overlay:
    """The labels of one row, their leaders, bars and underlines."""
    em, texts, edges = _fit(system, row, entries)
    baseline = row.top + row.em * _RISE
    labels, strokes = [], []
    for entry, text, x in zip(entries, texts, edges, strict=True):
        under = baseline + row.em * 0.24
        shapes = text.shapes(x, baseline, element=entry.mark)
        strokes += [Toned(entry.tone, shape) for shape in shapes]
        drawn = list(underline(entry.mark, x, x + text.width, under, entry.state))
        strokes += [Toned(entry.tone, shape) for shape in drawn]
        left, top, width, height = text.box(x, baseline)
        if entry.state is not None:
            # Kept free for the stroke, so that a decision moves nothing else.
            height = max(height, under - top)
        layer = entry.layer or row.layer
        labels.append(Label(entry.mark, layer, entry.text, (left, top, width, height)))
        if entry.barred:
            bar = x - row.em * _BAR
            shape = rule(entry.mark, bar, row.top, bar, baseline + row.em * 0.14)
            strokes.append(Toned(entry.tone, shape))
        if abs(x - entry.x) > _FAR * em:
            start, end = x + min(text.width, em) / 2, baseline - em * _RISE
            reach = row.top - CLEAR * STAFF_SPACE * 0.8
            strokes.append(Toned("soft", rule(entry.mark, entry.x, reach, start, end)))
    return Overlay(0, tuple(labels), (), tuple(strokes))


def _fit(
    system: TimedSystem, row: _Row, entries: Sequence[_Entry]
) -> tuple[float, list[SetText], list[float]]:
    """Em, set texts and left edges: as large as brings no label far from its place."""
    left, right = system.limits
    em = row.em
    while True:
        texts = [set_text(entry.text, em, row.face) for entry in entries]
        widths = [text.width for text in texts]
        edges = pack([entry.x for entry in entries], widths, _GAP * em, left, right)
        near = all(abs(x - entry.x) <= _FAR * em for x, entry in zip(edges, entries, strict=True))
        inside = not edges or edges[-1] + widths[-1] <= right
        if (near and inside) or (inside and em <= row.em * row.smallest) or em < 1.0:
            return em, texts, edges
        em *= 0.93


def _state(reviewed: ReviewedMark, style: Style) -> State | None:
    return reviewed.state if style.states else None


def _printed(reviewed: ReviewedMark) -> bool:
    """Whether a rehearsal mark of the source shows the section already."""
    fact = reviewed.mark.fact
    return isinstance(fact, Section) and fact.written and reviewed.label == reviewed.mark.label
