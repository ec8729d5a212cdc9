"""Where a voice stays while the chords move: one row of pitches, each with its time.

The task is to see a voice as a listener does who follows the harmony: where it goes with the
chords, not each note of a figure.

Method
------
At each chord the voice is at the note it sounds there, or at its first note soon after. Between
changes of chord a voice that moves on and keeps a pitch for half a measure or more adds a stay of
its own, so that a bass falling under one long chord is seen; the notes of a walking or broken bass
are not. Stays on the same pitch class are joined. The bass is what the bass part plays (the slash
of the chord symbol, where it plays that too), or else the lowest notes of an accompaniment that
lies low, or else the symbol's bass.

Common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from statistics import median
from typing import Final

from analysis.lines.line_runs import Step
from analysis.marks import ChordFact
from analysis.pitch import PitchName
from analysis.score import Score
from analysis.timebase import Offset, Span
from analysis.vocabulary.roles import BASS_BELOW, PartRole, part_of
from analysis.vocabulary.voices import HeldNote, Voices, lowest_line

#: Start and end of a chord, and the pitch class that is asked for.
_Asked = tuple[float, float, int]
#: How far into a chord, in quarter notes, its note may come late.
_LATE: Final = Offset(1)


@dataclass(frozen=True)
class Stay:
    """A pitch that a voice keeps.

    ``midi`` is None where it is known from chord symbols alone; ``chords`` are indexes of the chord
    facts over it; ``elements`` are ids of the notes or symbols that show it, one a chord (a held
    note is named again).
    """

    span: Span
    name: PitchName
    midi: int | None
    elements: tuple[str, ...]
    chords: tuple[int, ...]
    begins: bool = False

    @cached_property
    def step(self) -> Step:
        """Its sound, with register where it has one."""
        if self.midi is None:
            return Step(self.span, self.name.pc, register=False, begins=self.begins)
        return Step(self.span, self.midi, begins=self.begins)


def find_bass(chords: Sequence[ChordFact], low: VoiceUnderChords) -> tuple[Stay, ...]:
    """The stays of the bass in order.

    Parameters
    ----------
    chords
        Chord facts in order of time. A place without a chord parts two stays.
    low
        The lowest line as `find_low_line` finds it; where it is empty, symbols alone say the bass.
    """
    return low.stays(chords, bass=True)


class VoiceUnderChords:
    """One voice, to be asked for its stays; what it does under a chord is found once.

    Parameters
    ----------
    score
        For its measures.
    line
        The voice as sounding notes in order of time.
    """

    def __init__(self, score: Score, line: Sequence[HeldNote]) -> None:
        self.line = tuple(line)
        self._score = score
        #: Where the transcription itself says that a section begins.
        self._sections = frozenset(float(mark.onset) for mark in score.rehearsal_marks)
        # Equal fractions are equal floats, which compare much faster.
        self._onsets = [float(note.onset) for note in line]
        self._known: dict[_Asked, tuple[Stay, ...]] = {}
        self._placed: dict[tuple[_Asked, int], tuple[Stay, ...]] = {}

    def stays(self, chords: Sequence[ChordFact], *, bass: bool = False) -> tuple[Stay, ...]:
        """The stays in order; of an inner voice, none under chords that it runs through."""
        stays: list[Stay] = []
        for index, fact in enumerate(chords):
            chord = fact.chord
            if chord is None:
                continue
            moves = self._under(fact, index, bass=bass)
            if moves:
                for one in moves:
                    _add(stays, one)
            elif bass:
                shown = fact.symbol or next(iter(fact.elements), "")
                begins = float(fact.span.start) in self._sections
                _add(stays, Stay(fact.span, chord.bass, None, (shown,), (index,), begins))
        return tuple(stays)

    def _under(self, fact: ChordFact, index: int, *, bass: bool) -> tuple[Stay, ...]:
        """What the voice does under one chord of that index; empty where it rests."""
        asked_for = _asked_for(fact) if bass else -2
        asked = (float(fact.span.start), float(fact.span.end), asked_for)
        if (asked, index) not in self._placed:
            if asked not in self._known:
                played = _played(fact.span, self.line, self._onsets)
                first = _first(fact.span, played, asked_for)
                found = _moves(self._score, fact.span, played, first) if first is not None else ()
                self._known[asked] = tuple(
                    replace(one, begins=float(one.span.start) in self._sections) for one in found
                )
            self._placed[asked, index] = tuple(
                replace(one, chords=(index,)) for one in self._known[asked]
            )
        return self._placed[asked, index]


def _add(stays: list[Stay], stay: Stay) -> None:
    """Append a stay, joined to the last one where both are one pitch class without a gap."""
    last = stays[-1] if stays else None
    if last is None or last.name.pc != stay.name.pc or last.span.end < stay.span.start:
        stays.append(stay)
        return
    known = stay.chords[0] in last.chords
    stays[-1] = replace(
        last,
        span=Span(last.span.start, stay.span.end),
        elements=last.elements if known else last.elements + stay.elements,
        chords=last.chords if known else last.chords + stay.chords,
        begins=last.begins or stay.begins,
    )


def find_low_line(
    score: Score, roles: Sequence[PartRole], voices: Voices
) -> tuple[str, tuple[HeldNote, ...]]:
    """The bass part and its notes, else the lowest of the parts that accompany, if they lie low."""
    chosen = part_of(roles, "bass")
    if chosen:
        return chosen, lowest_line(voices.held(chosen))
    for role in ("chords", "backing", "melody"):
        playing = [score.part(one.part) for one in roles if one.role == role]
        if role == "melody":
            # A keyboard alone: its lower staff.
            playing = [part for part in playing if part.staves > 1]
        held = [note for part in playing for note in voices.held(part.id)]
        lowest = lowest_line(held)
        if lowest and median(note.midi for note in lowest) < BASS_BELOW:
            return lowest[0].part, lowest
    return "", ()


def _played(span: Span, line: Sequence[HeldNote], onsets: Sequence[float]) -> Sequence[HeldNote]:
    """Notes that sound at the start of a span or begin in it."""
    first = bisect_right(onsets, float(span.start)) - 1
    if first < 0 or line[first].end <= span.start:
        first += 1
    return line[first : bisect_left(onsets, float(span.end))]


def _asked_for(fact: ChordFact) -> int:
    """The pitch class that the bass should have where the chord says so; -1 where it does not.

    A written slash is preferred to what comes first. Of a chord inferred from the notes the bass is
    known, and may come late in a broken chord.
    """
    chord = fact.chord
    if chord is None or (fact.written and chord.bass.pc == chord.root.pc):
        return -1
    return chord.bass.pc


def _first(span: Span, played: Sequence[HeldNote], asked_for: int) -> HeldNote | None:
    """The note at the start of a chord: of an inner voice (-2) where it rests on it."""
    soon = played[0] if played and played[0].onset - span.start <= _LATE else None
    if asked_for == -2:
        return soon if soon is not None and _rests_on(soon, played) else None
    if asked_for == -1:
        return soon
    shown = [note for note in played if note.pitch.name.pc == asked_for]
    return min(shown, key=lambda note: note.midi, default=soon)


def _rests_on(first: HeldNote, played: Sequence[HeldNote]) -> bool:
    """Whether a voice spends half of its time under a chord on the pitch it begins with."""
    total = sum(note.span.duration for note in played)
    return 2 * sum(note.span.duration for note in played if note.midi == first.midi) >= total


def _moves(score: Score, span: Span, played: Sequence[HeldNote], first: HeldNote) -> list[Stay]:
    """The stays under one chord, the first from its start."""
    half = score.measure_at(span.start).meter.length / 2
    later = played[played.index(first) + 1 :]
    moves = [first, *_kept(later, span.end, half, first)]
    starts = [span.start, *(note.onset for note in moves[1:])]
    ends = [*starts[1:], span.end]
    return [
        Stay(Span(start, end), note.pitch.name, note.midi, (note.id,), (0,))
        for note, start, end in zip(moves, starts, ends, strict=True)
    ]


def _kept(notes: Sequence[HeldNote], end: Offset, half: Offset, first: HeldNote) -> list[HeldNote]:
    """Notes within a chord that stay for half a measure, repetitions counted together."""
    kept: list[HeldNote] = []
    at = 0
    while at < len(notes):
        stop = at
        while stop + 1 < len(notes) and notes[stop + 1].midi == notes[at].midi:
            stop += 1
        until = notes[stop + 1].onset if stop + 1 < len(notes) else end
        before = kept[-1] if kept else first
        if until - notes[at].onset >= half and notes[at].midi != before.midi:
            kept.append(notes[at])
        at = stop + 1
    return kept
