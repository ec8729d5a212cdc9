"""The shorthand in which the sample scores are composed, and its reading into timed events.

A voice is one text, its measures parted by ``|``. A note is its pitches, joined by ``+`` in a
chord, a length and marks::

    G4q      quarter note          w h q e s   whole to sixteenth, ``.`` adds a dot
    B3+D4h.  chord, dotted half    rq  R       quarter rest; rest of the whole measure
    A4e~     tie to the next       A4e( B4e)   slur
    D5q>     accent                D5q'        staccato          D5w^  fermata
    {B4e D5e E5e}                  triplet: three in the time of two

Words that start with ``!`` stand before a note: ``!mf`` a dynamic, ``!<`` and ``!>`` the start of a
wedge, ``!.`` its end, ``!"in_time"`` words. Pitches are concert pitches in the written octave.

Chord symbols are one text a piece: ``D/F#@2=V6:D`` is D over F sharp on beat 2, meant as V6 with
dominant function (``-`` for none). Lyrics are words with ``-`` between syllables; ``_`` carries the
last syllable on to one more note.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

DIVISIONS = 12
"""MusicXML divisions of a quarter note: fine enough for sixteenths and triplet eighths."""

LENGTHS = {"w": 48, "h": 24, "q": 12, "e": 6, "s": 3}
TYPES = {"w": "whole", "h": "half", "q": "quarter", "e": "eighth", "s": "16th"}

_NOTE = re.compile(r"(r|[A-G][#b]{0,2}\d(?:\+[A-G][#b]{0,2}\d)*)([whqes])(\.?)([~()^>']*)$")
_PITCH = re.compile(r"([A-G])([#b]{0,2})(\d)")
_CHORD = re.compile(r"([A-G][#b]?)([^/@=]*)(?:/([A-G][#b]?))?(?:@([\d.]+))?=([^:]+):([TSD-])$")


@dataclass(frozen=True)
class Pitch:
    """A spelled pitch: ``alter`` in half steps, octave 4 from middle C up."""

    step: str
    alter: int
    octave: int

    def moved(self, diatonic: int, chromatic: int) -> Pitch:
        """The pitch so many steps and half steps higher."""
        naturals = (0, 2, 4, 5, 7, 9, 11)
        place = "CDEFGAB".index(self.step) + 7 * self.octave
        half_steps = naturals[place % 7] + 12 * (place // 7) + self.alter + chromatic
        place += diatonic
        alter = half_steps - naturals[place % 7] - 12 * (place // 7)
        return Pitch("CDEFGAB"[place % 7], alter, place // 7)


@dataclass(frozen=True)
class Event:
    """A note, chord or rest: ``onset`` and ``length`` in divisions, onset within its measure."""

    onset: int
    length: int
    pitches: tuple[Pitch, ...]
    letter: str
    dotted: bool
    marks: str
    before: tuple[str, ...]
    triplet: str = ""
    whole_measure: bool = False
    after: tuple[str, ...] = ()


@dataclass(frozen=True)
class Chord:
    """A chord symbol with the numeral and function that are meant; ``beat`` counts from 1."""

    root: str
    kind: str
    bass: str
    beat: Fraction
    numeral: str
    function: str

    @property
    def symbol(self) -> str:
        """The symbol as a player writes it."""
        return self.root + self.kind + (f"/{self.bass}" if self.bass else "")


@dataclass(frozen=True)
class Part:
    """One part of the score.

    ``voices`` holds (staff, MusicXML voice, text); ``clefs`` one (sign, line, octave change) for
    each staff; ``transpose`` the (diatonic, chromatic, octaves) from written to sounding pitch;
    ``lyrics`` the text of each verse; ``sound`` and ``program`` name the instrument for players.
    """

    name: str
    abbreviation: str
    sound: str
    program: int
    voices: tuple[tuple[int, str, str], ...]
    clefs: tuple[tuple[str, int, int], ...] = (("G", 2, 0),)
    transpose: tuple[int, int, int] = (0, 0, 0)
    lyrics: Mapping[int, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Key:
    """The key from a measure and beat on; ``note`` says what else can be held."""

    measure: int
    beat: int
    tonic: str
    mode: str
    note: str = ""


@dataclass(frozen=True)
class Planted:
    """One planted feature and where to look for it.

    ``feature`` is a letter of `compose.FEATURES`, or a few words where it stands in ``also``;
    ``part`` is empty where the chord symbols show it.
    """

    feature: str
    measure: int
    beat: float
    part: str
    detail: str


@dataclass(frozen=True)
class Piece:
    """Everything about a piece; mappings are keyed by printed measure number.

    ``first`` is 0 where the piece starts with a pickup of ``pickup`` beats. ``signatures`` holds
    fifths and mode, ``barlines`` words of `writing.BARLINES`, ``verses`` the lyric lines of the
    measures that have other than the first alone.
    """

    stem: str
    title: str
    tempo: tuple[str, int]
    beats: int
    first: int
    pickup: int
    signatures: Mapping[int, tuple[int, str]]
    sections: Mapping[int, str]
    keys: tuple[Key, ...]
    barlines: Mapping[int, tuple[str, ...]]
    chords: str
    parts: tuple[Part, ...]
    planted: tuple[Planted, ...]
    also: tuple[Planted, ...] = ()
    verses: Mapping[int, tuple[int, ...]] = field(default_factory=dict)
    swing: bool = False

    def length(self, number: int) -> int:
        """Divisions that the measure holds."""
        return (self.pickup if number == 0 else self.beats) * DIVISIONS


def read_pitch(text: str) -> Pitch:
    """``Eb4`` as a pitch."""
    found = _PITCH.fullmatch(text)
    if not found:
        raise ValueError(f"not a pitch: {text}")
    step, signs, octave = found.groups()
    return Pitch(step, signs.count("#") - signs.count("b"), int(octave))


def read_voice(piece: Piece, text: str) -> list[list[Event]]:
    """The events of each measure.

    Raises
    ------
    ValueError
        If a word cannot be read, or a measure is not exactly full. (A second voice may leave a
        measure out.)
    """
    measures: list[list[Event]] = []
    for number, words in enumerate(text.split("|"), piece.first):
        if not words.strip():
            measures.append([])
            continue
        events = _read_measure(words.split(), piece.length(number))
        filled = sum(event.length for event in events)
        if filled != piece.length(number):
            raise ValueError(f"{piece.stem}, measure {number}: {filled} divisions in {words!r}")
        measures.append(events)
    return measures


def _read_measure(words: Sequence[str], length: int) -> list[Event]:
    events: list[Event] = []
    before: list[str] = []
    onset, in_triplet = 0, False
    for word in words:
        if word.startswith("!"):
            before.append(word[1:])
            continue
        if word == "R":
            events.append(Event(onset, length, (), "w", False, "", tuple(before), "", True))
            onset, before = onset + length, []
            continue
        opens, closes = word.startswith("{"), word.endswith("}")
        in_triplet = in_triplet or opens
        found = _NOTE.match(word.strip("{}"))
        if not found:
            raise ValueError(f"not a note: {word}")
        names, letter, dot, marks = found.groups()
        lasts = LENGTHS[letter] * (3 if dot else 2) // 2
        if in_triplet:
            lasts = lasts * 2 // 3
        pitches = () if names == "r" else tuple(map(read_pitch, names.split("+")))
        place = ("start" if opens else "stop" if closes else "middle") if in_triplet else ""
        events.append(Event(onset, lasts, pitches, letter, bool(dot), marks, tuple(before), place))
        onset, before, in_triplet = onset + lasts, [], in_triplet and not closes
    if before:
        events[-1] = replace(events[-1], after=tuple(before))
    return events


def read_chords(piece: Piece) -> dict[int, list[Chord]]:
    """The chord symbols by printed measure number."""
    chords: dict[int, list[Chord]] = {}
    for number, words in enumerate(piece.chords.split("|"), piece.first):
        chords[number] = []
        for word in words.split():
            found = _CHORD.match(word)
            if not found:
                raise ValueError(f"{piece.stem}, measure {number}: not a chord: {word}")
            root, kind, bass, beat, numeral, function = found.groups()
            chords[number].append(
                Chord(root, kind, bass or "", Fraction(beat or 1), numeral, function.strip("-"))
            )
    return chords


def read_lyrics(text: str) -> list[tuple[str, str, bool]]:
    """(syllable, syllabic, carried on) for each sung note; an empty syllable carries on."""
    syllables: list[tuple[str, str, bool]] = []
    for word in text.split():
        if word == "_":
            syllables.append(("", "", False))
            continue
        parts = word.split("-")
        for place, part in enumerate(parts):
            syllabic = "middle"
            if len(parts) == 1:
                syllabic = "single"
            elif place == 0:
                syllabic = "begin"
            elif place == len(parts) - 1:
                syllabic = "end"
            syllables.append((part, syllabic, False))
    return [
        (part, syllabic, bool(part) and place + 1 < len(syllables) and not syllables[place + 1][0])
        for place, (part, syllabic, _) in enumerate(syllables)
    ]
