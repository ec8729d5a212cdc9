"""Inner lines: a voice between melody and bass that slides by half steps, or walks by step.

The task is to find the line inside the harmony that a listener follows once it is pointed out: a
backing voice or a pianist's middle voice as it is written, or, where nothing between melody and
bass is written, the guide-tone path that the chord symbols imply (chords inferred from the notes
imply nothing: their notes are there).

Method
------
*Written.* Every voice (part, staff, voice) that is neither melody nor bass is looked at. One with
single notes is a row of stays in which runs are found. One with chords is followed inside: a note
of one chord goes on in the next where that has a note a half step away at the same place counted
from the top or from the bottom; broken chords and licks are not followed.

*Implied.* A chain goes from a tone of one chord to a tone of the next a half step away. It counts
where at least two of its tones are what gives the chords their colour (thirds, sevenths, altered
fifths, sixths) and, of two chains at once, the longer. Where voices are written, they are believed
and nothing is implied.

What it cannot do: a line that wanders between parts.

References
----------
Guide tones (thirds and sevenths, least motion): common practice in jazz teaching, no source. Line
clichés over one root (1 7 b7 6; 5 #5 6): likewise.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import replace
from itertools import accumulate, pairwise
from typing import Final, Literal

from analysis.lines.half_step_chains import Chain, Link, Struck, find_chains
from analysis.lines.line_chords import chords_evidence, degrees_over_root, spelled_in
from analysis.lines.line_finds import LineFind
from analysis.lines.line_runs import Step, find_stepwise_runs, sides_of, step_at
from analysis.lines.stays import Stay, VoiceUnderChords
from analysis.marks import ChordFact, Line
from analysis.score import Score
from analysis.timebase import Offset, Span
from analysis.vocabulary.roles import PartRole
from analysis.vocabulary.voices import HeldNote, Voices, pitch_at

#: Share of chords in a voice from which it is followed inside.
_CHORDAL: Final = 0.15
#: Of a thicker chord only the lower tones are followed.
_MOST_TONES: Final = 8
#: Longest chord, in quarter notes, over which an implied line is still followed.
_LONGEST: Final = 8


def find_inner_lines(
    inner: Sequence[InnerVoice],
    chords: Sequence[ChordFact],
    melody: Sequence[HeldNote],
    bass: Sequence[Stay],
) -> tuple[LineFind, ...]:
    """Lines of the inner voices, written or implied, in order of time.

    Parameters
    ----------
    inner
        The written voices between melody and bass.
    chords
        Chord facts in order of time.
    melody, bass
        The outer voices, to be compared with.
    """
    finds = [find for voice in inner for find in _written(chords, voice)]
    if not inner and any(fact.written for fact in chords):
        finds = _implied(chords)
    steps = [stay.step for stay in bass]
    own = [find for find in finds if not _is_bass(find, steps)]
    compared = [_compared(find, melody, steps) for find in _longest(own)]
    return tuple(sorted(compared, key=lambda find: (find.line.span, find.line.notes)))


def _is_bass(find: LineFind, bass: Sequence[Step]) -> bool:
    """Whether more than half of a line's notes are those of the bass, which it then doubles."""
    under = [step_at(bass, offset) for offset in find.at]
    shared = sum(
        step is not None and step.sound % 12 == name.pc
        for step, name in zip(under, find.line.notes, strict=True)
    )
    return 2 * shared > len(find.line.notes)


class InnerVoice:
    """A written voice between melody and bass; what it plays under a chord is found once."""

    def __init__(self, score: Score, notes: Sequence[HeldNote]) -> None:
        self.notes = tuple(notes)
        onsets = [note.onset for note in notes]
        #: Whether it plays chords.
        self.chordal = len(onsets) - len(set(onsets)) > _CHORDAL * len(onsets)
        follows = [*(onset > before for before, onset in pairwise(onsets)), True]
        single = [note for note, alone in zip(notes, follows, strict=True) if alone]
        self.line = VoiceUnderChords(score, single)
        # The first note that still sounds at a place is the first of these beyond it.
        self._ends = list(accumulate((float(note.end) for note in notes), max))
        self._struck: dict[tuple[float, float], Struck] = {}

    def struck(self, span: Span) -> Struck:
        """The tones first struck together under a chord."""
        asked = float(span.start), float(span.end)
        if asked not in self._struck:
            notes = _block(self.notes, bisect_right(self._ends, asked[0]), span)
            self._struck[asked] = Struck(
                tuple(
                    Link(place, note.midi, note.pitch.name, note.id)
                    for place, note in enumerate(notes)
                )
            )
        return self._struck[asked]


