"""Two transcriptions of one piece laid beside each other: what has become of each note.

The task: a transcription was corrected and exported again. Measures may have been inserted or
deleted, notes corrected or respelled, parts renamed or put in another order, chord symbols changed,
the whole song transposed; ids and measure numbers say nothing certain. Find for each part, measure,
note and chord symbol of then its counterpart of now.

Method: parts are paired by what they play, then by name and id; each pair has one transposition
(`app.review.transpositions`). Measures are aligned in order (`app.review.measure_pairs`); their
signs are a pitch at a beat, a duration at a beat, a chord symbol at a beat. As many measures left
over on both sides between two pairs are taken for the same measures with other music. Within a pair
of measures a note is found by beat and pitch, else by beat, else by pitch
(`app.review.element_pairs`).

It cannot follow music that was moved past other music, nor measures that were split or joined:
those count as deleted and inserted.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from analysis.timebase import Offset, Span
from app.review.element_pairs import Counterpart, pair_notes, pair_symbols
from app.review.measure_pairs import Sign, pair_measures
from app.review.skeletons import BoneNote, BonePart, BoneSymbol, Skeleton
from app.review.transpositions import (
    Interval,
    Shape,
    common_interval,
    part_interval,
    shape_of,
    transposed_symbol,
)

#: Part names and ids against the likeness of what is played, which is at most 3.
_SAME_NAME: Final = 0.5
_SAME_ID: Final = 0.25


@dataclass(frozen=True, slots=True)
class MovedSpan:
    """Where a span is now; ``whole`` where none of its measures is gone."""

    span: Span
    whole: bool


class Thing(NamedTuple):
    """A note or chord symbol, and its offset in the piece."""

    onset: Offset
    bone: BoneNote | BoneSymbol


@dataclass(frozen=True, slots=True)
class Alignment:
    """What became of each thing of then.

    Parameters
    ----------
    onsets_then, onsets_now
        Where each measure begins, and where the piece ends.
    parts
        Id of each part that is still there, to its id now.
    measures
        Index now of each measure of then; None where it is gone.
    elements
        Note or chord symbol of then, by id, to its counterpart; those that are gone are not in it.
    interval
        The transposition of the whole song.
    old
        Indexes of the measures of now that were there then.
    things_then, things_now
        Every note and chord symbol by its id.
    """

    then: Skeleton
    now: Skeleton
    onsets_then: tuple[Offset, ...]
    onsets_now: tuple[Offset, ...]
    parts: dict[str, str]
    measures: tuple[int | None, ...]
    elements: dict[str, Counterpart]
    interval: Interval
    old: frozenset[int]
    things_then: dict[str, Thing]
    things_now: dict[str, Thing]

    def span(self, span: Span) -> MovedSpan | None:
        """Where a span is now; None where all its measures are gone."""
        onsets = self.onsets_then
        first = _measure_at(onsets, span.start)
        last = max(first, _last_measure(onsets, span.end))
        indexes = [at for at in range(first, last + 1) if self.measures[at] is not None]
        if not indexes:
            return None
        start = self._offset(indexes[0], max(span.start, onsets[indexes[0]]))
        end = self._offset(indexes[-1], min(span.end, onsets[indexes[-1] + 1]))
        if end <= start:
            return None
        return MovedSpan(Span(start, end), len(indexes) == last - first + 1)

    def near(self, offset: Offset) -> Offset:
        """Where an offset is now, or would be if its measure were still there."""
        index = _measure_at(self.onsets_then, offset)
        if self.measures[index] is not None:
            return self._offset(index, offset)
        following = (at for at in self.measures[index:] if at is not None)
        onsets = self.onsets_now
        return onsets[next(following, max(len(onsets) - 2, 0))]

    def has_new_measures(self, span: Span) -> bool:
        """Whether measures that are new stand in a span of now."""
        first = _measure_at(self.onsets_now, span.start)
        last = _last_measure(self.onsets_now, span.end)
        return any(at not in self.old for at in range(first, last + 1))

    def number_at(self, offset: Offset) -> str:
        """The printed number of then of the measure at an offset."""
        return self.then.measures[_measure_at(self.onsets_then, offset)].number

    def number_now(self, number: str) -> str:
        """The printed number of now of the measure that had this one; the same where it is gone."""
        for measure, index in zip(self.then.measures, self.measures, strict=True):
            if measure.number == number and index is not None:
                return self.now.measures[index].number
        return number

    def _offset(self, index: int, offset: Offset) -> Offset:
        """An offset in a measure of then that is still there, within what it is now."""
        now = self.measures[index]
        assert now is not None
        into = offset - self.onsets_then[index]
        return self.onsets_now[now] + min(into, self.now.measures[now].length)


def align(then: Skeleton, now: Skeleton) -> Alignment:
    """Lay two transcriptions beside each other."""
    pairs = _pair_parts(then.parts, now.parts)
    intervals = [part_interval(one, other) for one, other in pairs]
    whole = common_interval(intervals, [one for one, _ in pairs])
    measures = pair_measures(
        _signs(then, [part for part, _ in pairs], intervals, whole),
        _signs(now, [part for _, part in pairs], [Interval()] * len(pairs), Interval()),
        [measure.number for measure in then.measures],
        [measure.number for measure in now.measures],
    )
    elements: dict[str, Counterpart] = {}
    symbols_then, symbols_now = _by_measure(then), _by_measure(now)
    for index, other in enumerate(measures):
        if other is None:
            continue
        for (part, part_now), interval in zip(pairs, intervals, strict=True):
            elements |= pair_notes(part.measures[index], part_now.measures[other], interval)
        elements |= pair_symbols(symbols_then[index], symbols_now[other], whole)
    return Alignment(
        then=then,
        now=now,
        onsets_then=then.onsets,
        onsets_now=now.onsets,
        parts={part.id: other.id for part, other in pairs},
        measures=measures,
        elements=elements,
        interval=whole,
        old=frozenset(at for at in measures if at is not None),
        things_then=_things(then),
        things_now=_things(now),
    )


def _pair_parts(
    then: Sequence[BonePart], now: Sequence[BonePart]
) -> list[tuple[BonePart, BonePart]]:
    """Each part with the one that is most like it, the surest pairs first."""
    ours, theirs = [_played(part) for part in then], [_played(part) for part in now]
    likeness = []
    for at, one in enumerate(then):
        for place, other in enumerate(now):
            # Pitches count more than shapes, which also fit a part at the octave.
            worth = 2 * _shared(ours[at][0], theirs[place][0])
            worth += _shared(ours[at][1], theirs[place][1])
            if one.name.strip().casefold() == other.name.strip().casefold() != "":
                worth += _SAME_NAME
            if one.id == other.id:
                worth += _SAME_ID
            likeness.append((worth, -at, -place))
    pairs: dict[int, int] = {}
    for worth, at, place in sorted(likeness, reverse=True):
        if worth >= _SAME_NAME and -at not in pairs and -place not in pairs.values():
            pairs[-at] = -place
    return [(then[at], now[place]) for at, place in sorted(pairs.items())]


def _played(part: BonePart) -> tuple[Counter[Shape], Counter[Shape]]:
    """What is played in the measures of a part: pitches and shapes."""
    rows = [row for row in part.measures if row]
    exact: Counter[Shape] = Counter()
    exact.update(tuple((note.onset, note.pitch) for note in row) for row in rows)
    return exact, Counter(map(shape_of, rows))


def _shared(one: Counter[Shape], other: Counter[Shape]) -> float:
    """How much of the longer of two rows is in both."""
    return (one & other).total() / max(one.total(), other.total(), 1)


def _signs(
    skeleton: Skeleton,
    parts: Sequence[BonePart],
    intervals: Sequence[Interval],
    whole: Interval,
) -> list[frozenset[Sign]]:
    """The signs of each measure, in the pitches of now."""
    symbols = _by_measure(skeleton)
    rows: list[frozenset[Sign]] = []
    for index, measure in enumerate(skeleton.measures):
        signs: set[Sign] = set()
        for number, (part, interval) in enumerate(zip(parts, intervals, strict=True)):
            for note in part.measures[index]:
                midi = interval.of(note.pitch).midi if note.pitch else -1
                signs.add((number, note.onset, midi))
                signs.add((number, note.onset, "lasts", note.duration))
        for symbol in symbols[index]:
            signs.add((symbol.onset, transposed_symbol(symbol.text, whole.fifths)))
        if signs:
            signs.add(("length", measure.length))
        rows.append(frozenset(signs))
    return rows


def _things(skeleton: Skeleton) -> dict[str, Thing]:
    onsets = skeleton.onsets
    notes = {
        note.id: Thing(onset + note.onset, note)
        for part in skeleton.parts
        for onset, row in zip(onsets, part.measures, strict=False)
        for note in row
    }
    symbols = {
        symbol.id: Thing(onsets[symbol.measure] + symbol.onset, symbol)
        for symbol in skeleton.symbols
    }
    return {**notes, **symbols}


def _by_measure(skeleton: Skeleton) -> list[list[BoneSymbol]]:
    rows: list[list[BoneSymbol]] = [[] for _ in skeleton.measures]
    for symbol in skeleton.symbols:
        rows[symbol.measure].append(symbol)
    return rows


def _measure_at(onsets: Sequence[Offset], offset: Offset) -> int:
    """Index of the measure that holds an offset; the last for the end of the piece."""
    return min(max(bisect_right(onsets, offset) - 1, 0), len(onsets) - 2)


def _last_measure(onsets: Sequence[Offset], end: Offset) -> int:
    """Index of the measure in which a span that ends there has its last part."""
    return min(max(bisect_left(onsets, end) - 1, 0), len(onsets) - 2)
