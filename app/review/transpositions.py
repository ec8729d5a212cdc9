"""How far a part, or a whole song, has been transposed between two transcriptions.

Conventions: an interval is spelled, so that C to D flat and C to C sharp differ: fifths on the line
of fifths and steps of the staff. Method: measures of one shape (the same rhythm and the same steps)
vote for the interval at which they stand to each other; more than half of all notes must agree,
else nothing was transposed.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from analysis.errors import NotationError
from analysis.pitch import Pitch, PitchName
from app.review.skeletons import BoneNote, BonePart

#: Rhythm and steps of a measure.
Shape = tuple[object, ...]
#: Share of all votes that a transposition needs.
_MAJORITY: Final = 0.5


@dataclass(frozen=True, slots=True)
class Interval:
    """A transposition: fifths on the line of fifths, and steps of the staff, octaves included."""

    fifths: int = 0
    steps: int = 0

    @property
    def half_steps(self) -> int:
        """How many half steps up it is, less than an octave either way."""
        half_steps = self.of(Pitch(PitchName(0), 4)).midi - 60
        return half_steps - 12 if half_steps > 6 else half_steps

    def of(self, pitch: Pitch) -> Pitch:
        """The pitch so far up."""
        name = pitch.name + self.fifths
        octave = (pitch.diatonic + self.steps - Pitch(name, 0).diatonic) // 7
        return Pitch(name, octave)


def part_interval(then: BonePart, now: BonePart) -> Interval:
    """How far a part is transposed: what most measures of one shape say."""
    shapes: defaultdict[Shape, list[Pitch]] = defaultdict(list)
    for row in now.measures:
        if first := _first_pitch(row):
            shapes[shape_of(row)].append(first)
    votes: Counter[Interval] = Counter()
    seen: Counter[Shape] = Counter()
    for row in then.measures:
        first, shape = _first_pitch(row), shape_of(row)
        if first is None or shape not in shapes:
            continue
        others = shapes[shape]
        # The same shape may come back at other pitches: take its occurrences in turn.
        other = others[min(seen[shape], len(others) - 1)]
        seen[shape] += 1
        votes[Interval(other.name - first.name, other.diatonic - first.diatonic)] += len(row)
    if not votes:
        return Interval()
    interval, most = votes.most_common(1)[0]
    return interval if most > _MAJORITY * votes.total() else Interval()


def _first_pitch(row: Sequence[BoneNote]) -> Pitch | None:
    return next((note.pitch for note in row if note.pitch), None)


def common_interval(intervals: Sequence[Interval], parts: Sequence[BonePart]) -> Interval:
    """The transposition of the whole song, octaves apart: what more than half of it has."""
    votes: Counter[int] = Counter()
    for interval, part in zip(intervals, parts, strict=True):
        votes[interval.fifths] += sum(1 for row in part.measures for note in row if note.pitch)
    if not votes:
        return Interval()
    fifths, most = votes.most_common(1)[0]
    if not fifths or most <= _MAJORITY * votes.total():
        return Interval()
    steps = Counter(one.steps for one in intervals if one.fifths == fifths)
    return Interval(fifths, steps.most_common(1)[0][0])


def transposed_symbol(text: str, fifths: int) -> str:
    """What a chord symbol says in a transposed song: root and bass moved along."""
    if not fifths:
        return text
    words = text.split(" ")
    for at, word in enumerate(words):
        slash = "/" if word.startswith("/") else ""
        if at == 0 or slash:
            try:
                words[at] = slash + str(PitchName.parse(word.removeprefix("/")) + fifths)
            except NotationError:
                continue
    return " ".join(words)


def shape_of(row: Sequence[BoneNote]) -> Shape:
    """Rhythm and steps of a measure, the same at every pitch."""
    low = next((note.pitch.midi for note in row if note.pitch), 0)
    return tuple((note.onset, note.pitch.midi - low if note.pitch else None) for note in row)