def find_inner_voices(
    score: Score,
    roles: Sequence[PartRole],
    melody: Sequence[HeldNote],
    bass_part: str,
    parts: Voices,
) -> tuple[InnerVoice, ...]:
    """Written voices between melody and bass, doublings left out.

    Parameters
    ----------
    melody, bass_part
        The outer voices.
    parts
        The parts' sounding notes.
    """
    voices: dict[tuple[str, int, str], list[HeldNote]] = defaultdict(list)
    low = parts.held(bass_part) if bass_part else ()
    lead = {(note.part, note.staff, note.voice) for note in melody}
    for one in roles:
        if one.role not in ("melody", "backing", "chords", "answer"):
            continue
        held = parts.held(one.part)
        lowest = max((note.staff for note in held), default=1)
        for note in held:
            if one.part == bass_part and lowest > 1 and note.staff == lowest:
                continue
            if (one.part, note.staff, note.voice) not in lead:
                voices[one.part, note.staff, note.voice].append(note)
    outer = {(note.onset, note.pitch.name.pc) for note in (*melody, *_alone(low))}
    apart = [voices[place] for place in sorted(voices) if not _doubles(voices[place], outer)]
    return tuple(InnerVoice(score, notes) for notes in apart)


def _alone(low: Sequence[HeldNote]) -> Sequence[HeldNote]:
    """The notes of a part that plays a bass line; of one that plays chords too, none."""
    onsets = {note.onset for note in low}
    return low if len(onsets) == len(low) else ()


def _doubles(voice: Sequence[HeldNote], outer: Collection[tuple[Offset, int]]) -> bool:
    """Whether a voice does little else than play along with melody or bass."""
    shared = sum((note.onset, note.pitch.name.pc) in outer for note in voice)
    return 2 * shared > len(voice)


def _written(chords: Sequence[ChordFact], voice: InnerVoice) -> list[LineFind]:
    if voice.chordal:
        return _in_chords(chords, voice)
    stays = voice.line.stays(chords)
    finds = []
    for run in find_stepwise_runs([stay.step for stay in stays]):
        part = stays[run.first : run.last + 1]
        over = len({index for stay in part for index in stay.chords})
        least = 3 if run.kind == "chromatic" else 5
        if over < 3 or run.length < least or not _moves_with_chords(part):
            continue
        line = Line(
            Span(part[0].span.start, part[-1].span.end),
            run.kind,
            voice.notes[0].part,
            run.direction,
            tuple(spelled_in(stay.name, chords[stay.chords[0]]) for stay in part),
            tuple(stay.elements[0] for stay in part),
        )
        starts = tuple(stay.span.start for stay in part)
        find = LineFind(line, "inner", over, _confidence(line), starts)
        finds.append(_over_chords(find, [chords[stay.chords[0]] for stay in part]))
    return finds


def _moves_with_chords(stays: Sequence[Stay]) -> bool:
    """Whether most of a run's notes come with a chord of their own."""
    return len({stay.chords[0] for stay in stays}) >= len(stays) - 1


def _confidence(line: Line) -> float:
    if line.kind == "diatonic":
        return 0.45 if len(line.notes) < 7 else 0.6
    return {3: 0.7}.get(len(line.notes), 0.9)


def _in_chords(chords: Sequence[ChordFact], voice: InnerVoice) -> list[LineFind]:
    """Half-step chains inside a voice that plays chords."""
    rows = [voice.struck(fact.span) for fact in chords]
    finds = (
        _find(chords, chain, voice.notes[0].part, "inner")
        for chain in find_chains(chords, rows, written=True)
    )
    return [find for find in finds if find is not None]


def _block(voice: Sequence[HeldNote], at: int, span: Span) -> list[HeldNote]:
    """The first notes struck together under a chord, from the lowest up, looked for from ``at``."""
    struck: list[HeldNote] = []
    while at < len(voice) and voice[at].onset < span.end:
        note = voice[at]
        at += 1
        if note.end <= span.start:
            continue
        if struck and note.onset != struck[0].onset:
            if len(struck) > 1:
                break
            struck = []
        struck.append(note)
    return struck[:_MOST_TONES]


