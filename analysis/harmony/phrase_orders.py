"""The order of functions that a phrase goes through, and where it turns the usual order round.

The task is to say of each phrase which functions follow each other in it, such as T–S–D–T, and to
point at a dominant that steps back to a subdominant instead of going home. In a blues that is the
order (V–IV–I), so nothing is pointed at there.

Limits: chords without a function are passed over; an order across the border of two phrases is not
looked at. Common in rock, such a step back is worth saying once, not an error.

References
----------
Open Music Theory v1, *harmonicFunctions* (T–S–D–T) and *popRockHarmony* (V–IV in the blues). In
rock 22.5 % of the chords after V are IV: T. de Clercq & D. Temperley, "A corpus analysis of rock
harmony", *Popular Music* 30/1, 2011, measured from version 2.1 of their data.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

from analysis.marks import ChordFact, Evidence, Mark, PhraseFact, mark_id
from analysis.timebase import Offset, Span
from analysis.vocabulary.numerals import label_of
from analysis.vocabulary.phrases import Phrase
from analysis.vocabulary.wording import chord_text

#: How often such a claim stands, from memory of practice; no surer than its chords.
_CONFIDENCE: Final = 0.6


def order_of_functions(phrase: Phrase, chords: Sequence[ChordFact]) -> str:
    """The functions that a phrase passes through, neighbours joined: ``T–S–D–T``."""
    order: list[str] = []
    for fact in _inside(phrase.span, chords):
        if not order or order[-1] != fact.function:
            order.append(fact.function)
    return "–".join(order)


def find_phrase_orders(
    phrases: Sequence[Phrase], chords: Sequence[ChordFact]
) -> tuple[PhraseFact, ...]:
    """The order of functions of every phrase over chords, in order of time."""
    found = []
    for phrase in phrases:
        order = order_of_functions(phrase, chords)
        if order:
            back = next(_steps_back(phrase.span, chords), None)
            span = Span(back[0].span.start, back[1].span.end) if back else None
            found.append(PhraseFact(phrase.span, phrase.last.part, order, span))
    return tuple(found)


def _inside(span: Span, chords: Sequence[ChordFact]) -> list[ChordFact]:
    """The chords with a function that sound in a stretch."""
    first = max(bisect_right(chords, span.start, key=_start) - 1, 0)
    last = bisect_left(chords, span.end, key=_start)
    return [fact for fact in chords[first:last] if fact.function and fact.span.overlaps(span)]


def _start(fact: ChordFact) -> Offset:
    return fact.span.start


def _steps_back(span: Span, chords: Sequence[ChordFact]) -> Iterator[tuple[ChordFact, ChordFact]]:
    """The dominants of a stretch that a subdominant of the same key follows, outside a blues."""
    inside = _inside(span, chords)
    if any(_is_blue(fact) for fact in inside):
        return
    for before, after in pairwise(inside):
        own = before.numeral is not None and before.numeral.applied_root is None
        plain = after.numeral is not None and after.numeral.applied_root is None
        order = (before.function, after.function) == ("D", "S")
        walks = {"passing bass"} & {*before.tags, *after.tags}
        if order and own and plain and before.key == after.key and not walks:
            yield before, after


def _is_blue(fact: ChordFact) -> bool:
    """A tonic or IV with a minor seventh that leads nowhere."""
    chord = fact.chord
    if chord is None or (chord.triad, chord.seventh) != ("maj", "m7"):
        return False
    return (chord.root.pc - fact.key.tonic.pc) % 12 in (0, 5) and fact.function in ("T", "S")


def make_order_marks(orders: Sequence[PhraseFact], chords: Sequence[ChordFact]) -> tuple[Mark, ...]:
    """A mark where a phrase steps back from a dominant to a subdominant, in order of time."""
    return tuple(
        _mark(order, *step)
        for order in orders
        if order.back is not None
        for step in list(_steps_back(order.span, chords))[:1]
    )


def _mark(order: PhraseFact, before: ChordFact, after: ChordFact) -> Mark:
    first, second = (
        label_of(fact.numeral.text) if fact.numeral else "" for fact in (before, after)
    )
    return Mark(
        id=mark_id("order", before.span.start, order.order),
        kind="cadence",
        span=Span(before.span.start, after.span.end),
        parts=(order.part,),
        elements=(*before.elements, *after.elements),
        label="D–S",
        sentence=(
            f"{first} steps back to {second}: after a dominant one expects home, so the usual "
            "order, T–S–D–T, is turned round here."
        ),
        evidence=(
            Evidence(f"{chord_text(before.chord)} is a dominant.", before.elements),
            Evidence(f"{chord_text(after.chord)} after it is a subdominant.", after.elements),
            Evidence(f"The phrase goes {order.order}."),
        ),
        confidence=_CONFIDENCE * min(before.confidence, after.confidence),
    )
