"""A sample corrected and exported again: its MusicXML edited as a person would have edited it."""

from __future__ import annotations

import copy
from collections.abc import Callable
from functools import cache
from pathlib import Path

from lxml import etree

import sample_scores
from analysis.marks import Settings
from analysis.pipeline import analyse
from analysis.pitch import Pitch, PitchName
from analysis.reading.scores import read_score
from analysis.reading.sources import source_of
from app.review.carrying import Carried, carry_over, plan_carrying
from app.review.document import Document, SourceInfo
from app.review.storage import StoredReview, document_of, from_bytes, stored, to_bytes
from app.review.transpositions import Interval

Root = etree._Element
SAMPLES = Path(sample_scores.__path__[0])


def transcription(name: str) -> Root:
    """A sample's document, to be edited."""
    return etree.fromstring(_content(name))


@cache
def _content(name: str) -> bytes:
    return (SAMPLES / f"{name}.musicxml").read_bytes()


def exported_again(
    document: Document, root: Root, between: Callable[[StoredReview], StoredReview] | None = None
) -> tuple[Document, Carried]:
    """Save the review, read the other transcription, carry over: the document and what was done."""
    review = from_bytes(to_bytes(stored(document)))
    if between:
        review = between(review)
    source = source_of(etree.tostring(root), "again.musicxml")
    score = read_score(source)
    plan = plan_carrying(review, score)
    info = SourceInfo(source.name, "", source.digest)
    analysis = analyse(score, Settings(), plan.corrections)
    carried = carry_over(plan, info, score, analysis)
    return document_of(carried.review, info, score, analysis), carried


# Edits of the transcription


def delete_measures(root: Root, first: int, last: int) -> None:
    """Delete measures by index, what the first of them declares kept."""
    for part in root.findall("part"):
        measures = part.findall("measure")
        for measure in measures[first : last + 1]:
            if first == 0 and (attributes := measure.find("attributes")) is not None:
                measures[last + 1].insert(0, attributes)
            part.remove(measure)
    _number(root)


def insert_rests(root: Root, at: int, count: int) -> None:
    """Insert measures of rests before a measure."""
    for part in root.findall("part"):
        measures = part.findall("measure")
        length = sum(
            int(note.findtext("duration", "0"))
            for note in measures[1].findall("note")
            if note.find("chord") is None and note.findtext("voice", "1") == "1"
        )
        declared = measures[0].find("attributes") if at == 0 else None
        for number in range(count):
            rest = etree.Element("measure")
            if declared is not None and number == 0:
                rest.append(copy.deepcopy(declared))
                measures[0].remove(declared)
            note = etree.SubElement(rest, "note")
            etree.SubElement(note, "rest", measure="yes")
            etree.SubElement(note, "duration").text = str(length)
            part.insert(part.index(measures[at]), rest)
    _number(root)


def copy_measures(root: Root, first: int, last: int, before: int) -> None:
    """Insert a copy of some measures before a measure."""
    for part in root.findall("part"):
        measures = part.findall("measure")
        for measure in measures[first : last + 1]:
            part.insert(part.index(measures[before]), copy.deepcopy(measure))
    _number(root)


def _number(root: Root) -> None:
    """Number the measures as a notation editor does: a pickup has the number 0."""
    for part in root.findall("part"):
        measures = part.findall("measure")
        pickup = measures[0].get("implicit") == "yes"
        for number, measure in enumerate(measures, 0 if pickup else 1):
            measure.set("number", str(number))


def rename_part(root: Root, part: int, name: str) -> None:
    root.findall("part-list/score-part/part-name")[part].text = name


def turn_parts_round(root: Root) -> None:
    """The last part first, and all ids given anew."""
    listed = root.find("part-list")
    assert listed is not None
    declared, parts = listed.findall("score-part"), root.findall("part")
    for at, (one, part) in enumerate(zip(reversed(declared), reversed(parts), strict=True), 1):
        listed.append(one)
        root.append(part)
        for element in one.iter("score-part", "score-instrument", "midi-instrument"):
            element.set("id", element.get("id", "").replace(one.get("id", ""), f"new{at}", 1))
        part.set("id", f"new{at}")


def notes_of(root: Root, part: int, measure: int) -> list[Root]:
    """The notes with a pitch of one part's measure."""
    found = root.findall("part")[part].findall("measure")[measure].findall("note")
    return [note for note in found if note.find("pitch") is not None]


def set_pitch(note: Root, pitch: str) -> None:
    """Write another pitch, such as ``Eb4``."""
    _write_pitch(note, Pitch.parse(pitch))


def set_symbol(root: Root, number: int, root_step: str, kind: str) -> None:
    """Change a chord symbol, counted from 0."""
    harmony = list(root.iter("harmony"))[number]
    for tag in ("bass", "degree"):
        for element in harmony.findall(tag):
            harmony.remove(element)
    written = _only(harmony, "root")
    for alter in written.findall("root-alter"):
        written.remove(alter)
    _only(written, "root-step").text = root_step
    _only(harmony, "kind").text = kind
    _only(harmony, "kind").attrib.clear()


def transpose(root: Root, interval: Interval) -> None:
    """Move all notes, chord symbols and key signatures."""
    for note in root.iter("note"):
        if note.find("pitch") is not None:
            _write_pitch(note, interval.of(_read_pitch(note)))
    for tag in ("root", "bass"):
        for element in root.iter(tag):
            step, alter = element.findtext(f"{tag}-step", "C"), element.findtext(f"{tag}-alter")
            name = PitchName.of(step, int(float(alter or 0))) + interval.fifths
            for child in list(element):
                element.remove(child)
            etree.SubElement(element, f"{tag}-step").text = name.step
            if name.alter:
                etree.SubElement(element, f"{tag}-alter").text = str(name.alter)
    for fifths in root.iter("fifths"):
        fifths.text = str(int(fifths.text or 0) + interval.fifths)


def _read_pitch(note: Root) -> Pitch:
    alter = int(float(note.findtext("pitch/alter", "0")))
    name = PitchName.of(note.findtext("pitch/step", "C"), alter)
    return Pitch(name, int(note.findtext("pitch/octave", "4")))


def _write_pitch(note: Root, pitch: Pitch) -> None:
    element = _only(note, "pitch")
    for child in list(element):
        element.remove(child)
    etree.SubElement(element, "step").text = pitch.name.step
    if pitch.name.alter:
        etree.SubElement(element, "alter").text = str(pitch.name.alter)
    etree.SubElement(element, "octave").text = str(pitch.octave)
    for accidental in note.findall("accidental"):
        note.remove(accidental)


def _only(element: Root, path: str) -> Root:
    found = element.find(path)
    assert found is not None
    return found
