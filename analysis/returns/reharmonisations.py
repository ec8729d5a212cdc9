"""What the harmony does when a melody comes back.

The task: lay the chords of a passage and of its return side by side and name the places where they
truly differ.

Conventions. Chords are compared by sound after the transposition of the return, as
`analysis.harmony.chord_matches` says. A change that one pass makes up to a beat sooner than the
other is the same change. Where one pass has no symbol of its own in the place, the notes decide, of
the accompaniment first and then of the melody: where they fit the other pass's chord better than
the one that goes on, the symbol was left out in the transcription, and nothing is claimed. A return
at another pitch is compared only where the key moves by as much for a third of it, or where the
melody leaves the scale of the first: elsewhere it is a sequence, whose chords follow the scale. All
of it holds with the passes swapped.

Limits: what the accompaniment plays is only asked where a symbol is missing; a symbol that is wrong
in one pass is taken at its word. References: common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from analysis.chords import Chord
from analysis.harmony.chord_matches import same_chord
from analysis.marks import ChordDifference, ChordFact, Repeat
from analysis.pitch import Key
from analysis.returns.alike_passages import LONGEST_NOTE, AlikePassages
from analysis.returns.exchanges import effect_of, new_roles
from analysis.score import Score
from analysis.timebase import Fraction, Offset, Span
from analysis.vocabulary.voices import PitchedNotes
from analysis.vocabulary.wording import chord_text

#: Shorter differences, in quarters, are ornaments of a chord; so are shorter stretches within one.
_LEAST: Final = Fraction(1)
_SHORTEST: Final = Fraction(1, 2)
#: Two places as floats are one if they are nearer, in quarters.
_NO_TIME: Final = 1e-6
#: From so many returns on it is worth asking which passages are the same.
_MANY: Final = 24
#: Share of a passage in which its key moves along.
_MOVED: Final = Fraction(1, 3)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A stretch of both passes in which each has one chord; offsets from the passes' starts."""

    start: Offset
    end: Offset
    first: ChordFact
    later: ChordFact
    same: bool

    @property
    def length(self) -> Offset:
        return self.end - self.start


def compare_harmony(
    score: Score,
    repeats: Sequence[Repeat],
    chords: Sequence[ChordFact],
    notes: PitchedNotes | None = None,
) -> tuple[Repeat, ...]:
    """The repeats with their differences of harmony, in order of time.

    Parameters
    ----------
    score
        For its beats, and for the notes that decide where a symbol is missing.
    repeats
        Passages and returns.
    chords
        All chords of the piece in order of time.
    notes
        The notes of the score, where they are at hand from another comparison.

    Returns
    -------
    tuple of Repeat
        The same repeats in the same order. `Repeat.reharmonised` is true where a chord differs;
        each pair of chords that stand against each other is one difference.
    """
    many = len(repeats) >= _MANY
    comparison = _Comparison(score, chords, notes or PitchedNotes(score), many=many)
    return tuple(comparison.of(repeat) for repeat in repeats)


