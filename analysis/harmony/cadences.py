"""Cadences: how the harmony closes at the ends of phrases.

The task: at each phrase end, name the cadence that the last two chords make, or none.

Conventions. PAC, perfect authentic: V or vii° to I, both in root position, the tonic on top. IAC,
imperfect: the same with an inversion or another tone on top. HC, half: an ending on V. PC, plagal:
IV to I. DC, deceptive: V to vi (or bVI). The cadence belongs to the chord under the phrase's last
note, or to one that comes before that note ends.

A tonic that comes in the first third of its phrase closes nothing: a turnaround that leads into the
next round is no cadence of that round's first line.

Limits: what the accompaniment does after the voice has stopped is not looked at; a phrase that ends
inside a loop is called a cadence as any other, with less confidence.

References
----------
The closed list PAC, IAC, HC, PC, DC: Open Music Theory v1, *cadenceTypes* (from memory). The
confidences are rough shares from memory of practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from analysis.harmony.phrase_orders import order_of_functions
from analysis.marks import ChordFact, Evidence, Mark, mark_id
from analysis.timebase import Span
from analysis.vocabulary.numerals import label_of
from analysis.vocabulary.phrases import Phrase
from analysis.vocabulary.wording import chord_text, name_text

CadenceKind = Literal["PAC", "IAC", "HC", "PC", "DC"]
_NAMES: Final[dict[CadenceKind, str]] = {
    "PAC": "A perfect authentic cadence",
    "IAC": "An imperfect authentic cadence",
    "HC": "A half cadence",
    "PC": "A plagal cadence",
    "DC": "A deceptive cadence",
}
_CONFIDENCE: Final[dict[CadenceKind, float]] = {
    "PAC": 0.85,
    "IAC": 0.65,
    "HC": 0.65,
    "PC": 0.65,
    "DC": 0.75,
}


@dataclass(frozen=True, slots=True)
class Cadence:
    """A phrase end: its two chords (one for a half cadence) and the phrase's order of functions."""

    kind: CadenceKind
    span: Span
    chords: tuple[ChordFact, ...]
    phrase: Phrase
    order: str

    @property
    def confidence(self) -> float:
        """How often such a claim stands, no surer than its chords."""
        beliefs = [fact.confidence for fact in self.chords]
        return min(_CONFIDENCE[self.kind] * max(beliefs), *beliefs)


def find_cadences(phrases: Sequence[Phrase], chords: Sequence[ChordFact]) -> tuple[Cadence, ...]:
    """The cadences of a melody's phrases, in order of time."""
    sounding = [fact for fact in chords if fact.chord is not None]
    starts = [fact.span.start for fact in sounding]
    found = []
    for phrase in phrases:
        first = bisect_right(starts, phrase.last.onset) - 1
        if first < 0:
            continue
        last = max(bisect_left(starts, phrase.last.end) - 1, first)
        heard = [_cadence(phrase, sounding, at) for at in range(first, last + 1)]
        # What follows a close under a held note leads on; a half cadence is where it all rests.
        closes = (one for one in heard if one is not None and one.kind != "HC")
        cadence = next(closes, heard[-1])
        if cadence is not None:
            found.append(cadence)
    return tuple(found)


def _cadence(phrase: Phrase, chords: Sequence[ChordFact], at: int) -> Cadence | None:
    last = chords[at]
    root = _degree(last)
    before = next((one for one in reversed(chords[:at]) if _degree(one) != root), None)
    # Where the tonic comes in the phrase's first third, the phrase begins on it and closes nothing.
    if before is not None and before.span.end < phrase.span.start + phrase.span.duration / 3:
        before = None
    kind = _kind(phrase, before, last)
    if kind is None:
        return None
    pair = (last,) if kind == "HC" or before is None else (before, last)
    span = Span(pair[0].span.start, last.span.end)
    return Cadence(kind, span, pair, phrase, order_of_functions(phrase, chords))


