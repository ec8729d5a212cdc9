"""Phrases of a melody: where it breathes.

The task: cut a melody into the stretches that a singer takes in one breath and a listener hears as
one thought, so that cadences and orders of functions can be told of them.

Method. A breath is a silence of a beat or more after a note, or a note that is held two measures'
half or more and longer than its neighbours. Breaths that leave less than two measures on either
side are joined to what is around them, unless a section begins there.

Limits: elided phrases, in which the last note of one is the first of the next, are not told apart.

References
----------
Rests and long notes as the strongest cues of phrase ends: E. Cambouropoulos, "The local boundary
detection model", ICMC 2001 (from memory). The least length is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from analysis.score import Measure
from analysis.timebase import Fraction, Offset, Span
from analysis.vocabulary.voices import HeldNote

_SILENCE: Final = Fraction(1)
_HELD: Final = Fraction(2)


@dataclass(frozen=True, slots=True)
class Phrase:
    """One phrase: from its first note to the end of its last; its notes in order."""

    span: Span
    notes: tuple[HeldNote, ...]

    @property
    def last(self) -> HeldNote:
        """The note it ends on."""
        return self.notes[-1]


def find_phrases(
    line: Sequence[HeldNote], measures: Sequence[Measure], borders: Sequence[Offset] = ()
) -> tuple[Phrase, ...]:
    """The phrases of a melody, in order of time.

    Parameters
    ----------
    line
        The melody's notes in order of time.
    measures
        For the length of a measure where a breath falls.
    borders
        Offsets at which sections begin; a breath just before one always ends a phrase.
    """
    if not line:
        return ()
    cuts = [0]
    for at, (note, after) in enumerate(pairwise(line), 1):
        if _breathes(line, at - 1, note, after):
            cuts.append(at)
    cuts.append(len(line))
    pieces = [tuple(line[start:end]) for start, end in pairwise(cuts) if end > start]
    return tuple(
        Phrase(Span(notes[0].onset, notes[-1].end), notes)
        for notes in _joined(pieces, measures, borders)
    )


def _breathes(line: Sequence[HeldNote], at: int, note: HeldNote, after: HeldNote) -> bool:
    if after.onset - note.end >= _SILENCE:
        return True
    length = after.onset - note.onset
    if length < _HELD:
        return False
    near = [*line[max(0, at - 4) : at], *line[at + 1 : at + 4]]
    return all(length >= 2 * (other.end - other.onset) for other in near)


def _joined(
    pieces: Sequence[tuple[HeldNote, ...]], measures: Sequence[Measure], borders: Sequence[Offset]
) -> list[tuple[HeldNote, ...]]:
    """Pieces under two measures joined to the piece before them, but not across a border."""
    least = 2 * (measures[len(measures) // 2].meter.length if measures else Fraction(4))
    joined: list[tuple[HeldNote, ...]] = []
    for notes in pieces:
        before = joined[-1] if joined else ()
        # Half a measure is left open, since phrases begin and end inside measures.
        short = before and before[-1].end - before[0].onset < least - least / 4
        crosses = before and any(before[-1].onset < one <= notes[-1].onset for one in borders)
        if short and not crosses:
            joined[-1] = before + notes
        else:
            joined.append(notes)
    return joined
