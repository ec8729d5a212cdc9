"""RomanText: the chords of a document as a plain text that music21 reads.

One line a measure: ``m1 b1 C: I b3 V7``. The text is written for music21's reader, so each chord is
tried there in the ways it may be written, and the first that gives back its root, its bass and its
tones is taken; failing that, its root and bass; failing that, its root. Measures are counted as 0,
1, 2, … (a pickup is 0), since printed numbers may repeat or hold letters. Modes are written as
major or minor by their third.

References
----------
RomanText: D. Tymoczko, M. Gotham, M. S. Cuthbert & C. Ariza, *The RomanText format*, ISMIR 2019
(from memory); music21's own reader decides what may be written.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import product
from typing import Any, Final

from music21 import meter, roman
from music21.exceptions21 import Music21Exception

from analysis.chords import Chord
from analysis.marks import ChordFact
from analysis.pitch import STEPS, Key, PitchName
from analysis.score import Measure, Score
from analysis.timebase import Fraction
from app.review.document import Document

_ROMAN: Final = ("I", "II", "III", "IV", "V", "VI", "VII")
_SIGNS: Final = {0: "", -1: "b", 1: "#", -2: "bb", 2: "##"}
_FIGURES: Final = {
    False: ("", "6", "64", ""),
    True: ("7", "65", "43", "42"),
}


def to_romantext(document: Document) -> str:
    """The document's chords as RomanText, ending in a line feed.

    Chords whose marks the user rejected are left out; the chord before them holds on.
    """
    score = document.score
    rejected = {reviewed.mark.fact for reviewed in document.marks() if reviewed.state == "rejected"}
    chords = [fact for fact in document.analysis.chords if fact not in rejected]
    by_hand = any(decision.state != "open" for decision in document.decisions.values())
    lines = [
        f"Composer: {_plain(score.composer)}",
        f"Title: {_plain(score.title)}",
        f"Analyst: Overstave{', reviewed by hand' if by_hand else ''}",
        "",
    ]
    lines.extend(_measure_lines(score, chords))
    return "\n".join(lines) + "\n"


def _plain(text: str) -> str:
    """A header's text on one line."""
    return " ".join(text.split())


def _measure_lines(score: Score, chords: list[ChordFact]) -> Iterator[str]:
    """A line for each measure in which a chord begins, and for each change of meter."""
    first = 0 if score.measures and score.measures[0].pickup else 1
    key: Key | None = None
    signature = ""
    at = 0
    for measure in score.measures:
        printed = f"{measure.meter.beats}/{measure.meter.beat_type}"
        if printed != signature:
            signature = printed
            yield f"Time Signature: {signature}"
        parts = []
        while at < len(chords) and chords[at].span.start < measure.span.end:
            fact = chords[at]
            at += 1
            if fact.chord is None:
                continue
            beat = _beat(measure, fact)
            parts.append("" if beat == "1" else f"b{beat}")
            if fact.key != key:
                key = fact.key
                parts.append(f"{key_name(key)}:")
            target = fact.numeral.applied_root if fact.numeral else None
            parts.append(figure(fact.chord, fact.key, target))
        if parts:
            yield f"m{first + measure.index} {' '.join(part for part in parts if part)}"


def _beat(measure: Measure, fact: ChordFact) -> str:
    """The beat of a chord as music21 counts it, as short as it can be."""
    into = max(fact.span.start - measure.onset, Fraction(0))
    if measure.pickup:
        into += measure.meter.length - measure.length
    counted: Any = _meter(measure.meter.beats, measure.meter.beat_type)
    # music21 takes floats, and makes thirds of them again; of fractions it takes one kind alone.
    beat = Fraction(counted.getBeatProportion(float(into))).limit_denominator(64)
    return str(beat.numerator) if beat.denominator == 1 else f"{float(beat):.3f}".rstrip("0")


@lru_cache(maxsize=64)
def _meter(beats: int, beat_type: int) -> meter.TimeSignature:
    return meter.TimeSignature(f"{beats}/{beat_type}")


def key_name(key: Key) -> str:
    """A key as RomanText writes it: ``Bb`` for B flat major, ``f#`` for F sharp minor."""
    name = str(key.tonic)
    return name[0].lower() + name[1:] if key.is_minor_like else name


@lru_cache(maxsize=4096)
def figure(chord: Chord, key: Key, target: PitchName | None) -> str:
    """The numeral that music21 reads back as this chord, as exactly as it can.

    Parameters
    ----------
    chord, key
        What to write and in which key.
    target
        Root of the chord it is applied to, or None.
    """
    best, found = "I", -1
    wanted = {tone.pc for tone in chord.tones}
    for candidate in _candidates(chord, key, target):
        score = _agreement(candidate, chord, key, wanted)
        if score > found:
            best, found = candidate, score
        if found == _EXACT:
            break
    return best


_EXACT: Final = 7


