"""Timeline strips: the form of a piece to scale, with what the harmony does in it.

A line runs through the piece in time, in as many rows as its letters need. Sections begin at tall
ticks with their names beside them; measures are short ticks. Below the line stands the function of
the harmony wherever it changes, and below that the keys where they begin. What is meant, a section
or the place of a mark, is a heavy stretch of the line in the accent's tone. All of it is a ruler
with words: time is the only thing that has a length.

All rows have one scale, so lengths can be compared. Rows break where sections begin, and inside
sections only where one is too long for a row. Free of Qt.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, NamedTuple

from analysis.timebase import Offset, Span
from app.engraving import bounds
from app.engraving.bounds import shape_edges
from app.engraving.labels import Toned
from app.engraving.lanes import pack
from app.engraving.metrics import Face
from app.engraving.musictext import SetText, set_text
from app.engraving.pages import Box, PathShape
from app.engraving.palettes import Tone
from app.export.frames import Frame, Picture, Piece
from app.export.legibility import text_warnings
from app.export.passages import section_spans
from app.export.sentences import CAPITAL
from app.review.document import Document, ReviewedMark

#: Against the em of the letters: em of names and keys; from a row's top to the line, from the line
#: to the letters' baseline and on to the keys'; space between rows, between labels, after a tick.
_NAME: Final = 1.25
_KEY: Final = 1.0
_LINE: Final = 1.75
_LETTERS: Final = 1.35
_KEYS: Final = 1.45
_ROWS: Final = 1.3
_GAP: Final = 0.32
_AFTER: Final = 0.3
#: Lengths of ticks up and down from the line, and widths of strokes.
_TALL: Final = 1.45
_SHORT: Final = 0.24
_FINE: Final = 0.05
_BOLD: Final = 0.1
_HEAVY: Final = 0.26
#: A letter may stand off its time by so many ems; by more before letters get smaller.
_OFFS: Final = (0.75, 1.5, 2.5)
_MOST_ROWS: Final = 16
#: Measures after which sections are cut that are too long for a row.
_PHRASES: Final = (8, 4, 2)
#: Letters are a little larger than the least that can be read.
_LETTER: Final = 1.05
_SHRINK: Final = 0.94
_SMALLEST: Final = 0.55


class _Label(NamedTuple):
    """A text, the time it stands at, and its tone."""

    at: Offset
    text: SetText
    tone: Tone
    mark: str


@dataclass(frozen=True, slots=True)
class _Told:
    """What a strip says, in order of time."""

    sections: Sequence[tuple[str, Span]]
    functions: Sequence[tuple[Offset, str, str]]
    keys: Sequence[tuple[Offset, str, str]]
    measures: Sequence[Offset]


def lay_out_timeline(document: Document, frame: Frame, meant: Span | None = None) -> Picture:
    """The strip of a piece.

    Parameters
    ----------
    document
        The review.
    frame
        Size, ink, backing and theme.
    meant
        A stretch of time that is set off.
    """
    told = _told(document)
    _, _, safe_width, safe_height = frame.title_safe
    width, height = safe_width - 2 * frame.padding, safe_height - 2 * frame.padding
    for em, off in _sizes(_LETTER * frame.least_text / CAPITAL):
        rows, fits = _rows_for(told, width, height, em, off)
        if fits:
            break
    strokes = list(_lay_out(told, rows, width, em, meant))
    left, top, right, bottom = bounds.union(shape_edges(stroke.shape) for stroke in strokes)
    # What is crowded even in the smallest letters is made smaller as a whole.
    scale = min(1.0, width / (right - left), height / (bottom - top))
    wide, high = (right - left) * scale, (bottom - top) * scale
    x, y = (frame.width - wide) / 2, (frame.height - high) / 2
    padding = frame.padding
    plate: Box = (x - padding, y - padding, wide + 2 * padding, high + 2 * padding)
    text_height = CAPITAL * em * scale
    return Picture(
        frame,
        (Piece(strokes, scale, x - left * scale, y - top * scale),),
        (plate,),
        ((0, len(document.score.measures) - 1),),
        text_height,
        text_warnings(text_height, frame),
    )


def _sizes(em: float) -> Iterator[tuple[float, float]]:
    """Ems of the letters, each with how far they may stand off; smaller ones are the last way."""
    yield from ((em, off) for off in _OFFS)
    smallest = em * _SMALLEST / _LETTER
    while em > smallest:
        em *= _SHRINK
        yield em, _OFFS[-1]


def _told(document: Document) -> _Told:
    measures = document.score.measures
    end = measures[-1].span.end
    sections = section_spans(document)
    if sections[0][1].start > measures[0].onset:
        sections.insert(0, ("", Span(measures[0].onset, sections[0][1].start)))
    # From each beginning to the next: the strip has no holes.
    starts = [span.start for _, span in sections] + [end]
    whole = [
        (name, Span(start, after))
        for (name, _), (start, after) in zip(sections, pairwise(starts), strict=True)
        if after > start
    ]
    chords = [m for m in document.shown_marks() if m.mark.kind == "chord" and m.function]
    keys = [m for m in document.shown_marks() if m.mark.kind == "key"]
    return _Told(
        whole,
        list(_changes(chords, {*starts, *(m.mark.span.start for m in keys)})),
        [(m.mark.span.start, m.label, m.id) for m in keys],
        [measure.onset for measure in measures],
    )


def _changes(
    chords: Sequence[ReviewedMark], anew: Collection[Offset]
) -> Iterator[tuple[Offset, str, str]]:
    """Where the function changes; the first chord of each says whose it is.

    At the places of ``anew``, where sections and keys begin, it is said again.
    """
    before = ""
    at = Offset(0)
    for chord in chords:
        span, letter = chord.mark.span, chord.function
        again = [place for place in sorted(anew) if place in span]
        if letter != before or any(at < place <= span.start for place in anew):
            again.insert(0, span.start)
        for place in sorted(set(again)):
            yield place, letter, chord.id
        before, at = letter, span.start


def _rows_for(
    told: _Told, width: float, height: float, em: float, off: float
) -> tuple[list[Span], bool]:
    """The rows as stretches of time: the fewest in which all labels have room.

    Rows break where sections begin; where a section is too long for one, inside it.
    """
    whole = [span for _, span in told.sections]
    rows: list[Span] = []
    for pieces in (whole, *(list(_cut(told, most)) for most in _PHRASES)):
        for count in range(1, min(_MOST_ROWS, len(pieces)) + 1):
            if rows and _height(told, count, em) > height:
                break
            rows = broken_rows(pieces, count)
            unit = width / max(float(row.duration) for row in rows)
            if all(_has_room(told, row, unit, width, em, off) for row in rows):
                return rows, _height(told, count, em) <= height
    return rows, False


def _cut(told: _Told, most: int) -> Iterator[Span]:
    """Sections cut after every so many measures."""
    for _, span in told.sections:
        starts = [onset for onset in told.measures if onset in span][::most]
        # An end that is shorter than half of what is cut stays with what is before it.
        if len(starts) > 1 and span.end - starts[-1] < (starts[-1] - starts[-2]) / 2:
            starts.pop()
        yield from (Span(one, end) for one, end in pairwise([*starts, span.end]))


def _height(told: _Told, rows: int, em: float) -> float:
    below = _LETTERS + (_KEYS if told.keys else 0.0) + 0.3
    return em * (rows * (_LINE + below) + (rows - 1) * _ROWS)


def broken_rows(pieces: Sequence[Span], count: int) -> list[Span]:
    """Pieces in so many rows that the longest is as short as can be; by dynamic programming.

    Of those, the rows are as even as can be, and a short one stands last.
    """
    starts = [span.start for span in pieces] + [pieces[-1].end]
    last = len(pieces)
    nothing = Offset(0), Offset(0), 0
    # best[at]: longest row, sum of the squares, and end, negative so that the longer of two first
    # rows is taken, for the sections from ``at`` on in the rows left.
    best = [
        (starts[last] - starts[at], (starts[last] - starts[at]) ** 2, -last) for at in range(last)
    ]
    table = [best]
    for _ in range(count - 1):
        before = table[-1]
        table.append(
            [
                min(
                    (
                        max(starts[end] - starts[at], rest[0]),
                        (starts[end] - starts[at]) ** 2 + rest[1],
                        -end,
                    )
                    for end in range(at + 1, last + 1)
                    for rest in [before[end] if end < last else nothing]
                )
                for at in range(last)
            ]
        )
    rows, at = [], 0
    for best in reversed(table):
        if at < last:
            end = -best[at][2]
            rows.append(Span(starts[at], starts[end]))
            at = end
    return rows


def _has_room(told: _Told, row: Span, unit: float, width: float, em: float, off: float) -> bool:
    """Whether letters stand near their times and names do not reach the next section."""
    letters = _labels(told.functions, row, em, "ink", "semibold")
    wanted = [unit * float(label.at - row.start) for label in letters]
    edges = pack(wanted, [label.text.width for label in letters], _GAP * em, 0.0, width)
    near = all(abs(x - at) <= off * em for x, at in zip(edges, wanted, strict=True))
    names = all(
        set_text(name, _NAME * em, "semibold").width + 2 * _AFTER * em
        <= unit * float(min(span.end, row.end) - span.start)
        for name, span in told.sections
        if span.start in row
    )
    return near and names


def _labels(
    told: Sequence[tuple[Offset, str, str]],
    row: Span,
    em: float,
    tone: Tone,
    face: Face,
) -> list[_Label]:
    """The labels of a row; what holds from before is said again at its beginning."""
    carried = [entry for entry in told if entry[0] < row.start]
    shown = [(*entry, tone) for entry in told if entry[0] in row]
    if carried and (not shown or shown[0][0] > row.start):
        _, text, mark = carried[-1]
        shown.insert(0, (row.start, text, mark, "soft"))
    return [_Label(at, set_text(text, em, face), own, mark) for at, text, mark, own in shown]


def _lay_out(
    told: _Told, rows: Sequence[Span], width: float, em: float, meant: Span | None
) -> Iterator[Toned]:
    unit = width / max(float(row.duration) for row in rows)
    row_height = _height(told, 1, em) + _ROWS * em
    for at, row in enumerate(rows):
        line = at * row_height + _LINE * em
        yield from _ruler(told, row, unit, em, line, meant)
        for name, span in told.sections:
            if span.start in row:
                x = unit * float(span.start - row.start)
                ends = (x, line + _SHORT * em, x, line - _TALL * em)
                yield Toned("ink", _stroke("", ends, _BOLD * em))
                room = unit * float(min(span.end, row.end) - span.start) - 2 * _AFTER * em
                text = set_text(name, _NAME * em, "semibold")
                if text.width > room > 0:
                    text = set_text(name, _NAME * em * room / text.width, "semibold")
                for shape in text.shapes(x + _AFTER * em, line - 0.55 * em):
                    yield Toned("ink", shape)
        letters = _labels(told.functions, row, em, "ink", "semibold")
        yield from _set_row(letters, row, unit, width, em, line + _LETTERS * em)
        keys = _labels(told.keys, row, _KEY * em, "accent", "medium")
        yield from _set_row(keys, row, unit, width, em, line + (_LETTERS + _KEYS) * em)


def _ruler(
    told: _Told, row: Span, unit: float, em: float, line: float, meant: Span | None
) -> Iterator[Toned]:
    """The line with the ticks of measures, and the stretch of it that is meant."""
    end = unit * float(row.duration)
    yield Toned("soft", _stroke("", (0.0, line, end, line), _BOLD * em))
    for onset in told.measures:
        if onset in row:
            x = unit * float(onset - row.start)
            yield Toned("soft", _stroke("", (x, line - _SHORT * em, x, line), _FINE * em))
    if row.end == told.sections[-1][1].end:
        # The double line that ends a piece.
        for x, thick in ((end - 0.26 * em, _FINE), (end - _BOLD * em, 2 * _BOLD)):
            ends = (x, line + _SHORT * em, x, line - _TALL * em)
            yield Toned("ink", _stroke("", ends, thick * em))
    if meant is not None and meant.overlaps(row):
        left = unit * float(max(meant.start, row.start) - row.start)
        right = unit * float(min(meant.end, row.end) - row.start)
        right = max(right, left + _HEAVY * em)
        yield Toned("accent", _stroke("", (left, line, right, line), _HEAVY * em))


def _set_row(
    labels: Sequence[_Label], row: Span, unit: float, width: float, em: float, baseline: float
) -> Iterator[Toned]:
    wanted = [unit * float(label.at - row.start) for label in labels]
    edges = pack(wanted, [label.text.width for label in labels], _GAP * em, 0.0, width)
    for label, x in zip(labels, edges, strict=True):
        for shape in label.text.shapes(x, baseline, element=label.mark):
            yield Toned(label.tone, shape)


def _stroke(mark: str, points: tuple[float, ...], width: float) -> PathShape:
    return PathShape(mark, "mark", "ML", points, False, width)
