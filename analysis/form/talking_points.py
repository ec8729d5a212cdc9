"""What to talk about: which marks a teacher would pick, the most telling first.

The task: give the marks of a piece ranks as talking points.

Method. Each mark gets points, in bits of surprise where there is something to count: a chord by how
rare its root is in rock and its numeral in this piece, more where it is borrowed, applied, or
resolves to something else than it asks for. What is heard against the harmony, in it or under it
gets a fixed worth by kind (blue and mixed thirds and reharmonised returns most), and length counts.
The points are multiplied by the mark's confidence. A first chord from outside the key, the last
chord before a chorus, and other marks in the same spot add to them. Near-duplicates are folded: the
same thing said of several places is told once, of its best place, and gains by being a habit of the
piece; a passage and the section that it begins are told once. A kind told already counts less, so
that the first points differ. What stays under `LEAST_POINTS` is no talking point.

References
----------
Shares of roots and of applied chords: T. de Clercq & D. Temperley, "A corpus analysis of rock
harmony", Popular Music 30/1, 2011, measured from version 2.1 of their data. The worth of the other
kinds: judgement, no source.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import log2
from typing import Final

from analysis.marks import (
    DEFAULT_CONFIDENCE,
    ChordFact,
    KeyRegion,
    Line,
    Mark,
    MelodyFact,
    Repeat,
    Section,
)

#: Most talking points of one piece, and so many measures at least stand to one.
MOST: Final = 12
LEAST_POINTS: Final = 3.0
#: Per cent of the chords in rock by half steps of the root above the tonic; others share the rest.
_ROOTS: Final = {0: 33.9, 5: 22.4, 7: 17.0, 10: 7.2, 9: 6.1, 2: 4.7, 8: 3.5, 3: 2.2, 4: 2.2}
_OTHER_ROOT: Final = 0.27
_APPLIED: Final = 1.85
_MOST_BITS: Final = 7.0
#: Points of a chord borrowed, an applied one that is deceived, a dominant that is, a chord with a
#: name of its own, one whose bass is no root, and of each quarter note up to four.
_BORROWED: Final = 4.5
_DECEIVED: Final = 2.5
_PLAIN_DECEIVED: Final = 3.4
_NAMED: Final = 6.0
_INVERTED: Final = 0.4
_A_QUARTER: Final = 0.1
_NAMED_TAGS: Final = frozenset({"Neapolitan", "augmented sixth", "backdoor", "subV", "common tone"})
#: What marks of a kind are worth by themselves.
_WORTH: Final = {
    "mixed third": 7.0,
    "passage": 5.5,
    "echo": 4.6,
    "pedal": 4.4,
    "rhythm": 4.4,
    "loop": 4.4,
    "cadence": 1.5,
    "shape": 3.2,
}
_BLUE: Final = 6.0
_REHARMONISED: Final = 6.5
_OTHER_FUNCTION: Final = 1.0
_OTHER_KEY: Final = 6.5
_CHROMATIC_LINE: Final = 4.8
_OTHER_LINE: Final = 3.2
#: What a place adds: the first chord from outside, the last before a chorus, others in the spot.
_FIRST_OUTSIDE: Final = 1.0
_BEFORE_CHORUS: Final = 1.0
_BEFORE_SECTION: Final = 0.6
_BY_COMPANY: Final = 0.3
_MOST_COMPANY: Final = 0.9
#: Quarters within which marks are in one spot, and what floating numbers may be off.
_NEAR: Final = 1 + 1e-6
#: What a habit adds each time it doubles, and by what a kind told already is multiplied.
_HABIT: Final = 0.4
_TOLD_BEFORE: Final = 0.85


@dataclass(frozen=True, slots=True)
class _Point:
    """A mark with its points and with what it says; like sayings are one talking point."""

    mark: Mark
    points: float
    says: tuple[object, ...]


def rank_marks(marks: Sequence[Mark], sections: Sequence[Section]) -> tuple[Mark, ...]:
    """The same marks in the same order, talking points with their rank from 1 on.

    Parameters
    ----------
    marks
        All marks of a piece.
    sections
        Its sections, for the places before a chorus.
    """
    shown = [mark for mark in marks if mark.confidence >= DEFAULT_CONFIDENCE]
    numerals = Counter(
        mark.fact.numeral.text
        for mark in marks
        if isinstance(mark.fact, ChordFact) and mark.fact.numeral
    )
    candidates = [
        _Point(mark, worth * mark.confidence, _says(mark))
        for mark in shown
        if (worth := _worth(mark, numerals)) > 0
    ]
    told = _in_order(_with_company(_folded(_with_places(candidates, sections))))
    ranks = {point.mark.id: rank for rank, point in enumerate(told, 1)}
    return tuple(
        mark if mark.rank == ranks.get(mark.id) else replace(mark, rank=ranks.get(mark.id))
        for mark in marks
    )


def _worth(mark: Mark, numerals: Counter[str]) -> float:
    """Points of a mark by itself; 0 where it is nothing to talk about."""
    fact = mark.fact
    if isinstance(fact, ChordFact):
        return _worth_of_chord(fact, numerals)
    if isinstance(fact, Repeat):
        return _worth_of_repeat(fact)
    if isinstance(fact, KeyRegion):
        return _OTHER_KEY if mark.span.start > 0 else 0.0
    if isinstance(fact, Line) and mark.kind == "line":
        steps = 0.25 * max(len(fact.notes) - 3, 0)
        return (_CHROMATIC_LINE if fact.kind == "chromatic" else _OTHER_LINE) + steps
    if isinstance(fact, MelodyFact) and mark.kind == "melody":
        if fact.blue:
            return _BLUE
        return 4.0 if fact.role in ("foreign", "appoggiatura") else 3.6
    if mark.kind == "cadence":
        # A full close or a stop on the dominant is how phrases end; only others are news.
        return 4.5 if mark.label in ("DC", "EC", "PC") else _WORTH["cadence"]
    return _WORTH.get(mark.kind, 0.0)


def _worth_of_chord(fact: ChordFact, numerals: Counter[str]) -> float:
    if fact.numeral is None or fact.chord is None:
        return 0.0
    applied = bool(fact.numeral.applied_to)
    deceived = fact.resolution == "deceptive"
    if _NAMED_TAGS & set(fact.tags):
        bits = _NAMED
    elif applied:
        bits = -log2(_APPLIED / 100) - 1.4 + (_DECEIVED if deceived else 0.0)
    elif fact.foreign:
        above = (fact.chord.root.pc - fact.key.tonic.pc) % 12
        bits = max(-log2(_ROOTS.get(above, _OTHER_ROOT) / 100), _BORROWED)
    elif deceived:
        bits = _PLAIN_DECEIVED
    else:
        return 0.0
    share = numerals[fact.numeral.text] / max(sum(numerals.values()), 1)
    rare = min(max(-log2(share) - 3.0, 0.0), 2.0) / 4 if share else 0.0
    longer = _A_QUARTER * min(float(fact.span.duration), 4.0)
    return min(bits, _MOST_BITS) + rare + longer + (_INVERTED if fact.chord.inversion else 0.0)


def _worth_of_repeat(repeat: Repeat) -> float:
    sung = [one for one in repeat.differences if one.roles]
    if not sung:
        return 0.0 if not repeat.later_part else 4.0
    changes = any(
        one.was_function and one.now_function and one.was_function != one.now_function
        for one in sung
    )
    longer = min(log2(max(repeat.sounding, 4) / 4), 3) / 2
    return _REHARMONISED + longer + (_OTHER_FUNCTION if changes else 0.0)


def _says(mark: Mark) -> tuple[object, ...]:
    """What a mark says, whatever its place; marks that say the same are folded into one."""
    fact = mark.fact
    if isinstance(fact, ChordFact) and fact.numeral is not None:
        if fact.numeral.applied_to:
            return ("applied", fact.numeral.applied_to, fact.resolution == "deceptive")
        if fact.resolution == "deceptive":
            return ("deceptive",)
        return ("chord", fact.numeral.degree, fact.numeral.alter, fact.chord and fact.chord.triad)
    if isinstance(fact, Line) and mark.kind == "line":
        return (mark.kind, fact.kind, fact.direction, bool(mark.elements) and fact.part)
    if isinstance(fact, MelodyFact):
        return (mark.kind, fact.degree, fact.role, bool(fact.blue))
    if isinstance(fact, Repeat):
        return (mark.kind, mark.span)
    if isinstance(fact, KeyRegion):
        return (mark.kind, fact.key)
    if mark.kind in ("rhythm", "loop", "pedal"):
        return (mark.kind, mark.label)
    if mark.kind == "echo":
        return (mark.kind, re.sub("“.*?”", "", mark.sentence))
    return (mark.kind, *mark.parts)


def _with_places(points: Sequence[_Point], sections: Sequence[Section]) -> list[_Point]:
    """Points with what the places of the marks add."""
    outside = [
        point.mark.span.start
        for point in points
        if isinstance(point.mark.fact, ChordFact) and point.mark.fact.foreign
    ]
    first_outside = min(outside, default=None)
    choruses = {
        section.span.start
        for section in sections
        if "chorus" in section.name.lower() and "pre" not in section.name.lower()
    }
    begins = {section.span.start for section in sections}
    placed = []
    for point in points:
        more = 0.0
        if isinstance(point.mark.fact, ChordFact):
            more += _FIRST_OUTSIDE if point.mark.span.start == first_outside else 0.0
            if point.mark.span.end in begins:
                more += _BEFORE_CHORUS if point.mark.span.end in choruses else _BEFORE_SECTION
        placed.append(_Point(point.mark, point.points + more, point.says) if more else point)
    return placed


def _folded(points: Iterable[_Point]) -> list[_Point]:
    """The best of those that say the same, more where it is a habit."""
    groups: dict[tuple[object, ...], list[_Point]] = {}
    for point in points:
        groups.setdefault(point.says, []).append(point)
    folded = []
    for group in groups.values():
        best = group[0]
        if len(group) > 1:
            best = max(group, key=lambda point: (round(point.points, 6), -point.mark.span.start))
            best = _Point(best.mark, best.points + _HABIT * log2(len(group)), best.says)
        folded.append(best)
    return folded


def _with_company(points: Sequence[_Point]) -> list[_Point]:
    """Points with what others in the same spot add."""
    places = [float(point.mark.span.start) for point in points]
    starts = sorted(places)
    row = []
    for point, place in zip(points, places, strict=True):
        others = bisect_right(starts, place + _NEAR) - bisect_left(starts, place - _NEAR) - 1
        more = min(_MOST_COMPANY, _BY_COMPANY * others)
        row.append(_Point(point.mark, point.points + more, point.says) if more else point)
    return row


def _in_order(points: Sequence[_Point]) -> list[_Point]:
    """The first talking points, each kind counting less the more of it has been told."""
    left = sorted(
        (point for point in points if point.points >= LEAST_POINTS),
        key=lambda point: (point.mark.span, point.mark.id),
    )
    told: list[_Point] = []
    share = {point.mark.kind: 1.0 for point in left}
    while left and len(told) < MOST:
        worth = [point.points * share[point.mark.kind] for point in left]
        most = max(worth)
        if most < LEAST_POINTS:
            break
        best = left.pop(worth.index(most))
        told.append(best)
        share[best.mark.kind] *= _TOLD_BEFORE
    return told
