"""What other libraries read from the same documents, note by note under the same ids.

music21 and partitura read the untouched document, only with the names of
`analysis.reading.documents` in it, since neither knows them otherwise: music21 keeps a note's
colour, partitura its id. Both give each printed note's sounding pitch, place in its measure and
duration, and the chord symbols.

What partitura leaves out is left out of the comparison with it: kinds and basses of chord symbols,
places of them in the measure (it knows no ``<offset>``), and N.C.; changes of octave in a
``<transpose>`` are added to its half steps beforehand, since it does not read them.
"""

from __future__ import annotations

import io
import warnings
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import partitura
from lxml import etree
from music21 import harmony
from music21.musicxml.xmlToM21 import MusicXMLImporter
from partitura import score as partitura_score

from analysis.reading.documents import element_ids, measures_by_part, parse_document
from analysis.reading.sources import Source
from analysis.score import Note, Score

#: Places and durations that differ by less, in quarter notes, are the same.
NEAR = 0.01
#: Places of measures may differ by the slips that the reader drops.
SLIP = 0.1
#: Kinds of MusicXML by music21's own names.
_KINDS = {alias: kind for kind, alias in harmony.CHORD_ALIASES.items()}
_KINDS |= {"minor-major": "major-minor", "tristan": "Tristan"}
#: Note heads of notes that have a place on the staff and no pitch.
_UNPITCHED_HEADS = ("slash", "x")


class Heard(NamedTuple):
    """A note as another library has it: half steps, quarter notes from its barline, and long."""

    pitch: float | None
    into: float
    duration: float


class Symbol(NamedTuple):
    """A chord symbol: measure from 0, place in it, pitch classes, kind; None where not kept."""

    measure: int
    into: float | None
    root: int | None
    bass: int | None = None
    kind: str = ""


@dataclass
class Reading:
    """A whole score as another library reads it; ``measures`` has places where parts begin each."""

    notes: dict[str, Heard] = field(default_factory=dict)
    measures: dict[int, set[float]] = field(default_factory=dict)
    symbols: Counter[Symbol] = field(default_factory=Counter)


# --- music21 ---------------------------------------------------------------------------------


def music21_reading(source: Source) -> Reading:
    """Read the untouched document whole, each note known by a colour that stands for its id."""
    tree = parse_document(source.original)
    ids: list[str] = []
    for name, element in element_ids(tree).items():
        if element.tag == "note":
            element.set("color", f"#{len(ids):06X}")
            ids.append(name)
    importer: Any = MusicXMLImporter()  # type: ignore[no-untyped-call]
    importer.xmlText = etree.tostring(tree.getroot(), encoding="unicode")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        importer.parseXMLText()
        importer.stream.toSoundingPitch(inPlace=True)
    reading = Reading()
    for part in importer.stream.parts:
        for index, measure in enumerate(part.getElementsByClass("Measure")):
            at = float(part.elementOffset(measure))
            reading.measures.setdefault(index, set()).add(round(at, 3))
            for note, into in _sounding(measure):
                pitch = getattr(note, "pitch", None)
                known = None if pitch is None or note.notehead in _UNPITCHED_HEADS else pitch.ps
                name = ids[int(note.style.color[1:], 16)]
                reading.notes[name] = Heard(known, into, float(note.duration.quarterLength))
            for symbol in measure.getElementsByClass("ChordSymbol"):
                into = round(float(measure.elementOffset(symbol)), 2)
                reading.symbols[_symbol(symbol, index, into)] += 1
    return reading


def _sounding(measure: Any) -> Iterator[tuple[Any, float]]:
    """Every printed note of a music21 measure, members of chords apart, with its offset in it.

    Chord symbols count as notes there; they have no colour.
    """
    for holder in (measure, *measure.voices):
        into = 0.0 if holder is measure else float(measure.elementOffset(holder))
        for element in holder.notes:
            for note in getattr(element, "notes", (element,)):
                hidden = note.style.hideObjectOnPrint or element.style.hideObjectOnPrint
                if note.style.color is not None and not hidden:
                    yield note, into + float(holder.elementOffset(element))


def _symbol(symbol: Any, measure: int, into: float) -> Symbol:
    if symbol.chordKind in ("none", "") or "NoChord" in symbol.classes:
        return Symbol(measure, into, None, None, "none")
    root, bass = symbol.root(), symbol.bass()
    kind = _KINDS.get(symbol.chordKind, symbol.chordKind)
    return Symbol(measure, into, root.pitchClass, bass.pitchClass, kind)


# --- partitura -------------------------------------------------------------------------------


