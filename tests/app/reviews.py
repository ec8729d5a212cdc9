"""Sample scores read and analysed once a process, and marks of every kind laid over them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import islice
from typing import Literal

from analysis.marks import Line, Mark, MelodyFact, Repeat
from analysis.pipeline import analyse
from analysis.reading.scores import read_score
from analysis.reading.sources import Source, read_source
from analysis.score import Note, Score
from analysis.timebase import Span
from app.review.document import Decision, Document, SourceInfo, State
from sample_scores import compose

SAMPLES = tuple(piece.stem for piece in compose.PIECES)
STATES: tuple[State, ...] = ("open", "accepted", "edited")


@cache
def read_sample(name: str) -> tuple[Source, Document]:
    """A sample's source and its fresh review."""
    path = compose.FOLDER / f"{name}.musicxml"
    source = read_source(path)
    score = read_score(source)
    info = SourceInfo(source.name, str(path), source.digest)
    return source, Document(info, score, analyse(score))


@cache
def crowded_sample(name: str) -> tuple[Source, Document]:
    """A sample with more marks than any analysis makes, in all states.

    A melody mark at every third note, brackets over brackets, lines along the bass, a cadence in
    every second measure.
    """
    source, document = read_sample(name)
    own = tuple(crowd(document.score))
    marks = (*document.analysis.marks, *own)
    decisions = {mark.id: Decision(STATES[at % 3]) for at, mark in enumerate(marks)}
    return source, replace(document, own_marks=own, decisions=decisions)


def crowd(score: Score) -> Iterator[Mark]:
    """More marks on a score than any analysis makes."""
    notes = [note for note in score.parts[0].notes if note.pitch is not None]
    roles = ("foreign", "passing", "chord tone", "suspension")
    for at, note in enumerate(islice(notes, 0, None, 3)):
        yield melody_mark(note, roles[at % 4], "♭3" if at % 4 == 2 else "♯4", f"melody {at}")
    for at in range(0, len(score.measures) - 4, 2):
        yield repeat_mark(score, (at, at), (at + 2, at + 2), at % 4 == 0)
    whole = Span(score.measures[0].onset, score.measures[-1].span.end)
    for at, words in enumerate(("pentatonic", "one loop throughout", "parallel minor")):
        yield Mark(f"passage {at}", "passage", whole, (), (), words, "")
    bass = [note for note in score.parts[-1].notes if note.pitch is not None]
    for at in range(0, len(bass) - 6, 12):
        yield line_mark(bass[at : at + 6], f"line {at}")
    for measure in score.measures[::2]:
        name = f"cadence {measure.index}"
        yield Mark(name, "cadence", measure.span, (), (), "half cadence", "")


def melody_mark(note: Note, role: str, label: str, name: str = "melody") -> Mark:
    """A mark at one note; a label with a flat makes it a blue third."""
    assert note.pitch is not None
    span = Span(note.onset, note.end)
    blue: Literal["", "3"] = "3" if label == "♭3" else ""
    fact = MelodyFact(note.id, span, note.part, note.pitch, label, role, "", blue)
    sentence = "The voice sings the lowered third while the chord below keeps its natural one."
    return Mark(name, "melody", span, (note.part,), (note.id,), label, sentence, fact=fact)


def repeat_mark(
    score: Score, first: tuple[int, int], later: tuple[int, int], reharmonised: bool
) -> Mark:
    """A mark about two stretches of measures, given by first and last index."""
    spans = [
        Span(score.measures[start].onset, score.measures[end].span.end)
        for start, end in (first, later)
    ]
    part = score.parts[0].id
    fact = Repeat(spans[0], spans[1], part, 0, 1.0, reharmonised)
    sentence = "The melody comes back, and other chords stand under it."
    name = f"repeat {first} {later}"
    return Mark(name, "repeat", spans[1], (part,), (), "other chords", sentence, fact=fact)


def line_mark(notes: list[Note], name: str = "line") -> Mark:
    """A mark along some notes."""
    names = tuple(note.pitch.name for note in notes if note.pitch is not None)
    ids = tuple(note.id for note in notes)
    span = Span(notes[0].onset, notes[-1].end)
    fact = Line(span, "chromatic", notes[0].part, "down", names, ids)
    label, sentence = "falling bass", "The bass goes down step by step under the held tune."
    return Mark(name, "line", span, (notes[0].part,), ids, label, sentence, fact=fact)
