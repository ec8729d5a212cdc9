"""Marks for echoes: who answers what, and how.

Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from analysis.marks import Evidence, Mark, mark_id
from analysis.returns.echoes import LEAST_BITS, Echo
from analysis.score import Score
from analysis.vocabulary.voices import HeldNote, SungWord, join_words, sung_words

_INTERVALS: Final = ("", "a step", "a third", "a fourth", "a fifth", "a sixth", "a seventh")
#: Confidence at the least number of bits, and its growth by a bit.
_LEAST: Final = 0.55
_BY_A_BIT: Final = 0.045
_MOST: Final = 0.95


def make_echo_marks(
    score: Score, melody: Sequence[HeldNote], echoes: Sequence[Echo]
) -> tuple[Mark, ...]:
    """One mark for each echo, in order of time."""
    words = dict(zip((note.id for note in melody), sung_words(melody), strict=True))
    return tuple(_mark(score, echo, _sung(echo, words)) for echo in echoes)


def _sung(echo: Echo, words: dict[str, SungWord | None]) -> str:
    return join_words(words[note.id] for note in echo.model)


def _mark(score: Score, echo: Echo, sung: str) -> Mark:
    part = echo.answer[0].part
    model = score.measure_at(echo.model[0].onset).number
    named = f"“{sung}”" if sung else f"the melody of measure {model}"
    elements = tuple(head for note in echo.answer for head in note.heads)
    heads = tuple(head for note in echo.model for head in note.heads)
    agreement = f"{len(echo.answer)} notes agree in " + (
        "rhythm and intervals"
        if echo.exact and echo.same_rhythm
        else "rhythm and the steps of the scale"
        if echo.same_rhythm
        else "intervals"
    )
    return Mark(
        id=mark_id("echo", part, echo.span.start, echo.model[0].onset),
        kind="echo",
        span=echo.span,
        parts=(part,),
        elements=elements,
        label="echo",
        sentence=_sentence(score, echo, named),
        evidence=(
            Evidence(f"The figure stands in measure {model}.", heads),
            Evidence(f"{agreement}{_where(echo)}.", elements),
        ),
        confidence=round(min(_MOST, _LEAST + _BY_A_BIT * (echo.bits - LEAST_BITS)), 3),
        words=sung,
    )


def _sentence(score: Score, echo: Echo, named: str) -> str:
    part = score.part(echo.answer[0].part)
    if echo.answer[0].part == echo.model[0].part:
        return f"The melody takes {named} up again{_where(echo)}."
    who = part.name or "Another part"
    if not echo.same_rhythm:
        return f"{who} takes up {named} in another rhythm{_where(echo)}."
    if echo.exact and echo.half_steps % 12 == 0:
        return f"{who} repeats {named}{_where(echo)}."
    return f"{who} answers {named} in its rhythm{_where(echo)}."


def _where(echo: Echo) -> str:
    """Where the answer lies: ``, a step higher and an octave lower``; empty at the same pitch."""
    steps = echo.steps
    octaves = round(steps / 7) if abs(steps) >= 6 else 0
    rest = steps - 7 * octaves
    told = []
    if rest:
        told.append(f"{_INTERVALS[abs(rest)]} {'higher' if rest > 0 else 'lower'}")
    if octaves:
        count = "an octave" if abs(octaves) == 1 else f"{abs(octaves)} octaves"
        told.append(f"{count} {'higher' if octaves > 0 else 'lower'}")
    return ", " + " and ".join(told) if told else ""
