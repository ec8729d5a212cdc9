"""What a chord does where the music does not go on as it is written: repeats, endings, da capo.

The task is to judge a chord by what is played after it. At the end of a first ending the music goes
back, and the second ending is no answer to it; before both endings a chord has two answers.

Method
------
The passes come from the played order of the measures (`Score.played`). Around each place where that
order jumps, the chords are laid in a row as they are played and their facts are found in it. A
chord whose passes agree has one fact. Where they differ, the one of most passes is taken, of as
many the one in which a dominant comes home; what the others say is told beside it, as another
reading where the numeral or the function differs.

What it cannot do: keys, lines and cadences are heard in written order, and a chord whose third is
missing everywhere keeps what written order says.

References
----------
Common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from analysis.harmony.chord_facts import facts_beside, find_plain_facts
from analysis.marks import ChordFact, PlacedChord, Reading
from analysis.pitch import Key
from analysis.score import Score
from analysis.vocabulary.dominants import ChordInKey
from analysis.vocabulary.numerals import label_of
from analysis.vocabulary.thirds import HeardThird
from analysis.vocabulary.voices import HeldNote
from analysis.vocabulary.wording import chord_text

#: Changes of root on either side of a jump that are looked at; of those before it that are judged,
#: and how many chords behind it are.
_ROOTS: Final = 8
_JUDGED: Final = 4
_CHORDS: Final = 2
#: Of as many passes that is taken in which a dominant fares so, the best first.
_FATES: Final = ("resolves", "delayed", "interrupted", "deceptive", "unresolved", "")
_TIMES: Final = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")
#: What another pass of as many would be worth as a reading.
_OTHER: Final = 0.8


@dataclass(frozen=True, slots=True)
class _Pass:
    """One chord in one pass: its fact, what comes on another root, and where the music jumps.

    ``time`` counts the passes of its measure from 0; ``then`` is the index of the chord that
    follows, -1 for none; ``jumps`` says that a jump lies between.
    """

    time: int
    fact: ChordFact
    then: int
    jumps: bool


#: A chord placed, in its key, and with the third heard in it.
_Chord = tuple[PlacedChord, ChordInKey, HeardThird | None]


@dataclass(frozen=True, slots=True)
class Seam:
    """The chords played around one jump, and the facts of those near it.

    ``chords`` are in played order: placed, in their keys, and with the thirds heard in them;
    ``blues`` are the keys that are a blues, ``judged`` the indexes of the chords near the jump.
    """

    chords: tuple[_Chord, ...]
    blues: frozenset[Key]
    judged: range
    facts: tuple[ChordFact, ...]


def follow_playing(
    score: Score,
    placed: Sequence[PlacedChord],
    row: Sequence[ChordInKey],
    facts: Sequence[ChordFact],
    line: Sequence[HeldNote],
    blues: frozenset[Key],
    thirds: Sequence[HeardThird | None],
    before: Sequence[Seam] = (),
) -> tuple[tuple[ChordFact, ...], tuple[Seam, ...]]:
    """The facts of a piece with those near a jump judged by what is played around them.

    Parameters
    ----------
    placed, row, facts
        The same chords in written order: placed, in their keys, and as heard in that order.
    blues, thirds
        As `find_plain_facts` takes them.
    before
        What was played around the jumps of the same score before a correction.

    Returns
    -------
    facts, seams
        The facts, and what is played around each jump; a seam without a change is the old one.
    """
    played = score.played
    jumps = [
        at
        for at in range(len(played))
        if (played[at + 1] if at + 1 < len(played) else len(score.measures)) != played[at] + 1
    ]
    if not jumps:
        return tuple(facts), ()
    order = _Order(score, placed)
    heard: dict[int, dict[int, _Pass]] = defaultdict(dict)
    seams: list[Seam] = []
    for index, jump in enumerate(jumps):
        places, after = order.around(jump, row)
        chosen = [at for _, at in places]
        chords = tuple((placed[at], row[at], thirds[at]) for at in chosen)
        judged = _judged(row, chosen, after)
        old = before[index] if index < len(before) else None
        seams.append(_seam(chords, blues, judged, line, old))
        for at, fact in zip(judged, seams[-1].facts, strict=True):
            then = _next_root(row, chosen, at)
            place = places[at][0]
            time = order.times[place]
            later, until = (chosen[then], places[then][0]) if then >= 0 else (-1, place)
            jumps_between = not order.goes_on(place, until)
            heard[chosen[at]][time] = _Pass(time, fact, later, jumps_between)
    merged = list(facts)
    for at, passes in heard.items():
        if thirds[at] is None:
            count = score.played.count(order.measures[at])
            merged[at] = _merged(score, row, at, facts[at], passes, count)
    return tuple(merged), tuple(seams)


def _seam(
    chords: tuple[_Chord, ...],
    blues: frozenset[Key],
    judged: range,
    line: Sequence[HeldNote],
    old: Seam | None,
) -> Seam:
    """The chords around a jump with the facts of those near it, old ones where they hold."""
    row = [one for _, one, _ in chords]
    anew = range(len(row))
    if old and (old.judged, old.blues, len(old.chords)) == (judged, blues, len(chords)):
        apart = [at for at, one in enumerate(chords) if one != old.chords[at]]
        if not apart:
            return old
        anew = facts_beside(row, apart[0], apart[-1] + 1)
    asked = range(max(judged.start, anew.start), min(judged.stop, anew.stop))
    facts = list(old.facts) if old and len(asked) < len(judged) else []
    if asked:
        found = find_plain_facts(
            [one for one, _, _ in chords], row, line, blues, [one for _, _, one in chords], asked
        )
        begin = asked.start - judged.start
        facts[begin : begin + len(asked)] = found
    return Seam(chords, blues, judged, tuple(facts))


class _Order:
    """The chords of each measure, and how often it was played before each pass."""

    def __init__(self, score: Score, placed: Sequence[PlacedChord]) -> None:
        onsets = [float(measure.onset) for measure in score.measures]
        starts = [float(one.span.start) for one in placed]
        self.played = score.played
        self.measures = [max(bisect_right(onsets, start) - 1, 0) for start in starts]
        self._sounding = [bisect_right(starts, onset) - 1 for onset in onsets]
        self._first = [bisect_left(self.measures, at) for at in range(len(onsets) + 1)]
        seen: dict[int, int] = defaultdict(int)
        self.times: list[int] = []
        for measure in score.played:
            self.times.append(seen[measure])
            seen[measure] += 1

    def goes_on(self, place: int, until: int) -> bool:
        """Whether the music goes as written from one place in the played order to another."""
        return self.played[until] - self.played[place] == until - place

    def around(self, jump: int, row: Sequence[ChordInKey]) -> tuple[list[tuple[int, int]], int]:
        """Chords played around a jump, each behind its place in the played order.

        ``jump`` is the place in the played order that a jump follows. The second value is the
        index of the first chord after the jump.
        """
        before: list[tuple[int, int]] = []
        for place in range(jump, -1, -1):
            before[:0] = self._in(place)
            if _changes(row, [at for _, at in before]) > _ROOTS:
                break
        after: list[tuple[int, int]] = []
        for place in range(jump + 1, len(self.played)):
            after += self._in(place)
            if _changes(row, [at for _, at in after]) > _ROOTS:
                break
        return [*before, *after], len(before)

    def _in(self, place: int) -> list[tuple[int, int]]:
        """The chords of a measure at a place in the played order, one held into it after a jump."""
        measure = self.played[place]
        chords = list(range(self._first[measure], self._first[measure + 1]))
        jumped = place > 0 and self.played[place - 1] != measure - 1
        held = self._sounding[measure]
        if jumped and held >= 0 and held not in chords:
            chords.insert(0, held)
        return [(place, at) for at in chords]


def _root(row: Sequence[ChordInKey], at: int) -> int:
    chord = row[at].chord
    return chord.root.pc if chord is not None else -1


def _changes(row: Sequence[ChordInKey], chosen: Sequence[int]) -> int:
    roots = [_root(row, at) for at in chosen]
    return sum(one != other for one, other in pairwise(roots))


def _next_root(row: Sequence[ChordInKey], chosen: Sequence[int], at: int) -> int:
    """The index in a row of chosen chords of the next one on another root, -1 for none."""
    here = _root(row, chosen[at])
    return next(
        (later for later in range(at + 1, len(chosen)) if _root(row, chosen[later]) != here), -1
    )


def _judged(row: Sequence[ChordInKey], chosen: Sequence[int], seam: int) -> range:
    """Indexes of the chords that look across the jump: further ones are as in written order."""
    first = seam
    while first > 0 and _changes(row, chosen[first - 1 : seam]) < _JUDGED:
        first -= 1
    return range(first, min(seam + _CHORDS, len(chosen)))


def _merged(
    score: Score,
    row: Sequence[ChordInKey],
    at: int,
    written: ChordFact,
    passes: dict[int, _Pass],
    count: int,
) -> ChordFact:
    """One fact of a chord for all of its passes, of which those not near a jump go as written."""
    then = _next_root(row, range(len(row)), at)
    every = [passes.get(time, _Pass(time, written, then, False)) for time in range(count)]
    groups: dict[tuple[object, ...], list[_Pass]] = defaultdict(list)
    for one in every:
        groups[_claim(one.fact)].append(one)
    ranked = sorted(
        groups.values(),
        key=lambda group: (-len(group), _FATES.index(group[0].fact.resolution), group[0].time),
    )
    best = ranked[0][0]
    reasons = list(best.fact.reasons)
    if best.jumps and best.fact.expected:
        reasons.append(_by_jump(score, row, at, best.then))
    readings = list(best.fact.alternatives)
    for others in ranked[1:]:
        told = f"{_when(others)} {_follows(row, others[0])}."
        other = others[0].fact
        same = (other.numeral, other.function) == (best.fact.numeral, best.fact.function)
        if same or other.numeral is None:
            reasons.append(told)
        else:
            chance = round(_OTHER * len(others) / len(ranked[0]) / 2, 2)
            label = label_of(other.numeral.text)
            readings = [one for one in readings if one.label != label]
            readings.insert(0, Reading(label, told, chance, other.function))
    if (tuple(reasons), tuple(readings)) == (written.reasons, written.alternatives) and _claim(
        best.fact
    ) == _claim(written):
        return written
    return replace(best.fact, reasons=tuple(reasons), alternatives=tuple(readings))


def _claim(fact: ChordFact) -> tuple[object, ...]:
    return (fact.numeral, fact.function, fact.resolution, fact.expected, fact.came, fact.tags)


def _by_jump(score: Score, row: Sequence[ChordInKey], at: int, then: int) -> str:
    """That the music jumps from a chord to the one that follows it."""
    number = score.measure_at(row[then].span.start).number
    way = "goes back" if row[then].span.start <= row[at].span.start else "goes on"
    return f"After it the music {way} to {chord_text(row[then].chord)} in measure {number}."


def _when(passes: Sequence[_Pass]) -> str:
    """The passes by number: ``The second time``."""
    names = [_TIMES[one.time] for one in passes if one.time < len(_TIMES)]
    if len(names) < len(passes) or len(names) > 3:
        return "At other times"
    return f"The {' and '.join(names)} time"


def _follows(row: Sequence[ChordInKey], one: _Pass) -> str:
    if one.then < 0 or row[one.then].chord is None:
        return "nothing follows"
    return f"{chord_text(row[one.then].chord)} follows"
