"""The facts behind a mark, each in one line for the detail view."""

from __future__ import annotations

from collections.abc import Iterator

from analysis.marks import ChordDifference, ChordFact, KeyRegion, Line, Mark, MelodyFact, Repeat
from analysis.numerals import label_of
from analysis.score import Score
from analysis.wording import FUNCTION_WORD, chord_text, key_text, name_text
from app.views.places import place_text, span_text


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
        return ("Notes: " + " – ".join(name_text(name) for name in fact.notes),)
    if isinstance(fact, KeyRegion):
        return tuple(_key_lines(fact))
    return ()


def _chord_lines(fact: ChordFact) -> Iterator[str]:
    yield f"Chord: {chord_text(fact.chord)}" + ("" if fact.written else ", read from the notes")
    if fact.function:
        yield f"Function: {FUNCTION_WORD[fact.function]}"
    if fact.numeral and fact.numeral.applied_to:
        yield f"Dominant of {label_of(fact.numeral.applied_to)}"
    if fact.resolution:
        wanted = f"; it wants {signed(fact.expected)}" if fact.expected else ""
        yield f"Resolution: {fact.resolution}{wanted}"
    if fact.outside_key:
        yield f"Outside {key_text(fact.key)}"
    if fact.scale:
        yield f"Scale: {signed(fact.scale)}"
    yield from fact.reasons


def _melody_lines(fact: MelodyFact) -> Iterator[str]:
    yield f"Role: {fact.role}"
    if fact.degree:
        yield f"Degree of the key: {signed(fact.degree)}"
    if fact.chord_degree:
        yield f"Degree of the chord: {signed(fact.chord_degree)}"
    yield from fact.reasons


def _repeat_lines(fact: Repeat, score: Score) -> Iterator[str]:
    yield f"First: {span_text(score, fact.first)}"
    yield f"Later: {span_text(score, fact.later)}"
    if fact.transposition:
        steps = abs(fact.transposition)
        word = "half step" if steps == 1 else "half steps"
        yield f"{steps} {word} {'higher' if fact.transposition > 0 else 'lower'}"
    for difference in fact.differences:
        yield _difference_text(difference, score)


def _difference_text(difference: ChordDifference, score: Score) -> str:
    was, now = difference.was, difference.now
    if difference.was_numeral and difference.now_numeral:
        was = f"{was} ({label_of(difference.was_numeral)})"
        now = f"{now} ({label_of(difference.now_numeral)})"
    text = f"{place_text(score, difference.later_at)}: {now} instead of {was}"
    return f"{text}; {difference.effect}" if difference.effect else text


def _key_lines(fact: KeyRegion) -> Iterator[str]:
    if fact.change:
        yield f"Reached by: {fact.change}"
    for key, share in fact.alternatives:
        yield f"Could also be {key_text(key)} ({share * 100:.0f} %)"


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
