"""Phrases that come back.

The task: find every pair of passages of two measures or more that hold the same melody: exactly,
transposed, with other words and so other rhythms, lightly ornamented, with another pickup, or in
another part.

Method. Measures are compared as `analysis.returns.measure_contents` says. Runs of alike measures at
one distance and one transposition are a passage and its return; measures that are silent in both
may lie between. A passage does not overlap its own return: of a figure that goes round and round,
each turn is paired with the turns after it. A transposed return must hold a measure or two that are
exactly transposed, and be closer on the whole, since like figures at other pitches are common. What
comes again and again is paired with its first and its last passes only, so that a song of thirty
rounds has no hundreds of pairs, and time grows with the length of the piece. A measure of rest
before and after, shared by both passes, belongs to the passage. What another part takes up counts
as a return only where the melody itself does not hold it as well. A return that begins some beats
sooner or later in the measure is looked for with the barlines of one pass moved by as many beats,
as `analysis.returns.displaced_repeats` says; it counts where no return on the beat is found.

Limits: passages are whole measures long. A return whose intervals follow the scale instead of being
kept is not found here.

References
----------
Runs along the diagonals of a self-similarity matrix are a textbook method (no source).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
import numpy.typing as npt

from analysis.marks import Repeat
from analysis.returns.alike_runs import (
    ALIKE,
    LONGEST_SILENCE,
    Hits,
    MeasuredLine,
    Places,
    Run,
    find_runs,
    grow_hits,
    to_repeat,
)
from analysis.returns.displaced_repeats import find_displaced_repeats
from analysis.returns.measure_contents import (
    SILENT,
    ContentKinds,
    Floats,
    MeasureContent,
    measure_contents,
)
from analysis.score import Score
from analysis.vocabulary.voices import HeldNote

#: One measure or two that show a transposition have so many different notes.
_LEAST_SEED: Final = 3
#: With how many of the first and of the last measures alike a measure is paired.
_FIRST_PASSES: Final = 8
_LAST_PASSES: Final = 32

_Shape = tuple[tuple[tuple[int | None, ...], tuple[int, ...]], ...]


def find_repeats(
    score: Score, melody: Sequence[HeldNote], others: Sequence[Sequence[HeldNote]] = ()
) -> tuple[Repeat, ...]:
    """Every passage of the melody and each of its returns, in the melody or in another line.

    Parameters
    ----------
    score
        For its measures.
    melody
        The melody as one line.
    others
        Lines of other parts that may take the melody up.

    Returns
    -------
    tuple of Repeat
        By the later passage, then the first; `Repeat.similarity` is in [0, 1]. Nothing is said of
        the harmony yet.
    """
    lines = [tuple(line) for line in (melody, *others) if line]
    if not melody or not lines:
        return ()
    contents = [measure_contents(score.measures, line) for line in lines]
    kinds = ContentKinds(contents)
    alike = kinds.likeness()
    starts = [measure.onset for measure in score.measures]
    ends = [measure.span.end for measure in score.measures]
    voices = [
        MeasuredLine(line, starts, ends, held, [one.row for one in held], row)
        for line, held, row in zip(lines, contents, kinds.rows, strict=True)
    ]
    lead = voices[0]
    found = [(lead, lead, run) for run in _runs(alike, lead, lead)]
    for other in voices[1:]:
        for one, two in ((lead, other), (other, lead)):
            found += [
                (one, two, run)
                for run in _runs(alike, one, two)
                if not _is_told(alike, one, two, run)
            ]
    repeats = [to_repeat(*pair) for pair in found]
    repeats += find_displaced_repeats(score.measures, lead, repeats)
    repeats.sort(key=lambda one: (one.later.start, one.first.start, -one.first.duration))
    return tuple(repeats)


def _runs(alike: Floats, one: MeasuredLine, two: MeasuredLine) -> Iterator[Run]:
    """Passages of one line that come back later in the same or in the other line."""
    both = (alike >= ALIKE).take(two.kinds, 0).take(one.kinds, 1)
    laters, firsts = np.nonzero(np.tril(both, -1))
    near = _first_and_last(firsts, laters)
    laters, firsts = laters[near], firsts[near]
    much = alike[one.kinds[firsts], two.kinds[laters]]
    hits = [Hits(0, firsts, laters, much)]
    hits += [grow_hits(one, two, seeds, moved) for moved, seeds in _moved(one, two).items()]
    return find_runs(one, two, hits)


def _first_and_last(firsts: Places, laters: Places) -> npt.NDArray[np.bool_]:
    """Which pairs of alike measures to keep, given in order of the later, then the first.

    All, unless a measure is alike to very many before it. Then the first and the last of these
    count, and whatever lies between two pairs that count on one diagonal.
    """
    places = np.arange(len(laters))
    ends = np.searchsorted(laters, laters, side="right")
    rank = places - np.searchsorted(laters, laters, side="left")
    counts = (rank < _FIRST_PASSES) | (ends - places <= _LAST_PASSES)
    if counts.all():
        return counts
    order = np.lexsort((firsts, laters - firsts))
    distance, first = (laters - firsts)[order], firsts[order]
    breaks = (np.diff(distance) != 0) | (np.diff(first) > LONGEST_SILENCE + 1)
    starts = np.concatenate(([0], np.nonzero(breaks)[0] + 1))
    low = np.minimum.reduceat(np.where(counts[order], places, len(places)), starts)
    high = np.maximum.reduceat(np.where(counts[order], places, -1), starts)
    stretch = np.repeat(np.arange(len(starts)), np.diff([*starts, len(places)]))
    kept = np.zeros(len(places), dtype=np.bool_)
    kept[order] = (places >= low[stretch]) & (places <= high[stretch])
    return kept


def _moved(one: MeasuredLine, two: MeasuredLine) -> dict[int, list[tuple[int, int]]]:
    """Pairs of measures from which on both lines are exactly transposed, by half steps."""
    places: dict[_Shape, dict[int, list[int]]] = {}
    for measure, shape in _shapes(one):
        by_pitch = places.setdefault(shape, {})
        by_pitch.setdefault(one.rows[measure][0], []).append(measure)
    seeds: dict[int, list[tuple[int, int]]] = {}
    for later, shape in _shapes(two):
        midi = two.rows[later][0]
        for other, measures in places.get(shape, {}).items():
            before = measures[: bisect_left(measures, later)] if midi != other else []
            if len(before) > _FIRST_PASSES + _LAST_PASSES:
                before = before[:_FIRST_PASSES] + before[-_LAST_PASSES:]
            if before:
                pairs = seeds.setdefault(midi - other, [])
                pairs += [(first + at, later + at) for first in before for at in range(len(shape))]
    return dict(sorted(seeds.items()))


def _shapes(voice: MeasuredLine) -> Iterator[tuple[int, _Shape]]:
    """Intervals of each measure, or of two where one alone has too few different notes."""
    known: dict[tuple[int, ...], _Shape] = {}
    kinds = voice.kinds.tolist()
    for measure, row in enumerate(voice.rows):
        length = 1 if len(set(row)) >= _LEAST_SEED else 2
        numbers = tuple(kinds[measure : measure + length])
        if not row or len(numbers) < length:
            continue
        if numbers not in known:
            known[numbers] = _shape(voice.contents[measure : measure + length])
        if known[numbers]:
            yield measure, known[numbers]


def _shape(contents: Sequence[MeasureContent]) -> _Shape:
    """Contents above their first note; empty where they have too few different notes."""
    low = contents[0].row[0]
    if len({midi for content in contents for midi in content.row}) < _LEAST_SEED:
        return ()
    return tuple(
        (
            tuple(cell - low if cell != SILENT else None for cell in content.cells),
            tuple(midi - low for midi in content.row),
        )
        for content in contents
    )


def _is_told(alike: Floats, one: MeasuredLine, two: MeasuredLine, run: Run) -> bool:
    """Whether a return across lines is heard within one of them just as well.

    So it is where either line holds the passage in both places, as a doubling does.
    """
    first, later = (slice(at, at + run.length) for at in (run.first, run.later))
    in_one, in_two = (
        float(alike[kinds[first], kinds[later]].sum()) for kinds in (one.kinds, two.kinds)
    )
    least = ALIKE * sum(1 for row in one.rows[first] if row)
    return max(in_one, in_two) >= least