def _implied(chords: Sequence[ChordFact]) -> list[LineFind]:
    """Half-step chains through the tones of chord symbols."""
    rows = [
        Struck(
            tuple(
                Link(place, tone.pc, tone, fact.symbol, _colours(degree))
                for place, (degree, tone) in enumerate(
                    zip(fact.chord.degrees, fact.chord.tones, strict=True)
                )
            )
        )
        if fact.chord is not None
        else Struck()
        for fact in chords
    ]
    finds = (
        _find(chords, chain, "", "guide tones")
        for chain in find_chains(chords, rows, written=False)
    )
    return [find for find in finds if find is not None]


def _colours(degree: tuple[int, int]) -> bool:
    number, alter = degree
    return number in (3, 4, 6, 7) or (number == 5 and alter != 0) or number > 8


def _find(
    chords: Sequence[ChordFact],
    chain: Chain,
    part: str,
    voice: Literal["inner", "guide tones"],
) -> LineFind | None:
    """The line of a chain; None where implied tones colour too little or come too seldom."""
    over = [chords[index] for index in chain.chords]
    longest = max(fact.span.duration for fact in over)
    colours = sum(link.colour for link in chain.links)
    if voice == "guide tones" and (colours < 2 or longest > _LONGEST):
        return None
    starts = tuple(fact.span.start for fact in over)
    line = Line(
        Span(over[0].span.start, over[-1].span.end),
        "chromatic",
        part,
        "up" if chain.move > 0 else "down",
        tuple(spelled_in(link.name, fact) for link, fact in zip(chain.links, over, strict=True)),
        tuple(link.element for link in chain.links),
        implied_at=starts if voice == "guide tones" else (),
    )
    sure = _confidence(line) if voice == "inner" else _implied_confidence(over, chain)
    return _over_chords(LineFind(line, voice, len(over), sure, starts), over)


def _over_chords(find: LineFind, over: Sequence[ChordFact]) -> LineFind:
    """The find with the chords that it goes through, and its degrees where they have one root."""
    line = replace(find.line, evidence=(chords_evidence(find.line, over), *find.line.evidence))
    degrees = degrees_over_root(line.notes, over, line.direction)
    return replace(find, line=line, degrees=degrees)


def _implied_confidence(over: Sequence[ChordFact], chain: Chain) -> float:
    """Over one root a line is all that moves; otherwise four chords make it heard."""
    roots = {fact.chord.root.pc for fact in over if fact.chord is not None}
    if len(roots) == 1:
        return 0.8
    if len(over) > 3:
        return 0.7 if all(link.colour for link in chain.links) else 0.6
    return 0.45


def _longest(finds: Sequence[LineFind]) -> list[LineFind]:
    """Of lines of one voice that lie in the same time, the longest; of equals the surest."""
    kept: list[LineFind] = []
    order = sorted(
        finds,
        key=lambda find: (-len(find.line.notes), -find.confidence, find.line.span),
    )
    for find in order:
        if not any(
            other.line.part == find.line.part and other.line.span.overlaps(find.line.span)
            for other in kept
            if _covers(other, find)
        ):
            kept.append(find)
    return kept


def _covers(other: LineFind, find: LineFind) -> bool:
    """Whether most of a line lies in the time of another."""
    start = max(other.line.span.start, find.line.span.start)
    end = min(other.line.span.end, find.line.span.end)
    return 2 * (end - start) > find.line.span.duration


def _compared(find: LineFind, melody: Sequence[HeldNote], bass: Sequence[Step]) -> LineFind:
    """The find with how it moves against melody and bass."""
    row = [
        Step(Span(start, start), name.pc, register=False)
        for start, name in zip(find.at, find.line.notes, strict=True)
    ]
    tops = [pitch_at(melody, start) for start in find.at]
    under = [step_at(bass, start) for start in find.at]
    lows = [step.sound if step is not None and step.register else None for step in under]
    pairs = (("melody", sides_of(row, tops)), ("bass", sides_of(row, lows)))
    return replace(find, against=tuple((who, how) for who, how in pairs if how))
