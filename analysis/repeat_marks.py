"""Marks for passages that come back: which to show, and what to say of them.

Every pair of passages is a fact; a viewer wants one statement for each return. So each later
passage gets the pair that matches longest and closest, and a passage whose chords are the same is
marked with less confidence than a reharmonised one, since a plain return needs no explanation.

References
----------
Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from analysis.marks import Evidence, Mark, Repeat, mark_id
from analysis.numerals import label_of
from analysis.score import Score
from analysis.timebase import Span

_PLAIN: Final = 0.45


def make_repeat_marks(score: Score, repeats: Sequence[Repeat]) -> tuple[Mark, ...]:
    """One mark for each return, longest and closest match first where passages overlap."""
    marks = []
    taken: list[Span] = []
    ordered = sorted(
        repeats,
        key=lambda repeat: (
            not repeat.reharmonised,
            -repeat.similarity * float(repeat.later.duration),
            repeat.later.start,
            repeat.first.start,
        ),
    )
    for repeat in ordered:
        if any(_covers(span, repeat.later) for span in taken):
            continue
        taken.append(repeat.later)
        marks.append(_mark(score, repeat))
    return tuple(marks)


def _covers(taken: Span, span: Span) -> bool:
    """Whether more than half of the span is in the other."""
    shared = min(taken.end, span.end) - max(taken.start, span.start)
    return shared * 2 > span.duration


def _mark(score: Score, repeat: Repeat) -> Mark:
    where = score.measure_at(repeat.first.start).number
    label = f"as m. {where}"
    evidence = [
        Evidence(
            f"The melody is that of measure {where}, {round(100 * repeat.similarity)} % alike"
            + (f", {_shift(repeat.transposition)}." if repeat.transposition else "."),
            (*repeat.first_notes, *repeat.later_notes),
        )
    ]
    for one in repeat.differences:
        measure = score.measure_at(one.later_at).number
        text = f"Measure {measure}: {_signs(one.was)} ({label_of(one.was_numeral)}) became "
        text += f"{_signs(one.now)} ({label_of(one.now_numeral)})"
        evidence.append(Evidence(text + (f"; {one.effect}." if one.effect else ".")))
        evidence.extend(Evidence(f"The sung {_signs(role)}.") for role in one.roles)
    return Mark(
        id=mark_id("repeat", repeat.part, repeat.first.start, repeat.later),
        kind="repeat",
        span=repeat.later,
        parts=(repeat.part,),
        elements=repeat.later_notes,
        label=label + (", new chords" if repeat.reharmonised else ""),
        sentence=_sentence(score, repeat),
        evidence=tuple(evidence),
        confidence=repeat.similarity if repeat.reharmonised else _PLAIN * repeat.similarity,
        fact=repeat,
    )


def _sentence(score: Score, repeat: Repeat) -> str:
    where = score.measure_at(repeat.first.start).number
    if not repeat.differences:
        moved = f", {_shift(repeat.transposition)}" if repeat.transposition else ""
        return f"The melody of measure {where} comes back{moved} over the same chords."
    one = repeat.differences[0]
    measure = score.measure_at(one.later_at).number
    return (
        f"The melody of measure {where} comes back over other chords: in measure {measure} "
        f"{_signs(one.now)} takes the place of {_signs(one.was)}."
    )


def _shift(half_steps: int) -> str:
    count = abs(half_steps)
    return f"{count} half step{'s' if count > 1 else ''} {'higher' if half_steps > 0 else 'lower'}"


def _signs(text: str) -> str:
    """Note names in a text with music signs."""
    return re.sub(r"(?<=[A-G])(b+|#+)", lambda m: "♭♯"[m[0][0] == "#"] * len(m[0]), text)
