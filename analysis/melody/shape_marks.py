"""Marks of the melody's shape: its high point, and each section's range, contour and density.

What a section's melody does is kept below what is shown by default: it is asked for when sections
are compared. The climax is shown.
"""

from __future__ import annotations

from collections.abc import Sequence

from analysis.marks import Evidence, Mark, Section, mark_id
from analysis.melody.shapes import Shape, find_climax, find_shapes
from analysis.score import Score
from analysis.vocabulary.voices import HeldNote, join_words, sung_words
from analysis.vocabulary.wording import name_text, section_text

_CONTOUR = {
    "level": "stays level",
    "rising": "rises",
    "falling": "falls",
    "arch": "rises and comes back, an arch",
    "valley": "sinks and comes back",
}


def make_shape_marks(
    score: Score, line: Sequence[HeldNote], sections: Sequence[Section]
) -> tuple[Mark, ...]:
    """The climax and one mark a section, in order of time."""
    words = sung_words(line)
    shapes = find_shapes(score, line, sections)
    marks = [
        _shape_mark(shape, before, join_words(words[shape.first : shape.last + 1]))
        for before, shape in zip((None, *shapes), shapes, strict=False)
    ]
    climax = find_climax(line, sections)
    if climax is not None:
        note, section = climax
        word = words[line.index(note)]
        marks.append(_climax_mark(note, section, join_words([word])))
    return tuple(sorted(marks, key=lambda mark: (mark.span, mark.id)))


def _pitch_text(note: HeldNote) -> str:
    return f"{name_text(note.pitch.name)}{note.pitch.octave}"


def _name(section: Section) -> str:
    return section_text(section.name, section.label)


def _shape_mark(shape: Shape, before: Shape | None, words: str) -> Mark:
    low, high = _pitch_text(shape.lowest), _pitch_text(shape.highest)
    name = _name(shape.section)
    sentence = f"In {name} the melody lies between {low} and {high} and {_CONTOUR[shape.contour]}."
    facts = [f"It has {shape.density:.1f} notes a measure."]
    if before is not None:
        facts.append(_compared(shape, before))
    return Mark(
        id=mark_id("shape", shape.lowest.part, shape.section.span.start),
        kind="shape",
        span=shape.span,
        parts=(shape.lowest.part,),
        elements=tuple(dict.fromkeys((shape.highest.id, shape.lowest.id))),
        label=f"{low}–{high}",
        sentence=sentence,
        evidence=tuple(Evidence(fact) for fact in facts),
        confidence=0.4,
        words=words,
    )


def _compared(shape: Shape, before: Shape) -> str:
    lift = round(shape.mean - before.mean)
    steps = f"{abs(lift)} half step{'s' if abs(lift) != 1 else ''}"
    height = f"{steps} {'higher' if lift > 0 else 'lower'} than" if lift else "as high as"
    busy = shape.density / before.density
    pace = "busier" if busy > 1.25 else "calmer" if busy < 0.8 else "as busy"
    return f"On average it lies {height} in {_name(before.section)}, and is {pace}."


def _climax_mark(note: HeldNote, section: Section | None, words: str) -> Mark:
    where = f", kept for {_name(section)}" if section is not None else ""
    only = "No other section goes as high." if section else "It is reached nowhere else."
    start = f"On “{words}” the" if words else "The"
    return Mark(
        id=mark_id("shape", "climax", note.part, note.onset),
        kind="shape",
        span=note.span,
        parts=(note.part,),
        elements=(note.id,),
        label="climax",
        sentence=f"{start} melody comes to its highest note, {_pitch_text(note)}{where}.",
        evidence=(Evidence(only, (note.id,)),),
        confidence=0.6,
        words=words,
    )
