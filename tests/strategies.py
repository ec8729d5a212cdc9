"""All hypothesis strategies: values of the analysis and of the review, drawn at random."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from hypothesis import strategies as st

from analysis.chords import KIND_DEGREES, Chord
from analysis.marks import Analysis, Corrections, Evidence, Mark, Reading, Section
from analysis.pitch import MODE_SHIFT, Key, Pitch, PitchName
from analysis.score import ChordSymbol, Measure, Note, Part, Score
from analysis.timebase import Meter, Span
from analysis.vocabulary.roles import ROLES
from app.review.correction_edits import (
    ClearChord,
    ClearKey,
    SetChord,
    SetKey,
    SetMelodyPart,
    SetRole,
)
from app.review.document import Decision, Document, Leftover, SourceInfo, Time
from app.review.edits import Decide, Edit, Reword
from app.review.leftover_edits import DropLeftover, DropLeftovers, PlaceLeftover
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
from app.review.skeletons import BoneMeasure, BoneNote, BonePart, BoneSymbol, Skeleton

# Lone surrogates are no text: JSON in UTF-8 cannot hold them, and no keyboard types them.
words = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
# Twelfths of a quarter hold triplets and sixteenths; hypothesis's own fractions take far longer.
offsets = st.integers(0, 64 * 12).map(lambda twelfths: Fraction(twelfths, 12))
names = st.integers(-12, 16).map(PitchName)
pitches = st.builds(Pitch, names, st.integers(1, 6))
keys = st.builds(Key, st.integers(-6, 6).map(PitchName), st.sampled_from(list(MODE_SHIFT)))
confidences = st.floats(0, 1)


def spans() -> st.SearchStrategy[Span]:
    lengths = st.integers(1, 16 * 12).map(lambda twelfths: Fraction(twelfths, 12))
    return st.builds(lambda start, length: Span(start, start + length), offsets, lengths)


@st.composite
def chords(draw: st.DrawFn) -> Chord:
    kind = draw(st.sampled_from(list(KIND_DEGREES)))
    root = draw(names)
    return Chord(root, KIND_DEGREES[kind], draw(st.sampled_from([root, draw(names)])), kind)


readings = st.builds(Reading, words, words, confidences, st.sampled_from("TSD"), st.none() | keys)
marks = st.builds(
    Mark,
    id=st.uuids(version=4).map(str),
    kind=st.sampled_from(["key", "chord", "melody", "repeat", "line", "cadence", "section"]),
    span=spans(),
    parts=st.lists(st.sampled_from(["P1", "P2"]), max_size=2, unique=True).map(tuple),
    elements=st.lists(words, max_size=3).map(tuple),
    label=words,
    sentence=words,
    evidence=st.lists(st.builds(Evidence, words), max_size=2).map(tuple),
    alternatives=st.lists(readings, max_size=2).map(tuple),
    confidence=confidences,
    rank=st.none() | st.integers(1, 50),
)
sections = st.builds(Section, spans(), words, words, st.booleans())
corrections = st.builds(
    Corrections,
    keys=st.lists(st.tuples(spans(), keys), max_size=2).map(tuple),
    chords=st.lists(st.tuples(spans(), st.none() | chords()), max_size=2).map(tuple),
    sections=st.none() | st.lists(sections, max_size=2).map(tuple),
    melody_part=words,
    roles=st.lists(st.tuples(words, words), max_size=2).map(tuple),
)
decisions = st.builds(
    Decision,
    state=st.sampled_from(["open", "accepted", "edited", "rejected"]),
    label=st.none() | words,
    sentence=st.none() | words,
    reading=words,
    function=st.sampled_from(["T", "S", "D", ""]),
    comment=words,
    mark=st.none() | marks,
    time=st.none()
    | st.builds(
        Time,
        st.fractions(0, 9000, max_denominator=1001),
        st.fractions(1, 600, max_denominator=1001),
    ),
)
sources = st.builds(SourceInfo, words, words, st.binary(min_size=32, max_size=32).map(bytes.hex))


@st.composite
def skeletons(draw: st.DrawFn) -> Skeleton:
    """The bones of a few measures of two parts."""
    ids = st.text("abc012.-", max_size=5).map("n{}".format)
    notes = st.builds(BoneNote, ids, offsets, offsets, st.none() | pitches)
    rows = st.lists(notes, max_size=3).map(tuple)
    count = draw(st.integers(1, 4))
    parts = st.builds(
        BonePart, words, words, st.lists(rows, min_size=count, max_size=count).map(tuple)
    )
    meters = st.builds(Meter, st.integers(1, 12), st.sampled_from([2, 4, 8]))
    measures = st.builds(BoneMeasure, words, offsets, meters)
    symbols = st.builds(BoneSymbol, words, st.integers(0, count - 1), offsets, words)
    return Skeleton(
        tuple(draw(st.lists(parts, max_size=2))),
        tuple(draw(st.lists(measures, min_size=count, max_size=count))),
        tuple(draw(st.lists(symbols, max_size=2))),
    )


leftovers = st.builds(
    Leftover,
    source=sources,
    skeleton=st.none() | skeletons(),
    decisions=st.dictionaries(words, decisions, max_size=2),
    own_marks=st.lists(marks, max_size=1).map(tuple),
    corrections=corrections,
)


def scores() -> st.SearchStrategy[Score]:
    """Sixteen measures of two parts, enough for edits to have a place."""
    return st.builds(plain_score, st.lists(pitches, min_size=1, max_size=6))


def plain_score(row: Sequence[Pitch] = (Pitch.parse("C4"),)) -> Score:
    """A note a measure in each part, pitches in turn, and a chord symbol every fourth measure."""
    measures = tuple(
        Measure(at, str(at + 1), Fraction(4 * at), Fraction(4), Meter(4, 4), f"m{at}")
        for at in range(16)
    )
    parts = tuple(
        Part(
            part,
            f"Part {part}",
            part,
            tuple(
                Note(f"{part}n{at}", part, at, Fraction(4 * at), Fraction(4), row[at % len(row)])
                for at in range(16)
            ),
        )
        for part in ("P1", "P2")
    )
    symbols = tuple(
        ChordSymbol(f"h{at}", "P1", at, Fraction(4 * at), Fraction(16), row[0].name, "major")
        for at in range(0, 16, 4)
    )
    return Score("", "", parts, measures, symbols)


@st.composite
def rows_of_sections(draw: st.DrawFn) -> tuple[Section, ...]:
    """Sections that tile the sixteen measures."""
    borders = sorted(draw(st.sets(st.integers(1, 63), max_size=4)))
    ends = [Fraction(at) for at in (0, *borders, 64)]
    labels = st.sampled_from("ABC")
    return tuple(
        Section(Span(start, end), draw(labels), draw(words), draw(st.booleans()))
        for start, end in pairwise(ends)
    )


@st.composite
def documents(draw: st.DrawFn, *, with_leftovers: bool = False) -> Document:
    found = draw(st.lists(marks, min_size=1, max_size=8, unique_by=lambda mark: mark.id))
    decided = draw(st.lists(st.sampled_from(found), max_size=4, unique_by=lambda mark: mark.id))
    return Document(
        source=draw(sources),
        score=draw(scores()),
        analysis=Analysis(marks=tuple(found), sections=draw(rows_of_sections())),
        decisions={mark.id: draw(decisions) for mark in decided},
        own_marks=tuple(draw(st.lists(marks, max_size=2, unique_by=lambda mark: mark.id))),
        corrections=replace(draw(corrections), sections=draw(st.none() | rows_of_sections())),
        order=tuple(draw(st.lists(words, max_size=3))),
        section_colours=draw(st.dictionaries(words, words, max_size=2)),
        leftovers=tuple(draw(st.lists(leftovers, max_size=1))) if with_leftovers else (),
    )


def edits_of(document: Document) -> st.SearchStrategy[Edit]:
    """Any edit that can be applied to the document."""
    return (
        _decisions_of(document)
        | _mark_edits_of(document)
        | _correction_edits_of(document)
        | section_edits_of(document)
        | _leftover_edits_of(document)
    )


def _leftover_edits_of(document: Document) -> st.SearchStrategy[Edit]:
    edits: st.SearchStrategy[Edit] = st.builds(
        DropLeftovers, st.sampled_from(["", *(left.source.digest for left in document.leftovers)])
    )
    free = [one.id for one in document.marks() if one.id not in document.decisions]
    for left in document.leftovers:
        digest = st.just(left.source.digest)
        if left.decisions:
            names = st.sampled_from(sorted(left.decisions))
            edits |= st.builds(DropLeftover, digest, names)
            if free:
                edits |= st.builds(PlaceLeftover, digest, names, st.sampled_from(free))
        if left.own_marks:
            marks_left = st.sampled_from([mark.id for mark in left.own_marks])
            edits |= st.builds(DropLeftover, digest, marks_left)
    return edits


def _decisions_of(document: Document) -> st.SearchStrategy[Edit]:
    ids = st.sampled_from([reviewed.id for reviewed in document.marks()])
    some_ids = st.lists(ids, min_size=1, max_size=3, unique=True).map(tuple)
    states = st.sampled_from(["open", "accepted", "rejected"])
    decide = st.builds(Decide, mark_ids=some_ids, state=states, name=words)
    text = st.none() | words
    reword = st.builds(Reword, mark_id=ids, label=text, sentence=text, reading=text, comment=text)
    return decide | reword


def _mark_edits_of(document: Document) -> st.SearchStrategy[Edit]:
    ids = [reviewed.id for reviewed in document.marks()]
    free = marks.filter(lambda mark: mark.id not in ids)
    order = st.lists(st.sampled_from(ids), max_size=4).map(tuple)
    edits: st.SearchStrategy[Edit] = st.builds(AddMark, free) | st.builds(Reorder, order)
    own = [mark.id for mark in document.own_marks]
    if own:
        changed = st.builds(lambda mark, name: replace(mark, id=name), marks, st.sampled_from(own))
        some = st.lists(st.sampled_from(own), min_size=1, unique=True).map(tuple)
        edits |= st.builds(ChangeMark, changed) | st.builds(RemoveMarks, some)
    return edits


def _correction_edits_of(document: Document) -> st.SearchStrategy[Edit]:
    end = document.score.end
    inside = spans().filter(lambda span: span.start < end)
    parts = st.sampled_from(["", *(part.id for part in document.score.parts)])
    return (
        st.builds(SetKey, inside, keys)
        | st.builds(ClearKey, inside)
        | st.builds(SetChord, inside, st.none() | chords())
        | st.builds(ClearChord, inside)
        | st.builds(SetMelodyPart, parts)
        | st.builds(SetRole, parts.filter(bool), st.sampled_from(ROLES))
    )


def section_edits_of(document: Document) -> st.SearchStrategy[Edit]:
    """Any edit of the form that can be applied to the document."""
    sections = sections_of(document)
    colours = st.just("") | st.integers(0, 0xFFFFFF).map("#{:06x}".format)
    index = st.integers(0, len(sections) - 1)
    edits: st.SearchStrategy[Edit] = (
        st.builds(SetSections, st.none() | rows_of_sections())
        | st.builds(ColourSection, st.sampled_from("ABC"), colours)
        | st.builds(RenameSection, index, st.none() | words, st.none() | st.sampled_from("XYZ"))
    )
    inside = [place for section in sections if (place := _middle(section.span))]
    edits |= st.builds(SplitSection, st.sampled_from(inside))
    if len(sections) > 1:
        borders = st.integers(1, len(sections) - 1)
        edits |= st.builds(JoinSections, borders.map(lambda at: at - 1)) | borders.flatmap(
            lambda at: st.builds(
                MoveBorder,
                st.just(at),
                st.sampled_from([_middle(sections[at - 1].span), _middle(sections[at].span)]),
                st.sampled_from(["", "drag"]),
            )
        )
    return edits


def _middle(span: Span) -> Fraction:
    return (span.start + span.end) / 2


@st.composite
def damaged(draw: st.DrawFn, data: bytes) -> bytes:
    """Bytes with a few places cut out, doubled or overwritten, by XML's own signs among others."""
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(data)))
        end = min(len(data), start + draw(st.integers(0, 40)))
        piece = draw(
            st.sampled_from([b"", data[start:end] * 2, b"<", b">", b"/", b"&", b'"', b"0", b"-9"])
            | st.binary(max_size=8)
        )
        data = data[:start] + piece + data[end:]
    return data


