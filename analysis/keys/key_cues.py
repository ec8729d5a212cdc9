"""Cues for the key: what chords, melody, places and returns say, before any key is chosen.

The task is to turn a row of chords and a melody into counts that can be weighed under any tonic.
A cue is a sounding thing (a chord's root and quality, a melody note) in a telling place, with a
weight. Seen from a tonic it is an interval, so that one table serves all twelve keys. The cues
are those of Temperley and De Clercq (roots, melody, meter) and a few more that listeners lean on:

- ``chords``: every chord by its length, up to four measures' worth;
- ``melody``: every melody note by its length; ``phrase ends``: the last note before a rest;
- ``first``, ``last``: the first and the last chord;
- ``loop starts``: the first chord of each pass of a chord loop; - ``fours``: the chord on the
  first beat of each group of four measures, counted from the latest place where a longer stretch
  of chords returns.

Beside them stand the places where a key may well change (``borders``), the chords that return in
the same surroundings (``twins``), and the stretches that return at another pitch (``shifts``):
where the same chords come back a step up, so does the key.

References
----------
D. Temperley & T. de Clercq, "Statistical analysis of harmony and melody in rock music", *Journal of
New Music Research* 42/3, 2013. Loops and returns: common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from analysis.chords import Chord
from analysis.marks import PlacedChord
from analysis.score import Measure
from analysis.vocabulary.voices import HeldNote

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

#: Qualities a chord is counted by, in order.
QUALITIES: Final = ("major", "minor", "diminished", "no third", "dominant seventh")
_MINOR: Final = (1, 2)
_NO_THIRD: Final = 3
#: Kinds of cue that are counted in tables, in order.
BLOCKS: Final = ("chords", "melody", "phrase ends", "first", "last", "loop starts", "fours")
#: Those of them that are single notes and so have no quality.
NOTE_BLOCKS: Final = ("melody", "phrase ends")
#: Kinds of border, in order of the columns of `Cues.borders`.
BORDERS: Final = ("measure", "after a rest", "fourth measure", "return", "loop")
#: A melody note counts for at most this long, in quarters; what follows counts as a rest.
_LONGEST_NOTE: Final = 2.0
_REST: Final = 1.0
_LONGEST_CHORD: Final = 16.0
_LOOP_CHORDS: Final = (2, 3, 4, 5, 6, 8)
_LONGEST_LOOP: Final = 36.0


@dataclass(frozen=True, slots=True)
class ChordEvent:
    """One or more placed chords of the same root and quality in a row.

    ``first`` and ``last`` are indexes into the row of placed chords; times are in quarters.
    """

    root: int
    quality: int
    start: float
    end: float
    first: int
    last: int

    @property
    def duration(self) -> float:
        """Length in quarters."""
        return self.end - self.start

    @property
    def shape(self) -> tuple[int, bool]:
        """Root and whether it is minor, which is what returns are compared by."""
        return self.root, self.quality == 1


@dataclass(frozen=True, slots=True)
class Shift:
    """A stretch of ``length`` events that returns ``steps`` half steps higher."""

    first: int
    later: int
    length: int
    steps: int


@dataclass(frozen=True, slots=True)
class Cues:
    """All cues of one piece.

    Parameters
    ----------
    seen
        For each of `BLOCKS`: event, pitch class, quality and weight of every cue, four arrays.
    borders
        (events, len(BORDERS)) strengths in [0, 1].
    twins
        Group number of each event; events of one group have the same neighbours.
    shares
        (12,) share of the piece's time on each root with its commoner third.
    """

    events: tuple[ChordEvent, ...]
    seen: dict[str, tuple[Ints, Ints, Ints, Floats]]
    borders: Floats
    twins: Ints
    shifts: tuple[Shift, ...]
    shares: Floats

    @property
    def durations(self) -> Floats:
        """(events,) lengths in quarters."""
        return np.array([event.duration for event in self.events])

    @property
    def roots(self) -> Ints:
        """(events,) pitch classes of the roots."""
        return np.array([event.root for event in self.events])

    @property
    def qualities(self) -> Ints:
        """(events,) indexes into `QUALITIES`."""
        return np.array([event.quality for event in self.events])


def quality_of(chord: Chord) -> int:
    """Index into `QUALITIES`; an augmented triad counts as major."""
    if chord.triad == "maj" and chord.seventh == "m7":
        return 4
    return {"maj": 0, "aug": 0, "min": 1, "dim": 2, "": 3}[chord.triad]


def read_events(placed: Sequence[PlacedChord]) -> tuple[ChordEvent, ...]:
    """Chords in order with repetitions joined; N.C. is passed over and nothing joined across it."""
    events: list[ChordEvent] = []
    joined = False
    for at, one in enumerate(placed):
        if one.chord is None:
            joined = False
            continue
        root, quality = one.chord.root.pc, quality_of(one.chord)
        start, end = float(one.span.start), float(one.span.end)
        if joined and (events[-1].root, events[-1].quality) == (root, quality):
            before = events[-1]
            events[-1] = ChordEvent(root, quality, before.start, end, before.first, at)
        else:
            events.append(ChordEvent(root, quality, start, end, at, at))
        joined = True
    return tuple(events)


def find_cues(
    events: Sequence[ChordEvent], line: Sequence[HeldNote], measures: Sequence[Measure]
) -> Cues:
    """The cues of a piece.

    Parameters
    ----------
    events
        At least one.
    line
        The melody, in order of time; may be empty.
    measures
        All measures in order.
    """
    returns, loops = _find_returns(events)
    starts = [float(measure.onset) for measure in measures]
    notes = [
        (
            float(note.onset),
            min(float(note.end), float(note.onset) + _LONGEST_NOTE),
            note.pitch.name.pc,
        )
        for note in line
    ]
    ends = [
        (onset, end, pc, following - end)
        for (onset, end, pc), following in zip(
            notes, [note[0] for note in notes[1:]] + [float("inf")], strict=False
        )
        if following - end >= _REST
    ]
    onsets = [event.start for event in events]
    durations = np.array([event.duration for event in events])
    shares = _shares(events, durations)
    rows: dict[str, list[tuple[int, int, int, float]]] = {block: [] for block in BLOCKS}
    for at, event in enumerate(events):
        length = min(event.duration, _LONGEST_CHORD) ** 0.75
        rows["chords"].append((at, event.root, event.quality, length / 5))
        if loops[at]:
            rows["loop starts"].append((at, event.root, event.quality, 0.5))
    for at in _fours(onsets, starts, returns):
        rows["fours"].append((at, events[at].root, events[at].quality, 0.5))
    for at in (0, len(events) - 1):
        name = "last" if at else "first"
        rows[name].append((at, events[at].root, events[at].quality, 1.0))
    for onset, end, pc in notes:
        rows["melody"].append((_at(onsets, onset), pc, 0, (end - onset) / 4))
    for onset, _, pc, _ in ends:
        rows["phrase ends"].append((_at(onsets, onset), pc, 0, 0.5))
    return Cues(
        events=tuple(events),
        seen={block: _columns(rows[block]) for block in BLOCKS},
        borders=_find_borders(onsets, starts, ends, returns, loops),
        twins=_find_twins(events),
        shifts=_find_shifts(events),
        shares=shares,
    )


def _shares(events: Sequence[ChordEvent], durations: Floats) -> Floats:
    """(12,) share of the time on each root with its commoner third; none goes with either."""
    time = np.zeros((12, 3))
    for event, duration in zip(events, durations, strict=True):
        third = 2 if event.quality == _NO_THIRD else int(event.quality in _MINOR)
        time[event.root, third] += duration
    return np.asarray((time[:, :2].max(axis=1) + time[:, 2]) / max(durations.sum(), 1e-9))


def _columns(rows: list[tuple[int, int, int, float]]) -> tuple[Ints, Ints, Ints, Floats]:
    if not rows:
        none = np.zeros(0, np.int64)
        return none, none, none, np.zeros(0)
    at, pc, quality, weight = zip(*rows, strict=True)
    return np.array(at), np.array(pc), np.array(quality), np.array(weight)


def _at(onsets: Sequence[float], time: float) -> int:
    return max(bisect_right(onsets, time + 1e-6) - 1, 0)


def _lengths(events: Sequence[ChordEvent]) -> list[int]:
    return [round(event.duration * 2) for event in events]


def _find_returns(events: Sequence[ChordEvent]) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Strength of each event as the start of something that returns, and as the start of a loop."""
    count = len(events)
    keys = [(*event.shape, length) for event, length in zip(events, _lengths(events), strict=True)]
    times = [event.start for event in events] + [events[-1].end]
    places: defaultdict[tuple[object, ...], list[int]] = defaultdict(list)
    for at in range(count - 2):
        places[tuple(keys[at : at + 3])].append(at)
    returns = np.zeros(count)
    for found in places.values():
        for first, later in pairwise(found):
            if first > 0 and keys[first - 1] == keys[later - 1]:
                continue
            run = 3
            while later + run < count and keys[first + run] == keys[later + run]:
                run += 1
                if times[later + run] - times[later] >= 32:
                    break
            length = times[min(later + run, count)] - times[later]
            if length >= 8:
                for at in (first, later):
                    returns[at] = max(returns[at], min(length, 32) / 32)
    return returns, _find_loops([event.shape for event in events], times)