class _Comparison:
    """The chords and notes of one piece, asked about one repeat after the other."""

    def __init__(
        self, score: Score, chords: Sequence[ChordFact], notes: PitchedNotes, *, many: bool
    ) -> None:
        self._score = score
        self._chords = chords
        # Equal fractions are equal floats, which compare much faster.
        self._starts = [float(chord.span.start) for chord in chords]
        self._ends = [float(chord.span.end) for chord in chords]
        self._notes, self._onsets, self._note_ends = notes.notes, notes.onsets, notes.ends
        self._places, self._pitches = notes.places, notes.pitches
        # Few different chords make up a piece: each is named, and each two compared, once.
        known: dict[Chord | None, int] = {}
        self._kind_of = {id(one.chord): known.setdefault(one.chord, len(known)) for one in chords}
        self._kinds = [self._kind_of[id(one.chord)] for one in chords]
        self._names = [chord_text(chord) for chord in known]
        self._one_chord: dict[tuple[int, int, int], bool] = {}
        # In a song that comes round again the same passages meet again and again.
        self._passages = AlikePassages(chords, notes) if many else None
        self._known: dict[tuple[int, int, int], tuple[Repeat, tuple[ChordDifference, ...]]] = {}

    def of(self, repeat: Repeat) -> Repeat:
        """The repeat with its differences."""
        if self._plainly_same(repeat):
            return repeat
        if self._passages is None:
            like, differences = repeat, self._differences(repeat)
        else:
            asked = self._passages.of(repeat, self._beat(repeat))
            if asked not in self._known:
                self._known[asked] = repeat, self._differences(repeat)
            like, differences = self._known[asked]
        if not differences:
            return repeat
        if like is not repeat:
            shifts = repeat.first.start - like.first.start, repeat.later.start - like.later.start
            differences = tuple(
                replace(one, first_at=one.first_at + shifts[0], later_at=one.later_at + shifts[1])
                for one in differences
            )
        return replace(repeat, differences=differences, reharmonised=True)

    def _differences(self, repeat: Repeat) -> tuple[ChordDifference, ...]:
        if not self._moves_with_its_key(repeat):
            return ()
        sung = sorted(self._places[note] for note in repeat.later_notes if note in self._places)
        return tuple(
            self._difference(repeat, stretch, sung)
            for region in self._regions(repeat)
            if region[-1].end - region[0].start >= _LEAST and not self._left_out(repeat, region)
            for stretch in self._joined(region)
            if stretch.length >= _SHORTEST
        )

    def _beat(self, repeat: Repeat) -> Offset:
        return self._score.measure_at(repeat.first.start).meter.beat

    def _plainly_same(self, repeat: Repeat) -> bool:
        """Whether the same chords stand at the same places, so that nothing need be compared."""
        length = min(repeat.first.duration, repeat.later.duration)
        kinds, starts = [], []
        for start in (repeat.first.start, repeat.later.start):
            low = max(bisect_right(self._starts, float(start)) - 1, 0)
            inside = slice(low, bisect_left(self._starts, float(start + length)))
            kinds.append(self._kinds[inside])
            starts.append([max(at - float(start), 0.0) for at in self._starts[inside]])
        return (
            repeat.transposition % 12 == 0
            and kinds[0] == kinds[1]
            and all(abs(one - two) < _NO_TIME for one, two in zip(*starts, strict=True))
        )

    def _same(self, first: ChordFact, later: ChordFact, half_steps: int) -> bool:
        """Whether two chords of the piece are one, the first moved by so many half steps."""
        one, two = first.chord, later.chord
        if one is None or two is None:
            return one is two
        asked = (self._kind_of[id(one)], self._kind_of[id(two)], half_steps)
        if asked not in self._one_chord:
            self._one_chord[asked] = same_chord(one, two, half_steps)
        return self._one_chord[asked]

    def _moves_with_its_key(self, repeat: Repeat) -> bool:
        """Whether the key moves as the melody does for a good part of the passage."""
        if repeat.transposition % 12 == 0:
            return True
        moved = whole = Fraction(0)
        length = min(repeat.first.duration, repeat.later.duration)
        keys: set[Key] = set()
        for one in self._stretches(repeat, Fraction(0), length):
            before, after = one.first.key, one.later.key
            keys.add(before)
            whole += one.length
            if (after.tonic.pc - before.tonic.pc - repeat.transposition) % 12 == 0:
                moved += one.length if after.mode == before.mode else 0
        return moved > _MOVED * whole or all(self._leaves(repeat, key) for key in keys)

    def _leaves(self, repeat: Repeat, key: Key) -> bool:
        """Whether the moved melody leaves a scale to which it belonged."""
        scale = {name.pc for name in key.scale}
        pitches = [self._pitches[note] for note in repeat.first_notes if note in self._pitches]
        return any(
            pitch % 12 in scale and (pitch + repeat.transposition) % 12 not in scale
            for pitch in pitches
        )

    def _chord_at(self, place: float) -> int:
        """The index of the chord that sounds; -1 where none does."""
        index = bisect_right(self._starts, place) - 1
        if index < 0 or place >= self._ends[index] or self._chords[index].chord is None:
            return -1
        return index

    def _regions(self, repeat: Repeat) -> Iterator[list[_Stretch]]:
        """Neighbouring stretches that differ; changes that merely come early are left out."""
        beat = self._beat(repeat)
        length = min(repeat.first.duration, repeat.later.duration)
        # A beat more on both sides shows whether a difference at an end is a change come early.
        stretches = list(self._stretches(repeat, -beat, length + beat))
        differing = []
        for index, stretch in enumerate(stretches):
            inside = stretch.start < length and stretch.end > 0
            shift = repeat.transposition
            if stretch.same or not inside or self._is_early(index, stretches, shift, beat):
                continue
            if stretch.start < 0 or stretch.end > length:
                start, end = max(stretch.start, Fraction(0)), min(stretch.end, length)
                stretch = replace(stretch, start=start, end=end)
            differing.append(stretch)
        region: list[_Stretch] = []
        for stretch in differing:
            if region and region[-1].end != stretch.start:
                yield region
                region = []
            region.append(stretch)
        if region:
            yield region

    def _stretches(self, repeat: Repeat, low: Offset, high: Offset) -> Iterator[_Stretch]:
        """Both passes cut wherever either changes; equal neighbours joined, gaps passed over."""
        length = min(repeat.first.duration, repeat.later.duration)
        # By their floats, which sort and compare faster; equal places are one place.
        cuts = {float(at): at for at in (low, Fraction(0), length, high)}
        for start in (repeat.first.start, repeat.later.start):
            since = bisect_right(self._starts, float(start + low))
            until = bisect_left(self._starts, float(start + high))
            changes = (chord.span.start - start for chord in self._chords[since:until])
            cuts |= {float(at): at for at in changes}
        # A little later, so that rounding does not put a place before its chord.
        here, there = (float(one.start) + _NO_TIME for one in (repeat.first, repeat.later))
        pieces: list[tuple[int, int, Offset, Offset]] = []
        for (place, start), (_, end) in pairwise(sorted(cuts.items())):
            first, later = self._chord_at(here + place), self._chord_at(there + place)
            if first < 0 or later < 0:
                continue
            if pieces and pieces[-1][:2] == (first, later):
                start = pieces.pop()[2]
            pieces.append((first, later, start, end))
        for first, later, start, end in pieces:
            was, now = self._chords[first], self._chords[later]
            yield _Stretch(start, end, was, now, self._same(was, now, repeat.transposition))

    def _is_early(
        self, index: int, stretches: Sequence[_Stretch], shift: int, beat: Offset
    ) -> bool:
        """Whether a short stretch differs only because one pass changes before the other.

        So the pass that is ahead has come from the chord in which the other still is, and the other
        comes to the chord that this one has.
        """
        stretch = stretches[index]
        if stretch.length > beat:
            return False
        before = stretches[index - 1] if index else None
        after = stretches[index + 1] if index + 1 < len(stretches) else None
        first_ahead = (before is None or self._same(before.first, stretch.later, shift)) and (
            after is None or self._same(stretch.first, after.later, shift)
        )
        later_ahead = (before is None or self._same(stretch.first, before.later, shift)) and (
            after is None or self._same(after.first, stretch.later, shift)
        )
        return first_ahead or later_ahead

    def _joined(self, region: Sequence[_Stretch]) -> list[_Stretch]:
        """Stretches of a region, joined where both passes only take another form of their chord."""
        joined: list[_Stretch] = []
        for one in region:
            last = joined[-1] if joined else one
            same = self._same(last.first, one.first, 0) and self._same(last.later, one.later, 0)
            if joined and same:
                joined[-1] = replace(last, end=one.end)
            else:
                joined.append(one)
        return joined

    def _left_out(self, repeat: Repeat, region: Sequence[_Stretch]) -> bool:
        """Whether one pass has no symbol of its own in a region because it was left out."""
        start, end = region[0].start, region[-1].end
        first, later = (
            Span(whole.start + start, whole.start + end) for whole in (repeat.first, repeat.later)
        )
        shift = repeat.transposition
        was, now = [one.first for one in region], [one.later for one in region]
        beat = self._score.measure_at(first.start).meter.beat
        return (
            was[0].span.start < first.start - beat
            and len(set(map(id, was))) == 1
            and self._speak_against(repeat, first, was[0], _moved(now, first, later, -shift))
        ) or (
            now[0].span.start < later.start - beat
            and len(set(map(id, now))) == 1
            and self._speak_against(repeat, later, now[0], _moved(was, later, first, shift))
        )

    def _speak_against(
        self, repeat: Repeat, span: Span, held: ChordFact, others: Sequence[tuple[Span, set[int]]]
    ) -> bool:
        """Whether the notes in a span fit the other pass's tones better than the held chord's."""
        melody = {*repeat.first_notes, *repeat.later_notes}
        ours = _tones(held)
        balance = {True: Fraction(0), False: Fraction(0)}
        since = float(span.start)
        low = bisect_left(self._onsets, since - LONGEST_NOTE)
        for at in range(low, bisect_left(self._onsets, float(span.end))):
            note = self._notes[at]
            if self._note_ends[at] <= since or note.pitch is None:
                continue
            begin = note.onset if self._onsets[at] > since else span.start
            theirs = next((tones for where, tones in others if begin in where), set())
            fits = note.pitch.midi % 12 in ours
            if fits != (note.pitch.midi % 12 in theirs):
                length = min(note.end, span.end) - begin
                balance[note.id in melody] += length if fits else -length
        return (balance[False] or balance[True]) < 0

    def _difference(
        self, repeat: Repeat, stretch: _Stretch, sung: Sequence[int]
    ) -> ChordDifference:
        """The difference; ``sung`` are places of the return's notes among all notes, in order."""
        was, now = stretch.first, stretch.later
        span = Span(repeat.later.start + stretch.start, repeat.later.start + stretch.end)
        since = float(span.start)
        low = bisect_left(self._onsets, since - LONGEST_NOTE)
        high = bisect_left(self._onsets, float(span.end))
        inside = sung[bisect_left(sung, low) : bisect_left(sung, high)]
        pitches = [self._notes[at].pitch for at in inside if self._note_ends[at] > since]
        return ChordDifference(
            first_at=repeat.first.start + stretch.start,
            later_at=span.start,
            was=self._names[self._kind_of[id(was.chord)]],
            now=self._names[self._kind_of[id(now.chord)]],
            was_numeral=was.numeral.text if was.numeral else "",
            now_numeral=now.numeral.text if now.numeral else "",
            was_function=was.function,
            now_function=now.function,
            effect=effect_of(was, now),
            roles=new_roles(was, now, pitches, repeat.transposition),
        )


def _moved(
    chords: Sequence[ChordFact], here: Span, there: Span, half_steps: int
) -> list[tuple[Span, set[int]]]:
    """Spans and tones of the other pass's chords, moved to this pass."""
    shift = here.start - there.start
    return [
        (
            Span(chord.span.start + shift, chord.span.end + shift),
            {(pc + half_steps) % 12 for pc in _tones(chord)},
        )
        for chord in chords
    ]


def _tones(fact: ChordFact) -> set[int]:
    if fact.chord is None:
        return set()
    return {*fact.chord.pitch_classes, fact.chord.bass.pc}
