"""Scores with analyses by people, as the chord decoder is fitted to them and scored on them.

Two sets: the scores under ``../shared/reference/scores`` (JSON as its README describes), and
fifteen Bach chorales of music21's corpus with analyses in RomanText (riemenschneider 001 to 020
without 006, 011, 014, 015 and 017, whose measures do not line up with the score).
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any, Final, NamedTuple

import music21
import numpy as np
from music21.corpus.chorales import ChoraleListRKBWV

from analysis.inference.chord_lattices import ChordLattice, near_tonics, plausible_tonics
from analysis.inference.chord_vocabularies import QUALITIES, NumeralState, Vocabulary, list_states
from analysis.inference.note_segments import GridSegments
from analysis.pitch import PitchName
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from analysis.score import Score
from analysis.vocabulary.note_grid import Ints, NoteGrid, read_grid

REFERENCE: Final = Path(__file__).parents[3] / "shared" / "reference" / "scores"
CHORALES: Final = tuple(n for n in range(1, 21) if n not in (6, 11, 14, 15, 17))
_MAJOR_LIKE: Final = ("major", "mixolydian", "lydian")
_TRIADS: Final = {(4, 7): "maj", (3, 7): "min", (3, 6): "dim", (4, 8): "aug", (4, None): "maj"}
_SEVENTHS: Final = {None: "", 10: "m7", 11: "M7", 9: "d7"}
#: The triad that a degree most likely has where the analysis leaves its third open.
_OPEN_TRIADS: Final = (
    {1: "maj", 0: "maj", -1: "maj", 5: "dim", 2: "min", 4: "min", 3: "min"},
    {1: "maj", 0: "min", -1: "min", 5: "dim", 2: "dim", -4: "maj"},
)


class Label(NamedTuple):
    """What is scored of a chord: tonic and the rest in fifths from it; inversion 0 to 3."""

    tonic: int
    mode: int
    root: int
    triad: str
    seventh: str
    target: int | None
    inversion: int


@dataclass(frozen=True)
class Stretch:
    """A label from an onset to an end, in quarter notes; ``roman`` as the analyst wrote it."""

    onset: float
    end: float
    label: Label | None
    roman: str = ""


@dataclass(frozen=True)
class Piece:
    """A score, its grid and segments, and the analysts' labels in order of time."""

    name: str
    grid: NoteGrid
    segments: GridSegments
    chords: tuple[Stretch, ...]


def fold(fifths: int) -> int:
    """Fifths folded by twelve into -11 to 11."""
    while fifths > 11:
        fifths -= 12
    while fifths < -11:
        fifths += 12
    return fifths


def read_pieces(folder: Path = REFERENCE, chorales: bool = True) -> list[Piece]:
    """All pieces of both sets, in order of name; the folder may be missing."""
    pieces = []
    for path in sorted(folder.glob("*.mxl")):
        labels = json.loads(path.with_suffix(".json").read_text("utf-8"))["chords"]
        stretches = tuple(_stretch(chord) for chord in labels)
        pieces.append(_piece(path.stem, read_score(read_source(path)), stretches))
    if chorales:
        pieces.extend(_read_chorale(number) for number in CHORALES)
    return pieces


def _piece(name: str, score: Score, chords: tuple[Stretch, ...]) -> Piece:
    grid = read_grid(score)
    return Piece(name, grid, GridSegments(grid), chords)


def _stretch(chord: dict[str, Any]) -> Stretch:
    end = chord["onset"] + chord["duration"]
    if chord["nc"]:
        return Stretch(chord["onset"], end, None)
    tonic = PitchName.parse(chord["key"]["tonic"]).fifths
    applied = chord["applied_root"]
    label = Label(
        tonic,
        0 if chord["key"]["mode"] in _MAJOR_LIKE else 1,
        fold(PitchName.parse(chord["root"]).fifths - tonic),
        chord["triad"],
        chord["seventh"],
        fold(PitchName.parse(applied).fifths - tonic) if applied else None,
        chord["inversion"],
    )
    return Stretch(chord["onset"], end, label, chord["roman"])


def chorale_paths(number: int) -> tuple[Path, Path]:
    """The score of a chorale by its number in Riemenschneider's edition, and its analysis."""
    corpus = Path(music21.__file__).parent / "corpus" / "bach"
    catalogue = ChoraleListRKBWV().byRiemenschneider[number]["bwv"]  # type: ignore[no-untyped-call]
    analysis = corpus / "choraleAnalyses" / f"riemenschneider{number:03d}.rntxt"
    return next(corpus.glob(f"bwv{catalogue}.*")), analysis


def read_romantext(path: Path) -> tuple[Stretch, ...]:
    """The numerals of a RomanText file in order of time, as music21 reads it."""
    analysis = music21.converter.parse(path)
    return tuple(
        _stretch_of_numeral(numeral, float(numeral.getOffsetInHierarchy(analysis)))
        for numeral in analysis.recurse().getElementsByClass("RomanNumeral")
    )


def _read_chorale(number: int) -> Piece:
    path, analysis = chorale_paths(number)
    return _piece(f"bach-{number:03d}", read_score(read_source(path)), read_romantext(analysis))


def _stretch_of_numeral(numeral: Any, onset: float) -> Stretch:
    root = numeral.root()

    def interval(step: int) -> int | None:
        tone = numeral.getChordStep(step)
        return None if tone is None else (tone.pitchClass - root.pitchClass) % 12

    tonic = _name(numeral.key.tonic).fifths
    target = numeral.secondaryRomanNumeral
    label = Label(
        tonic,
        0 if numeral.key.mode in _MAJOR_LIKE else 1,
        fold(_name(root).fifths - tonic),
        _TRIADS.get((interval(3), interval(5)), "other"),  # type: ignore[arg-type]
        _SEVENTHS.get(interval(7), ""),
        fold(_name(target.root()).fifths - tonic) if target is not None else None,
        numeral.inversion(),
    )
    return Stretch(onset, onset + float(numeral.quarterLength), label, numeral.figure)


