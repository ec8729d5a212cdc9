"""Facts after a correction, taken over where nothing that they depend on has changed.

A fact about a chord depends on the chords around it, a fact about a melody note on the notes and
chords around that. So after a correction the facts are found anew from a little before the change
to a little after it, and all others are the same objects as before. How far "a little" reaches for
chords `analysis.harmony.chord_facts` says; for the melody it is a few notes on either side of the
time in which chords sound anew. Where a fact depends on the whole piece (a blues), all are found
anew; where it can be weighed afterwards (the first chord outside the key, careless raised seconds),
plain facts are kept. Facts found anew that are as they were are handed over too, and so is every
mark whose sources are: what was made from equal values is equal.

The result is what a first analysis under the same corrections finds; tests hold the two together.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence
from typing import Final, TypeVar

from analysis.form.section_comparisons import SectionPair, in_keys, pair_sections
from analysis.groundwork import Groundwork
from analysis.harmony.chord_facts import facts_beside, find_plain_facts
from analysis.marks import ChordFact, KeyRegion, Mark, MelodyFact, PlacedChord, Repeat, Section
from analysis.melody.melody_facts import find_plain_melody
from analysis.pitch import Key
from analysis.returns.reharmonisations import compare_harmony
from analysis.score import Score
from analysis.timebase import Offset, Span
from analysis.vocabulary.dominants import ChordInKey, blues_regions
from analysis.vocabulary.mark_words import SungLine
from analysis.vocabulary.thirds import find_thirds
from analysis.vocabulary.voices import HeldNote
from analysis.workings import Marked, PlainChords

Value = TypeVar("Value")
Source = TypeVar("Source")

#: Notes on either side that a fact may look at.
_NOTES: Final = 6
#: Quarters by which a note may come before the chord that it belongs to.
_AHEAD: Final = Offset(1)
#: Quarters around a change in which a comparison of harmony may look: a beat of any meter.
_BEATS: Final = Offset(2)


def changed_range(before: Sequence[Value], after: Sequence[Value]) -> tuple[int, int, int]:
    """Where two sequences differ.

    Returns
    -------
    first, last_before, last_after
        ``before[first:last_before]`` has become ``after[first:last_after]``; both are empty where
        the sequences are equal.
    """
    shortest = min(len(before), len(after))
    # Most are the same objects, which need not be compared.
    first = 0
    while first < shortest and (before[first] is after[first] or before[first] == after[first]):
        first += 1
    same = 0
    while same < shortest - first and (
        before[-1 - same] is after[-1 - same] or before[-1 - same] == after[-1 - same]
    ):
        same += 1
    return first, len(before) - same, len(after) - same


def _same(one: object, other: object) -> bool:
    return one is other or one == other


def hand_over(before: Sequence[Value], after: Sequence[Value]) -> tuple[Value, ...]:
    """The later values; at either end, where they are as before, the same objects as before."""
    first, last_before, last = changed_range(before, after)
    return (*before[:first], *after[first:last], *before[last_before:])


def update_chord_facts(
    before: PlainChords | None,
    placed: Sequence[PlacedChord],
    row: Sequence[ChordInKey],
    line: Sequence[HeldNote],
) -> PlainChords:
    """Plain facts of all chords, old ones where they hold; ``before`` is None at first."""
    placed, row = tuple(placed), tuple(row)
    thirds, blues = find_thirds(row, line), blues_regions(row)
    if before is None or before.blues != blues:
        found = find_plain_facts(placed, row, line, blues, thirds)
        return PlainChords(placed, row, thirds, blues, found)
    first, last_before, last = changed_range(
        list(zip(before.placed, before.row, before.thirds, strict=True)),
        list(zip(placed, row, thirds, strict=True)),
    )
    if first == last == last_before:
        return before
    anew = facts_beside(row, first, last)
    found = find_plain_facts(placed, row, line, blues, thirds, anew)
    kept_from = last_before + anew.stop - last
    facts = (*before.facts[: anew.start], *found, *before.facts[kept_from:])
    row = (*before.row[:first], *row[first:last], *before.row[last_before:])
    return PlainChords(placed, row, thirds, blues, hand_over(before.facts, facts))


def changed_time(before: Sequence[ChordFact], after: Sequence[ChordFact]) -> Span | None:
    """The stretch of the chords whose facts differ; None where all agree."""
    first, last_before, last = changed_range(before, after)
    return hull(*(fact.span for fact in (*before[first:last_before], *after[first:last])))


def sounding_time(before: Sequence[ChordFact], after: Sequence[ChordFact]) -> Span | None:
    """The stretch of the chords that differ in what a melody hears of them; None where none do."""
    first, last_before, last = changed_range(before, after)
    old, new = before[first:last_before], after[first:last]
    first, last_before, last = changed_range(
        [_heard(fact) for fact in old], [_heard(fact) for fact in new]
    )
    return hull(*(fact.span for fact in (*old[first:last_before], *new[first:last])))


def _heard(fact: ChordFact) -> tuple[object, ...]:
    return fact.span, fact.chord, fact.key, fact.confidence


def changed_keys(before: Sequence[KeyRegion], after: Sequence[KeyRegion]) -> Span | None:
    """The stretch in which two rows of regions differ in key; None where they do not."""
    starts = sorted({region.span.start for region in (*before, *after)})
    apart = [start for start in starts if _key_at(before, start) != _key_at(after, start)]
    if not apart:
        return None
    later = [start for start in starts if start > apart[-1]]
    return Span(apart[0], later[0] if later else after[-1].span.end)


def _key_at(regions: Sequence[KeyRegion], start: Offset) -> Key | None:
    return next((region.key for region in regions if start in region.span), None)


def hull(*spans: Span | None) -> Span | None:
    """The stretch from the first start to the last end; None of nothing."""
    held = [span for span in spans if span is not None]
    if not held:
        return None
    return Span(min(span.start for span in held), max(span.end for span in held))


def update_melody(
    before: Sequence[MelodyFact] | None,
    time: Span | None,
    score: Score,
    line: Sequence[HeldNote],
    chords: Sequence[ChordFact],
    regions: Sequence[KeyRegion],
) -> tuple[MelodyFact, ...]:
    """Plain facts of all melody notes, old ones outside the time in which chords sound anew."""
    if before is None or len(before) != len(line):
        return find_plain_melody(score, line, chords, regions)
    if time is None:
        return tuple(before)
    first = max(bisect_right(line, time.start - _AHEAD, key=_onset) - 1 - _NOTES, 0)
    last = min(bisect_left(line, time.end, key=_onset) + _NOTES, len(line))
    # Notes struck again over one chord are looked at together.
    while first > 0 and line[first - 1].midi == line[first].midi:
        first -= 1
    while last < len(line) and line[last - 1].midi == line[last].midi:
        last += 1
    left, right = max(first - _NOTES, 0), min(last + _NOTES, len(line))
    asked = range(first - left, last - left)
    found = find_plain_melody(score, line[left:right], chords, regions, asked)
    return hand_over(before, (*before[:first], *found, *before[last:]))


def _onset(note: HeldNote) -> Offset:
    return note.span.start


def update_pairs(
    before: tuple[Sequence[Section], Sequence[SectionPair]] | None,
    ground: Groundwork,
    sections: Sequence[Section],
    regions: Sequence[KeyRegion],
) -> tuple[SectionPair, ...]:
    """Sections that come back, old pairs but for their keys where the sections are as before."""
    if before is None or before[0] != sections:
        return pair_sections(ground.score, sections, ground.line, regions, ground.repeats)
    return tuple(in_keys(ground.score, pair, regions) for pair in before[1])


def update_each(
    before: Marked | None,
    sources: Sequence[Source],
    make: Callable[[Sequence[Source]], Iterable[Mark]],
    sung: SungLine,
) -> Marked:
    """Marks of sources, one for each, old ones where the source is as before.

    ``make`` must look at nothing else that a correction can change.
    """
    old = before or Marked((), ())
    first, last_before, last = changed_range(old.sources, sources)
    made = sung.add_to(make(sources[first:last]))
    return Marked(tuple(sources), (*old.marks[:first], *made, *old.marks[last_before:]))


def update_all(
    before: Marked | None,
    sources: Sequence[object],
    make: Callable[[], Iterable[Mark]],
    sung: SungLine,
) -> Marked:
    """Marks made of all sources together, the old ones where all sources are as before."""
    if before is not None and before.sources == tuple(sources):
        return before
    return Marked(tuple(sources), sung.add_to(make()))


def update_repeats(
    before: tuple[Sequence[Repeat], Sequence[Repeat]] | None,
    time: Span | None,
    ground: Groundwork,
    repeats: Sequence[Repeat],
    chords: Sequence[ChordFact],
) -> tuple[Repeat, ...]:
    """The returns compared in harmony, old comparisons where no chord of theirs has changed.

    Parameters
    ----------
    before
        The returns as they were before and after they were compared; None at first.
    """
    if before is None or len(before[0]) != len(repeats):
        return compare_harmony(ground.score, repeats, chords, ground.notes)
    # A comparison looks a beat beyond either end.
    wide = Span(time.start - _BEATS, time.end + _BEATS) if time else Span(Offset(0), Offset(0))
    touched = [
        at
        for at, (old, repeat) in enumerate(zip(before[0], repeats, strict=True))
        if repeat.later.overlaps(wide) or repeat.first.overlaps(wide) or not _same(old, repeat)
    ]
    if not touched:
        return tuple(before[1])
    changed = [repeats[at] for at in touched]
    anew = dict(
        zip(touched, compare_harmony(ground.score, changed, chords, ground.notes), strict=True)
    )
    return tuple(
        old if at not in anew or _same(old, anew[at]) else anew[at]
        for at, old in enumerate(before[1])
    )
