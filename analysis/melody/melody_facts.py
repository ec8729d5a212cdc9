"""Every melody note against its chord and its key.

The task is to say of each sung note what it is to the chord under it: a chord tone and which, a
tension, an added tone, a non-chord tone and of which kind, or foreign; and whether it is a blue
note. Every note gets a fact; which facts are worth a mark is decided elsewhere.

Method
------
A note belongs to the chord that sounds at its onset, with two exceptions. A note that begins at
most an eighth before the next chord and sounds on into it (or is struck again in it) belongs to
that chord, as singers come early: it is an *anticipation* where it is a tone of that chord alone. A
tone of the first chord that is held into a chord foreign to it and then steps down is a
*suspension*. What is left is named by approach, departure and accent, then by what the chord can
carry (tensions, added tones); an unresolved note outside both is *foreign*.

Blue notes: the lowered third, seventh and fifth of a key with a major third, where the chord does
not hold them. The JSON's ``blue_third`` is plainer, by definition: the lowered third by pitch class
over the major tonic chord at its onset.

What it cannot do: pitches between the keys of a keyboard, which notation does not show.

References
----------
Open Music Theory v1, *embellishingTones*. D. Temperley, "The melodic-harmonic divorce in rock",
*Popular Music* 26/2, 2007. D. Temperley, I. Ren & Z. Duan, "Mediant mixture and ‘blue notes’ in
rock", *Music Theory Online* 23.1, 2017. Anticipated notes belong to the chord they anticipate:
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from analysis.chords import Chord
from analysis.inference.chord_tones import (
    ChordTone,
    chord_tone,
    in_scale,
    is_major_like,
    key_degree,
)
from analysis.marks import ChordFact, KeyRegion, MelodyFact
from analysis.melody.embellishments import Kind, Setting, name_kind
from analysis.pitch import Key, PitchName
from analysis.score import Score
from analysis.timebase import Fraction
from analysis.vocabulary.accents import MetricGrid
from analysis.vocabulary.chord_rows import ChordRow
from analysis.vocabulary.voices import HeldNote

Blue = Literal["", "3", "5", "7"]
#: Rests up to this long, in quarter notes, do not part a note from the one it resolves to.
_BREATH: Final = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class _Place:
    """A note with the chords it is heard against: at its onset, and the one it belongs to."""

    note: HeldNote
    key: Key | None
    sounding: ChordFact | None
    home: ChordFact | None
    tone: ChordTone | None
    first_tone: ChordTone | None

    @property
    def foreign(self) -> bool:
        """Whether it is no tone of the chord it belongs to."""
        return self.tone is not None and self.tone.standing != "chord tone"


def find_plain_melody(
    score: Score,
    line: Sequence[HeldNote],
    chords: Sequence[ChordFact],
    regions: Sequence[KeyRegion],
    asked: range | None = None,
) -> tuple[MelodyFact, ...]:
    """Facts of a melody, or of a stretch of it, before raised seconds are weighed in the whole.

    ``asked`` are the indexes of the notes whose facts are asked for, those around them being given
    for their sake; None for all.
    """
    asked = range(len(line)) if asked is None else asked
    row, grid = ChordRow(chords, regions), MetricGrid(score)
    places = [_place(grid, row, line, at) for at in range(len(line))]
    return tuple(_fact(grid, row, places, at) for at in asked)


def weigh_raised_seconds(facts: Sequence[MelodyFact]) -> tuple[MelodyFact, ...]:
    """Blue thirds written as raised seconds, told by what they do.

    A raised second that leads up into the third is what it is written as, unless most of them in
    the piece do not: then the spelling says nothing, and all are lowered thirds.
    """
    raised = {
        at
        for at, fact in enumerate(facts)
        if fact.degree == "#2" and (fact.blue == "3" or fact.blue_third)
        if fact.role != "chord tone"
    }
    if not raised:
        return tuple(facts)
    blue = sum(facts[at].blue == "3" for at in raised)
    careless = 2 * blue > len(raised)
    why = "It is written as the raised second of the key."
    return tuple(
        replace(fact, blue="3" if careless else fact.blue, reasons=(*fact.reasons, why))
        if at in raised
        else fact
        for at, fact in enumerate(facts)
    )


def _place(grid: MetricGrid, row: ChordRow, line: Sequence[HeldNote], at: int) -> _Place:
    note = line[at]
    sounding = row.at(note.onset)
    key = row.key_at(note.onset) or (sounding.key if sounding else None)
    first = _tone(note, sounding, key)
    coming = _anticipated(grid, row, line, at)
    home = coming or sounding
    tone = _tone(note, home, key) if coming else first
    if coming and first and tone and first.standing == "chord tone" != tone.standing:
        stays = note.end - coming.span.start > coming.span.start - note.onset
        # A tone of the chord it begins in is a clash of the next one only if it stays there.
        home, tone = (coming, tone) if stays else (sounding, first)
    return _Place(note, key, sounding, home, tone, first)


def _tone(note: HeldNote, fact: ChordFact | None, key: Key | None) -> ChordTone | None:
    if fact is None or fact.chord is None or key is None:
        return None
    return chord_tone(note.pitch.name, fact.chord, key)


def _anticipated(
    grid: MetricGrid, row: ChordRow, line: Sequence[HeldNote], at: int
) -> ChordFact | None:
    """The next chord, where a note comes an eighth or less before it and belongs there."""
    note = line[at]
    coming = row.change_after(note.onset)
    if coming is None:
        return None
    ahead = coming.span.start - note.onset
    beat = grid.measure_at(note.onset).meter.beat
    if ahead > (beat / 2 if beat == 2 else Fraction(1, 2)):
        return None
    if note.end > coming.span.start:
        return coming
    again = line[at + 1] if at + 1 < len(line) else None
    struck = again is not None and again.midi == note.midi and again.onset == coming.span.start
    return coming if struck else None


def _fact(grid: MetricGrid, row: ChordRow, places: Sequence[_Place], at: int) -> MelodyFact:
    place = places[at]
    note, key = place.note, place.key
    role, tone, reasons = _role(grid, row, places, at)
    blue = _blue(places, at, role)
    sounding = place.sounding
    confidence = sounding.confidence if sounding else 1.0
    return MelodyFact(
        note=note.id,
        span=note.span,
        part=note.part,
        pitch=note.pitch,
        degree=key_degree(note.pitch.name, key) if key else "",
        role=role,
        chord_degree=tone.degree if tone else "",
        blue=blue,
        blue_third=_is_blue_third(note, sounding),
        confidence=confidence,
        reasons=reasons,
    )


def _is_blue_third(note: HeldNote, sounding: ChordFact | None) -> bool:
    """The lowered third of the key, by pitch class, over the major tonic chord at its onset."""
    if sounding is None or sounding.chord is None:
        return False
    tonic, chord = sounding.key.tonic, sounding.chord
    lowered = (note.midi - tonic.pc) % 12 == 3
    return lowered and chord.triad == "maj" and chord.root.pc == tonic.pc


def _role(
    grid: MetricGrid, row: ChordRow, places: Sequence[_Place], at: int
) -> tuple[str, ChordTone | None, tuple[str, ...]]:
    """Role of a note, what it is over the chord it belongs to, and why."""
    place = places[at]
    if place.tone is None or place.first_tone is None:
        return "", None, ()
    if not place.foreign:
        held = _held_over(row, places, at)
        if held is not None:
            return held
        if place.first_tone.standing != "chord tone":
            return "anticipation", place.tone, ("It comes before the chord it belongs to.",)
        return "chord tone", place.tone, ()
    kind = name_kind(_setting(grid, row, places, at))
    if kind:
        return kind, place.tone, ()
    if place.tone.standing in ("tension", "added"):
        return ("tension" if place.tone.standing == "tension" else "added tone"), place.tone, ()
    why = "It rubs a half step above a tone of the chord." if place.tone.standing == "avoid" else ""
    return "foreign", place.tone, (why,) if why else ()


def _held_over(
    row: ChordRow, places: Sequence[_Place], at: int
) -> tuple[Kind, ChordTone, tuple[str, ...]] | None:
    """A chord tone that is held into the next chord, foreign there, and then steps."""
    place = places[at]
    note, home = place.note, place.home
    assert home is not None
    coming = row.change_after(max(note.onset, home.span.start))
    if coming is None or place.key is None or coming.span.start >= note.end:
        return None
    tone = _tone(note, coming, place.key)
    after = _next(places, at)
    if tone is None or tone.standing == "chord tone" or after is None or after.home != coming:
        return None
    out = after.note.midi - note.midi
    if not 1 <= abs(out) <= 2 or after.foreign or note.end - coming.span.start < Fraction(1, 2):
        return None
    why = ("It is held over from the chord before.",)
    return ("suspension" if out < 0 else "retardation"), tone, why


def _next(places: Sequence[_Place], at: int) -> _Place | None:
    """The note after, unless a rest parts the two."""
    if at + 1 >= len(places):
        return None
    after = places[at + 1]
    return after if after.note.onset - places[at].note.end <= _BREATH else None


def _before(places: Sequence[_Place], at: int) -> _Place | None:
    """The note before, unless a rest parts the two."""
    if at == 0:
        return None
    before = places[at - 1]
    return before if places[at].note.onset - before.note.end <= _BREATH else None


def _setting(grid: MetricGrid, row: ChordRow, places: Sequence[_Place], at: int) -> Setting:
    """Approach, departure and accent of a note foreign to its chord; repetitions count as one."""
    place = places[at]
    first, last = at, at
    while (before := _before(places, first)) and _repeats(before, place):
        first -= 1
    while (after := _next(places, last)) and _repeats(after, place):
        last += 1
    before, after = _before(places, first), _next(places, last)
    into = place.note.midi - before.note.midi if before else None
    out = after.note.midi - place.note.midi if after else None
    prepared = (
        before is not None
        and into == 0
        and not before.foreign
        and before.home is not place.home
        and grid.is_accented(places[first].note.onset, None)
    )
    early = after is not None and out == 0 and not after.foreign and after.home is not place.home
    beyond = _next(places, last + 1) if after else None
    across = beyond.note.midi - after.note.midi if beyond and after else None
    home = bool(
        beyond and before and after and after.foreign and beyond.note.midi == before.note.midi
    )
    accented = grid.is_accented(
        places[first].note.onset, after.note.onset if after else None
    ) or _syncopated(places[first])
    return Setting(
        approach=into,
        departure=out,
        accented=accented,
        prepared=prepared,
        early=early,
        across=across,
        home=home,
        second=_is_second(places, first),
        resolves=after is None or not after.foreign,
    )


def _syncopated(place: _Place) -> bool:
    """Whether it comes early for a chord that begins on its beat: sung before it, meant on it."""
    return place.home is not place.sounding


def _repeats(other: _Place, place: _Place) -> bool:
    """Whether a neighbouring note repeats the pitch over the same chord."""
    return other.note.midi == place.note.midi and other.home is place.home


def _is_second(places: Sequence[_Place], at: int) -> bool:
    """Whether a note ends a pair of neighbours on both sides of the tone they turn around."""
    before = _before(places, at)
    start = _before(places, at - 1) if before else None
    after = _next(places, at)
    if before is None or start is None or after is None or not before.foreign:
        return False
    tone = start.note.midi
    sides = (before.note.midi - tone, places[at].note.midi - tone)
    return (
        after.note.midi == tone
        and not start.foreign
        and sides[0] * sides[1] < 0
        and all(1 <= abs(side) <= 2 for side in sides)
    )


def _blue(places: Sequence[_Place], at: int, role: str) -> Blue:
    """Which degree is sung lowered against the natural one of chord or key; empty where none is."""
    place = places[at]
    note, key, home = place.note, place.key, place.home
    if key is None or home is None or home.chord is None or role in ("chord tone", "anticipation"):
        return ""
    if _shares(home, note) or _shares(place.sounding, note):
        return ""
    step = (note.midi - key.tonic.pc) % 12
    natural = PitchName(note.pitch.name.fifths + 7).pc
    against = natural in home.chord.pitch_classes
    if step in (3, 10) and not (is_major_like(key) or (against and step == 3)):
        return ""
    borrowed = _is_borrowed(home.chord, key)
    if (step == 10 and in_scale(note.pitch.name, key)) or (borrowed and not against):
        return ""
    degree = key_degree(note.pitch.name, key)
    out = _leads(places, at)
    if step == 3:
        return "" if degree.startswith("#") and out == 1 else "3"
    if step == 10:
        return "" if degree.startswith("#") else "7"
    if step == 6:
        return "5" if (degree == "b5" and out != 1) or (degree == "#4" and out == -1) else ""
    return ""


def _leads(places: Sequence[_Place], at: int) -> int:
    """Half steps to the next other pitch, 0 where a rest comes first."""
    here = places[at].note.midi
    after = _next(places, at)
    while after is not None and after.note.midi == here:
        at += 1
        after = _next(places, at)
    return after.note.midi - here if after else 0


def _is_borrowed(chord: Chord, key: Key) -> bool:
    """Whether a chord has the lowered sixth of the key or stands on the lowered seventh.

    Over such a chord of the parallel minor a lowered third belongs to the same mixture.
    """
    above = {(tone.pc - key.tonic.pc) % 12 for tone in chord.tones}
    return 8 in above or (chord.root.pc - key.tonic.pc) % 12 == 10


def _shares(fact: ChordFact | None, note: HeldNote) -> bool:
    """Whether a chord has the note itself, so that nothing is sung against it."""
    if fact is None or fact.chord is None:
        return False
    pc = note.pitch.name.pc
    return pc in fact.chord.pitch_classes or pc == fact.chord.bass.pc
