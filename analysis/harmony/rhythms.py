"""Harmonic rhythm: how often the chords change, and where that changes.

The task: chord changes per measure of each section, and the passages that stand out: a chord on
every beat, or one chord for four measures and more, beside something else.

Conventions. A change is a new root, quality or bass; a symbol that repeats the chord before it is
none. Rates are changes per measure, the first chord of a passage included.

References
----------
Harmonic rhythm as changes per measure: common practice, no source. Chord onsets per measure in
rock (none 33 %, one 49 %, two 17 %, three or more 1.4 %): T. de Clercq & D. Temperley, "A corpus
analysis of rock harmony", Popular Music 30/1, 2011, measured from version 2.1 of their data.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import Final

from analysis.marks import ChordFact, Evidence, Mark, Section, mark_id
from analysis.score import Measure, Score
from analysis.timebase import Span
from analysis.vocabulary.accents import MetricGrid

#: So many changes in a measure are a fast harmonic rhythm; in rock 1.4 % of measures have them.
_FAST: Final = 3
#: So many measures without a change are static.
_STATIC: Final = 4


#: For each measure the chords that begin in it and are a change.
Changes = list[list[ChordFact]]


@dataclass(frozen=True, slots=True)
class SectionRhythm:
    """Chord changes per measure of one section."""

    section: Section
    rate: float


@dataclass(frozen=True, slots=True)
class Passage:
    """A stretch of measures, its changes per measure, and what is around it."""

    span: Span
    rate: float
    around: float
    elements: tuple[str, ...]

    @property
    def fast(self) -> bool:
        """Whether it is quicker than what is around it."""
        return self.rate > self.around


def changes_per_measure(score: Score, chords: Sequence[ChordFact]) -> Changes:
    """For each measure the chords that begin in it and differ from the chord before."""
    held: list[list[ChordFact]] = [[] for _ in score.measures]
    grid = MetricGrid(score)
    before = None
    for fact in chords:
        sound = (
            (fact.chord.root.pc, fact.chord.triad, fact.chord.seventh, fact.chord.bass.pc)
            if fact.chord is not None
            else None
        )
        if sound is not None and sound != before:
            held[grid.measure_at(fact.span.start).index].append(fact)
        before = sound
    return held


def find_rhythms(
    score: Score, sections: Sequence[Section], chords: Sequence[ChordFact]
) -> tuple[tuple[Passage, ...], tuple[SectionRhythm, ...]]:
    """Passages that contrast with what is beside them, and the rhythm of each section, in order."""
    held = changes_per_measure(score, chords)
    return _find_passages(score, chords, held), _find_rates(score, sections, held)


def find_section_rhythms(
    score: Score, sections: Sequence[Section], chords: Sequence[ChordFact]
) -> tuple[SectionRhythm, ...]:
    """The harmonic rhythm of each section, in order."""
    return _find_rates(score, sections, changes_per_measure(score, chords))


def _find_rates(
    score: Score, sections: Sequence[Section], held: Changes
) -> tuple[SectionRhythm, ...]:
    rhythms = []
    for section in sections:
        low, high = (
            bisect_left(score.measures, at, key=lambda measure: measure.onset)
            for at in (section.span.start, section.span.end)
        )
        inside = [measure for measure in score.measures[low:high] if not measure.pickup]
        count = sum(len(held[measure.index]) for measure in inside)
        rhythms.append(SectionRhythm(section, count / len(inside) if inside else 0.0))
    return tuple(rhythms)


def _find_passages(score: Score, chords: Sequence[ChordFact], held: Changes) -> tuple[Passage, ...]:
    """Fast and static passages that contrast with what is beside them, in order of time."""
    starts = [float(measure.onset) for measure in score.measures]
    sounding = [False] * len(starts)
    for fact in chords:
        if fact.chord is not None:
            first = max(bisect_right(starts, float(fact.span.start)) - 1, 0)
            for at in range(first, bisect_left(starts, float(fact.span.end))):
                sounding[at] = True
    counts = [len(one) for one in held]
    found = []
    for pace, group in groupby(range(len(counts)), key=lambda at: _pace(at, counts, sounding)):
        run = list(group)
        if pace == "fast" or (pace == "static" and len(run) >= _STATIC - 1):
            passage = _passage(score.measures, held, counts, run, pace)
            if passage is not None:
                found.append(passage)
    return tuple(found)


def _pace(at: int, counts: Sequence[int], sounding: Sequence[bool]) -> str:
    if counts[at] >= _FAST:
        return "fast"
    # A static passage is counted from its second measure: the first holds the change into it.
    return "static" if counts[at] == 0 and sounding[at] else "even"


def _passage(
    measures: Sequence[Measure],
    held: Sequence[Sequence[ChordFact]],
    counts: Sequence[int],
    run: Sequence[int],
    pace: str,
) -> Passage | None:
    first, last = run[0], run[-1]
    if pace == "static" and first and counts[first - 1] == 1:
        first -= 1
    near = [*counts[max(0, first - 4) : first], *counts[last + 1 : last + 5]]
    if not near:
        return None
    rate = sum(counts[first : last + 1]) / (last - first + 1)
    around = sum(near) / len(near)
    if max(rate, around) < 2 * min(rate, around) or max(rate, around) < 0.75:
        return None
    elements = tuple(e for at in range(first, last + 1) for fact in held[at] for e in fact.elements)
    return Passage(Span(measures[first].onset, measures[last].span.end), rate, around, elements)


def make_rhythm_marks(
    passages: Sequence[Passage], rhythms: Sequence[SectionRhythm]
) -> tuple[Mark, ...]:
    """Marks where the harmonic rhythm stands out, and where a section doubles or halves it."""
    marks = [_passage_mark(passage) for passage in passages]
    for before, after in pairwise(rhythms):
        slow, fast = sorted((before.rate, after.rate))
        covered = any(passage.span.overlaps(after.section.span) for passage in passages)
        if slow > 0 and fast >= 2 * slow and not covered:
            marks.append(_section_mark(before, after))
    return tuple(sorted(marks, key=lambda mark: mark.span))


def _passage_mark(passage: Passage) -> Mark:
    if passage.fast:
        label = "quick chords"
        sentence = (
            f"Here the chords change {_rate(passage.rate)}; "
            f"around it {_rate(passage.around).removesuffix(' a measure')}."
        )
    else:
        label = "one chord"
        length = passage.span.duration
        sentence = (
            f"One chord holds for {float(length):g} quarter notes; around it the chords change "
            f"{_rate(passage.around)}."
        )
    rates = f"{passage.rate:.2g} changes a measure, {passage.around:.2g} around it."
    return Mark(
        id=mark_id("rhythm", passage.span),
        kind="rhythm",
        span=passage.span,
        parts=(),
        elements=passage.elements,
        label=label,
        sentence=sentence,
        evidence=(Evidence(rates, passage.elements),),
        confidence=0.75,
    )


def _section_mark(before: SectionRhythm, after: SectionRhythm) -> Mark:
    how = "quickens" if after.rate > before.rate else "slows"
    name = after.section.name or after.section.label
    return Mark(
        id=mark_id("rhythm", after.section.span.start, how),
        kind="rhythm",
        span=after.section.span,
        parts=(),
        elements=(),
        label=f"harmony {how}",
        sentence=(
            f"In {name} the harmonic rhythm {how}: {_rate(after.rate)} after {_rate(before.rate)}."
        ),
        evidence=(Evidence(f"{before.rate:.2g} changes a measure, then {after.rate:.2g}."),),
        confidence=0.6,
    )


def _rate(rate: float) -> str:
    """A rate in words."""
    if rate < 2 / 3:
        return f"once in {round(1 / rate)} measures" if rate > 0.05 else "not at all"
    times = {1: "once", 2: "twice"}.get(round(rate), f"{round(rate)} times")
    return f"{times} a measure"
