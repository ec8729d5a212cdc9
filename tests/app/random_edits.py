"""Edits drawn by a seed, thousands a second, for long runs that hypothesis would be slow at."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from random import Random

from analysis.chords import KIND_DEGREES, Chord
from analysis.marks import Analysis, Evidence, Function, Mark, MarkKind, Reading, Section, mark_id
from analysis.pitch import Key, PitchName
from analysis.timebase import Span
from app.review.correction_edits import (
    ClearChord,
    ClearKey,
    SetChord,
    SetKey,
    SetMelodyPart,
    SetRole,
)
from app.review.document import Document, SourceInfo, State
from app.review.edits import Decide, Edit, Reword
from app.review.mark_edits import AddMark, ChangeMark, RemoveMarks, Reorder
from app.review.section_edits import (
    ColourSection,
    JoinSections,
    MoveBorder,
    RenameSection,
    SetSections,
    SplitSection,
    sections_of,
)
from tests.strategies import plain_score

KINDS: tuple[MarkKind, ...] = ("chord", "melody", "line", "repeat", "key")
STATES: tuple[State, ...] = ("open", "accepted", "rejected")
FUNCTIONS: tuple[Function, ...] = ("T", "S", "D", "")


def busy_document(marks: int = 200) -> Document:
    """A document of many marks, all open, with three sections."""
    score = plain_score()
    found = []
    for at in range(marks):
        span = Span(Fraction(at, 4), Fraction(at, 4) + 2)
        kind = KINDS[at % len(KINDS)]
        sentence = "The chord borrows its third from the parallel minor, and the line hides it."
        evidence = (Evidence("Its third is foreign to the key.", (f"P1n{at % 16}",)),)
        readings = (Reading("iv", "The bass stays.", 0.3, "S", Key(PitchName(0), "minor")),)
        found.append(
            Mark(f"mark-{at}", kind, span, ("P1",), (f"P1n{at % 16}",), f"♭VI {at}", sentence,
                 evidence, readings, 0.8, at + 1)
        )  # fmt: skip
    borders = [Fraction(at) for at in (0, 16, 48, 64)]
    sections = tuple(
        Section(Span(start, end), label, "", True)
        for label, start, end in zip("ABA", borders, borders[1:], strict=False)
    )
    source = SourceInfo("song.musicxml", "/songs/song.musicxml", "0" * 64)
    return Document(source, score, Analysis(sections=sections, marks=tuple(found)))


def random_edit(draw: Random, document: Document) -> Edit:
    """An edit of any kind that can be applied to the document."""
    makers: list[Callable[[Random, Document], Edit]] = [_decide, _reword, _mark, _correct, _form]
    return draw.choices(makers, (4, 3, 2, 2, 2))[0](draw, document)


def _decide(draw: Random, document: Document) -> Edit:
    ids = [mark.id for mark in document.analysis.marks]
    count = draw.choice((1, 1, 1, 3, len(ids)))
    return Decide(tuple(draw.sample(ids, count)), draw.choice(STATES))


def _reword(draw: Random, document: Document) -> Edit:
    mark = draw.choice(document.analysis.marks)
    words = {name: _words(draw) for name in ("label", "sentence", "reading", "comment")}
    chosen = draw.sample(sorted(words), draw.randint(1, 4))
    words = {name: words[name] for name in chosen}
    return Reword(
        mark.id,
        words.get("label"),
        words.get("sentence"),
        words.get("reading"),
        words.get("comment"),
        draw.choice(FUNCTIONS) if "reading" in words else "",
    )


def _mark(draw: Random, document: Document) -> Edit:
    own = [mark.id for mark in document.own_marks]
    made = mark_id("own", draw.getrandbits(60))
    mark = Mark(made, draw.choice(KINDS), _span(draw), ("P2",), (), _words(draw), _words(draw))
    what = draw.randrange(4)
    if what == 0 or (what < 3 and not own):
        return AddMark(mark)
    if what == 1:
        name = draw.choice(own)
        return ChangeMark(Mark(name, "line", _span(draw), (), (), _words(draw), _words(draw)))
    if what == 2:
        return RemoveMarks(tuple(draw.sample(own, draw.randint(1, len(own)))))
    order = [mark.id for mark in document.analysis.marks] + own
    return Reorder(tuple(draw.sample(order, draw.randint(0, 20))))


def _correct(draw: Random, document: Document) -> Edit:
    span = _span(draw)
    root = PitchName(draw.randint(-6, 6))
    kind = draw.choice(list(KIND_DEGREES))
    part = draw.choice(["P1", "P2"])
    edits: list[Edit] = [
        SetKey(span, Key(root, draw.choice(("major", "minor", "dorian")))),
        ClearKey(span),
        SetChord(span, draw.choice([None, Chord(root, KIND_DEGREES[kind], root, kind)])),
        ClearChord(span),
        SetMelodyPart(draw.choice(["", part])),
        SetRole(part, draw.choice(["", "bass", "backing"])),
    ]
    return draw.choice(edits)


def _form(draw: Random, document: Document) -> Edit:
    sections = sections_of(document)
    at = draw.randrange(len(sections))
    span = sections[at].span
    inside = span.start + span.duration * draw.randint(1, 7) / 8
    edits: list[Edit] = [
        RenameSection(at, name=_words(draw)),
        RenameSection(at, label=draw.choice("ABCDE")),
        ColourSection(sections[at].label, draw.choice(["", "#0072b2", "#E69F00"])),
        SplitSection(inside),
        SetSections(None),
    ]
    if at > 0:
        edits += [JoinSections(at - 1), MoveBorder(at, inside, draw.choice(["", "drag"]))]
    return draw.choice(edits)


def _span(draw: Random) -> Span:
    start = Fraction(draw.randrange(64 * 12), 12)
    return Span(start, start + Fraction(draw.randint(1, 96), 12))


def _words(draw: Random) -> str:
    return " ".join(draw.choices(("home", "♭III", "über", "its third", "🎹", '"so"', "\n"), k=3))
