"""The bones of a score: as much of it as is needed to find the same music again.

The task: a review must still fit after its transcription was corrected and exported anew, though
ids, measure numbers and part ids may all have changed. So a review file keeps, beside the
decisions, what music they were made about: the parts with their names, the measures with number,
length and meter, every note with its place in the measure, its duration and pitch, every chord
symbol. No lyrics, dynamics, clefs or layout: they say little about where a measure has gone.

Conventions: places are counted from the start of the measure, so that measures can be compared
wherever they stand. Pitches are sounding and spelled. A chord symbol is compared by what it says,
not by how it is printed.

In a file each measure of a part is one line of text, ``pitch onset duration id`` with commas
between notes (``Bb4 0 1/2 p1m3n1, x 1/2 1/2 p1m3n2``; ``x`` is a note without pitch), a fifth of
the size of JSON objects. Nothing that follows from the rest (digests, offsets) is stored, so that
it cannot contradict it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from analysis.pitch import Pitch
from analysis.score import ChordSymbol, Part, Score
from analysis.timebase import Fraction, Meter, Offset, parse_offset


@dataclass(frozen=True, slots=True)
class BoneNote:
    """A note: its id then, onset within its measure, written duration, sounding pitch."""

    id: str
    onset: Offset
    duration: Offset
    pitch: Pitch | None


@dataclass(frozen=True, slots=True)
class BonePart:
    """A part: id and name then, and its notes, a tuple for each measure in score order."""

    id: str
    name: str
    measures: tuple[tuple[BoneNote, ...], ...]


@dataclass(frozen=True, slots=True)
class BoneMeasure:
    """A measure: printed number, real length in quarter notes, meter."""

    number: str
    length: Offset
    meter: Meter


@dataclass(frozen=True, slots=True)
class BoneSymbol:
    """A chord symbol: its id then, measure index, onset within it, and what it says."""

    id: str
    measure: int
    onset: Offset
    text: str


@dataclass(frozen=True, slots=True)
class Skeleton:
    """A score's bones; every part has as many measures as there are."""

    parts: tuple[BonePart, ...]
    measures: tuple[BoneMeasure, ...]
    symbols: tuple[BoneSymbol, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what could not have come from a score."""
        count = len(self.measures)
        if any(len(part.measures) != count for part in self.parts):
            raise ValueError("a part does not have all measures")
        if any(not 0 <= symbol.measure < count for symbol in self.symbols):
            raise ValueError("a chord symbol stands in no measure")
        if any(measure.length < 0 for measure in self.measures):
            raise ValueError("a measure is shorter than nothing")

    @property
    def onsets(self) -> tuple[Offset, ...]:
        """Where each measure begins, and at the end where the piece ends."""
        onsets = [Fraction(0)]
        for measure in self.measures:
            onsets.append(onsets[-1] + measure.length)
        return tuple(onsets)


def skeleton_of(score: Score) -> Skeleton:
    """The bones of a score."""
    return Skeleton(
        parts=tuple(_part(part, score) for part in score.parts),
        measures=tuple(
            BoneMeasure(measure.number, measure.length, measure.meter) for measure in score.measures
        ),
        symbols=tuple(
            BoneSymbol(
                symbol.id,
                symbol.measure,
                symbol.onset - score.measures[symbol.measure].onset,
                symbol_text(symbol),
            )
            for symbol in score.chord_symbols
        ),
    )


def _part(part: Part, score: Score) -> BonePart:
    rows: list[list[BoneNote]] = [[] for _ in score.measures]
    starts = [measure.onset for measure in score.measures]
    for note in part.notes:
        onset = note.onset - starts[note.measure]
        rows[note.measure].append(BoneNote(note.id, onset, note.duration, note.pitch))
    return BonePart(part.id, part.name, tuple(map(tuple, rows)))


def symbol_text(symbol: ChordSymbol) -> str:
    """What a chord symbol says, whatever it prints: root, kind, degrees and bass."""
    words = [str(symbol.root or ""), symbol.kind]
    words += [f"{one.type}{one.alter:+d} {one.value}" for one in symbol.degrees]
    if symbol.bass is not None and symbol.bass != symbol.root:
        words.append(f"/{symbol.bass}")
    return " ".join(words).strip()


def part_to_plain(part: BonePart) -> dict[str, Any]:
    """A part as JSON values, each measure one line of text."""
    pitches: dict[Pitch | None, str] = {None: "x"}

    def text(note: BoneNote) -> str:
        if note.pitch not in pitches:
            pitches[note.pitch] = str(note.pitch)
        return f"{pitches[note.pitch]} {note.onset!s} {note.duration!s} {note.id}"

    return {
        "id": part.id,
        "name": part.name,
        "measures": [", ".join(map(text, row)) for row in part.measures],
    }


def part_from_plain(plain: Any) -> BonePart:
    """A part of JSON values again; ValueError or NotationError where they make no sense."""
    if not isinstance(plain, dict) or set(plain) != {"id", "name", "measures"}:
        raise ValueError("a part of the skeleton has other fields")
    texts = (plain["id"], plain["name"], *plain["measures"])
    if not isinstance(plain["measures"], list) or not all(isinstance(one, str) for one in texts):
        raise ValueError("a part of the skeleton is not text")
    pitches: dict[str, Pitch | None] = {"x": None}
    offsets: dict[str, Offset] = {}

    def note(words: str) -> BoneNote:
        pitch, onset, duration, note_id = words.split(" ", 3)
        if pitch not in pitches:
            pitches[pitch] = Pitch.parse(pitch)
        for number in (onset, duration):
            if number not in offsets:
                offsets[number] = parse_offset(number)
        return BoneNote(note_id, offsets[onset], offsets[duration], pitches[pitch])

    return BonePart(
        plain["id"],
        plain["name"],
        tuple(tuple(map(note, row.split(", "))) if row else () for row in plain["measures"]),
    )
