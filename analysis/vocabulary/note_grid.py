"""The notes of a score on a grid of time steps, as arrays for the chord decoder.

Task
----
A chord seldom changes between half-beats, so the notes are counted on a grid of half-beats (thirds
of the beat in compound meters) and barlines. Each step holds how long every spelled pitch class
sounds, which sound at its start, which are struck, which move like embellishment, and the lowest
note. Spelling is kept: a pitch class is its place on the line of fifths (C = 0, G = 1, F = -1).

Conventions
-----------
Durations are in quarter notes. Column ``f`` of an array with `LINE` columns stands for the name
``f + LOW`` fifths from C; names outside (triple sharps and flats) are folded by twelve fifths.
What looks like embellishment is told by how a note moves within its voice: reached and left by step
(as passing and neighbour notes are), reached and left by leap (as chord tones are), left by a step
down (as suspensions and sevenths are).

References
----------
The grid, and the metrical weights, follow the task rather than a text: common practice, no source.
Line of fifths: D. Temperley, *The Cognition of Basic Musical Structures*, MIT Press 2001 (from
memory).
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from analysis.score import Note, Score
from analysis.timebase import Fraction, Meter, Offset

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]

#: Lowest place on the line of fifths that has a column, and the number of columns.
LOW: Final = -27
LINE: Final = 59
#: What each channel of `NoteGrid.channels` counts, in order.
CHANNELS: Final = ("sounding", "stepwise", "struck", "at start", "highest", "leaping", "falling")
_NEAR: Final = 1e-6
#: Weight of a step by its metrical level: measure, strong beat, beat, between beats.
LEVEL_WEIGHTS: Final = (1.0, 0.85, 0.7, 0.5)


@dataclass(frozen=True)
class NoteGrid:
    """The notes of a score counted on a grid of T steps.

    Parameters
    ----------
    times
        Starts of the steps and the end of the last: T + 1 offsets.
    beats
        Length of each step in beats of its measure, shape (T,).
    levels
        Metrical level of each step's start, 0 measure to 3 between beats, shape (T,).
    channels
        What each of `CHANNELS` counts of each spelled pitch class, shape (T, channels, LINE):
        quarter notes, but numbers of notes for "struck" and "at start", 0 or 1 for "highest".
    bass
        Column of the lowest note at each step's start, or within it where the step starts with a
        rest; -1 in silence; shape (T,).
    lowest, lowest_key
        Column and key number of the lowest note within each step, -1 and 127 in silence; (T,).
    onsets
        Notes struck within each step, shape (T,).
    centre
        Mean place on the line of fifths of the notes around each step, shape (T,).
    signature
        Written key signature at each step in fifths, shape (T,).
    has_signature
        Whether a signature is written and may be used.
    """

    times: tuple[Offset, ...]
    beats: Floats
    levels: Ints
    channels: Floats
    bass: Ints
    lowest: Ints
    lowest_key: Ints
    onsets: Ints
    centre: Floats
    signature: Ints
    has_signature: bool

    @property
    def steps(self) -> int:
        """Number of steps, T."""
        return len(self.levels)


def column_of(fifths: int) -> int:
    """The column of a place on the line of fifths, folded by twelve where it lies outside."""
    column = fifths - LOW
    while column < 0:
        column += 12
    while column >= LINE:
        column -= 12
    return column


def grid_times(score: Score) -> tuple[list[Offset], list[int], list[float]]:
    """Starts of the grid's steps with their levels, and the length of a step in beats.

    Returns
    -------
    times
        Starts of steps in order, followed by the end of the piece.
    levels
        One level a step: 0 measure, 1 strong beat (the middle of a measure of four or two beats
        of three), 2 other beats, 3 between beats.
    beats
        One length a step, in beats of its measure.
    """
    times: list[Offset] = []
    levels: list[int] = []
    beats: list[float] = []
    for measure in score.measures:
        if measure.length <= 0:
            continue
        step, late = _step_of(measure.meter), Fraction(0)
        if measure.pickup:
            late = max(measure.meter.length - measure.length, Fraction(0))
        place = -(-late // step) * step
        starts = [late] if place > late or late == 0 else []
        while place < late + measure.length:
            if place not in starts:
                starts.append(place)
            place += step
        ends = [*starts[1:], late + measure.length]
        for start, end in zip(starts, ends, strict=True):
            times.append(measure.onset + start - late)
            levels.append(_level_of(start, measure.meter))
            beats.append(float((end - start) / measure.meter.beat))
    times.append(score.end)
    return times, levels, beats


def _step_of(meter: Meter) -> Fraction:
    beat = meter.beat
    compound = beat != Fraction(4, meter.beat_type)
    return beat / 3 if compound else beat / 2


def _level_of(place: Fraction, meter: Meter) -> int:
    if place % meter.length == 0:
        return 0
    beat = meter.beat
    if place % beat != 0:
        return 3
    count = meter.length / beat
    strong = count.denominator == 1 and count % 2 == 0 and count > 2
    return 1 if strong and place % (meter.length / 2) == 0 else 2


def _figures(notes: list[Note]) -> dict[str, tuple[bool, bool, bool]]:
    """How each note moves within its voice: by step on both sides, by leap, down by step.

    A chord moves from each of its notes to the nearest note of the next. A note that repeats is
    none of the three; one at a voice's end is judged by the side it has.
    """
    voices: defaultdict[tuple[str, int, str], defaultdict[Fraction, list[Note]]]
    voices = defaultdict(lambda: defaultdict(list))
    for note in notes:
        voices[note.part, note.staff, note.voice][note.onset].append(note)
    found: dict[str, tuple[bool, bool, bool]] = {}
    for voice in voices.values():
        starts = sorted(voice)
        for at, start in enumerate(starts):
            before = voice[starts[at - 1]] if at else []
            after = voice[starts[at + 1]] if at + 1 < len(starts) else []
            for note in voice[start]:
                come = 0 if note.tie_stop else _nearest(note, before)
                go = 0 if note.tie_start else _nearest(note, after)
                found[note.id] = (
                    abs(come) == 1 and abs(go) == 1,
                    abs(come) > 1 and abs(go) > 1,
                    go == -1,
                )
    return found


def _nearest(note: Note, others: list[Note]) -> int:
    """Staff places from a note to the nearest of the others; 0 where there is none."""
    assert note.pitch is not None
    place = note.pitch.diatonic
    moves = [other.pitch.diatonic - place for other in others if other.pitch is not None]
    return min(moves, key=abs, default=0)


def sounding_notes(score: Score) -> list[Note]:
    """Pitched notes of all parts that sound: no grace notes, no cues, no percussion."""
    return [
        note
        for part in score.parts
        if not part.percussion
        for note in part.notes
        if note.pitch is not None and note.duration > 0 and not note.grace and not note.cue
    ]


def read_grid(score: Score, use_key_signature: bool = True) -> NoteGrid:
    """Count the notes of a score on its grid.

    Parameters
    ----------
    score
        Any score; one without measures gives an empty grid.
    use_key_signature
        Whether `signature` shows the written one; else it is all zero.

    Notes
    -----
    Time and memory grow with the notes and the steps, not with their product.
    """
    times, levels, beats = grid_times(score)
    count = _Count(times)
    notes = sounding_notes(score)
    figures = _figures(notes)
    for note in notes:
        count.add(note, figures[note.id])
    filled = count.highest >= 0
    count.channels[np.flatnonzero(filled), 4, count.highest[filled]] = 1.0
    lengths = np.array(beats, np.float32)
    return NoteGrid(
        times=tuple(times),
        beats=lengths,
        levels=np.array(levels, np.int64),
        channels=count.channels,
        bass=np.where(count.bass < 0, count.lowest, count.bass),
        lowest=count.lowest,
        lowest_key=count.lowest_key,
        onsets=count.onsets,
        centre=_centre(count.channels[:, 0], lengths),
        signature=_signature(score, times, use_key_signature),
        has_signature=use_key_signature and bool(score.key_signatures),
    )


class _Count:
    """The arrays of a grid while notes are added to them, one at a time."""

    def __init__(self, times: list[Offset]) -> None:
        steps = len(times) - 1
        self.times = [float(time) for time in times]
        self.channels = np.zeros((steps, len(CHANNELS), LINE), np.float32)
        self.onsets = np.zeros(steps, np.int64)
        self.bass, self.bass_key = np.full(steps, -1, np.int64), np.full(steps, 127, np.int64)
        self.lowest, self.lowest_key = np.full(steps, -1, np.int64), np.full(steps, 127, np.int64)
        self.highest, self.highest_key = np.full(steps, -1, np.int64), np.zeros(steps, np.int64)

    def add(self, note: Note, figure: tuple[bool, bool, bool]) -> None:
        """Count one note in every step it sounds in."""
        assert note.pitch is not None
        start, end = float(note.onset), float(note.end)
        column, key = column_of(note.pitch.name.fifths), note.pitch.midi
        at = max(bisect_left(self.times, start + _NEAR) - 1, 0)
        if at < len(self.onsets) and not note.tie_stop:
            self.channels[at, 2, column] += 1
            self.onsets[at] += 1
        while at < len(self.onsets) and self.times[at] < end - _NEAR:
            here = self.channels[at, :, column]
            share = min(end, self.times[at + 1]) - max(start, self.times[at])
            here[0] += share
            here[[1, 5, 6]] += np.multiply(figure, share)
            if start <= self.times[at] + _NEAR:
                here[3] += 1
                if key < self.bass_key[at]:
                    self.bass_key[at], self.bass[at] = key, column
            if key < self.lowest_key[at]:
                self.lowest_key[at], self.lowest[at] = key, column
            if key > self.highest_key[at]:
                self.highest_key[at], self.highest[at] = key, column
            at += 1


def _centre(sounding: Floats, beats: Floats, reach: float = 24.0) -> Floats:
    """Mean place on the line of fifths within ``reach`` beats either way."""
    steps = len(beats)
    if not steps:
        return np.zeros(0, np.float32)
    line = np.arange(LINE) + LOW
    mass = np.concatenate([[0.0], np.cumsum(sounding.sum(axis=1), dtype=float)])
    moment = np.concatenate([[0.0], np.cumsum(sounding @ line, dtype=float)])
    ends = np.concatenate([[0.0], np.cumsum(beats, dtype=float)])
    left = np.searchsorted(ends, ends[:-1] - reach)
    right = np.minimum(np.searchsorted(ends, ends[1:] + reach), steps)
    weight = mass[right] - mass[left]
    whole = moment[-1] / mass[-1] if mass[-1] > 0 else 0.0
    centre = np.where(
        weight > 1e-6, (moment[right] - moment[left]) / np.maximum(weight, 1e-6), whole
    )
    return centre.astype(np.float32)


def _signature(score: Score, times: list[Offset], use: bool) -> Ints:
    out = np.zeros(len(times) - 1, np.int64)
    if use:
        for written in score.key_signatures:
            out[bisect_left(times, written.onset, hi=len(out)) :] = written.fifths
    return out