def partitura_reading(source: Source) -> Reading:
    """Read the document with partitura, each note known by its id."""
    tree = parse_document(source.original)
    # A grace note may stand on either side of a barline, which its place does not say.
    measures = {
        measure: index
        for part in measures_by_part(tree.getroot())
        for index, measure in enumerate(part)
    }
    held: dict[str, int] = {}
    for name, element in element_ids(tree).items():
        if element.tag == "note":
            element.set("id", name)
            held[name] = measures[element.getparent()]
    for symbol in list(tree.getroot().iter("harmony")):
        if symbol.findtext("kind") == "none":  # partitura takes N.C. for a chord
            symbol.tag = "listening"
    for transpose in tree.getroot().iter("transpose"):  # it knows no change of octave either
        chromatic = transpose.find("chromatic")
        octaves = int(transpose.findtext("octave-change") or 0)
        if chromatic is not None:
            chromatic.text = str(int(chromatic.text or 0) + 12 * octaves)
    content = etree.tostring(tree.getroot(), encoding="UTF-8", xml_declaration=True)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        read = partitura.load_musicxml(io.BytesIO(content), force_note_ids="keep")
    reading = Reading()
    for part in read.parts:
        _add_part(part, held, reading)
    return reading


def _add_part(part: Any, held: dict[str, int], reading: Reading) -> None:
    measures = sorted(part.iter_all(partitura_score.Measure), key=lambda one: one.start.t)
    starts = [measure.start.t for measure in measures]
    quarter = part.quarter_map
    shifts = sorted(
        (one.start.t, one.chromatic) for one in part.iter_all(partitura_score.Transposition)
    )
    moments = [at for at, _ in shifts]

    def into(at: int, measure: int) -> float:
        return float(quarter(at)) - float(quarter(starts[measure]))

    def shift(at: int) -> int:
        index = bisect_right(moments, at)
        return shifts[index - 1][1] or 0 if index else 0

    for note in part.iter_all(partitura_score.GenericNote, include_subclasses=True):
        if isinstance(note, partitura_score.Rest):
            continue
        pitch = None
        if isinstance(note, partitura_score.Note):
            pitch = note.midi_pitch + shift(note.start.t)
        duration = float(quarter(note.end.t)) - float(quarter(note.start.t))
        reading.notes[note.id] = Heard(pitch, into(note.start.t, held[note.id]), duration)
    for symbol in part.iter_all(partitura_score.ChordSymbol):
        index = max(bisect_right(starts, symbol.start.t) - 1, 0)
        reading.symbols[Symbol(index, None, _pitch_class(symbol.root, symbol.alter))] += 1


def _pitch_class(step: str, alter: int) -> int:
    return ("C D EF G A B".index(step) + alter) % 12


# --- held against ours -----------------------------------------------------------------------


def differing_notes(score: Score, source: Source, reading: Reading) -> list[str]:
    """The ids of printed notes that the two readings do not share or do not agree on."""
    notes: dict[str, Note] = {note.id: note for part in score.parts for note in part.notes}
    hidden = {
        name
        for name, element in element_ids(parse_document(source.original)).items()
        if element.get("print-object") == "no"
    }
    heads = unpitched_heads(source)
    differing = sorted((notes.keys() ^ reading.notes.keys()) - hidden)
    for name in notes.keys() & reading.notes.keys():
        note, other = notes[name], reading.notes[name]
        into = float(note.onset - score.measures[note.measure].onset)
        pitch = None if note.pitch is None else note.pitch.midi
        other_pitch = None if name in heads else other.pitch
        if (
            pitch != other_pitch
            or abs(into - other.into) > NEAR
            or abs(float(note.duration) - other.duration) > NEAR
        ):
            differing.append(name)
    return sorted(differing)


def unpitched_heads(source: Source) -> set[str]:
    """Notes whose heads say that they have no pitch, though the document gives them one."""
    return {
        name
        for name, element in element_ids(parse_document(source.original)).items()
        if element.tag == "note" and (element.findtext("notehead") or "") in _UNPITCHED_HEADS
    }


def symbols_of(score: Score) -> Counter[Symbol]:
    """Our chord symbols, with kinds as the document has them."""
    found: Counter[Symbol] = Counter()
    for one in score.chord_symbols:
        into = round(float(one.onset - score.measures[one.measure].onset), 2)
        root = None if one.root is None else one.root.pc
        bass = root if one.bass is None else one.bass.pc
        found[Symbol(one.measure, into, root, bass, one.kind)] += 1
    return found


def without_kinds(symbols: Counter[Symbol]) -> Counter[Symbol]:
    """Chord symbols as far as partitura keeps them; those without a root are not among them."""
    plain: Counter[Symbol] = Counter()
    for symbol, count in symbols.items():
        if symbol.root is not None:
            plain[Symbol(symbol.measure, None, symbol.root)] += count
    return plain


def differing_symbols(score: Score, reading: Reading) -> list[Symbol]:
    """Chord symbols that one reading has and the other has not, as far as the other keeps them."""
    own, other = symbols_of(score), reading.symbols
    if not any(symbol.kind for symbol in other):
        own = without_kinds(own)
    return sorted((own - other | other - own).elements(), key=str)


def first_differing_measure(score: Score, reading: Reading) -> int | None:
    """The first measure that begins elsewhere, as far as the other library's parts agree on places.

    music21 lets a part fall behind that has an incomplete measure; from there on nothing is said.
    """
    for index, places in sorted(reading.measures.items()):
        if len(places) > 1:
            return None
        if abs(float(score.measures[index].onset) - next(iter(places))) > SLIP:
            return index
    return None
