"""Cross relations: the natural and the lowered form of one degree close together in two voices.

The task is to find where the melody and another written voice have two forms of one letter at once,
or one right after the other, so that the ear compares them. Within one voice the same thing is a
chromatic inflection and is told elsewhere.

Method
------
The melody is held against the line of each other voice (backing voices, answering lines). Two notes
are in cross relation where they have the same letter and differ by a half step, sound together or
within an eighth of each other, and neither voice makes the chromatic step itself. Chords of an
accompaniment are not voices here: a lowered third over them is a blue third.

References
----------
Cross (false) relation: textbook practice (from memory).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from analysis.score import Score
from analysis.timebase import Span
from analysis.vocabulary.roles import PartRole
from analysis.vocabulary.voices import HeldNote, Voices

#: Longest silence between the two notes, in quarter notes.
_NEAR: Final = 0.5


@dataclass(frozen=True, slots=True)
class CrossRelation:
    """A melody note (by its index) and the other voice's note; ``together``: they sound at once."""

    span: Span
    at: int
    other: HeldNote
    together: bool


def find_cross_relations(
    score: Score,
    roles: Sequence[PartRole],
    melody: Sequence[HeldNote],
    voices: Voices | None = None,
) -> tuple[CrossRelation, ...]:
    """Cross relations of the melody, in order of time; of one melody note the first only.

    Parameters
    ----------
    melody
        Its notes in order of time, without overlap.
    voices
        The parts' lines, where they are at hand.
    """
    voices = voices or Voices(score)
    found: dict[int, CrossRelation] = {}
    for one in roles:
        if one.role not in ("backing", "answer"):
            continue
        voice = voices.line(one.part)
        for relation in _between(melody, voice):
            found.setdefault(relation.at, relation)
    return tuple(sorted(found.values(), key=lambda relation: (relation.span, relation.at)))


def _between(melody: Sequence[HeldNote], voice: Sequence[HeldNote]) -> list[CrossRelation]:
    onsets = [float(note.onset) for note in voice]
    ends = [float(note.end) + _NEAR for note in voice]
    found = []
    for at, note in enumerate(melody):
        onset, end = float(note.onset), float(note.end) + _NEAR
        # What sounds when the note begins or ended just before, and what begins in or just after.
        place = max(bisect_right(onsets, onset) - 1, 0)
        while place < len(voice) and onsets[place] <= end:
            other = voice[place]
            near = ends[place] >= onset
            if near and _clash(note, other) and not _same_voice(melody, at, voice, place):
                together = max(note.onset, other.onset) < min(note.end, other.end)
                span = Span(min(note.onset, other.onset), max(note.end, other.end))
                found.append(CrossRelation(span, at, other, together))
                break
            place += 1
    return found


def _clash(left: HeldNote, right: HeldNote) -> bool:
    """One letter, a half step apart."""
    one, other = left.pitch.name, right.pitch.name
    return one.step == other.step and abs(one.alter - other.alter) == 1


def _same_voice(melody: Sequence[HeldNote], at: int, voice: Sequence[HeldNote], place: int) -> bool:
    """Whether one of the two voices makes the chromatic step itself, before or after."""
    note, other = melody[at], voice[place]
    beside = [melody[index] for index in (at - 1, at + 1) if 0 <= index < len(melody)]
    beyond = [voice[index] for index in (place - 1, place + 1) if 0 <= index < len(voice)]
    return any(one.pitch.name.pc == other.pitch.name.pc for one in beside) or any(
        one.pitch.name.pc == note.pitch.name.pc for one in beyond
    )
