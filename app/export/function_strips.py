"""The function strip of a card: what the chords around a mark do, in a row spaced by time.

Each chord is a tick on a line at its time, its numeral above and its function's letter below; the
ones that are meant are set off by the accent's tone and a heavier tick. A repeat has two strips,
one under the other over the same stretch of time, each with its name, so that the eye compares
what changed. Where a strip shows chords of more than one key, their names stand below where they
begin.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from analysis.marks import Repeat
from analysis.timebase import Span
from app.engraving.labels import Toned
from app.engraving.lanes import pack
from app.engraving.metrics import CAP_HEIGHT, UNITS_PER_EM
from app.engraving.musictext import set_text
from app.engraving.pages import PathShape
from app.engraving.palettes import Tone
from app.export.comparisons import stretch_name
from app.review.document import Document, ReviewedMark

#: Chords shown before and after the one that is meant, and most chords of a mark.
_AROUND: Final = 2
_MOST: Final = 4
#: Most chords under a line, which has none around it.
_MOST_OF_A_LINE: Final = 8
#: Against the em of the numerals: em of the letters; depth of the line under the numerals' baseline
#: and of the letters' tops under the line; space between two rows, and between two labels; length
#: of a tick, and widths of the line and of the tick of what is meant.
_LETTER: Final = 0.8
_LINE_BELOW: Final = 0.52
_LETTER_BELOW: Final = 0.36
_BETWEEN: Final = 0.9
_GAP: Final = 0.5
_TICK: Final = 0.3
_FINE: Final = 0.04
_HEAVY: Final = 0.11
#: Above the name of a repeat's passage, and from its foot to the strip.
_NAME_RISE: Final = 0.1
_NAME_BELOW: Final = 0.34
#: From the letters' feet to the tops of keys' names, below these, and from their bars to them.
_KEY_BELOW: Final = 0.5
_KEY_FOOT: Final = 0.14
_KEY_BAR: Final = 0.2
_CAPITAL: Final = CAP_HEIGHT / UNITS_PER_EM
#: Figures and flats rise so far above the baseline.
_RISE: Final = 0.84


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip as toned shapes from (0, 0) to (width, height), in pixels; ``em`` of its numerals."""

    strokes: tuple[Toned, ...]
    width: float
    height: float
    em: float

    @property
    def text_height(self) -> float:
        """Height of its smallest capitals, those of the letters."""
        return _LETTER * _CAPITAL * self.em


def stretches_of(document: Document, reviewed: ReviewedMark) -> list[Span]:
    """The stretch of time that a mark's strip shows; both passages of a repeat."""
    fact = reviewed.mark.fact
    if isinstance(fact, Repeat):
        return [fact.first, fact.later]
    spans = [chord.mark.span for chord in _chords(document)]
    line = reviewed.mark.kind == "line"
    most, around = (_MOST_OF_A_LINE, 0) if line else (_MOST, _AROUND)
    inside = [at for at, span in enumerate(spans) if span.overlaps(reviewed.mark.span)][:most]
    if not inside:
        return []
    first, last = max(inside[0] - around, 0), min(inside[-1] + around, len(spans) - 1)
    return [Span(spans[first].start, spans[last].end)]


def chords_under(document: Document, reviewed: ReviewedMark) -> frozenset[str]:
    """Ids of the chord that sounds where a melody mark begins; none for marks of other kinds."""
    if reviewed.mark.kind not in ("melody", "mixed third"):
        return frozenset()
    start = reviewed.mark.span.start
    return frozenset(chord.id for chord in _chords(document) if start in chord.mark.span)


def lay_out_strip(
    document: Document, reviewed: ReviewedMark, meant: Collection[str], width: float, em: float
) -> Strip | None:
    """The strip of a mark, ``width`` wide; None where no chord is near.

    ``em`` is that of the numerals in pixels. Where there are more chords than have room, those
    farthest from what is meant are left out; a single one gets smaller. Labels stand at their times
    as far as they leave each other room.
    """
    chords = _chords(document)
    rows = []
    for stretch in stretches_of(document, reviewed):
        row = [chord for chord in chords if chord.mark.span.overlaps(stretch)]
        if row:
            kept = _nearest(row, meant, width, em)
            start = stretch.start if kept[0] is row[0] else kept[0].mark.span.start
            end = stretch.end if kept[-1] is row[-1] else kept[-1].mark.span.end
            rows.append((Span(start, end), kept))
    if not rows:
        return None
    if len(rows) > 1:
        rows = list(_over_the_same_time(rows))
    while em > 1 and any(_length(row, em) > width for _, row in rows):
        em *= 0.95
    strokes: list[Toned] = []
    height = 0.0
    keys = [_keys_in(document, stretch) for stretch, _ in rows]
    # One key for all goes without saying; numerals of two would be taken for those of one.
    changes = len({key.label for own in keys for key in own}) > 1
    for at, (stretch, row) in enumerate(rows):
        height += _BETWEEN * em if at else 0.0
        if len(rows) > 1:
            height += (_NAME_RISE + _LETTER * _CAPITAL) * em
            name = set_text(stretch_name(document, stretch), _LETTER * em, "medium")
            strokes += [Toned("soft", shape) for shape in name.shapes(0.0, height)]
            height += _NAME_BELOW * em
        strokes += _lay_out_row(row, stretch, meant, width, em, height)
        height += em * (_RISE + _LINE_BELOW + _LETTER_BELOW + _LETTER * _CAPITAL)
        if changes:
            height += em * (_KEY_BELOW + _LETTER * _CAPITAL)
            strokes += _lay_out_keys(keys[at], stretch, meant, width, em, height)
            height += em * _KEY_FOOT
    return Strip(tuple(strokes), width, height, em)


