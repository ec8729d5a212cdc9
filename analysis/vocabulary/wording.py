"""Sentences for a viewer, from a fact's own evidence.

Each is what a teacher would say while pointing: what the thing is, what it was expected to do,
what it did. Under thirty words, no more certain than the fact is.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Final

from analysis.chords import KIND_DEGREES, Chord
from analysis.marks import MODE_CHORD, ChordFact, KeyRegion
from analysis.pitch import Key, PitchName
from analysis.score import Degree
from analysis.vocabulary.chord_names import symbol_text
from analysis.vocabulary.numerals import label_of

#: Another key is named beside the first from this chance on.
_RIVAL: Final = 0.25
#: Kinds that say what a chord does or how it is notated, and no quality.
_NAMED_BY_FUNCTION: Final = frozenset(
    {"Neapolitan", "Italian", "French", "German", "Tristan", "pedal"}
)
FUNCTION_WORD: Final = {"T": "tonic", "S": "subdominant", "D": "dominant", "": "no clear function"}


def name_text(name: PitchName) -> str:
    """A note name with music signs: ``B♭``."""
    return str(name).replace("#", "♯").replace("b", "♭")


def with_signs(text: str) -> str:
    """Plain note and chord names in a text with music signs.

    Examples
    --------
    >>> with_signs("Bbm7/Db: third → #11")
    'B♭m7/D♭: third → #11'
    """
    return re.sub(r"(?<=[A-G])(b+|#+)", lambda m: "♭♯"[m[0][0] == "#"] * len(m[0]), text)


def key_text(key: Key) -> str:
    """A key with music signs: ``B♭ major``."""
    return f"{name_text(key.tonic)} {key.mode}"


@lru_cache(maxsize=1024)
def chord_text(chord: Chord | None) -> str:
    """A chord as its symbol is printed: ``F♯ø7/A``, ``Am(maj7)``, ``C6/9``; ``N.C.`` for none.

    The kind gives the quality; degrees that it lacks, or has otherwise, follow in brackets.
    """
    if chord is None:
        return "N.C."
    kind = _kind(chord)
    own, held = dict(KIND_DEGREES[kind]), dict(chord.degrees)
    changes = [
        Degree(number, held[number] - own[number], "alter")
        for number in sorted(own.keys() & held.keys())
        if held[number] != own[number]
    ]
    # A seventh is counted from the minor one, as the standard has it.
    changes += [
        Degree(number, held[number] + (number == 7), "add")
        for number in sorted(held.keys() - own.keys())
    ]
    changes += [Degree(number, 0, "subtract") for number in sorted(own.keys() - held.keys())]
    bass = chord.bass if chord.bass.pc != chord.root.pc else None
    text = symbol_text(chord.root, kind, changes, bass)
    return text.replace("𝄫", "♭♭").replace("𝄪", "♯♯")


def _kind(chord: Chord) -> str:
    """The kind that a chord is spelled from: its own, or the one that differs from it least."""
    if chord.kind in KIND_DEGREES:
        return chord.kind
    held = set(chord.degrees)
    kinds = [kind for kind in KIND_DEGREES if kind not in _NAMED_BY_FUNCTION]
    return min(kinds, key=lambda kind: len(held.symmetric_difference(KIND_DEGREES[kind])))


def key_sentence(region: KeyRegion, before: Sequence[KeyRegion]) -> str:
    """What is said where a key region begins; ``before`` are the regions up to it, in order."""
    key = key_text(region.key)
    others = [one for one in region.alternatives if one[0].tonic.pc != region.key.tonic.pc]
    rival, chance = others[0] if others else (region.key, 0.0)
    doubt = f", though you can hear it in {key_text(rival)}" if chance >= _RIVAL else ""
    if not before:
        why = f": {_as_clause(region.evidence[0].statement)}" if region.evidence else ""
        return f"We are in {key}{why}{doubt}."
    old = key_text(before[-1].key)
    if any(one.key.tonic.pc == region.key.tonic.pc for one in before[:-1]):
        return f"The key returns from {old} to {key}{doubt}."
    lift = f": {_as_clause(region.lift)}" if region.lift else ""
    if before[-1].key.tonic.pc == region.key.tonic.pc:
        return f"The tonic stays and the mode changes, from {old} to {key}{doubt}."
    how = {
        "pivot": "turns by a chord that both keys share",
        "step up": "climbs",
        "dominant": "is led in by its own dominant",
        "direct": "jumps without preparation",
    }.get(region.change, "moves")
    return f"The key {how}, from {old} to {key}{lift or doubt}."


def section_text(name: str, label: str) -> str:
    """A section inside a sentence: its name, or ``section A`` where that is a letter.

    Examples
    --------
    >>> section_text("Verse 1", "A"), section_text("A2", "A"), section_text("", "C")
    ('Verse 1', 'section A2', 'section C')
    """
    told = name or label
    return told if len(told) > 2 else f"section {told}"


def at_start(text: str) -> str:
    """Words at the start of a sentence."""
    return text[:1].upper() + text[1:]


def _as_clause(statement: str) -> str:
    """A statement without its full stop, to stand after a colon."""
    bare = statement.rstrip(".")
    plain = bare.startswith(("It ", "Its ", "The ", "Everything "))
    return bare[0].lower() + bare[1:] if plain else bare


def other_key_reason(key: Key, other: Key) -> str:
    """Why a stretch in one key could be heard in another, by how the two tonics lie."""
    home, there = name_text(key.tonic), name_text(other.tonic)
    apart = (other.tonic.pc - key.tonic.pc) % 12
    if apart == 0:
        return f"{home} stays home; its third is heard both ways, or not at all."
    if other.signature == key.signature:
        return f"It has the same notes; there {there} is home in place of {home}."
    if apart == 5:
        return f"There {home} is the fifth degree and keeps asking for {there}."
    if apart == 7:
        return f"There {home} is the fourth degree, a plagal neighbour of {there}."
    return f"Its chords fit {key_text(other)} nearly as well."


def chord_sentence(fact: ChordFact) -> str:
    """What is said of one chord: what it is, what it was expected to do, what it did."""
    if fact.chord is None or fact.numeral is None:
        return "No chord sounds here."
    what = f"{chord_text(fact.chord)} is {label_of(fact.numeral.text)} in {key_text(fact.key)}"
    return f"{what}{_doing(fact)}"


#: What a chord with a tag does, the strongest claim first.
_SPECIAL: Final = {
    "augmented sixth": ": an augmented sixth, opening outward to the dominant.",
    "passing tonic": ": the tonic in passing, while the bass walks by step.",
    "common tone": ": it neighbours the next chord and shares its root.",
    "passing": ": it only passes, by half step, from one chord to the next.",
    "pedal six-four": " over a held tonic in the bass: a gentle sway, 5–6–5 and 3–4–3.",
    "cadential six-four": ": the tonic's tones on the dominant's bass, about to give way.",
    "passing bass": ": it only links two chords, while the bass walks by step.",
    "passing six-four": ": it only passes, while the bass walks on through its fifth.",
    "neighbouring six-four": ": a neighbour, as the bass steps away and back.",
    "unsettled six-four": ": the tonic over its fifth, not yet at rest.",
    "moving fifth": ": home, with its fifth on the move by half steps.",
    "related ii": ": it prepares the dominant that follows, as ii prepares V.",
    "backdoor pair": ": borrowed from minor, it opens the back door to the tonic.",
}


def _doing(fact: ChordFact) -> str:
    """The second half of a chord's sentence."""
    for tag, words in _SPECIAL.items():
        if tag in fact.tags:
            return words
    if "Neapolitan" in fact.tags:
        before = " before the dominant" if "to the dominant" in fact.tags else ""
        return f": the Neapolitan, a dark subdominant{before}."
    if "suspended dominant" in fact.tags:
        of = f" of {_signed(fact.expected)}" if "applied" in fact.tags else ""
        return f": the dominant{of}, its third held back by the fourth."
    if fact.expected:
        return _wanting(fact)
    if MODE_CHORD in fact.tags:
        return f", the mode's own{_going(fact) or ', the chord that gives it its colour'}."
    if "mixture" in fact.tags:
        parallel = "major" if fact.key.is_minor_like else "minor"
        return f", borrowed from {name_text(fact.key.tonic)} {parallel}{_going(fact)}."
    if "no third" in fact.tags:
        heard = next((tag for tag in fact.tags if tag.startswith("heard ")), "")
        return f", a chord without a third{f', {heard}' if heard else ''}."
    if "pedal" in fact.tags and fact.chord is not None:
        return f" over a held {name_text(fact.chord.bass)} in the bass."
    if going := _going(fact):
        return going + "."
    if fact.foreign:
        return ", a chord from outside the key."
    return {
        "T": _at_home(fact),
        "S": ", moving away from home.",
        "D": ", leaning toward home.",
        "": ", between tonic and dominant.",
    }[fact.function]