def _find_loops(shapes: Sequence[object], times: Sequence[float]) -> npt.NDArray[np.bool_]:
    count = len(shapes)
    loops = np.zeros(count, np.bool_)
    for at in range(count):
        for size in _LOOP_CHORDS:
            if at + 2 * size > count or shapes[at] == shapes[at + 1]:
                continue
            if list(shapes[at : at + size]) != list(shapes[at + size : at + 2 * size]):
                continue
            begins = at < size or shapes[at - 1] != shapes[at + size - 1]
            if begins and times[at + size] - times[at] <= _LONGEST_LOOP:
                here = at
                while shapes[here : here + size] == shapes[at : at + size]:
                    loops[here] = True
                    here += size
            break
    return loops


def _fours(onsets: Sequence[float], starts: Sequence[float], returns: Floats) -> list[int]:
    """Events on the first beat of every fourth measure from the latest return on."""
    numbers = {start: number for number, start in enumerate(starts)}
    found = []
    zero = 0
    for at, onset in enumerate(onsets):
        number = numbers.get(onset)
        if number is None:
            continue
        if returns[at] >= 0.5:
            zero = number
        if (number - zero) % 4 == 0:
            found.append(at)
    return found


def _find_borders(
    onsets: Sequence[float],
    starts: Sequence[float],
    ends: Sequence[tuple[float, float, int, float]],
    returns: Floats,
    loops: npt.NDArray[np.bool_],
) -> Floats:
    numbers = {start: number for number, start in enumerate(starts)}
    borders = np.zeros((len(onsets), len(BORDERS)))
    last_notes = [end[0] for end in ends]
    for at, onset in enumerate(onsets):
        number = numbers.get(onset, -1)
        borders[at, 0] = number >= 0
        before = bisect_right(last_notes, onset - 1e-9) - 1
        if before >= 0:
            _, end, _, rest = ends[before]
            borders[at, 1] = end + min(rest, 8.0) >= onset - 0.01
        borders[at, 2] = number >= 0 and number % 4 == 0
        borders[at, 3] = returns[at]
        borders[at, 4] = loops[at] and not loops[max(0, at - 8) : at].any()
    return borders


