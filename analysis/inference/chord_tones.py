"""What a note is to a chord and to a key: its degree, whether it belongs, which tension it makes.

Conventions
-----------
A degree of the key is counted from the major scale in major-like modes and from natural minor in
minor-like ones, as numerals are: ``b3`` in C major is E flat, ``#7`` in C minor is B. A degree of a
chord is counted from its root's major scale; beyond the chord's own tones it is named as a tension,
9 #9 b9 11 #11 13 b13, where the chord can carry it, and plainly (``4``, ``b6``) where it cannot. A
dominant seventh takes the sharp ninth for what a minor third above the root would be elsewhere.

A tension is *available* unless it stands a half step above the root, third, fifth or major seventh
of the chord, where it is an *avoid note*; the lowered ninth and thirteenth of a dominant seventh
are available all the same.

References
----------
Avoid notes and tensions of chord scales: common practice in jazz teaching, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

from analysis.chords import Chord
from analysis.pitch import MODE_SHIFT, Key, Mode, PitchName
from analysis.vocabulary.numerals import degree_of, degree_text

Standing = Literal["chord tone", "tension", "added", "avoid", "foreign"]

_PLAIN: Final = ("1", "b2", "2", "b3", "3", "4", "#4", "5", "b6", "6", "b7", "7")
_TENSION: Final = {1: "b9", 2: "9", 3: "#9", 5: "11", 6: "#11", 8: "b13", 9: "13"}
_ALTERED: Final = (1, 3, 6, 8)


@dataclass(frozen=True, slots=True)
class ChordTone:
    """A note over a chord: its degree there and how it stands to the chord."""

    degree: str
    standing: Standing


def key_degree(name: PitchName, key: Key) -> str:
    """The degree of a note in a key: ``b3``, ``#4``. Far-fetched spellings are made near ones."""
    return _degree_above(key.tonic, name.fifths - key.tonic.fifths, key.is_minor_like)


@lru_cache(maxsize=2048)
def _degree_above(tonic: PitchName, fifths: int, minor: bool) -> str:
    while fifths > 9:
        fifths -= 12
    while fifths < -7:
        fifths += 12
    mode: Mode = "minor" if minor else "major"
    return degree_text(*degree_of(tonic + fifths, tonic, mode))


def in_scale(name: PitchName, key: Key) -> bool:
    """Whether a note sounds in the scale of the key; minor has its raised sixth and seventh too."""
    step = (name.pc - key.tonic.pc) % 12
    if key.mode == "minor" and step in (9, 11):
        return True
    return step in key.steps


def is_major_like(key: Key) -> bool:
    """Whether the third above the tonic is major."""
    return MODE_SHIFT[key.mode] > MODE_SHIFT["dorian"]


def chord_tone(name: PitchName, chord: Chord, key: Key) -> ChordTone:
    """What a note is over a chord in a key.

    A bass note foreign to the chord counts as its tone. *Added* is a note of the key that a triad
    can take without a seventh below it: its second, sixth or seventh, a minor triad's fourth.

    Examples
    --------
    >>> from analysis.chords import KIND_DEGREES
    >>> c, e7 = PitchName.parse("C"), Chord(PitchName(4), KIND_DEGREES["dominant"], PitchName(4))
    >>> chord_tone(PitchName.parse("G"), e7, Key(PitchName(4)))
    ChordTone(degree='#9', standing='tension')
    """
    step = (name.pc - chord.root.pc) % 12
    for degree_in_chord, tone in zip(chord.degrees, chord.tones, strict=True):
        if tone.pc == name.pc:
            return ChordTone(degree_text(*degree_in_chord), "chord tone")
    dominant = chord.triad in ("maj", "aug", "") and chord.seventh == "m7"
    degree = _degree(step, chord, dominant)
    if name.pc == chord.bass.pc:
        return ChordTone(degree, "chord tone")
    if dominant and chord.triad and step in _ALTERED:
        return ChordTone(degree, "tension")
    if not _belongs(name, chord, key) or (
        degree.lstrip("b#") in ("3", "7") and not _adds_seventh(step, chord)
    ):
        return ChordTone(degree, "foreign")
    if _is_avoid(step, chord):
        return ChordTone(degree, "avoid")
    return ChordTone(degree, "tension" if chord.seventh else "added")


def _belongs(name: PitchName, chord: Chord, key: Key) -> bool:
    """Whether a note is in the key, or in the parallel minor that a borrowed chord comes from."""
    if in_scale(name, key):
        return True
    parallel = Key(key.tonic, "minor")
    borrowed = is_major_like(key) and not all(in_scale(tone, key) for tone in chord.tones)
    return borrowed and all(in_scale(tone, parallel) for tone in (*chord.tones, name))


def _degree(step: int, chord: Chord, dominant: bool) -> str:
    """Name of an interval above the root, in half steps, where it is no tone of the chord."""
    if step == 3:
        return "#9" if dominant and chord.triad else "b3"
    if step == 6 and chord.triad in ("min", ""):
        return "b5"
    if step == 4 and not chord.triad:
        return "3"
    if chord.seventh and step in _TENSION and not (step in (1, 8) and not dominant):
        return _TENSION[step]
    return {2: "9", 5: "11" if chord.triad == "min" else "4"}.get(step, _PLAIN[step])


def _is_avoid(step: int, chord: Chord) -> bool:
    """Whether the note is a half step above the root, third, fifth or major seventh."""
    below = (step - 1) % 12
    if below in (9, 10):
        return False
    tones = (
        tone.pc for tone, (number, _) in zip(chord.tones, chord.degrees, strict=True) if number < 8
    )
    return (chord.root.pc + below) % 12 in tones


def _adds_seventh(step: int, chord: Chord) -> bool:
    """Whether the note puts a seventh on a triad that has none, or a third in an empty fifth."""
    if step in (10, 11):
        return not chord.seventh
    return not chord.triad and not (chord.has(4, 0) or chord.has(2, 0))