_GOING: Final = {
    "plagal": ", falling home by plagal motion",
    "double plagal": ", falling to IV as IV falls home: double plagal motion",
    "to the dominant": ", getting ready for the dominant",
    "back": ", stepping back to the tonic",
    "climbing": ", climbing home by way of ♭VII",
    "stepping up": ", stepping up to the tonic",
    "descent": ", one step of the descent from tonic to dominant",
}
#: Where IV and iv side by side go together.
_DARKENING: Final = {
    "plagal": " on its way home",
    "back": " on its way home",
    "to the dominant": " on its way to the dominant",
}


def _going(fact: ChordFact) -> str:
    """Where a subdominant goes, where that has a name."""
    where = next((words for tag, words in _DARKENING.items() if tag in fact.tags), "")
    if "darkening" in fact.tags:
        return f": it darkens to minor{where}"
    if "darkened" in fact.tags:
        return f": the subdominant darkens{where}"
    return next((words for tag, words in _GOING.items() if tag in fact.tags), "")


def _at_home(fact: ChordFact) -> str:
    """What a tonic, or a chord that stands for it, does."""
    home = ": home" if _is_tonic(fact) else ", standing in for home"
    if "moving bass" in fact.tags:
        return f"{home}, while the bass moves on."
    if "held third" in fact.tags:
        return f"{home}, its third held back by the fourth."
    if "moving voice" in fact.tags:
        return f"{home}, while a voice moves on inside it."
    return f"{home}."


def _is_tonic(fact: ChordFact) -> bool:
    return fact.chord is not None and fact.chord.root.pc == fact.key.tonic.pc


def _wanting(fact: ChordFact) -> str:
    """What became of a dominant."""
    wanted = _signed(fact.expected)
    kind = {"subV": "a substitute dominant sliding", "backdoor": "the backdoor dominant rising"}
    for tag, words in kind.items():
        if tag in fact.tags:
            return f": {words} to {fact.came or wanted}."
    start = f": it wants {wanted}"
    if fact.resolution == "resolves":
        chain = ", itself a dominant that leads on" if "chain" in fact.tags else ""
        return f"{start}, and {fact.came or wanted} comes{chain}."
    if fact.resolution == "deceptive":
        return f"{start}, but {fact.came} takes its place."
    if fact.resolution == "delayed":
        return f"{start}, held back by {fact.came}."
    if fact.resolution == "interrupted":
        return f"{start}, breaks off, and {fact.came} comes after the silence."
    if fact.came:
        return f"{start}, but goes on to {fact.came}."
    return f"{start}, which does not come."


def _signed(symbol: str) -> str:
    """A plain chord symbol with music signs."""
    return symbol.replace("b", "♭").replace("#", "♯")
