"""What sounds at a place: the chord and the key under an offset, found by halving.

A row of chord facts in order of time, with the key regions beside it, answers the questions that
every detector of notes against harmony asks: which chord is this over, when does it change, in
which key are we.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from functools import cached_property

from analysis.marks import ChordFact, KeyRegion
from analysis.pitch import Key
from analysis.timebase import Offset


class ChordRow:
    """Chords and key regions in order of time, to be asked by offset.

    Parameters
    ----------
    chords
        Chord facts in order of time; gaps between them are places without a chord.
    regions
        Key regions that tile the piece.
    """

    def __init__(self, chords: Sequence[ChordFact], regions: Sequence[KeyRegion]) -> None:
        self.chords = tuple(chords)
        self.regions = tuple(regions)
        # Equal fractions are equal floats, which compare much faster.
        self._starts = [float(fact.span.start) for fact in chords]
        self._keys = [float(region.span.start) for region in regions]

    @cached_property
    def _changes(self) -> list[int]:
        """Of each chord the index of the next one with other tones."""
        changes = [len(self.chords)] * len(self.chords)
        sounds = [_sound(fact) for fact in self.chords]
        for at in range(len(sounds) - 2, -1, -1):
            changes[at] = changes[at + 1] if sounds[at] == sounds[at + 1] else at + 1
        return changes

    def index(self, offset: Offset) -> int:
        """Index of the chord that sounds at an offset, -1 where there is none."""
        at = bisect_right(self._starts, float(offset)) - 1
        return at if at >= 0 and offset in self.chords[at].span else -1

    def at(self, offset: Offset) -> ChordFact | None:
        """The chord that sounds at an offset; None for N.C. and where nothing is said."""
        index = self.index(offset)
        return self.chords[index] if index >= 0 and self.chords[index].chord else None

    def change_after(self, offset: Offset) -> ChordFact | None:
        """The next chord with other tones than the one at an offset; None where none follows."""
        at = bisect_right(self._starts, float(offset)) - 1
        later = self._changes[at] if at >= 0 else 0
        return self.chords[later] if later < len(self.chords) and self.chords[later].chord else None

    def key_at(self, offset: Offset) -> Key | None:
        """The key at an offset, None where no region is known."""
        at = bisect_right(self._keys, float(offset)) - 1
        return self.regions[max(at, 0)].key if self.regions else None


def _sound(fact: ChordFact) -> tuple[object, ...]:
    chord = fact.chord
    return (chord.root.pc, chord.degrees) if chord else ()