def _name(pitch: Any) -> PitchName:
    return PitchName.parse(pitch.name.replace("-", "b"))


def modelled(stretch: Stretch) -> Label:
    """The label with what the decoder does not know put in what it knows.

    A chord without a third gets its degree's own; a seventh that no quality has is left out.
    """
    label = stretch.label
    assert label is not None
    triad, seventh = label.triad, label.seventh
    sixth = re.match(r"It|Ger", stretch.roman) is not None
    if triad == "other" and not sixth:
        triad = _OPEN_TRIADS[label.mode].get(label.root, "maj")
        if label.target is not None:
            triad = "maj" if fold(label.root - label.target) == 1 else "dim"
    if triad == "other" and stretch.roman.startswith("It"):
        seventh = ""
    known = {(quality.triad or "other", quality.seventh) for quality in QUALITIES}
    if (triad, seventh) not in known:
        seventh = "m7" if seventh == "d7" and triad != "dim" and (triad, "m7") in known else ""
    quality = _quality_of(triad, seventh)
    inversion = min(label.inversion, len(QUALITIES[quality].tones) - 1)
    return label._replace(triad=triad, seventh=seventh, inversion=inversion)


def _quality_of(triad: str, seventh: str) -> int:
    for number, quality in enumerate(QUALITIES):
        if (quality.triad or "other", quality.seventh) == (triad, seventh):
            return number
    return _quality_of(triad, "") if seventh else 0


def count_states(pieces: Iterable[Piece], least: int = 2) -> Vocabulary:
    """The numerals that occur at least so often, each in the inversions that occur."""
    types: tuple[Counter[tuple[int, int, int | None]], ...] = (Counter(), Counter())
    seen: set[NumeralState] = set()
    for piece in pieces:
        for stretch in piece.chords:
            if stretch.label is None:
                continue
            label = modelled(stretch)
            quality = _quality_of(label.triad, label.seventh)
            types[label.mode][label.root, quality, label.target] += 1
            seen.add(NumeralState(label.mode, label.root, quality, label.inversion, label.target))
    kept = [
        state
        for state in seen
        if types[state.mode][state.root, state.quality, state.target] >= least
    ]
    return list_states(kept)


class Gold:
    """Finds the states of a vocabulary that labels name, or the nearest ones."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self._vocabulary = vocabulary
        self._known: dict[Label, int] = {}

    def numeral(self, label: Label) -> int:
        """The number of a label's state in its mode."""
        bare = label._replace(tonic=0)
        if bare not in self._known:
            states = self._vocabulary.states[label.mode]
            likeness = [_likeness(state, label) for state in states]
            self._known[bare] = int(np.argmax(likeness))
        return self._known[bare]

    def lattice_keys(self, piece: Piece) -> Ints:
        """Tonics of a piece that its lattice needs: the plausible ones and the analysts' own."""
        own = {stretch.label.tonic * 7 % 12 for stretch in piece.chords if stretch.label}
        return np.union1d(plausible_tonics(piece.grid), sorted(own)).astype(np.int64)

    def row(self, piece: Piece, keys: Ints) -> Ints:
        """The analysts' state at each step, changing only where a segment may begin."""
        times = [float(time) for time in piece.grid.times]
        places = {int(key): at for at, key in enumerate(keys)}
        row = np.full(piece.grid.steps, -1)
        at = 0
        for step, time in enumerate(times[:-1]):
            while at + 1 < len(piece.chords) and piece.chords[at + 1].onset <= time + 1e-6:
                at += 1
            if piece.chords[at].label is not None:
                label = modelled(piece.chords[at])
                place = places[label.tonic * 7 % 12 * 2 + label.mode]
                row[step] = place * self._vocabulary.size + self.numeral(label)
        row[0] = row[0] if row[0] >= 0 else row[row >= 0][0]
        for step in range(1, len(row)):
            if row[step] < 0 or not piece.segments.starts[step]:
                row[step] = row[step - 1]
        return row


def _likeness(state: NumeralState, label: Label) -> float:
    quality = QUALITIES[state.quality]
    return (
        8 * (state.root == label.root)
        + 4 * ((quality.triad or "other") == label.triad)
        + 3 * (state.target == label.target)
        + 2 * (quality.seventh == label.seventh)
        + 1.5 * (state.inversion == label.inversion)
    )


def stretches_of(piece: Piece, lattice: ChordLattice, path: Ints) -> list[Stretch]:
    """A path of states as labels with their places."""
    vocabulary = lattice.tables.vocabulary
    times = [float(time) for time in piece.grid.times]
    tonics = near_tonics(piece.grid.centre)
    edges: Sequence[int] = [0, *(np.flatnonzero(np.diff(path)) + 1), len(path)]
    out = []
    for first, last in pairwise(edges):
        place, numeral = divmod(int(path[first]), vocabulary.size)
        key = int(lattice.keys[place])
        state = vocabulary.states[key % 2][numeral]
        quality = QUALITIES[state.quality]
        label = Label(
            int(tonics[first, key]),
            key % 2,
            state.root,
            quality.triad or "other",
            quality.seventh,
            state.target,
            state.inversion,
        )
        out.append(Stretch(times[first], times[last], label))
    return out
