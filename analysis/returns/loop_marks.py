"""Marks for chord loops: which chords go round, how often, and where the loop is broken.

Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from analysis.marks import Evidence, Mark, mark_id
from analysis.returns.loops import Loop
from analysis.score import Score
from analysis.timebase import Span
from analysis.vocabulary.numerals import label_of
from analysis.vocabulary.wording import chord_text

_CONFIDENCE: Final = 0.85


def make_loop_marks(score: Score, loops: Sequence[Loop]) -> tuple[Mark, ...]:
    """One mark for each loop, at its first place."""
    return tuple(_mark(score, loop) for loop in loops)


def _mark(score: Score, loop: Loop) -> Mark:
    numerals = "–".join(label_of(fact.numeral.text) for fact in loop.chords if fact.numeral)
    elements = tuple(
        element
        for fact in loop.chords
        for element in fact.elements
        if fact.span.overlaps(loop.places[0])
    )
    names = ", ".join(chord_text(fact.chord) for fact in loop.chords)
    measures = "measure" if loop.length == 1 else f"{loop.length} measures"
    evidence = [Evidence(f"{names} go round in {measures}.", elements)]
    for place in loop.places:
        first, last = _numbers(score, place)
        evidence.append(Evidence(f"It goes round in measures {first} to {last}."))
    for at in loop.breaks:
        number = score.measures[at].number
        evidence.append(Evidence(f"Another chord breaks it in measure {number}."))
    broken = ""
    if loop.breaks:
        broken = (
            f", until another chord breaks it in measure {score.measures[loop.breaks[0]].number}"
        )
    return Mark(
        id=mark_id("loop", loop.places[0].start, numerals),
        kind="loop",
        span=loop.places[0],
        parts=(),
        elements=elements,
        label=f"{numerals} ×{loop.turns}",
        sentence=f"A loop of {len(loop.chords)} chords, {numerals}, goes round "
        f"{loop.turns} times{broken}.",
        evidence=tuple(evidence),
        confidence=_CONFIDENCE,
    )


def _numbers(score: Score, place: Span) -> tuple[str, str]:
    """Printed numbers of the first and the last measure of a span."""
    inside = [measure.number for measure in score.measures if measure.onset in place]
    return inside[0], inside[-1]
