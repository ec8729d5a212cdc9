"""A Score value written as MusicXML and read back, so that songs pass through the reader too."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from lxml import etree

from analysis.reading.scores import read_score
from analysis.reading.sources import source_of
from analysis.score import ChordSymbol, Measure, Note, Part, Score

_DIVISIONS = 48


def read_back(score: Score) -> Score:
    """The same score through MusicXML; ids of notes are kept."""
    return read_score(source_of(to_musicxml(score), "song.musicxml"))


def to_musicxml(score: Score) -> bytes:
    """A partwise document of single lines and chords, with symbols over the first part."""
    root = etree.Element("score-partwise", version="4.0")
    listed = etree.SubElement(root, "part-list")
    for part in score.parts:
        entry = etree.SubElement(listed, "score-part", id=part.id)
        etree.SubElement(entry, "part-name").text = part.name
    for number, part in enumerate(score.parts):
        element = etree.SubElement(root, "part", id=part.id)
        for measure in score.measures:
            _add_measure(element, score, part, measure, symbols=number == 0)
    return bytes(etree.tostring(root, xml_declaration=True, encoding="UTF-8"))


def _add_measure(
    parent: etree._Element, score: Score, part: Part, measure: Measure, *, symbols: bool
) -> None:
    element = etree.SubElement(parent, "measure", number=measure.number)
    keys = [one for one in score.key_signatures if one.onset == measure.onset]
    if keys or measure.index == 0:
        held = etree.SubElement(element, "attributes")
        etree.SubElement(held, "divisions").text = str(_DIVISIONS)
        for key in keys:
            signature = etree.SubElement(held, "key")
            etree.SubElement(signature, "fifths").text = str(key.fifths)
            etree.SubElement(signature, "mode").text = "major"
        if measure.index == 0:
            time = etree.SubElement(held, "time")
            etree.SubElement(time, "beats").text = str(measure.meter.beats)
            etree.SubElement(time, "beat-type").text = str(measure.meter.beat_type)
    if symbols:
        for symbol in score.chord_symbols:
            if symbol.onset in measure.span:
                _add_symbol(element, symbol, measure)
    at = measure.onset
    for note, chord in _ordered(part, measure):
        if note.onset > at:
            _add_note(element, None, note.onset - at)
        _add_note(element, note, note.duration, chord=chord)
        at = max(at, note.end)
    if at < measure.span.end:
        _add_note(element, None, measure.span.end - at)


def _ordered(part: Part, measure: Measure) -> Iterator[tuple[Note, bool]]:
    """The notes of a measure, each with whether it sounds together with the one before."""
    before = None
    for note in part.notes:
        if note.onset in measure.span:
            yield note, before == note.onset
            before = note.onset


def _add_symbol(parent: etree._Element, symbol: ChordSymbol, measure: Measure) -> None:
    harmony = etree.SubElement(parent, "harmony")
    if symbol.root is not None:
        root = etree.SubElement(harmony, "root")
        etree.SubElement(root, "root-step").text = symbol.root.step
        etree.SubElement(root, "root-alter").text = str(symbol.root.alter)
    etree.SubElement(harmony, "kind").text = symbol.kind
    if symbol.bass is not None:
        bass = etree.SubElement(harmony, "bass")
        etree.SubElement(bass, "bass-step").text = symbol.bass.step
        etree.SubElement(bass, "bass-alter").text = str(symbol.bass.alter)
    for degree in symbol.degrees:
        element = etree.SubElement(harmony, "degree")
        etree.SubElement(element, "degree-value").text = str(degree.value)
        etree.SubElement(element, "degree-alter").text = str(degree.alter)
        etree.SubElement(element, "degree-type").text = degree.type
    if symbol.onset > measure.onset:
        into = (symbol.onset - measure.onset) * _DIVISIONS
        etree.SubElement(harmony, "offset").text = str(into)


def _add_note(
    parent: etree._Element, note: Note | None, length: Fraction, *, chord: bool = False
) -> None:
    element = etree.SubElement(parent, "note")
    if note is not None and note.pitch is not None:
        element.set("id", note.id)
        if chord:
            etree.SubElement(element, "chord")
        pitch = etree.SubElement(element, "pitch")
        etree.SubElement(pitch, "step").text = note.pitch.name.step
        etree.SubElement(pitch, "alter").text = str(note.pitch.name.alter)
        etree.SubElement(pitch, "octave").text = str(note.pitch.octave)
    else:
        etree.SubElement(element, "rest")
    etree.SubElement(element, "duration").text = str(length * _DIVISIONS)
    for lyric in note.lyrics if note is not None else ():
        sung = etree.SubElement(element, "lyric", number=lyric.verse)
        etree.SubElement(sung, "syllabic").text = lyric.syllabic
        etree.SubElement(sung, "text").text = lyric.text
