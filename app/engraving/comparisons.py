"""Two passages of one piece, one under the other, with what differs set off.

The picture that is shown when a melody comes back over other chords. Both passages stand beat under
beat. Where their chords differ a band runs through both, from the chord symbol of the first to the
function of the later; the chords there are set in the accent's tone, all others softly. Above each
note of the melody inside a band stands its degree in the chord; where that has changed, it and the
note's head are set off too. Between the passages a word says what the change does.

From the top, for each passage: its name, chord symbols, degrees of the melody, the staff with its
words, numerals, functions. Everything is laid out in page units, free of Qt, from pages that
`app.engraving.pair_engraving` makes, so the window and the exports show the same picture.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal, NamedTuple, get_args

from analysis.chords import chord_of
from analysis.marks import ChordDifference, ChordFact
from analysis.timebase import Offset, Span
from analysis.vocabulary.chord_names import symbol_text
from analysis.vocabulary.wording import chord_text
from app.engraving.aligned_lines import REACH, AlignedLine, Side, align
from app.engraving.alignments import PairLine, bent
from app.engraving.labels import Area, Label, Layer, Overlay, Toned
from app.engraving.lanes import pack
from app.engraving.layouts import STAFF_SPACE
from app.engraving.melody_degrees import degrees_within
from app.engraving.musictext import SetText, set_chord_symbol, set_text
from app.engraving.pages import Box, Page
from app.engraving.palettes import Tone
from app.review.document import Document, ReviewedMark
from app.review.writing import numeral_label

#: Ems of the rows, in staff spaces.
_TITLE: Final = 1.75
_CHORD: Final = 2.35
_DEGREE: Final = 1.6
_NUMERAL: Final = 2.1
_FUNCTION: Final = 1.55
_EFFECT: Final = 1.45
#: Height of a row and of its baseline against its em; less where labels need the room themselves.
_ROW, _TIGHT_ROW = 1.28, 1.15
_RISE, _TIGHT_RISE = 0.92, 0.88
#: Spaces between rows and ink, between the passages, and between lines, in staff spaces.
_CLEAR: Final = 0.6
_BETWEEN: Final = 2.9
_UNSAID: Final = 1.5
_NAMED: Final = 0.3
_LINES: Final = 4.2
#: Border around everything, and the least space between two labels.
BORDER: Final = 1.6 * STAFF_SPACE
_GAP: Final = 0.5 * STAFF_SPACE
#: Between two labels for which notes are moved apart, in ems.
_APART: Final = 0.35
#: Between two bands.
_PARTING: Final = 0.34 * STAFF_SPACE


#: What the labels of a comparison tell; ``heads`` are note heads with another degree.
RowName = Literal["title", "chords", "degrees", "heads", "numerals", "functions", "effects"]


@dataclass(frozen=True, slots=True)
class Comparison:
    """The picture: pages at their places, bands behind them, labels over them; in page units.

    ``rows`` has the overlay's strokes by what they tell.
    """

    width: float
    height: float
    pages: tuple[Page, ...] = ()
    bands: tuple[Box, ...] = ()
    overlay: Overlay = field(default_factory=lambda: Overlay(0))
    rows: Mapping[RowName, tuple[Toned, ...]] = field(default_factory=dict)


class _Row(NamedTuple):
    """A row of labels: what it tells, its em, the y of its baseline, the layer it belongs to."""

    name: RowName
    em: float
    baseline: float
    layer: Layer


class _Entry(NamedTuple):
    """A label and its time, from the start of the passages; ``mark`` may be empty."""

    time: Offset
    text: SetText
    tone: Tone
    mark: str
    words: str


def compare(
    document: Document,
    first: Side,
    later: Side,
    differences: Sequence[ChordDifference],
    lines: Sequence[PairLine],
    width: float,
    least: float = 0.0,
    left_out: Collection[RowName] = (),
) -> Comparison:
    """Lay out a comparison.

    Parameters
    ----------
    document
        The review: chords are shown as it names them.
    first, later
        The passages.
    differences
        Where their chords differ, as `analysis.returns.reharmonisations` finds it.
    lines
        The passages engraved; may be fewer than in the end, while they come one by one.
    width
        Width of the picture in page units.
    least
        Least em of all labels in page units; where it is given, notes are also moved apart until
        each label stands at its time.
    left_out
        What is not told.
    """
    return _Layout(document, (first, later), differences, least, left_out).of(lines, width)


class _Layout:
    """The comparison of two passages, line by line from the top."""

    def __init__(
        self,
        document: Document,
        sides: tuple[Side, Side],
        differences: Sequence[ChordDifference],
        least: float,
        left_out: Collection[RowName],
    ) -> None:
        self._least, self._left_out = least, left_out
        self._high, self._rise = (_TIGHT_ROW, _TIGHT_RISE) if least else (_ROW, _RISE)
        self._document = document
        self._sides = sides
        self._differences = differences
        self._chords = document.analysis.chords
        self._starts = [fact.span.start for fact in self._chords]
        self._marks = {
            reviewed.mark.span.start: reviewed
            for reviewed in document.shown_marks(0.0)
            if reviewed.mark.kind == "chord"
        }
        self._spans = [
            Span(one.first_at - sides[0].span.start, self._end(one)) for one in differences
        ]
        self._degrees = [
            degrees_within(document.analysis.melody, side.part, side.span.start, self._spans)
            for side in sides
        ]
        one, two = self._degrees
        self._changed = {
            at for at in one.keys() & two.keys() if one[at].chord_degree != two[at].chord_degree
        }
        self._notes = {note.id for side in sides for note in document.score.part(side.part).notes}
        self._pages: list[Page] = []
        self._bands: list[Box] = []
        self._labels: list[Label] = []
        self._areas: list[Area] = []
        self._told: dict[RowName, list[Toned]] = {name: [] for name in get_args(RowName)}

    def of(self, lines: Sequence[PairLine], width: float) -> Comparison:
        """The whole picture."""
        y = BORDER
        labels = list(self._widths()) if self._least else ()
        aligned = align(self._sides, lines, self._document.score, width, BORDER, labels)
        for at, line in enumerate(aligned):
            y = self._lay_out(line, y, named=at == 0)
            y += _LINES * STAFF_SPACE
        height = max(y - _LINES * STAFF_SPACE, 0.0) + BORDER
        right = max((page.width for page in self._pages), default=0.0) + BORDER
        rows = {name: tuple(strokes) for name, strokes in self._told.items()}
        strokes = tuple(stroke for row in rows.values() for stroke in row)
        overlay = Overlay(0, tuple(self._labels), tuple(self._areas), strokes)
        return Comparison(
            max(width, right), height, tuple(self._pages), tuple(self._bands), overlay, rows
        )

    def _widths(self) -> Iterator[list[tuple[Offset, float]]]:
        """The labels of each row: their times, and widths with the space after them."""
        for at, side in enumerate(self._sides):
            whole = Span(Offset(0), side.span.duration)
            named = [numeral for numeral, _ in self._numeral_row(side, at, whole)]
            degrees = [] if "degrees" in self._left_out else self._degree_row(at, whole)
            for row in (self._chord_row(side, at, whole), named, degrees):
                spaced = [(one.time, one.text.width + _APART * one.text.size) for one in row]
                yield spaced

    def _end(self, difference: ChordDifference) -> Offset:
        """When a difference ends, from the start of the passages: where either chord changes."""
        starts = (difference.first_at, difference.later_at)
        ends = [
            next(
                (fact.span.end for fact in self._chords if start in fact.span),
                side.span.end,
            )
            - side.span.start
            for side, start in zip(self._sides, starts, strict=True)
        ]
        whole = min(side.span.duration for side in self._sides)
        return min(*ends, whole)

    # One line

    def _lay_out(self, aligned: Sequence[AlignedLine], y: float, *, named: bool) -> float:
        """Add a line below a height and return the height of its end."""
        top = y
        for at, one in enumerate(aligned):
            if at:
                y = self._add_effects(aligned[0], y, named=named)
            y = self._add_passage(one, y, named=named)
        for span in self._spans:
            self._add_band(aligned, span, top, y, named=named)
        return y

    def _add_passage(self, line: AlignedLine, y: float, *, named: bool) -> float:
        side = self._sides.index(line.side)
        if named:
            row = self._row("title", _TITLE, y, "sections")
            text = set_text(line.side.name, row.em, "semibold")
            title = _Entry(Offset(0), text, "ink", "", line.side.name)
            self._put(row, [title], lambda _: BORDER)
            y += self._em(_TITLE) * self._high + 0.4 * _CLEAR * STAFF_SPACE
        chords = self._chord_row(line.side, side, line.span)
        y = self._put_below(self._row("chords", _CHORD, y, "numerals"), chords, line, y)
        degrees = self._degree_row(side, line.span)
        y = self._put_below(self._row("degrees", _DEGREE, y, "melody"), degrees, line, y)
        y += _CLEAR * STAFF_SPACE
        _, top, _, height = line.page.systems[0].box
        page = bent(line.page, line.bend, y - top, self._notes)
        self._pages.append(page)
        self._light(page, line.side, side)
        y += height + _CLEAR * STAFF_SPACE
        named_chords = list(self._numeral_row(line.side, side, line.span))
        numerals = [one for one, _ in named_chords]
        y = self._put_below(self._row("numerals", _NUMERAL, y, "numerals"), numerals, line, y)
        functions = [one for _, one in named_chords if one is not None]
        row = self._row("functions", _FUNCTION, y, "functions")
        return self._put_below(row, functions, line, y)

    def _row(self, name: RowName, em: float, top: float, layer: Layer) -> _Row:
        em = self._em(em)
        return _Row(name, em, top + em * self._rise, layer)

    def _em(self, spaces: float) -> float:
        """An em given in staff spaces in page units, not less than the least."""
        return max(spaces * STAFF_SPACE, self._least)

    def _put_below(
        self, row: _Row, entries: Sequence[_Entry], line: AlignedLine, y: float
    ) -> float:
        """Set a row that has labels and is wanted, and say where the next begins."""
        if not entries or row.name in self._left_out:
            return y
        self._put(row, entries, line.x_at)
        return y + row.em * self._high

    def _put(self, row: _Row, entries: Sequence[_Entry], x_at: Callable[[Offset], float]) -> None:
        """Set labels in a row at their times, moved aside where they would touch."""
        widths = [entry.text.width for entry in entries]
        gap = max(_GAP, _APART * row.em)
        edges = pack([x_at(entry.time) for entry in entries], widths, gap, BORDER, 1e9)
        for entry, x in zip(entries, edges, strict=True):
            shapes = entry.text.shapes(x, row.baseline, element=entry.mark)
            self._told[row.name] += [Toned(entry.tone, shape) for shape in shapes]
            self._labels.append(
                Label(entry.mark, row.layer, entry.words, entry.text.box(x, row.baseline))
            )

    def _facts(self, side: Side, span: Span) -> Iterator[tuple[ChordFact, Offset]]:
        """The chords of a stretch with when each is first heard in it.

        Both the stretch and the times are counted from the passage's start.
        """
        start = side.span.start
        shown = Span(start + max(span.start, Offset(0)), start + min(span.end, side.span.duration))
        low, high = (bisect_right(self._starts, at) for at in (shown.start, shown.end))
        for fact in self._chords[max(low - 1, 0) : high]:
            if fact.span.overlaps(shown):
                yield fact, max(fact.span.start, shown.start) - start

    def _chord_row(self, side: Side, at: int, span: Span) -> list[_Entry]:
        entries, em = [], self._em(_CHORD)
        for fact, time in self._facts(side, span):
            words = self._symbol(fact)
            mark = self._marks.get(fact.span.start)
            tone: Tone = "accent" if self._differs(fact, at) else "soft"
            text = set_chord_symbol(words, em, "semibold", self._document.naming)
            entries.append(_Entry(time, text, tone, mark.id if mark else "", words))
        return entries

    def _numeral_row(
        self, side: Side, at: int, span: Span
    ) -> Iterator[tuple[_Entry, _Entry | None]]:
        for fact, time in self._facts(side, span):
            mark = self._marks.get(fact.span.start)
            words = mark.label if mark else numeral_label(fact, self._document.convention)
            if not words:
                continue
            tone: Tone = "ink" if self._differs(fact, at) else "soft"
            name = mark.id if mark else ""
            text = set_text(words, self._em(_NUMERAL), "regular")
            letter = _function(mark, fact)
            below = set_text(letter, self._em(_FUNCTION), "semibold") if letter else None
            yield (
                _Entry(time, text, tone, name, words),
                _Entry(time, below, tone, name, letter) if below else None,
            )

    def _degree_row(self, at: int, span: Span) -> list[_Entry]:
        entries = []
        for time, fact in sorted(self._degrees[at].items()):
            if time in span and fact.chord_degree:
                changed = time in self._changed
                words = _signed(fact.chord_degree)
                em = self._em(_DEGREE)
                text = set_text(words, em, "semibold" if changed else "regular")
                tone: Tone = "accent" if changed else "soft"
                entries.append(_Entry(time, text, tone, "", words))
        return entries

    def _add_effects(self, line: AlignedLine, y: float, *, named: bool) -> float:
        """The words between the passages that say what each change does."""
        row = self._row("effects", _EFFECT, y + 0.35 * _BETWEEN * STAFF_SPACE, "numerals")
        said = False
        for difference, span in zip(self._differences, self._spans, strict=True):
            if span.start not in line.span or not difference.effect or "effects" in self._left_out:
                continue
            x = line.x_at(span.start)
            room = line.border(min(span.end, line.span.end)) - x
            text = set_text(difference.effect, row.em, "italic")
            if text.width <= room:
                entry = _Entry(span.start, text, "ink", "", difference.effect)
                self._put(row, [entry], line.x_at)
                said = True
        between = _BETWEEN if said or not self._least else _UNSAID
        larger = row.em - _EFFECT * STAFF_SPACE if said else 0.0
        return y + (between + (_NAMED if named else 0.0)) * STAFF_SPACE + larger

    def _add_band(
        self,
        lines: Sequence[AlignedLine],
        span: Span,
        top: float,
        bottom: float,
        *,
        named: bool,
    ) -> None:
        shown = [line for line in lines if span.overlaps(line.span)]
        if not shown:
            return
        line = shown[0]
        start, end = max(span.start, line.span.start), min(span.end, line.span.end)
        left = line.x_at(start) - REACH if start == line.span.start else line.border(start)
        left, right = left + _PARTING / 2, line.border(end) - _PARTING / 2
        title = self._em(_TITLE) * self._high + 0.2 * _CLEAR * STAFF_SPACE if named else 0.0
        self._bands.append((left, top + title, right - left, bottom - top - title + _GAP))

    def _light(self, page: Page, side: Side, at: int) -> None:
        """Set off the heads of notes that have got another degree."""
        lit = "heads" not in self._left_out
        changed = {fact.note for time, fact in self._degrees[at].items() if time in self._changed}
        for shape in page.shapes:
            if shape.element in changed and shape.role == "notehead" and lit:
                self._told["heads"].append(Toned("accent", shape))

    def _differs(self, fact: ChordFact, side: int) -> bool:
        places = [one.first_at if side == 0 else one.later_at for one in self._differences]
        return any(place in fact.span for place in places)

    def _symbol(self, fact: ChordFact) -> str:
        """The chord symbol as the score writes it, or as it was set or found."""
        for symbol in self._document.score.chord_symbols:
            if symbol.id == fact.symbol and chord_of(symbol) == fact.chord:
                return symbol_text(
                    symbol.root, symbol.kind, symbol.degrees, symbol.bass, symbol.text
                )
        return chord_text(fact.chord)


def _function(mark: ReviewedMark | None, fact: ChordFact) -> str:
    return mark.function if mark else fact.function


def _signed(degree: str) -> str:
    return degree.replace("b", "♭").replace("#", "♯")
