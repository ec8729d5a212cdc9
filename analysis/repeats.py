"""Phrases that come back.

The task: find every pair of passages, measure by measure, in which a part sings the same melody:
exactly, transposed, with other words and so other rhythms, or lightly ornamented.

Method. Each measure of a part is sampled on a grid of sounding pitches and as the row of its notes
without repetitions. Two measures are alike by the mean of the share of time in which they sound the
same pitch (after one transposition for the whole pair) and the length of their longest common row.
Runs of alike measures at one distance and transposition are passages and their returns. The number
of *different* measures is bounded by the invention of the piece rather than its length, so likeness
is computed once for each pair of different measures.

Limits: a return that begins at another place of the measure is not found here.

References
----------
Longest common subsequence and self-similarity by diagonals are textbook methods (no source).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np
import numpy.typing as npt

from analysis.marks import Repeat
from analysis.score import Measure, Note, Score
from analysis.timebase import Offset, Span

#: Samples to the quarter note.
_GRID: Final = 4
_SILENT: Final = -1
#: Least likeness of two measures inside a passage, and of a passage on the whole.
_ALIKE: Final = 0.55
_ALIKE_ON_THE_WHOLE: Final = 0.72
#: A transposed passage must be closer, since short figures at other pitches are common.
_ALIKE_TRANSPOSED: Final = 0.85
_LEAST_MEASURES: Final = 2
_LEAST_NOTES: Final = 6
_LEAST_PITCHES: Final = 3

_Cells = npt.NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class _Content:
    """What one part sings in one measure: pitches on the grid, and its row of notes."""

    cells: tuple[int, ...]
    row: tuple[int, ...]

    @property
    def silent(self) -> bool:
        return not self.row


@dataclass(frozen=True, slots=True)
class _Run:
    """Measures ``first`` to ``first + length`` come back ``lag`` measures later."""

    first: int
    lag: int
    length: int
    transposition: int
    similarity: float


def find_returns(score: Score, notes: Sequence[Note], part: str) -> tuple[Repeat, ...]:
    """Every passage of two measures or more and each of its returns.

    Parameters
    ----------
    score
        For its measures.
    notes
        The notes of one part in order; tied notes may be apart.
    part
        The part's id.

    Returns
    -------
    tuple of Repeat
        By the later passage, then the first; `Repeat.similarity` is in [0, 1]. Nothing is said of
        the harmony yet; see `compare_harmony`.
    """
    contents = _contents(score.measures, notes)
    kinds = {content: index for index, content in enumerate(dict.fromkeys(contents))}
    likeness = _Likeness(tuple(kinds))
    row = [kinds[content] for content in contents]
    runs = sorted(_runs(row, contents, likeness), key=lambda run: (run.first + run.lag, run.first))
    return tuple(_repeat(score.measures, notes, part, run) for run in runs)


def _contents(measures: Sequence[Measure], notes: Sequence[Note]) -> list[_Content]:
    """What is sung in each measure. Of notes together the highest counts."""
    cells = [[_SILENT] * max(1, round(measure.length * _GRID)) for measure in measures]
    rows: list[list[int]] = [[] for _ in measures]
    for note in notes:
        if note.pitch is None or note.grace or note.cue:
            continue
        held = cells[note.measure]
        midi = note.pitch.midi
        into = note.onset - measures[note.measure].onset
        # A cell belongs to the note that sounds at its middle.
        start = max(0, _cell(into))
        for at in range(start, min(len(held), max(start + 1, _cell(into + note.duration)))):
            held[at] = max(held[at], midi)
        if not note.tie_stop and (not rows[note.measure] or rows[note.measure][-1] != midi):
            rows[note.measure].append(midi)
    return [_Content(tuple(held), tuple(row)) for held, row in zip(cells, rows, strict=True)]


def _cell(into: Offset) -> int:
    """The first cell whose middle lies at or after the offset."""
    return -int(-(into * _GRID - Fraction(1, 2)) // 1)


class _Likeness:
    """Likeness of each pair of different measures, computed when asked for and kept."""

    def __init__(self, kinds: Sequence[_Content]) -> None:
        self._kinds = kinds
        self._known: dict[tuple[int, int], tuple[float, int]] = {}

    def of(self, first: int, later: int) -> tuple[float, int]:
        """Likeness in [0, 1] and the transposition at which it holds, in half steps."""
        if first == later:
            return 1.0, 0
        pair = (first, later)
        if pair not in self._known:
            self._known[pair] = _alike(self._kinds[first], self._kinds[later])
        return self._known[pair]


def _alike(first: _Content, later: _Content) -> tuple[float, int]:
    """Likeness of two measures at the transposition that suits them best."""
    if len(first.cells) != len(later.cells) or first.silent or later.silent:
        return 0.0, 0
    one, two = np.array(first.cells), np.array(later.cells)
    both = (one != _SILENT) & (two != _SILENT)
    if not both.any():
        return 0.0, 0
    shifts = Counter((two[both] - one[both]).tolist())
    transposition, together = shifts.most_common(1)[0]
    if shifts[0] * 2 >= together:
        transposition, together = 0, shifts[0]
    sounding = int(((one != _SILENT) | (two != _SILENT)).sum())
    in_time = together / sounding
    if in_time < _ALIKE / 2:
        return 0.0, 0
    row = tuple(midi + transposition for midi in first.row)
    common = _longest_common(row, later.row)
    in_order = 2 * common / (len(row) + len(later.row))
    return (in_time + in_order) / 2, transposition


def _longest_common(first: Sequence[int], later: Sequence[int]) -> int:
    """Length of the longest common subsequence."""
    before = [0] * (len(later) + 1)
    for one in first:
        current = [0]
        for at, two in enumerate(later):
            current.append(before[at] + 1 if one == two else max(before[at + 1], current[at]))
        before = current
    return before[-1]


def _runs(row: Sequence[int], contents: Sequence[_Content], likeness: _Likeness) -> Iterator[_Run]:
    """Longest stretches of alike measures along each distance."""
    count = len(row)
    for lag in range(1, count):
        at = 0
        while at + lag < count:
            length = 0
            run = None
            alike, shift = likeness.of(row[at], row[at + lag])
            if contents[at].silent or alike < _ALIKE:
                at += 1
                continue
            total, weight = 0.0, 0
            while at + length + lag < count and length < lag:
                first, later = row[at + length], row[at + length + lag]
                if contents[at + length].silent and contents[at + length + lag].silent:
                    length += 1
                    continue
                one, other = likeness.of(first, later)
                if one < _ALIKE or (other != shift and len(contents[at + length].row) > 1):
                    break
                total += one
                weight += 1
                length += 1
                run = _Run(at, lag, length, shift, total / weight)
            if run is not None and _is_phrase(run, contents):
                yield run
            at += max(1, run.length if run else 1)


def _is_phrase(run: _Run, contents: Sequence[_Content]) -> bool:
    """Whether a run is long, close and eventful enough for a listener to notice."""
    least = _ALIKE_TRANSPOSED if run.transposition else _ALIKE_ON_THE_WHOLE
    if run.length < _LEAST_MEASURES or run.similarity < least:
        return False
    notes = [
        midi for content in contents[run.first : run.first + run.length] for midi in content.row
    ]
    return len(notes) >= _LEAST_NOTES and len(set(notes)) >= _LEAST_PITCHES


def _repeat(measures: Sequence[Measure], notes: Sequence[Note], part: str, run: _Run) -> Repeat:
    """The run as a fact; spans begin with the first note, so that rests before it are left out."""
    return Repeat(
        first=_span(measures, run.first, run.length),
        later=_span(measures, run.first + run.lag, run.length),
        part=part,
        transposition=run.transposition,
        similarity=round(run.similarity, 3),
        reharmonised=False,
        first_notes=_note_ids(notes, run.first, run.length),
        later_notes=_note_ids(notes, run.first + run.lag, run.length),
    )


def _span(measures: Sequence[Measure], first: int, length: int) -> Span:
    return Span(measures[first].onset, measures[first + length - 1].span.end)


def _note_ids(notes: Sequence[Note], first: int, length: int) -> tuple[str, ...]:
    return tuple(note.id for note in notes if first <= note.measure < first + length)