@st.composite
def voice_lines(draw: st.DrawFn, low: int = 2, high: int = 6) -> str:
    """A voice in the shorthand of ``tests.analysis.tunes``: notes, chords, rests, ties, words."""
    names = st.sampled_from(
        ["A", "Bb", "B", "B#", "C", "C#", "Cb", "D", "D#", "Eb", "E", "F", "F#", "G"]
    )
    sounds = st.builds("{}{}".format, names, st.integers(low, high))
    tokens = []
    for _ in range(draw(st.integers(1, 16))):
        sound = draw(sounds | sounds | st.sampled_from(["r", "x"]))
        if sound not in ("r", "x") and draw(st.integers(0, 7)) == 0:
            sound = "+".join({sound, draw(sounds)})
        length = draw(st.sampled_from(["1", "1/2", "1/4", "1/3", "2", "4", "3/2", "g"]))
        tie = draw(st.sampled_from(["", "", "", "~"])) if sound not in ("r", "x") else ""
        word = draw(st.sampled_from(["", "", "=la", "=la-", "=-la"]))
        tokens.append(
            f"{sound}:{length}{'' if length == 'g' else tie}{'' if sound == 'r' else word}"
        )
    return " ".join(tokens)


@st.composite
def chord_lines(draw: st.DrawFn) -> str:
    """Chord symbols in the same shorthand."""
    roots = st.sampled_from(["C", "C#", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"])
    kinds = st.sampled_from(["", "m", "7", "maj7", "m7", "dim7", "m7b5", "sus4", "5", "7#9", "+"])
    symbols = []
    for _ in range(draw(st.integers(1, 12))):
        bass = f"/{draw(roots)}" if draw(st.integers(0, 3)) == 0 else ""
        symbol = draw(st.builds("{}{}".format, roots, kinds)) + bass
        length = draw(st.sampled_from(["1", "2", "4", "8"]))
        symbols.append(f"{draw(st.just(symbol) | st.just('NC'))}:{length}")
    return " ".join(symbols)
