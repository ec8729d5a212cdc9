"""Marks made by hand, and the order of the talking points."""

from fractions import Fraction

import pytest

from analysis.errors import EditError
from analysis.marks import Analysis, Mark
from analysis.timebase import Span
from app.review.document import Document, SourceInfo
from app.review.edits import Decide, Reword
from app.review.mark_edits import AddMark, ChangeMark, RemoveMarks, Reorder, own_mark
from tests import strategies

SPAN = Span(Fraction(4), Fraction(8))


@pytest.fixture
def document() -> Document:
    found = Mark("found", "chord", SPAN, (), (), "I", "It is home.")
    score = strategies.plain_score()
    return Document(SourceInfo("", "", ""), score, Analysis(marks=(found,)))


def test_a_mark_made_by_hand_is_a_mark_like_any_other(document: Document) -> None:
    mark = own_mark("line", SPAN, "bass goes down", "Listen to the bass.", ("P2",), ("P2n1",))
    document = AddMark(mark).apply(document)
    document = Reword(mark.id, label="falling bass").apply(document)
    assert document.mark(mark.id).label == "falling bass"
    assert document.mark(mark.id).state == "edited"
    with pytest.raises(EditError, match="already"):
        AddMark(mark).apply(document)


def test_two_marks_made_alike_have_two_ids() -> None:
    assert own_mark("line", SPAN, "a", "b").id != own_mark("line", SPAN, "a", "b").id


def test_removing_takes_decision_and_place_in_the_order_with_it(document: Document) -> None:
    mark = own_mark("cadence", SPAN, "half cadence", "It waits.")
    edited = AddMark(mark).apply(document)
    edited = Decide((mark.id,), "accepted").apply(edited)
    edited = Reorder((mark.id, "found")).apply(edited)
    edited = RemoveMarks((mark.id,)).apply(edited)
    assert edited == Reorder(("found",)).apply(document)


def test_found_marks_are_neither_changed_nor_removed(document: Document) -> None:
    with pytest.raises(EditError, match="made by hand"):
        RemoveMarks(("found",)).apply(document)
    with pytest.raises(EditError, match="made by hand"):
        ChangeMark(document.analysis.marks[0]).apply(document)


def test_a_mark_without_a_place_is_refused(document: Document) -> None:
    with pytest.raises(EditError, match="place"):
        AddMark(own_mark("line", Span(Fraction(4), Fraction(4)), "", "")).apply(document)


def test_an_order_names_each_mark_once(document: Document) -> None:
    assert Reorder(("b", "a", "b")).apply(document).order == ("b", "a")


def test_a_reworded_mark_that_is_gone_is_said_in_words(document: Document) -> None:
    with pytest.raises(EditError, match="no longer there"):
        Reword("gone", label="x").apply(document)