def _agreement(candidate: str, chord: Chord, key: Key, wanted: set[int]) -> int:
    """How much of a chord music21 reads in a numeral: root counts most, then bass, then tones."""
    read = _read(candidate, key_name(key))
    if read is None:
        return -1
    root, bass, tones = read
    if root != chord.root.pc:
        return 0
    return 4 + 2 * (bass == chord.bass.pc) + (tones == wanted)


@lru_cache(maxsize=16384)
def _read(candidate: str, key: str) -> tuple[int, int, frozenset[int]] | None:
    """Root, bass and tones as pitch classes; None where music21 does not take the numeral."""
    try:
        numeral = roman.RomanNumeral(candidate, key)
        tones = frozenset(pitch.pitchClass for pitch in numeral.pitches)
        return numeral.root().pitchClass, numeral.bass().pitchClass, tones
    except (Music21Exception, ValueError, IndexError, KeyError, AttributeError, TypeError):
        return None


def _candidates(chord: Chord, key: Key, target: PitchName | None) -> Iterator[str]:
    """Ways to write a chord, likeliest first."""
    if target is not None:
        minor = _minor_target(key, target)
        for body in _bodies(chord, Key(target, "minor" if minor else "major")):
            for head in _heads(key, target, minor):
                yield f"{body}/{head}"
    yield from _bodies(chord, key)
    if chord.triad == "maj" and chord.seventh == "m7":
        goal = chord.root + -1
        for minor in (_minor_target(key, goal), not _minor_target(key, goal)):
            for head in _heads(key, goal, minor):
                yield f"V{_figures(chord)}/{head}"


def _minor_target(key: Key, target: PitchName) -> bool:
    """Whether the triad of the key on this root is minor."""
    third = PitchName(target.fifths + 4)
    return target in key.scale and third not in key.scale


def _heads(key: Key, root: PitchName, minor: bool) -> list[str]:
    """A plain triad on a root, with each accidental that music21 may want."""
    degree = (STEPS.index(root.step) - STEPS.index(key.tonic.step)) % 7
    name = _ROMAN[degree].lower() if minor else _ROMAN[degree]
    return [f"{sign}{name}" for sign in ("", "b", "#", "bb", "##")]


def _bodies(chord: Chord, key: Key) -> Iterator[str]:
    """Accidental, degree, quality, figures and added tones of a chord within one key."""
    degree = (STEPS.index(chord.root.step) - STEPS.index(key.tonic.step)) % 7
    upper = chord.triad in ("maj", "aug", "")
    name = _ROMAN[degree] if upper else _ROMAN[degree].lower()
    mark = {"aug": "+", "dim": "o"}.get(chord.triad, "")
    if chord.triad == "dim" and chord.seventh == "m7":
        mark = "ø"
    figures = _figures(chord)
    ways = [figures]
    if chord.seventh == "m7" and chord.triad == "maj":
        ways.append(_flat(figures))
    elif chord.seventh == "M7":
        ways.append(figures.replace("7", "maj7"))
    heads = [f"{sign}{name}{mark}" for sign in _SIGNS.values()]
    added = _added(chord)
    for head, way in product(heads, ways):
        if added:
            yield f"{head}{way}{added}"
        yield f"{head}{way}"
    # music21 counts added tones, and sevenths, from the scale of the key and not from the chord.
    bare = _FIGURES[False][chord.inversion]
    for head, (way, tones) in product(heads, [*((way, False) for way in ways), (bare, True)]):
        for signs in product(("", "b", "#"), repeat=len(_numbers(chord, tones))):
            yield f"{head}{way}{_brackets(chord, signs, tones)}"


def _figures(chord: Chord) -> str:
    return _FIGURES[bool(chord.seventh)][chord.inversion]


def _flat(figures: str) -> str:
    """The same figures with the seventh lowered, wherever it stands."""
    return {"7": "b7", "65": "6b5", "43": "4b3", "42": "4b2"}.get(figures, figures)


def _added(chord: Chord) -> str:
    """Tones above the seventh and added ones in music21's brackets, with the chord's own signs."""
    alters = dict(chord.degrees)
    return _brackets(chord, [_SIGNS[alters[number]] for number in _numbers(chord)])


def _numbers(chord: Chord, seventh: bool = False) -> list[int]:
    """Numbers of the tones that stand in brackets, with ``seventh`` that of the seventh too."""
    plain = (1, 3, 5) if seventh else (1, 3, 5, 7)
    return [n for n, alter in chord.degrees if n not in plain and alter in _SIGNS]


def _brackets(chord: Chord, signs: Sequence[str], seventh: bool = False) -> str:
    """What is left out of a chord and what is added to it, each with a sign."""
    left_out = "[no3]" if not chord.triad and chord.has(5, 0) else ""
    added = zip(signs, _numbers(chord, seventh), strict=True)
    return left_out + "".join(f"[add{sign}{number}]" for sign, number in added)
