"""Keys and chords where no symbols are written, found in the notes of all parts.

Task
----
Cut the piece into chords and keys and name each chord's root, quality, inversion and, where it is
applied, its target. Non-chord tones are discounted by how they move and how long they sound.

Method
------
Notes are counted on a grid of half-beats (`analysis.vocabulary.note_grid`), every stretch of up to
twelve steps is measured (`analysis.inference.note_segments`) and weighed
(`analysis.inference.chord_weights`), all readings are summed over
(`analysis.inference.chord_lattices`), and the row of numerals that is expected to be right longest
is taken (`analysis.inference.chord_paths`). The weights are fitted on analyses by people; see
``tables/inferred.json``.

Confidence is the model's probability, corrected by how often chords of that probability stood in
pieces it was not fitted to, and halved where one voice sounds alone, of which those pieces have
little.

What it cannot do: chords are triads and seventh chords, so ninths, added sixths and suspensions
come out as what they hang on; a chord that stands for less than a half-beat is passed over; modes
other than major and minor are not told apart, and one that the user sets is followed as the major
or minor that shares its third.

References
----------
The weights: M. Gotham and others, *When in Rome*, and the chorale analyses that music21 carries;
named with their licences in the table.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from analysis.chords import KIND_DEGREES, Chord
from analysis.inference.chord_lattices import ALL_KEYS, ChordLattice, near_tonics, plausible_tonics
from analysis.inference.chord_paths import best_path
from analysis.inference.chord_vocabularies import QUALITIES, NumeralState
from analysis.inference.chord_weights import FittedModel, read_model
from analysis.inference.note_segments import GridSegments
from analysis.marks import Corrections, Evidence, KeyRegion, PlacedChord, Settings
from analysis.pitch import Key, PitchName
from analysis.score import Note, Score
from analysis.timebase import Offset, Span
from analysis.vocabulary.note_grid import LOW, Floats, Ints, NoteGrid, read_grid, sounding_notes
from analysis.vocabulary.wording import key_text

#: On pieces that the weights were not fitted to, the signature made keys worse, not better (right
#: 85.7 % of the time against 87.0 in chorales, 87.8 against 87.9 elsewhere), so it is left out. Its
#: weights stay: the others were fitted beside them.
_SIGNATURE_HELPS: Final = False
#: A key whose probability over a region is at least this is offered as another reading.
_OTHER_KEY: Final = 0.1
#: Chords are plain where less than this share of their time is inverted, diminished or augmented,
#: and then this much of the confidence in their keys is left.
_MARKED_SHARE: Final = 0.15
_PLAIN_TRUST: Final = 0.75
#: Less than this share of dominants that go home or carry sevenths (each counts) makes a song:
#: where chords are plain, and where they are not.
_PLAIN_HOME: Final = 0.4
_MARKED_HOME: Final = 0.1
#: Up to how many voices a chord rests on one voice alone, from how many on several, and how much
#: of the confidence is left in the first case: of the chords found in a melody alone at .46 the
#: third part to two thirds of that stood (rock melodies, voices of songs).
_LONE: Final = 1.1
_SEVERAL: Final = 1.6
_LONE_TRUST: Final = 0.5
#: The augmented sixths' own root lies a diminished third above the root they are reckoned from.
_SIXTH: Final = -10


def infer_chords(
    score: Score,
    settings: Settings = Settings(),
    corrections: Corrections = Corrections(),
    model: FittedModel | None = None,
) -> tuple[tuple[KeyRegion, ...], tuple[PlacedChord, ...]]:
    """Keys and chords of a score from its notes alone.

    Parameters
    ----------
    score
        Any score; its chord symbols are not looked at.
    settings
        Whether the key signature may be used, if it helps; it did not on the analysed scores.
    corrections
        Keys set by hand are followed, with their spelling and their borders.
    model
        Fitted weights in place of those of the package, for measuring.

    Returns
    -------
    regions
        Key regions that tile the piece; none where it has no length.
    placed
        Chords in order of time, without overlap. A measure or more of silence has none.
    """
    grid = read_grid(score, settings.use_key_signature and _SIGNATURE_HELPS)
    if not grid.steps or not grid.onsets.any():
        return (), ()
    model = model or read_model()
    segments = GridSegments(grid)
    allowed, tonics, by_hand = _set_keys(segments, corrections)
    chosen = np.union1d(plausible_tonics(grid), [key.tonic.pc for _, key in corrections.keys])
    lattice = ChordLattice(model.tables, segments, allowed, tonics, chosen.astype(np.int64))
    marginals = lattice.backward(lattice.forward())
    vocabulary = model.tables.vocabulary
    may = None if allowed is None else allowed[:, lattice.keys]
    path = best_path(vocabulary, marginals, grid.beats, segments.starts, may)
    key, numeral = np.divmod(path, vocabulary.size)
    keys = np.zeros((grid.steps, ALL_KEYS), np.float32)
    keys[:, lattice.keys] = marginals.sum(axis=2, dtype=np.float32)
    row = _Row(
        grid,
        model,
        lattice.keys[key],
        numeral,
        marginals[np.arange(grid.steps), key, numeral].astype(np.float32),
        keys,
        tonics,
        by_hand,
    )
    placed = row.chords(sounding_notes(score))
    return row.regions(corrections, _PLAIN_TRUST if is_plain(placed) else 1.0), placed


def is_plain(placed: Sequence[PlacedChord]) -> bool:
    """Whether chords are nearly all root-position major and minor ones, as in rock songs.

    The keys that come with such chords are worth less, since the decoder learnt keys from common
    practice, where leading tones and inversions tell them: on rock songs set out as notes (De
    Clercq and Temperley's corpus, 14 songs) chord roots were right 97 % of the time and tonics 70.
    A key finder that works on the chords does better there.
    """
    time = marked = 0.0
    for one in placed:
        if one.chord is not None:
            length = float(one.span.duration)
            coloured = one.chord.triad not in ("maj", "min")
            time += length
            marked += length * (coloured or one.chord.bass.pc != one.chord.root.pc)
    return marked < _MARKED_SHARE * time


def is_songlike(placed: Sequence[PlacedChord], regions: Sequence[KeyRegion]) -> bool:
    """Whether inferred chords are those of a song, whose keys a key finder for songs hears better.

    The decoder's keys rest on dominants that go home and carry sevenths; where these are few, as in
    rock, its tonics are worth little. On 60 pieces of common practice, each decoded with weights
    that never saw it, dominants that go home and dominant sevenths together fill 45 % of the time
    and more where chords are plain, 14 % where they are not; on 36 rock songs set out as notes less
    than that in 32. Tonics of those 36 are right for 69 % of the time by the decoder, for 95 by the
    key finder with tables that never saw them, and for 95 with this choice.
    """
    starts = [region.span.start for region in regions]
    sounding = [one for one in placed if one.chord is not None]
    time = home = 0.0
    for one, after in pairwise(sounding):
        assert one.chord is not None
        assert after.chord is not None
        tonic = regions[max(bisect_right(starts, one.span.start) - 1, 0)].key.tonic.pc
        length = float(one.span.duration)
        time += length
        if (one.chord.root.pc - tonic) % 12 in (7, 11) and one.chord.triad in ("maj", "dim"):
            home += length * (after.chord.root.pc == tonic)
            home += length * bool(one.chord.seventh)
    return home < (_PLAIN_HOME if is_plain(placed) else _MARKED_HOME) * time


def _set_keys(
    segments: GridSegments, corrections: Corrections
) -> tuple[NDArray[np.bool_] | None, Ints, Ints]:
    """What the keys set by hand mean for each step.

    A chord may begin at each border of a key set by hand, whether a note does or not.

    Returns
    -------
    allowed
        Which keys may hold, shape (T, 24); None for all.
    tonics
        How the tonic of each key is spelled, shape (T, 24).
    by_hand
        Place of the correction that holds, -1 where none does, shape (T,).
    """
    grid = segments.grid
    tonics, by_hand = near_tonics(grid.centre), np.full(grid.steps, -1)
    if not corrections.keys:
        return None, tonics, by_hand
    allowed = np.ones((grid.steps, ALL_KEYS), np.bool_)
    for at, (span, key) in enumerate(corrections.keys):
        first, last = bisect_left(grid.times, span.start), bisect_left(grid.times, span.end)
        last = min(last, grid.steps)
        number = key.tonic.pc * 2 + key.is_minor_like
        allowed[first:last] = np.arange(ALL_KEYS) == number
        tonics[first:last, number] = key.tonic.fifths
        by_hand[first:last] = at
        segments.starts[[min(first, last), last]] = True
    return allowed, tonics, by_hand


@dataclass(frozen=True)
class _Row:
    """The path of a piece and what is known of each step, (T,) or (T, 24)."""

    grid: NoteGrid
    model: FittedModel
    key: Ints
    numeral: Ints
    chance: Floats
    keys: Floats
    tonics: Ints
    by_hand: Ints

    def _key_class(self) -> Ints:
        """Different where the key differs or a key set by hand begins or ends."""
        return self.key + ALL_KEYS * (self.by_hand + 1)

    def _key_runs(self) -> list[tuple[int, int, Key]]:
        found = []
        for first, last in _runs(self._key_class()):
            number = int(self.key[first])
            spelled = int(np.median(self.tonics[first:last, number]))
            found.append((first, last, Key(PitchName(spelled), "minor" if number % 2 else "major")))
        return found

    def _mean(self, chances: Floats, first: int, last: int) -> float:
        weight = self.grid.beats[first:last]
        return float((chances[first:last] * weight).sum() / weight.sum())

    def regions(self, corrections: Corrections, trust: float) -> tuple[KeyRegion, ...]:
        """Key regions with their other readings and what speaks for them."""
        regions = []
        for first, last, key in self._key_runs():
            span = Span(self.grid.times[first], self.grid.times[last])
            number = int(self.by_hand[first])
            hand = corrections.keys[number][1] if number >= 0 else None
            own = key.tonic.pc * 2 + (key.mode == "minor")
            mean = [self._mean(self.keys[:, number], first, last) for number in range(ALL_KEYS)]
            others = sorted(
                (one for one in range(ALL_KEYS) if one != own and mean[one] >= _OTHER_KEY),
                key=lambda one: -mean[one],
            )
            if hand:
                regions.append(KeyRegion(span, hand, 1.0, (), (Evidence("Set by hand."),)))
                continue
            alternatives = tuple((self._key(one, first), mean[one]) for one in others)
            evidence = (self._in_scale(key, first, last),)
            regions.append(KeyRegion(span, key, trust * mean[own], alternatives, evidence))
        return tuple(regions)

    def _key(self, number: int, step: int) -> Key:
        return Key(PitchName(int(self.tonics[step, number])), "minor" if number % 2 else "major")

    def _in_scale(self, key: Key, first: int, last: int) -> Evidence:
        sounding = self.grid.channels[first:last, 0].sum(axis=0)
        scale = {name.pc for name in key.scale}
        if key.mode == "minor":
            scale.add((key.tonic.pc + 11) % 12)
        inside = sum(
            float(mass) for at, mass in enumerate(sounding) if (at + LOW) * 7 % 12 in scale
        )
        share = round(100 * inside / max(float(sounding.sum()), 1e-9))
        return Evidence(f"{share} % of what sounds here lies in the scale of {key_text(key)}.")

    def _confidence(self, first: int, last: int) -> float:
        """What the chord of some steps can be trusted: less where one voice sounds alone."""
        sounding = self.grid.channels[first:last, 0].sum(axis=1)
        heard = sounding > 0
        lengths = np.diff([float(time) for time in self.grid.times[first : last + 1]])
        voices = float(sounding[heard].sum() / max(float(lengths[heard].sum()), 1e-9))
        trust = float(np.interp(voices, (_LONE, _SEVERAL), (_LONE_TRUST, 1.0)))
        return believed(self.model, self._mean(self.chance, first, last)) * trust

    def _heard(self, runs: list[tuple[int, int]]) -> Iterator[tuple[int, int]]:
        """Runs without the silence of a measure or more at their ends."""
        silent = self.grid.channels[:, 0].sum(axis=1) <= 0
        edges = np.flatnonzero(np.diff(silent)) + 1
        firsts = np.flatnonzero(self.grid.levels == 0)
        measure = int(np.median(np.diff(firsts))) if len(firsts) > 1 else self.grid.steps
        for first, last in zip([0, *edges], [*edges, len(silent)], strict=True):
            if last - first < measure:
                silent[first:last] = False
        for first, last in runs:
            heard = np.flatnonzero(~silent[first:last])
            if len(heard):
                yield first + int(heard[0]), first + int(heard[-1]) + 1

    def chords(self, notes: Sequence[Note]) -> tuple[PlacedChord, ...]:
        """The chords with the notes that make them up."""
        vocabulary = self.model.tables.vocabulary
        keys = self._key_runs()
        key_firsts = [first for first, _, _ in keys]
        notes = sorted(notes, key=lambda note: note.onset)
        onsets = [note.onset for note in notes]
        longest = max((note.duration for note in notes), default=Offset(0))
        placed = []
        for first, last in self._heard(_runs(self._key_class() * 1000 + self.numeral)):
            tonic = keys[bisect_right(key_firsts, first) - 1][2].tonic
            state = vocabulary.states[self.key[first] % 2][self.numeral[first]]
            chord = chord_of_state(state, tonic)
            span = Span(self.grid.times[first], self.grid.times[last])
            near = notes[bisect_left(onsets, span.start - longest) : bisect_left(onsets, span.end)]
            placed.append(
                PlacedChord(
                    span,
                    chord,
                    elements=_members(near, chord, span),
                    confidence=self._confidence(first, last),
                    applied_root=None if state.target is None else tonic + state.target,
                )
            )
        return tuple(placed)


def _runs(values: Ints) -> list[tuple[int, int]]:
    """First and last plus one of each run of equal values."""
    edges = [int(at) + 1 for at in np.flatnonzero(np.diff(values))]
    return list(zip([0, *edges], [*edges, len(values)], strict=True))


def chord_of_state(state: NumeralState, tonic: PitchName) -> Chord:
    """The spelled chord that a numeral names over a tonic."""
    quality = QUALITIES[state.quality]
    root, bass = tonic + state.root, tonic + state.bass
    if quality.kind in ("Italian", "German"):
        return Chord(root + _SIXTH, KIND_DEGREES[quality.kind], bass, quality.kind)
    return Chord(root, quality.degrees, bass, quality.kind)


def believed(model: FittedModel, chance: float) -> float:
    """A probability of the model, corrected by how often such chords stood."""
    said, stood = zip(*model.reliability, strict=True)
    return float(np.interp(chance, said, stood))


def _members(notes: Sequence[Note], chord: Chord, span: Span) -> tuple[str, ...]:
    """Ids of the notes that sound in a span and belong to its chord; of all, if none belongs."""
    tones = {tone.pc for tone in chord.tones}
    heard = [note for note in notes if note.onset < span.end and note.end > span.start]
    own = [note for note in heard if note.pitch is not None and note.pitch.name.pc in tones]
    return tuple(note.id for note in own or heard)
