"""Sentences for a viewer, from a fact's own evidence.

Each is what a teacher would say while pointing: what the thing is, what it was expected to do,
what it did. Under thirty words, no more certain than the fact is.
"""

from __future__ import annotations

from typing import Final

from analysis.chords import Chord
from analysis.marks import ChordFact, KeyRegion, Section
from analysis.numerals import label_of
from analysis.pitch import Key, PitchName

FUNCTION_WORD: Final = {"T": "tonic", "S": "subdominant", "D": "dominant", "": "no clear function"}


def name_text(name: PitchName) -> str:
    """A note name with music signs: ``B♭``."""
    return str(name).replace("#", "♯").replace("b", "♭")


def key_text(key: Key) -> str:
    """A key with music signs: ``B♭ major``."""
    return f"{name_text(key.tonic)} {key.mode}"


def chord_text(chord: Chord | None) -> str:
    """A short chord symbol: ``F♯m7(♭5)/A``; ``N.C.`` for none."""
    if chord is None:
        return "N.C."
    quality = {"maj": "", "min": "m", "dim": "dim", "aug": "aug", "": ""}[chord.triad]
    seventh = {"": "", "m7": "7", "M7": "maj7", "d7": "7"}[chord.seventh]
    if chord.triad == "dim" and chord.seventh == "m7":
        quality, seventh = "m7(♭5)", ""
    if not chord.triad:
        seventh += "sus4" if chord.has(4, 0) else "sus2" if chord.has(2, 0) else "5"
    over = f"/{name_text(chord.bass)}" if chord.bass.pc != chord.root.pc else ""
    return f"{name_text(chord.root)}{quality}{seventh}{over}"


def key_sentence(region: KeyRegion, before: KeyRegion | None) -> str:
    """What is said where a key region begins."""
    if before is None:
        return f"The piece is heard in {key_text(region.key)}."
    return f"The key moves from {key_text(before.key)} to {key_text(region.key)}."


def section_sentence(section: Section) -> str:
    """What is said of a section."""
    name = section.name or section.label
    return f"Section {name} begins here."


def chord_sentence(fact: ChordFact) -> str:
    """What is said of one chord."""
    if fact.chord is None or fact.numeral is None:
        return "No chord sounds here."
    what = f"{chord_text(fact.chord)} is {label_of(fact.numeral.text)} in {key_text(fact.key)}"
    if "applied" in fact.tags:
        aim = label_of(fact.numeral.applied_to)
        did = {
            "resolves": "and it comes",
            "deceptive": "but another chord takes its place",
        }.get(fact.resolution, "but it does not come")
        return f"{what}: a borrowed dominant that wants {aim}, {did}."
    return f"{what}, working as {FUNCTION_WORD[fact.function]}."
