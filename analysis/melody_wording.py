"""Sentences about melody notes, for a viewer: what is sung, against what, where it goes.

Under thirty words each, no more certain than the fact. The words of the song lead, since a viewer
finds the place by them.
"""

from __future__ import annotations

from typing import Final

from analysis.chords import Chord
from analysis.marks import MelodyFact
from analysis.pitch import Key
from analysis.wording import chord_text, key_text, name_text

_SIGNS: Final = str.maketrans({"b": "♭", "#": "♯"})
_ORDINAL: Final = {
    "1": "root", "2": "second", "3": "third", "4": "fourth", "5": "fifth", "6": "sixth",
    "7": "seventh", "9": "ninth", "11": "eleventh", "13": "thirteenth",
}  # fmt: skip
_KIND: Final = {
    "passing": "a passing note",
    "neighbour": "a neighbour note",
    "double neighbour": "one of two neighbours around a chord tone",
    "appoggiatura": "an appoggiatura: reached by leap, it leans on the chord and steps into it",
    "suspension": "a suspension: held over from the chord before, it steps down",
    "retardation": "a retardation: held over from the chord before, it steps up",
    "escape": "an escape note",
    "anticipation": "an anticipation of the next chord",
    "added tone": "a note added to the chord",
}


def signed(text: str) -> str:
    """A degree with music signs: ``♭3``."""
    return text.translate(_SIGNS)


def degree_words(degree: str) -> str:
    """A degree in words: ``"b9"`` is ``"lowered ninth"``, ``"#11"`` ``"raised eleventh"``."""
    number = degree.lstrip("b#")
    raised = "raised " if degree.startswith("#") else "lowered " if degree.startswith("b") else ""
    return raised + _ORDINAL.get(number, number)


def sung_on(words: str) -> str:
    """``On “sing”,`` where there are words, to begin a sentence."""
    return f"On “{words}”, " if words else ""


def _start(words: str, name: str, *, verb: str = "is") -> str:
    return f"{sung_on(words)}{name} {verb} "


def melody_sentence(fact: MelodyFact, chord: Chord | None, key: Key | None, words: str) -> str:
    """What is said of one melody note."""
    name = name_text(fact.pitch.name)
    start = _start(words, name)
    over = chord_text(chord) if chord else "the chord"
    if fact.blue:
        return f"{start}a blue {_ORDINAL[fact.blue]}: {_against(fact, chord, key)}."
    if fact.role in _KIND:
        return f"{start}{_KIND[fact.role]} over {over}."
    if fact.role == "tension":
        return f"{start}the {degree_words(fact.chord_degree)} of {over}."
    if fact.role == "foreign":
        home = f", nor to {key_text(key)}" if key and _outside(fact) else ""
        rub = " and rubs a half step above one of its tones" if fact.reasons else ""
        return f"{start}no tone of {over}{home}{rub}."
    return f"{start}the {degree_words(fact.chord_degree)} of {over}."


def _outside(fact: MelodyFact) -> bool:
    return fact.degree.startswith(("b", "#"))


def _against(fact: MelodyFact, chord: Chord | None, key: Key | None) -> str:
    what = f"the lowered {_ORDINAL[fact.blue]} of {key_text(key) if key else 'the key'}"
    return f"{what}, sung over {chord_text(chord)}" if chord else what


def mixed_third_sentence(
    lowered: MelodyFact, natural: MelodyFact, chord: Chord | None, key: Key | None, words: str
) -> str:
    """What is said of a third that wavers between lowered and natural."""
    low, high = name_text(lowered.pitch.name), name_text(natural.pitch.name)
    over = f" over {chord_text(chord)}" if chord else ""
    home = f" of {key_text(key)}" if key else ""
    return (
        f"{sung_on(words)}the third{home} wavers{over}: {low}, lowered, beside the natural {high}."
    )


def instance_words(fact: MelodyFact, after: MelodyFact | None, place: str, lowered: bool) -> str:
    """One third of a group and what it goes to: ``G, lowered, m. 1 beat 2½, up to G♯``."""
    form = "lowered" if lowered else "natural"
    what = f"{name_text(fact.pitch.name)}, {form}, at {place}"
    if after is None:
        return f"{what}, then a rest."
    step = after.pitch.midi - fact.pitch.midi
    if step == 0:
        return f"{what}, sung again."
    way = "up" if step > 0 else "down"
    how = "" if abs(step) <= 2 else " by leap"
    return f"{what}, {way}{how} to {name_text(after.pitch.name)}."
