"""Passages of the same music, whatever their place.

The task: number passages so that those of one number hold the same notes and chords, from what
goes on when they begin to what follows a beat after their end; what was found of two passages then
holds of any two of the same numbers.

Conventions. Everything is counted from the start of the passage. Places are compared in millionths
of a quarter note: no two places of a score lie so near that they would fall together.

References
----------
Common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from functools import cached_property
from typing import Final

import numpy as np
import numpy.typing as npt

from analysis.marks import ChordFact, Repeat
from analysis.timebase import Offset
from analysis.vocabulary.voices import PitchedNotes

#: No note is longer, in quarters; tied heads stand apart.
LONGEST_NOTE: Final = 12.0
_UNIT: Final = 1e6

_Asked = tuple[float, float, float, tuple[str, ...]]


class AlikePassages:
    """The passages of one piece.

    Parameters
    ----------
    chords
        All chords of the piece in order of time.
    notes
        Its pitched notes.
    """

    def __init__(self, chords: Sequence[ChordFact], notes: PitchedNotes) -> None:
        self._chords, self._notes = chords, notes
        self._numbers: dict[_Asked, int] = {}
        self._kinds: dict[tuple[object, ...], int] = {}

    def of(self, repeat: Repeat, beat: Offset) -> tuple[int, int, int]:
        """Numbers of a passage and its return, and by how many half steps it is moved.

        Parameters
        ----------
        beat
            So much before and after the passages counts as well.
        """
        length = float(min(repeat.first.duration, repeat.later.duration))
        first, later = (
            self._number((float(span.start), length, float(beat), sung))
            for span, sung in (
                (repeat.first, repeat.first_notes),
                (repeat.later, repeat.later_notes),
            )
        )
        return first, later, repeat.transposition

    @cached_property
    def _spans(self) -> npt.NDArray[np.float64]:
        borders = [(float(one.span.start), float(one.span.end)) for one in self._chords]
        return np.array(borders).reshape(-1, 2)

    @cached_property
    def _starts(self) -> list[float]:
        return [float(start) for start in self._spans[:, 0]]

    @cached_property
    def _facts(self) -> npt.NDArray[np.int64]:
        """A number for what each chord is, its place aside."""
        said: dict[tuple[object, ...], int] = {}
        numbers = [said.setdefault(_said(one), len(said)) for one in self._chords]
        return np.array(numbers, dtype=np.int64)

    @cached_property
    def _sounds(self) -> npt.NDArray[np.float64]:
        return np.array([self._notes.onsets, self._notes.ends]).T.reshape(-1, 2)

    @cached_property
    def _pitches(self) -> npt.NDArray[np.int64]:
        midis = [self._notes.pitches[note.id] for note in self._notes.notes]
        return np.array(midis, dtype=np.int64)

    def _number(self, asked: _Asked) -> int:
        if asked not in self._numbers:
            kind = self._kind(*asked)
            self._numbers[asked] = self._kinds.setdefault(kind, len(self._kinds))
        return self._numbers[asked]

    def _kind(
        self, start: float, length: float, beat: float, sung: tuple[str, ...]
    ) -> tuple[object, ...]:
        """All that is heard in a passage, and which of it is the melody."""
        low = max(bisect_right(self._starts, start - beat) - 1, 0)
        chords = slice(low, bisect_left(self._starts, start + length + beat))
        onsets, places = self._notes.onsets, self._notes.places
        begin, end = bisect_left(onsets, start), bisect_left(onsets, start + length)
        early = bisect_left(onsets, start - LONGEST_NOTE)
        held = early + np.flatnonzero(self._sounds[early:begin, 1] > start)
        melody = tuple(places[note] - begin for note in sung if note in places)
        pitches = [self._notes.notes[begin + place].pitch for place in melody]
        return (
            *(length, beat, melody, tuple(pitch.name for pitch in pitches if pitch)),
            *(_bytes(self._spans[chords] - start), self._facts[chords].tobytes()),
            *(_bytes(self._sounds[held] - start), self._pitches[held].tobytes()),
            *(_bytes(self._sounds[begin:end] - start), self._pitches[begin:end].tobytes()),
        )


def _said(fact: ChordFact) -> tuple[object, ...]:
    numeral = fact.numeral.text if fact.numeral else ""
    said = fact.chord, fact.key, numeral, fact.function, fact.resolution
    return (*said, fact.outside_key, fact.foreign)


def _bytes(places: npt.NDArray[np.float64]) -> bytes:
    return np.rint(places * _UNIT).astype(np.int64).tobytes()
