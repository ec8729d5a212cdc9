"""All hypothesis strategies: values of the analysis and of the review, drawn at random."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from analysis.chords import KIND_DEGREES, Chord
from analysis.marks import Analysis, Corrections, Evidence, Mark, Reading, Section
from analysis.pitch import MODE_SHIFT, Key, Pitch, PitchName
from analysis.score import Score
from analysis.timebase import Span
from app.review.document import Decision, Document, SourceInfo
from app.review.edits import Decide, Edit, Reword

# Lone surrogates are no text: JSON in UTF-8 cannot hold them, and no keyboard types them.
words = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
offsets = st.fractions(0, 64, max_denominator=12)
names = st.integers(-12, 16).map(PitchName)
pitches = st.builds(Pitch, names, st.integers(1, 6))
keys = st.builds(Key, st.integers(-6, 6).map(PitchName), st.sampled_from(list(MODE_SHIFT)))
confidences = st.floats(0, 1)


@st.composite
def spans(draw: st.DrawFn) -> Span:
    start = draw(offsets)
    return Span(start, start + draw(st.fractions(Fraction(1, 12), 16, max_denominator=12)))


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
    comment=words,
    mark=st.none() | marks,
)
sources = st.builds(SourceInfo, words, words, st.binary(min_size=32, max_size=32).map(bytes.hex))


@st.composite
def documents(draw: st.DrawFn) -> Document:
    found = draw(st.lists(marks, min_size=1, max_size=8, unique_by=lambda mark: mark.id))
    decided = draw(st.lists(st.sampled_from(found), max_size=4, unique_by=lambda mark: mark.id))
    return Document(
        source=draw(sources),
        score=Score("", "", (), ()),
        analysis=Analysis(marks=tuple(found)),
        decisions={mark.id: draw(decisions) for mark in decided},
        own_marks=tuple(draw(st.lists(marks, max_size=2))),
        corrections=draw(corrections),
        order=tuple(draw(st.lists(words, max_size=3))),
        section_colours=draw(st.dictionaries(words, words, max_size=2)),
    )


def edits_of(document: Document) -> st.SearchStrategy[Edit]:
    """Any edit that fits the document's marks."""
    ids = st.sampled_from([reviewed.id for reviewed in document.marks()])
    some_ids = st.lists(ids, min_size=1, max_size=3, unique=True).map(tuple)
    states = st.sampled_from(["open", "accepted", "rejected"])
    decide = st.builds(Decide, mark_ids=some_ids, state=states, name=words)
    text = st.none() | words
    reword = st.builds(Reword, mark_id=ids, label=text, sentence=text, reading=text, comment=text)
    return decide | reword


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