def _find_twins(events: Sequence[ChordEvent]) -> Ints:
    shapes = [None, *(event.shape for event in events), None]
    numbers: dict[object, int] = {}
    return np.array(
        [numbers.setdefault(tuple(shapes[at : at + 3]), len(numbers)) for at in range(len(events))]
    )


def _find_shifts(
    events: Sequence[ChordEvent], least: int = 6, least_time: float = 24.0
) -> tuple[Shift, ...]:
    """Stretches of three chords or more that return at another pitch."""
    count = len(events)
    roots = [event.root for event in events]
    minor = [event.quality == 1 for event in events]
    lengths = _lengths(events)
    places: defaultdict[tuple[object, ...], list[int]] = defaultdict(list)
    for at in range(count - 3):
        motion = tuple((roots[at + k + 1] - roots[at + k]) % 12 for k in range(3))
        places[motion, tuple(minor[at : at + 4]), tuple(lengths[at : at + 3])].append(at)
    found: list[Shift] = []
    done: set[tuple[int, int]] = set()

    def alike(first: int, later: int, steps: int) -> bool:
        return (roots[later] - roots[first]) % 12 == steps and minor[first] == minor[later]

    for starts in places.values():
        for number, first in enumerate(starts):
            for later in starts[number + 1 : number + 12]:
                steps = (roots[later] - roots[first]) % 12
                if steps == 0 or (later, first) in done:
                    continue
                back = 0
                while (
                    first - back > 0
                    and alike(first - back - 1, later - back - 1, steps)
                    and abs(lengths[first - back - 1] - lengths[later - back - 1]) <= 1
                ):
                    back += 1
                on = 0
                while (
                    later + on < count
                    and first + on < later - back
                    and alike(first + on, later + on, steps)
                ):
                    on += 1
                done.update((later + k, first + k) for k in range(-back, on))
                stretch = events[later - back : later + on]
                long = len(stretch) >= least and stretch[-1].end - stretch[0].start >= least_time
                if long and len({event.shape for event in stretch}) >= 3:
                    found.append(Shift(first - back, later - back, len(stretch), steps))
    return tuple(found)
