"""Keys, chords and roles set by hand: what later ones do to earlier ones."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.chords import KIND_DEGREES, Chord
from analysis.errors import EditError
from analysis.marks import Analysis, Mark
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
from app.review.document import Document, SourceInfo
from app.review.edits import Decide
from tests import strategies

C, G, D = (PitchName.parse(name) for name in "CGD")


def span(start: int, end: int) -> Span:
    return Span(Fraction(start), Fraction(end))


@pytest.fixture(scope="module")
def document() -> Document:
    score = strategies.plain_score()
    return Document(SourceInfo("song.musicxml", "", "0" * 64), score, Analysis())


def test_a_key_cuts_the_one_before_it(document: Document) -> None:
    document = SetKey(span(0, 32), Key(C)).apply(document)
    document = SetKey(span(8, 16), Key(G)).apply(document)
    assert document.corrections.keys == (
        (span(0, 8), Key(C)),
        (span(8, 16), Key(G)),
        (span(16, 32), Key(C)),
    )


def test_a_key_set_again_replaces_itself(document: Document) -> None:
    document = SetKey(span(0, 32), Key(C)).apply(document)
    document = SetKey(span(0, 32), Key(D, "minor")).apply(document)
    assert document.corrections.keys == ((span(0, 32), Key(D, "minor")),)
    assert ClearKey(span(0, 64)).apply(document).corrections.keys == ()


def test_no_chord_is_a_chord_set_by_hand(document: Document) -> None:
    major = Chord(C, KIND_DEGREES["major"], C, "major")
    document = SetChord(span(0, 8), major).apply(document)
    document = SetChord(span(4, 8), None).apply(document)
    assert document.corrections.chords == ((span(0, 4), major), (span(4, 8), None))
    document = ClearChord(span(4, 8)).apply(document)
    assert document.corrections.chords == ((span(0, 4), major),)


def test_a_chord_set_by_hand_reopens_what_was_decided_there(document: Document) -> None:
    chord = Mark("chord0", "chord", span(0, 4), (), (), "I", "")
    later = replace(chord, id="chord4", span=span(4, 8))
    cadence = replace(later, id="cadence4", kind="cadence")
    marks = (chord, later, cadence)
    document = replace(document, analysis=Analysis(marks=marks))
    document = Decide(tuple(mark.id for mark in marks), "accepted").apply(document)
    after = SetChord(span(4, 8), None).apply(document)
    assert set(after.decisions) == {"chord0", "cadence4"}
    assert SetChord(span(4, 8), None).apply(after) is after, "nothing is set anew"


@pytest.mark.parametrize("where", [span(4, 4), span(8, 4), span(64, 68), span(-4, 0)])
def test_a_place_outside_the_piece_is_refused(document: Document, where: Span) -> None:
    with pytest.raises(EditError, match="stretch of the piece"):
        SetKey(where, Key(C)).apply(document)


def test_a_part_has_one_role(document: Document) -> None:
    document = SetMelodyPart("P1").apply(document)
    document = SetRole("P1", "bass").apply(document)
    assert (document.corrections.melody_part, document.corrections.roles) == ("", (("P1", "bass"),))
    document = SetMelodyPart("P1").apply(document)
    assert (document.corrections.melody_part, document.corrections.roles) == ("P1", ())
    document = SetRole("P2", "bass").apply(document)
    assert SetRole("P2", "").apply(document).corrections.roles == ()


def test_unknown_parts_and_roles_are_refused(document: Document) -> None:
    with pytest.raises(EditError, match="no such part"):
        SetMelodyPart("P9").apply(document)
    with pytest.raises(EditError, match="no role"):
        SetRole("P1", "soloist").apply(document)


@given(st.lists(st.tuples(strategies.spans(), strategies.keys), max_size=6), st.fractions(0, 63))
def test_the_last_key_set_at_a_place_holds(rows: list[tuple[Span, Key]], place: Fraction) -> None:
    document = Document(SourceInfo("", "", ""), strategies.plain_score(), Analysis())
    wanted = None
    for where, key in rows:
        if where.start < document.score.end:
            document = SetKey(where, key).apply(document)
            wanted = key if place in where else wanted
    held = [key for where, key in document.corrections.keys if place in where]
    assert held == ([wanted] if wanted else [])
    ordered = [where for where, _ in document.corrections.keys]
    assert all(one.end <= other.start for one, other in pairwise(ordered))
