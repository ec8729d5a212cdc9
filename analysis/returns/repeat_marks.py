"""Marks for passages that come back: which to show, and what to say of them.

Every pair of passages is a fact; a viewer wants one statement for each return. So each later
passage gets the pair that is reharmonised, longest and closest. Confidence falls with unlikeness,
and faster in a short passage, where one other note is much. A passage whose chords are the same,
or differ under a rest only, is marked with less than the default confidence, since a plain return
needs no explanation; a return in another part is worth one.

References
----------
Common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Sequence
from typing import Final

from analysis.marks import ChordDifference, Evidence, Mark, Repeat, mark_id
from analysis.score import Measure, Score
from analysis.timebase import Offset, Span
from analysis.vocabulary.numerals import label_of
from analysis.vocabulary.wording import with_signs

_PLAIN: Final = 0.45
_IN_ANOTHER_PART: Final = 0.7
#: Notes that make a phrase, and notes at which an unlikeness counts double.
_ENOUGH_NOTES: Final = 6
_FEW_NOTES: Final = 15
#: Notes from which another part is heard to have the melody; fewer where it has them exactly, over
#: other chords.
_MANY_NOTES: Final = 12
_MANY_NOTES_EXACT: Final = 7
#: Measures to one changed chord from which the chords count as the same but for it.
_FEW_CHANGES: Final = 3
#: Quarters in a stretch of time by which what is taken is looked up.
_STRETCH: Final = 16
_FUNCTIONS: Final = {"T": "tonic", "S": "subdominant", "D": "dominant"}


def make_repeat_marks(score: Score, repeats: Sequence[Repeat]) -> tuple[Mark, ...]:
    """One mark for each return, longest and closest match first where passages overlap."""
    return tuple(mark_of(score, repeat) for repeat in choose_repeats(repeats))


def choose_repeats(repeats: Sequence[Repeat]) -> list[Repeat]:
    """One pair for each return, the longest and closest first; the others are not marked."""
    chosen = []
    # By stretches of time: what covers half of a passage touches its middle.
    taken: defaultdict[int, list[Span]] = defaultdict(list)
    # Where several passages begin a phrase begins; a piece out of the middle has no company.
    begin = Counter(start for one in repeats for start in (one.first.start, one.later.start))
    ordered = sorted(
        repeats,
        key=lambda repeat: (
            not sung_differences(repeat),
            -likeness_of(repeat) * float(repeat.later.duration),
            -begin[repeat.later.start] - begin[repeat.first.start],
            repeat.later.start,
            repeat.first.start,
        ),
    )
    for repeat in ordered:
        start, end = (int(at // _STRETCH) for at in (repeat.later.start, repeat.later.end))
        middle = int((repeat.later.start + repeat.later.end) / 2 // _STRETCH)
        if any(_covers(span, repeat.later) for span in taken[middle]):
            continue
        for stretch in range(start, end + 1):
            taken[stretch].append(repeat.later)
        chosen.append(repeat)
    return chosen


def likeness_of(repeat: Repeat) -> float:
    """How surely a return is heard as one, in [0, 1]: similarity, the more doubted the shorter."""
    notes = max(repeat.sounding, 1)
    enough = min(1.0, notes / _ENOUGH_NOTES)
    return enough * max(0.0, 1 - (1 - repeat.similarity) * (1 + _FEW_NOTES / notes))


def sung_differences(repeat: Repeat) -> tuple[ChordDifference, ...]:
    """The differences under a sounding note."""
    return tuple(one for one in repeat.differences if one.roles)


def _covers(taken: Span, span: Span) -> bool:
    """Whether half of the span or more is in the other."""
    shared = min(taken.end, span.end) - max(taken.start, span.start)
    return shared * 2 >= span.duration


def mark_of(score: Score, repeat: Repeat) -> Mark:
    """The mark of one return."""
    where = score.measure_at(repeat.first.start).number
    differences = sung_differences(repeat)
    likeness = likeness_of(repeat)
    weight = 1.0 if differences else _PLAIN
    if repeat.later_part:
        # A few notes that another part has too are an echo at most.
        exact = repeat.similarity == 1 and bool(differences)
        many = repeat.sounding >= (_MANY_NOTES_EXACT if exact else _MANY_NOTES)
        weight = _IN_ANOTHER_PART if many else _PLAIN
    return Mark(
        id=mark_id("repeat", repeat.part, repeat.first.start, repeat.later),
        kind="repeat",
        span=repeat.later,
        parts=(repeat.later_part or repeat.part,),
        elements=repeat.later_notes,
        label=f"as m. {where}{_label_of_chords(repeat, differences)}",
        sentence=_sentence(score, repeat, differences),
        evidence=tuple(_evidence(score, repeat)),
        confidence=round(weight * likeness, 3),
        fact=repeat,
    )


def _evidence(score: Score, repeat: Repeat) -> list[Evidence]:
    where = score.measure_at(repeat.first.start).number
    moved = f", {shift_text(repeat.transposition)}" if repeat.transposition else ""
    told = [
        Evidence(
            f"The melody is that of measure {where}, {round(100 * repeat.similarity)} % alike"
            f"{moved}.",
            (*repeat.first_notes, *repeat.later_notes),
        )
    ]
    begins, again = (score.beat_at(one.start) for one in (repeat.first, repeat.later))
    if begins != again:
        told.append(
            Evidence(f"It begins on beat {float(again):g} of the measure, not {float(begins):g}.")
        )
    for one in repeat.differences:
        measure = score.measure_at(one.later_at).number
        text = f"Measure {measure}: {_chord(one.was, one.was_numeral)} became "
        text += _chord(one.now, one.now_numeral)
        told.append(Evidence(text + (f"; {one.effect}." if one.effect else ".")))
        told.extend(Evidence(f"The sung {with_signs(role)}.") for role in one.roles)
    return told


def _sentence(score: Score, repeat: Repeat, differences: Sequence[ChordDifference]) -> str:
    where = score.measure_at(repeat.first.start).number
    who = f"{_part(score, repeat.later_part)} takes up" if repeat.later_part else ""
    melody = f"the melody of measure {where}"
    moved = f", {shift_text(repeat.transposition)}," if repeat.transposition else ""
    back = f"{who} {melody}{moved}" if who else f"The{melody[3:]} comes back{moved}"
    if not differences:
        over = "over the same chords" if not repeat.differences else "over the same chords in it"
        return f"{back} {over}."
    one = differences[0]
    measure = score.measure_at(one.later_at).number
    chords = {1: "with one other chord", 2: "with two other chords"}
    how = "over other chords"
    if len(repeat.differences) <= _measures_in(score, repeat.later) / _FEW_CHANGES:
        how = chords.get(len(repeat.differences), how)
    return (
        f"{back} {how}: in measure {measure} {_chord(one.now, one.now_numeral)} "
        f"replaces {_chord(one.was, one.was_numeral)}{'' if moved or who else _turn(one)}."
    )


def _label_of_chords(repeat: Repeat, differences: Sequence[ChordDifference]) -> str:
    """What the label says of the chords."""
    if not differences:
        return ""
    return ", one new chord" if len(repeat.differences) == 1 else ", new chords"


def _measures_in(score: Score, span: Span) -> int:
    first, last = (bisect_left(score.measures, at, key=_onset) for at in (span.start, span.end))
    return last - first


def _onset(measure: Measure) -> Offset:
    return measure.onset


def _turn(one: ChordDifference) -> str:
    """What the exchange turns into what, for the end of a sentence."""
    if one.was_function and one.now_function and one.was_function != one.now_function:
        was, now = _FUNCTIONS[one.was_function], _FUNCTIONS[one.now_function]
        return f", {now} instead of {was}"
    note, _, role = one.roles[0].partition(": ")
    was, _, now = role.partition(" → ")
    return f": the sung {with_signs(note)} turns from {was} to {now}" if now else ""


def _part(score: Score, part: str) -> str:
    return score.part(part).name or "Another part"


def _chord(name: str, numeral: str) -> str:
    return f"{with_signs(name)} ({label_of(numeral)})" if numeral else with_signs(name)


def shift_text(half_steps: int) -> str:
    """How far a passage is moved: ``2 half steps higher``, ``an octave lower``."""
    count, way = abs(half_steps), "higher" if half_steps > 0 else "lower"
    if count % 12 == 0:
        return f"an octave {way}" if count == 12 else f"{count // 12} octaves {way}"
    return {1: "a half step", 2: "a whole step"}.get(count, f"{count} half steps") + f" {way}"
