"""Borders of sections moved, split, joined, named and coloured."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.errors import EditError
from analysis.marks import Analysis, Section
from analysis.timebase import Span
from app.review.document import Document, SourceInfo
from app.review.section_edits import (
    ColourSection,
    JoinSections,
    MoveBorder,
    RenameSection,
    SetSections,
    SplitSection,
    sections_of,
)
from tests import strategies


@pytest.fixture
def document() -> Document:
    return made(("A", "Verse", 0, 16), ("B", "Chorus", 16, 48), ("A", "Verse", 48, 64))


def made(*rows: tuple[str, str, int, int]) -> Document:
    sections = tuple(
        Section(Span(Fraction(start), Fraction(end)), label, name, True)
        for label, name, start, end in rows
    )
    score = strategies.plain_score()
    return Document(SourceInfo("", "", ""), score, Analysis(sections=sections))


def rows_of(document: Document) -> list[tuple[str, str, int, int]]:
    return [
        (one.label, one.name, int(one.span.start), int(one.span.end))
        for one in sections_of(document)
    ]


def test_a_border_moves_two_sections(document: Document) -> None:
    after = MoveBorder(1, Fraction(20)).apply(document)
    assert rows_of(after) == [
        ("A", "Verse", 0, 20),
        ("B", "Chorus", 20, 48),
        ("A", "Verse", 48, 64),
    ]
    assert after.analysis.sections == document.analysis.sections, "what was found stays"


@pytest.mark.parametrize(("index", "to"), [(0, 4), (3, 60), (1, 0), (1, 48), (2, 64)])
def test_a_border_stays_between_its_sections(document: Document, index: int, to: int) -> None:
    with pytest.raises(EditError):
        MoveBorder(index, Fraction(to)).apply(document)


def test_split_and_join(document: Document) -> None:
    after = SplitSection(Fraction(32), name="Bridge").apply(document)
    assert rows_of(after)[1:3] == [("B", "Chorus", 16, 32), ("C", "Bridge", 32, 48)]
    assert rows_of(JoinSections(1).apply(after)) == rows_of(document)
    with pytest.raises(EditError, match="nothing to split"):
        SplitSection(Fraction(16)).apply(document)
    with pytest.raises(EditError, match="no section after"):
        JoinSections(2).apply(document)


def test_the_next_letter_after_z_has_a_number() -> None:
    letters = [chr(ord("A") + at) for at in range(26)]
    document = made(*((letter, "", 2 * at, 2 * at + 2) for at, letter in enumerate(letters)))
    assert rows_of(SplitSection(Fraction(1)).apply(document))[1] == ("A2", "", 1, 2)


def test_names_letters_and_colours(document: Document) -> None:
    after = RenameSection(1, name="Refrain", label="R").apply(document)
    assert rows_of(after)[1] == ("R", "Refrain", 16, 48)
    with pytest.raises(EditError, match="letter"):
        RenameSection(1, label=" ").apply(document)
    after = ColourSection("R", "#0072B2").apply(after)
    assert after.section_colours == {"R": "#0072b2"}
    assert ColourSection("R", "").apply(after).section_colours == {}
    with pytest.raises(EditError, match="no colour"):
        ColourSection("R", "blue").apply(document)


def test_sections_with_gaps_are_refused(document: Document) -> None:
    first, _, third = sections_of(document)
    with pytest.raises(EditError, match="without gaps"):
        SetSections((first, third)).apply(document)


@given(st.data())
def test_whatever_is_done_sections_tile_the_piece(data: st.DataObject) -> None:
    document = made(("A", "", 0, 16), ("B", "", 16, 48), ("A", "", 48, 64))
    for _ in range(5):
        document = data.draw(strategies.section_edits_of(document)).apply(document)
    spans = [one.span for one in sections_of(document)]
    assert spans[0].start == 0
    assert spans[-1].end == 64
    assert all(one.end == following.start for one, following in pairwise(spans))
    assert all(one.start < one.end for one in spans)
