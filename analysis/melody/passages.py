"""Passages of melody that keep to another scale than the harmony: one statement each.

The task is to say once what would otherwise be forty rings: a minor-pentatonic melody over major
chords, or a melody in the parallel minor over a major key. Both are stretches of at least eight
notes and two measures without the natural third, with at least three lowered thirds, of which two
are sung against a chord or key that has the natural one.

Method
------
The melody is cut where a note leaves the scale in question (one stray note among many may pass);
what lies between two cuts is a passage if it is long enough. The minor pentatonic is 1 b3 4 5 b7
with the lowered fifth allowed; the parallel minor is 1 2 b3 4 5 b6 b7 with the raised seventh
allowed, and needs a lowered sixth that the chord does not have. Where both hold the first is said.
Lowered thirds and sixths that all belong to their chords are mixture of the harmony and make no
passage.

References
----------
D. Temperley, "The melodic-harmonic divorce in rock", *Popular Music* 26/2, 2007 (abstract):
pentatonic melodies, most in verses, move freely of the chords.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from analysis.inference.chord_tones import is_major_like
from analysis.marks import ChordFact, KeyRegion, MelodyFact
from analysis.score import Score
from analysis.timebase import Span
from analysis.vocabulary.accents import MetricGrid
from analysis.vocabulary.chord_rows import ChordRow

PassageKind = Literal["minor pentatonic", "parallel minor"]

_SCALES: Final[dict[PassageKind, frozenset[int]]] = {
    "minor pentatonic": frozenset({0, 3, 5, 6, 7, 10}),
    "parallel minor": frozenset({0, 2, 3, 5, 7, 8, 10, 11}),
}
#: The natural third and raised forms around it end a passage at once.
_NATURAL: Final = frozenset({-1, 4})
#: Notes in the scale between two stray ones.
_STRAY: Final = 6
_LEAST_THIRDS: Final = 3
_LEAST_AGAINST: Final = 2
_LEAST_NOTES: Final = 8
_LEAST_MEASURES: Final = 2
#: Rests longer than this, in measures, end a passage.
_REST: Final = 2


@dataclass(frozen=True, slots=True)
class Passage:
    """A stretch of melody in another scale: indexes ``first`` to ``last`` of its facts, both in.

    ``lowered`` counts the lowered thirds (and, in the parallel minor, sixths) sung against the
    harmony.
    """

    kind: PassageKind
    span: Span
    first: int
    last: int
    lowered: int


def find_passages(
    score: Score,
    facts: Sequence[MelodyFact],
    chords: Sequence[ChordFact],
    regions: Sequence[KeyRegion],
) -> tuple[Passage, ...]:
    """Passages in order of time, without overlap.

    Parameters
    ----------
    facts
        The melody, one fact a note, in order of time.
    chords, regions
        Chords in their keys and key regions, in order of time.
    """
    if sum(fact.blue == "3" for fact in facts) < _LEAST_AGAINST:
        return ()
    row, grid = ChordRow(chords, regions), MetricGrid(score)
    found: list[Passage] = []
    steps = _steps(facts, row)
    for kind in _SCALES:
        for stretch in _stretches(grid, facts, steps, kind):
            for first, last in list(_untold(*stretch, found)):
                passage = _passage(grid, facts, row, steps, kind, first, last)
                if passage is not None:
                    found.append(passage)
    return tuple(sorted(found, key=lambda passage: passage.span))


def _untold(first: int, last: int, found: Sequence[Passage]) -> Iterator[tuple[int, int]]:
    """What is left of a stretch outside the passages that are found already."""
    for passage in sorted(found, key=lambda passage: passage.first):
        if passage.first > first:
            yield first, min(last, passage.first - 1)
        first = max(first, passage.last + 1)
        if first > last:
            return
    yield first, last


def _steps(facts: Sequence[MelodyFact], row: ChordRow) -> list[int]:
    """Half steps of each note above the tonic, -1 where no key is known."""
    keys = (row.key_at(fact.span.start) for fact in facts)
    return [
        -1 if key is None else (fact.pitch.midi - key.tonic.pc) % 12
        for fact, key in zip(facts, keys, strict=True)
    ]


def _stretches(
    grid: MetricGrid, facts: Sequence[MelodyFact], steps: Sequence[int], kind: PassageKind
) -> list[tuple[int, int]]:
    """Longest stretches of notes in the scale, without a long rest; a stray note may pass."""
    found = []
    first: int | None = None
    since = 0
    for at, step in enumerate(steps):
        fits = step in _SCALES[kind]
        if first is not None and (
            (not fits and (step in _NATURAL or since < _STRAY)) or _rest_before(grid, facts, at)
        ):
            found.append((first, at - 1))
            first = None
        if first is None and fits:
            first, since = at, _STRAY
        since = since + 1 if fits else 0
    if first is not None:
        found.append((first, len(facts) - 1))
    # Without a stray note at the end.
    return [(first, last - (steps[last] not in _SCALES[kind])) for first, last in found]


def _rest_before(grid: MetricGrid, facts: Sequence[MelodyFact], at: int) -> bool:
    if at == 0 or facts[at].span.start == facts[at - 1].span.end:
        return False
    end = facts[at - 1].span.end
    return facts[at].span.start - end > _REST * grid.measure_at(end).meter.length


def _passage(
    grid: MetricGrid,
    facts: Sequence[MelodyFact],
    row: ChordRow,
    steps: Sequence[int],
    kind: PassageKind,
    first: int,
    last: int,
) -> Passage | None:
    """The passage of a stretch, None where it is too short or nothing is sung against harmony."""
    if last + 1 - first < _LEAST_NOTES:
        return None
    part = facts[first : last + 1]
    above = steps[first : last + 1]
    lowered = sum(step == 3 and fact.blue == "3" for fact, step in zip(part, above, strict=True))
    if above.count(3) < _LEAST_THIRDS or lowered < _LEAST_AGAINST:
        return None
    span = Span(part[0].span.start, part[-1].span.end)
    measures = grid.measure_at(part[-1].span.start).index - grid.measure_at(span.start).index + 1
    if measures < _LEAST_MEASURES:
        return None
    key = row.key_at(span.start)
    if kind == "minor pentatonic" or key is None or not is_major_like(key):
        return Passage(kind, span, first, last, lowered) if _mostly_major(row, span) else None
    sixths = sum(
        step == 8 and fact.role not in ("chord tone", "")
        for fact, step in zip(part, above, strict=True)
    )
    return Passage(kind, span, first, last, lowered + sixths) if sixths else None


def _mostly_major(row: ChordRow, span: Span) -> bool:
    """Whether major chords sound for most of the time."""
    total = major = 0.0
    at = max(row.index(span.start), 0)
    while at < len(row.chords) and row.chords[at].span.start < span.end:
        fact = row.chords[at]
        length = float(min(fact.span.end, span.end) - max(fact.span.start, span.start))
        if fact.chord is not None and length > 0:
            total += length
            major += length if fact.chord.triad in ("maj", "") else 0.0
        at += 1
    return total > 0 and major >= 0.6 * total