def _chords(document: Document) -> list[ReviewedMark]:
    return [m for m in document.shown_marks() if m.mark.kind == "chord" and m.label]


def _length(row: Sequence[ReviewedMark], em: float) -> float:
    """Width of a row whose labels stand side by side."""
    return sum(set_text(m.label, em).width + _GAP * em for m in row)


def _nearest(
    row: list[ReviewedMark], meant: Collection[str], width: float, em: float
) -> list[ReviewedMark]:
    """The chords that have room, of those at the ends the ones that are meant last."""
    while len(row) > 1 and _length(row, em) > width:
        from_start = row[-1].id in meant and row[0].id not in meant
        row = row[1:] if from_start else row[:-1]
    return row


def _over_the_same_time(
    rows: Sequence[tuple[Span, list[ReviewedMark]]],
) -> Iterator[tuple[Span, list[ReviewedMark]]]:
    """The rows of a repeat, each as long as the shortest, so that they stand beat under beat."""
    length = min(stretch.duration for stretch, _ in rows)
    for stretch, row in rows:
        shown = Span(stretch.start, stretch.start + length)
        yield shown, [chord for chord in row if chord.mark.span.overlaps(shown)]


def _lay_out_row(
    row: Sequence[ReviewedMark],
    stretch: Span,
    meant: Collection[str],
    width: float,
    em: float,
    top: float,
) -> Iterator[Toned]:
    """One line with its ticks, numerals and letters."""
    numerals = [set_text(m.label, em) for m in row]
    widths = [numeral.width for numeral in numerals]
    unit = width / float(stretch.duration)
    times = [unit * max(0.0, float(m.mark.span.start - stretch.start)) for m in row]
    edges = pack(times, widths, _GAP * em, 0.0, width)
    baseline = top + _RISE * em
    line = baseline + _LINE_BELOW * em
    letters = line + (_LETTER_BELOW + _LETTER * _CAPITAL) * em
    yield Toned("soft", _stroke("", (0.0, line, width, line), _FINE * em))
    for m, numeral, x in zip(row, numerals, edges, strict=True):
        tone: Tone = "accent" if m.id in meant else "ink"
        heavy = (_HEAVY if m.id in meant else _FINE) * em
        for shape in numeral.shapes(x, baseline, element=m.id):
            yield Toned(tone, shape)
        left, half = x + heavy / 2, _TICK * em / 2
        yield Toned(tone, _stroke(m.id, (left, line - half, left, line + half), heavy))
        letter = set_text(m.function, _LETTER * em, "semibold")
        for shape in letter.shapes(x, letters, element=m.id):
            yield Toned(tone, shape)


def _keys_in(document: Document, stretch: Span) -> list[ReviewedMark]:
    """The key in force where a stretch begins, and those that begin in it."""
    return [
        m for m in document.shown_marks() if m.mark.kind == "key" and m.mark.span.overlaps(stretch)
    ]


def _lay_out_keys(
    keys: Sequence[ReviewedMark],
    stretch: Span,
    meant: Collection[str],
    width: float,
    em: float,
    baseline: float,
) -> Iterator[Toned]:
    """The names of keys where they begin, each behind a bar as under the staff."""
    names = [set_text(key.label, _LETTER * em, "medium") for key in keys]
    unit, bar = width / float(stretch.duration), _KEY_BAR * em
    times = [unit * max(0.0, float(key.mark.span.start - stretch.start)) for key in keys]
    edges = pack(times, [name.width + bar for name in names], _GAP * em, 0.0, width)
    for key, name, x in zip(keys, names, edges, strict=True):
        tone: Tone = "accent" if key.id in meant else "ink"
        top, foot = baseline - _LETTER * em, baseline + _KEY_FOOT * em
        yield Toned(tone, _stroke(key.id, (x, top, x, foot), _FINE * em))
        for shape in name.shapes(x + bar, baseline, element=key.id):
            yield Toned(tone, shape)


def _stroke(mark: str, points: tuple[float, ...], width: float) -> PathShape:
    return PathShape(mark, "mark", "ML", points, False, width)