def _kind(phrase: Phrase, before: ChordFact | None, last: ChordFact) -> CadenceKind | None:
    assert last.chord is not None
    root = _degree(last)
    if root == 7 and last.function == "D" and last.chord.triad in ("maj", ""):
        return "HC" if last.chord.inversion == 0 else None
    if before is None or before.chord is None or before.key != last.key:
        return None
    own = _degree(before) in (7, 11) or before.resolution == "resolves"
    leads = before.function == "D" and own and not _applied(before) and not _stands_in(before)
    if root == 0 and last.function == "T":
        if leads:
            rooted = before.chord.inversion == 0 == last.chord.inversion and _degree(before) == 7
            closed = phrase.last.pitch.name.pc == last.key.tonic.pc
            return "PAC" if rooted and closed else "IAC"
        plagal = _degree(before) == 5 and before.function == "S" and "pedal" not in before.tags
        return "PC" if plagal and last.chord.inversion == 0 else None
    if leads and root in (8, 9) and last.chord.triad in ("maj", "min"):
        return "DC"
    return None


def _applied(fact: ChordFact) -> bool:
    return fact.numeral is not None and fact.numeral.applied_root is not None


def _stands_in(fact: ChordFact) -> bool:
    """Whether it is no V and no vii° that asks for the tonic: a substitute, or one in passing."""
    return bool({"subV", "backdoor", "passing bass"} & set(fact.tags))


def _degree(fact: ChordFact) -> int:
    """Half steps from the tonic to the root."""
    return (fact.chord.root.pc - fact.key.tonic.pc) % 12 if fact.chord is not None else -1


def make_cadence_marks(cadences: Sequence[Cadence]) -> tuple[Mark, ...]:
    """A mark for each cadence, in order of time."""
    return tuple(_mark(cadence) for cadence in cadences)


def _mark(cadence: Cadence) -> Mark:
    elements = tuple(element for fact in cadence.chords for element in fact.elements)
    evidence = [Evidence(_statement(fact), fact.elements) for fact in cadence.chords]
    top = name_text(cadence.phrase.last.pitch.name)
    evidence.append(Evidence(f"The phrase ends on {top}.", cadence.phrase.last.heads))
    if cadence.order:
        evidence.append(Evidence(f"The phrase goes {cadence.order}."))
    return Mark(
        id=mark_id("cadence", cadence.span.start, cadence.kind),
        kind="cadence",
        span=cadence.span,
        parts=(cadence.phrase.last.part,),
        elements=(*elements, *cadence.phrase.last.heads),
        label=cadence.kind,
        sentence=_sentence(cadence),
        evidence=tuple(evidence),
        confidence=cadence.confidence,
    )


def _statement(fact: ChordFact) -> str:
    numeral = label_of(fact.numeral.text) if fact.numeral else ""
    return f"{chord_text(fact.chord)} is {numeral}."


def _answer(fact: ChordFact) -> str:
    """What comes after the dominant of a half cadence, as its chord's own sentence says."""
    if fact.resolution == "resolves" and fact.came:
        return f", and {fact.came} answers"
    if fact.resolution == "deceptive":
        wanted = fact.expected.replace("b", "♭").replace("#", "♯")
        return f", and {fact.came} answers in place of {wanted}"
    return " and waits for an answer"


def _sentence(cadence: Cadence) -> str:
    numerals = [label_of(fact.numeral.text) for fact in cadence.chords if fact.numeral]
    name, top = _NAMES[cadence.kind], name_text(cadence.phrase.last.pitch.name)
    match cadence.kind:
        case "HC":
            return f"{name}: the phrase stops on {numerals[-1]}{_answer(cadence.chords[-1])}."
        case "DC":
            return f"{name}: {numerals[0]} promises the tonic and {numerals[-1]} comes."
        case "PC":
            return f"{name}: {numerals[0]} falls home to {numerals[-1]}."
        case "PAC":
            return f"{name}: {numerals[0]} to {numerals[-1]} with {top} on top closes the phrase."
    return f"{name}: {numerals[0]} to {numerals[-1]}, left a little open by {top} on top."
