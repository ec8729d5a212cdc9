"""The third that is heard in a chord without one.

A power chord has a root and a fifth; a listener fills in the third from what is around. The task
is to say which, with what decides, in this order of weight: the third that the melody sings over
the chord, the quality in which the same root sounds elsewhere in the same key, and the third that
the key has above that root.

References
----------
Common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from analysis.chords import Chord
from analysis.pitch import STEPS, Key
from analysis.vocabulary.dominants import ChordInKey
from analysis.vocabulary.numerals import respelled
from analysis.vocabulary.voices import HeldNote
from analysis.vocabulary.wording import chord_text, key_text, name_text

_MELODY: Final = 2.0
_ELSEWHERE: Final = 1.5
_KEY: Final = 1.0


@dataclass(frozen=True, slots=True)
class HeardThird:
    """Whether a chord without a third is heard as minor; what decides; how sure, in [0, 1]."""

    minor: bool
    reason: str
    confidence: float


def lacks_third(chord: Chord) -> bool:
    """Whether a chord has neither a third nor a suspension in its place."""
    return not any(number in (2, 3, 4) for number, _ in chord.degrees)


def find_thirds(
    row: Sequence[ChordInKey], line: Sequence[HeldNote]
) -> tuple[HeardThird | None, ...]:
    """The heard third of every chord of a row, None where the chord has its own or is N.C.

    Parameters
    ----------
    line
        The melody in order of time; may be empty.
    """
    if not any(one.chord is not None and lacks_third(one.chord) for one in row):
        return (None,) * len(row)
    elsewhere: defaultdict[tuple[Key, int], float] = defaultdict(float)
    for one in row:
        if one.chord is not None and one.chord.triad in ("maj", "min"):
            side = 1 if one.chord.triad == "min" else -1
            elsewhere[one.key, one.chord.root.pc] += side * float(one.span.duration)
    onsets = [float(note.onset) for note in line]
    return tuple(
        _heard(
            one,
            respelled(one.chord, one.key.tonic),
            elsewhere[one.key, one.chord.root.pc],
            _over(line, onsets, one),
        )
        if one.chord is not None and lacks_third(one.chord)
        else None
        for one in row
    )


def _over(line: Sequence[HeldNote], onsets: Sequence[float], one: ChordInKey) -> Sequence[HeldNote]:
    """The notes that may sound over a chord, the one before its onset among them."""
    first = max(bisect_right(onsets, float(one.span.start)) - 1, 0)
    return line[first : bisect_left(onsets, float(one.span.end))]


def _heard(one: ChordInKey, chord: Chord, elsewhere: float, line: Sequence[HeldNote]) -> HeardThird:
    root = chord.root.pc
    sung = {3: 0.0, 4: 0.0}
    names = {}
    for note in line:
        step = (note.pitch.name.pc - root) % 12
        shared = min(note.end, one.span.end) - max(note.onset, one.span.start)
        if step in sung and shared > 0:
            sung[step] += float(shared)
            names[step] = name_text(note.pitch.name)
    melody = sung[3] - sung[4]
    third = {name.step: name for name in one.key.scale}[
        STEPS[(STEPS.index(chord.root.step) + 2) % 7]
    ]
    own = 1.0 if (third.pc - root) % 12 == 3 else -1.0
    votes = (
        _MELODY * _sign(melody),
        _ELSEWHERE * _sign(elsewhere),
        _KEY * own,
    )
    minor = sum(votes) > 0
    quality = "minor" if minor else "major"
    agreeing = [vote if minor else -vote for vote in votes]
    name = chord_text(chord)
    if agreeing[0] > 0:
        reason = f"{name} has no third; the melody's {names[3 if minor else 4]} makes it {quality}."
    elif agreeing[1] > 0:
        reason = f"{name} has no third; on this root the chord is {quality} elsewhere."
    else:
        reason = f"{name} has no third; {key_text(one.key)} makes it {quality}."
    return HeardThird(minor, reason, 0.7 + 0.3 * abs(sum(votes)) / (_MELODY + _ELSEWHERE + _KEY))


def _sign(value: float) -> float:
    return float(value > 0) - float(value < 0)
