"""The facts behind a mark, each in one line for the detail view."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from analysis.marks import (
    ChordFact,
    KeyRegion,
    Line,
    Mark,
    MelodyFact,
    Reading,
    Repeat,
)
from analysis.score import Score
from analysis.vocabulary.numerals import label_of
from analysis.vocabulary.wording import FUNCTION_WORD, chord_text, key_text, name_text
from app.interface_words import counted, phrase, said, said_phrase
from app.views.places import span_text

#: How a key is reached.
_WAYS: Final = {
    "pivot": phrase("a chord of both keys"),
    "dominant": phrase("its own dominant"),
    "direct": phrase("a jump"),
    "step up": phrase("a step up"),
}


def fact_lines(mark: Mark, score: Score) -> tuple[str, ...]:
    """What the analysis found, in words; nothing for a mark made by hand."""
    fact = mark.fact
    if isinstance(fact, ChordFact):
        return tuple(_chord_lines(fact))
    if isinstance(fact, MelodyFact):
        return tuple(_melody_lines(fact))
    if isinstance(fact, Repeat):
        return tuple(_repeat_lines(fact, score))
    if isinstance(fact, Line):
        names = " – ".join(name_text(name) for name in fact.notes)
        return (said("Notes: {names}", names=names),)
    if isinstance(fact, KeyRegion):
        return tuple(_key_lines(fact))
    return ()


def others(mark: Mark) -> list[Reading]:
    """The other readings that say something else than the mark, and each something of its own."""
    function = mark.fact.function if isinstance(mark.fact, ChordFact) else ""
    found: dict[tuple[str, str], Reading] = {}
    for one in mark.alternatives:
        says_more = one.function and one.function != function
        if one.label != mark.label or says_more:
            found.setdefault((one.label, one.function), one)
    return list(found.values())


def reading_text(mark: Mark, reading: Reading) -> str:
    """The label of a reading, with the function where that alone is another one."""
    labels = [mark.label, *(one.label for one in others(mark))]
    if labels.count(reading.label) == 1 or not reading.function:
        return reading.label
    function = FUNCTION_WORD[reading.function]
    return said("{label} as {function}", label=reading.label, function=function)


def _chord_lines(fact: ChordFact) -> Iterator[str]:
    chord = chord_text(fact.chord)
    if fact.written:
        yield said("Chord: {chord}", chord=chord)
    else:
        yield said("Chord: {chord}, read from the notes", chord=chord)
    if fact.function:
        yield said("Function: {function}", function=FUNCTION_WORD[fact.function])
    if fact.numeral and fact.numeral.applied_to:
        yield said("Dominant of {numeral}", numeral=label_of(fact.numeral.applied_to))
    if fact.resolution and fact.expected:
        yield said(
            "Resolution: {resolution}; it wants {chord}",
            resolution=fact.resolution,
            chord=signed(fact.expected),
        )
    elif fact.resolution:
        yield said("Resolution: {resolution}", resolution=fact.resolution)
    if fact.foreign:
        yield said("Outside {key}", key=key_text(fact.key))
    if fact.scale:
        yield said("Scale: {scale}", scale=signed(fact.scale))
    yield from fact.reasons


def _melody_lines(fact: MelodyFact) -> Iterator[str]:
    yield said("Role: {role}", role=fact.role)
    if fact.degree:
        yield said("Degree of the key: {degree}", degree=signed(fact.degree))
    if fact.chord_degree:
        yield said("Degree of the chord: {degree}", degree=signed(fact.chord_degree))
    yield from fact.reasons


def _repeat_lines(fact: Repeat, score: Score) -> Iterator[str]:
    yield said("First: {place}", place=span_text(score, fact.first))
    yield said("Later: {place}", place=span_text(score, fact.later))
    steps = abs(fact.transposition)
    if fact.transposition > 0:
        yield counted("{count} half step higher", "{count} half steps higher", steps)
    elif fact.transposition < 0:
        yield counted("{count} half step lower", "{count} half steps lower", steps)


def _key_lines(fact: KeyRegion) -> Iterator[str]:
    if fact.change:
        yield said("Reached by: {change}", change=said_phrase(_WAYS[fact.change]))
    for key, share in fact.alternatives:
        percent = f"{share * 100:.0f}"
        yield said("Could also be {key} ({percent} %)", key=key_text(key), percent=percent)


def signed(text: str) -> str:
    """Accidentals of a degree or chord name as signs: ``b3`` becomes ``♭3``."""
    if not text:
        return text
    # A small b is a flat wherever it stands before a digit or after a letter of a pitch.
    out = []
    for at, character in enumerate(text):
        before, after = text[at - 1 : at], text[at + 1 : at + 2]
        flat = character == "b" and (after.isdigit() or (before in "ABCDEFG" and before != ""))
        out.append("♭" if flat else "♯" if character == "#" else character)
    return "".join(out)
