"""Pedals, and common tones held through surprising chords.

The task is to find a bass that stays while the chords above it change, and a sung note that stays
while the harmony moves out of the key under it.

Method
------
A stay of the bass is a *pedal* where chords on two roots or more stand over it, at least one of
them foreign to it (the bass is not its root), and it goes back or on: three chords, or the tonic
and then IV over 1. A six-four of the tonic before its dominant is a cadence, no pedal; one chord
that changes its quality over its own root is no pedal either.

A *common tone* is one pitch of the melody, held or repeated, that is a tone of three chords in
succession on different roots, at least one of them outside the key.

References
----------
The pedal six-four as 3–4–3 with 5–6–5 over a held tonic: textbook practice (from memory). Common
tones: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from analysis.lines.line_finds import LineFind, sureness
from analysis.lines.stays import Stay
from analysis.marks import ChordFact, Evidence, Line
from analysis.timebase import Fraction, Span
from analysis.vocabulary.voices import HeldNote
from analysis.vocabulary.wording import chord_text

#: Rests up to this long, in quarter notes, do not end a held or repeated pitch.
_BREATH = Fraction(1)
_T = TypeVar("_T")


def find_pedals(
    chords: Sequence[ChordFact], bass: Sequence[Stay], part: str
) -> tuple[LineFind, ...]:
    """Pedals of the bass, in order of time.

    Parameters
    ----------
    chords
        Chord facts in order of time.
    bass, part
        The stays of the bass and the id of the part that plays it, empty for symbols alone.
    """
    finds = (_pedal(chords, stay, part) for stay in bass)
    return tuple(find for find in finds if find is not None)


def _pedal(chords: Sequence[ChordFact], stay: Stay, part: str) -> LineFind | None:
    if len(stay.chords) < 2:
        return None
    over = [index for index in stay.chords if chords[index].chord is not None]
    roots = _without_repeats([_root(chords[index]) for index in over])
    strange = [
        index
        for index in over
        if _root(chords[index]) != stay.name.pc and not _cadential(chords[index])
    ]
    if len(roots) < 2 or not strange:
        return None
    tonic = chords[strange[0]].key.tonic.pc
    plagal = stay.name.pc == tonic and _root(chords[strange[0]]) == (tonic + 5) % 12
    if len(roots) == 2 and not plagal:
        return None
    first = max(over.index(strange[0]) - 1, 0)
    last = min(over.index(strange[-1]) + 1, len(over) - 1)
    held = over[first : last + 1]
    shown = dict(zip(stay.chords, stay.elements, strict=True))
    span = Span(
        max(chords[held[0]].span.start, stay.span.start),
        min(chords[held[-1]].span.end, stay.span.end),
    )
    line = Line(
        span=span,
        kind="pedal",
        part=part,
        direction="",
        notes=(stay.name,),
        elements=tuple(dict.fromkeys(shown[index] for index in held)),
        evidence=tuple(
            Evidence(f"{chord_text(chords[index].chord)} stands over it.", chords[index].elements)
            for index in strange
        ),
    )
    confidence = (0.85 if len(roots) > 2 else 0.65) * sureness(chords, held)
    return LineFind(line, "pedal", len(held), confidence)


def _cadential(fact: ChordFact) -> bool:
    """The tonic's six-four: it belongs to the dominant whose bass it has."""
    chord = fact.chord
    return chord is not None and chord.root.pc == fact.key.tonic.pc and chord.inversion == 2


def find_common_tones(
    chords: Sequence[ChordFact], kept: Sequence[KeptPitch]
) -> tuple[LineFind, ...]:
    """Pitches of a voice that are kept through chords outside the key, in order of time.

    Parameters
    ----------
    chords
        Chord facts in order of time.
    kept
        The pitches that the voice holds or repeats, in order of time, from `find_kept_pitches`.
    """
    finds: list[LineFind] = []
    at, end = 0, len(chords)
    for pitch in kept:
        span = pitch.span
        while at < end and chords[at].span.end <= span.start:
            at += 1
        # It must reach into a third chord; most notes do not.
        if at + 2 >= end:
            break
        if chords[at + 2].span.start < span.end:
            find = _common_tone(chords, at, pitch.notes, span)
            if find is not None:
                finds.append(find)
    return tuple(finds)


@dataclass(frozen=True, slots=True)
class KeptPitch:
    """A pitch that a voice holds or repeats, with its notes."""

    span: Span
    notes: tuple[HeldNote, ...]


def find_kept_pitches(line: Sequence[HeldNote]) -> tuple[KeptPitch, ...]:
    """The pitches of a voice, each for as long as it is held or repeated, in order of time.

    Parameters
    ----------
    line
        The voice in order of time, without overlap.
    """
    kept = []
    at = 0
    while at < len(line):
        stop = at + 1
        while stop < len(line) and _goes_on(line[stop - 1], line[stop]):
            stop += 1
        notes = tuple(line[at:stop])
        kept.append(KeptPitch(Span(notes[0].onset, notes[-1].end), notes))
        at = stop
    return tuple(kept)


def _goes_on(left: HeldNote, right: HeldNote) -> bool:
    return left.midi == right.midi and right.onset - left.end <= _BREATH


def _common_tone(
    chords: Sequence[ChordFact], first: int, notes: Sequence[HeldNote], span: Span
) -> LineFind | None:
    under: list[int] = []
    for index in range(first, len(chords)):
        fact = chords[index]
        if fact.span.start >= span.end:
            break
        if fact.chord is None or notes[0].pitch.name.pc not in fact.chord.pitch_classes:
            break
        under.append(index)
    if len(under) < 3:
        return None
    roots = _without_repeats([_root(chords[index]) for index in under])
    if len(roots) < 3 or not any(chords[index].foreign for index in under):
        return None
    end = min(chords[under[-1]].span.end, span.end)
    names = " – ".join(_without_repeats([chord_text(chords[index].chord) for index in under]))
    line = Line(
        span=Span(span.start, end),
        kind="pedal",
        part=notes[0].part,
        direction="",
        notes=(notes[0].pitch.name,),
        elements=tuple(note.id for note in notes if note.onset < end),
        evidence=(Evidence(f"It is a tone of each: {names}."),),
    )
    return LineFind(line, "common tone", len(under), 0.65 * sureness(chords, under))


def _root(fact: ChordFact) -> int:
    return fact.chord.root.pc if fact.chord else -1


def _without_repeats(row: list[_T]) -> list[_T]:
    return [one for at, one in enumerate(row) if at == 0 or row[at - 1] != one]
