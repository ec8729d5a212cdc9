"""Decisions laid over marks, and what outlives a new analysis."""

from dataclasses import replace
from fractions import Fraction
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from analysis.marks import Analysis, Mark, Reading
from analysis.score import Score
from analysis.timebase import Span
from app.review.document import Decision, Document, ReviewedMark, SourceInfo
from app.review.edits import Decide, Reword
from tests.app.random_edits import busy_document, random_edit
from tests.strategies import documents, edits_of


def _mark(mark_id: str, label: str, start: int = 0, confidence: float = 0.9) -> Mark:
    span = Span(Fraction(start), Fraction(start + 4))
    return Mark(mark_id, "chord", span, ("P1",), ("n1",), label, "It is.", confidence=confidence)


def _document(*marks: Mark) -> Document:
    return Document(
        SourceInfo("song.musicxml", "", "0" * 64), Score("", "", (), ()), Analysis(marks=marks)
    )


def test_open_marks_below_the_default_confidence_are_not_shown() -> None:
    document = _document(_mark("sure", "I"), _mark("doubt", "II", 4, confidence=0.3))
    assert [mark.id for mark in document.shown_marks()] == ["sure"]


def test_an_accepted_mark_is_shown_whatever_its_confidence() -> None:
    document = _document(_mark("doubt", "II", confidence=0.3))
    document = Decide(("doubt",), "accepted").apply(document)
    assert [mark.state for mark in document.shown_marks()] == ["accepted"]


def test_a_rejected_mark_is_kept_and_not_shown() -> None:
    document = Decide(("a",), "rejected").apply(_document(_mark("a", "I")))
    assert not list(document.shown_marks())
    assert [mark.state for mark in document.marks()] == ["rejected"]


def test_words_survive_a_change_of_state() -> None:
    document = Reword("a", label="V/V", comment="say this").apply(_document(_mark("a", "II")))
    assert document.mark("a").state == "edited"
    document = Decide(("a",), "accepted").apply(document)
    assert (document.mark("a").label, document.mark("a").comment) == ("V/V", "say this")


def test_two_readings_of_one_label_are_told_apart_by_their_function() -> None:
    readings = (Reading("VII⁷", "up", function="D"), Reading("VII⁷", "home", function="S"))
    document = _document(replace(_mark("a", "V⁷/III"), alternatives=readings))
    for one in readings:
        chosen = Reword("a", reading=one.label, function=one.function).apply(document).mark("a")
        assert chosen.reading == one
        assert (chosen.label, chosen.function) == (one.label, one.function)
    older = ReviewedMark(document.mark("a").mark, Decision("edited", reading="VII⁷"))
    assert older.reading == readings[0], "as before functions were kept"
    gone = ReviewedMark(document.mark("a").mark, Decision("edited", reading="bII", function="D"))
    assert (gone.reading, gone.label) == (None, "bII")


def test_a_chosen_reading_takes_the_place_of_a_typed_label() -> None:
    mark = replace(_mark("a", "VI"), alternatives=(Reading("IV/III", "", function="T"),))
    document = Reword("a", label="mine", comment="say it").apply(_document(mark))
    after = Reword("a", reading="IV/III", function="T").apply(document).mark("a")
    assert (after.label, after.function, after.comment) == ("IV/III", "T", "say it")
    back = Reword("a", reading="").apply(
        Reword("a", reading="IV/III", function="T").apply(document)
    )
    assert back.mark("a").decision == replace(document.decisions["a"], label=None, mark=mark)


def test_a_comment_alone_decides_nothing() -> None:
    document = Reword("a", comment="ask the singer").apply(_document(_mark("a", "II")))
    assert document.mark("a").state == "open"


def test_reopening_an_undecided_mark_leaves_no_trace() -> None:
    document = Decide(("a",), "accepted").apply(_document(_mark("a", "I")))
    assert Decide(("a",), "open").apply(document).decisions == {}


def test_an_accepted_mark_outlives_an_analysis_that_says_otherwise() -> None:
    document = Decide(("old",), "accepted").apply(_document(_mark("old", "V/V")))
    document = replace(document, analysis=Analysis(marks=(_mark("new", "II7"),)))
    (mark,) = document.marks()
    assert (mark.label, mark.state) == ("V/V", "accepted")
    assert [reading.label for reading in mark.mark.alternatives] == ["II7"]


def test_a_rejected_mark_that_is_found_no_more_is_gone() -> None:
    document = Decide(("old",), "rejected").apply(_document(_mark("old", "V/V")))
    document = replace(document, analysis=Analysis(marks=(_mark("new", "II7"),)))
    assert [mark.id for mark in document.marks()] == ["new"]


def test_two_kept_marks_of_one_place_are_both_there() -> None:
    document = _document(_mark("a", "V/V"), _mark("b", "II"))
    document = Decide(("a", "b"), "accepted").apply(document)
    document = replace(document, analysis=Analysis(marks=(_mark("new", "II7"),)))
    assert [mark.id for mark in document.marks()] == ["a", "b"]


def test_a_mark_made_by_hand_is_never_taken_for_another_reading() -> None:
    document = Decide(("old",), "accepted").apply(_document(_mark("old", "V/V")))
    document = replace(document, analysis=Analysis(), own_marks=(_mark("own", "II"),))
    assert [mark.id for mark in document.marks()] == ["old", "own"]


@given(documents(), documents())
def test_every_accepted_or_edited_mark_is_there_whatever_is_found(
    document: Document, other: Document
) -> None:
    document = replace(document, analysis=other.analysis)
    listed = [mark.id for mark in document.marks()]
    assert len(listed) == len(set(listed))
    for mark_id, decision in document.decisions.items():
        if decision.mark and decision.state in ("accepted", "edited"):
            assert mark_id in listed
    own = {mark.id for mark in document.own_marks}
    assert own <= set(listed)
    known = {mark.id for mark in document.analysis.marks} | own | {"none"}
    for mark_id in known | set(document.decisions):
        assert document.has_mark(mark_id) == (mark_id in listed)


@given(st.data())
def test_an_edit_leaves_the_document_before_it_untouched(data: st.DataObject) -> None:
    document = data.draw(documents())
    before = dict(document.decisions), list(document.marks())
    after = data.draw(edits_of(document)).apply(document)
    assert (dict(document.decisions), list(document.marks())) == before
    assert {mark.id for mark in after.marks()} >= {mark.id for mark in document.analysis.marks} - {
        mark.id for mark in document.analysis.marks if mark.id not in after.decisions
    }


@given(st.data())
def test_the_last_decision_about_a_mark_wins(data: st.DataObject) -> None:
    document = data.draw(documents())
    for _ in range(3):
        document = data.draw(edits_of(document)).apply(document)
    mark = data.draw(st.sampled_from(document.analysis.marks))
    states = {reviewed.id: reviewed.state for reviewed in document.marks()}
    rejected = Decide((mark.id,), "rejected").apply(document)
    if mark.id in states:
        assert rejected.mark(mark.id).state == "rejected"
        others = {reviewed.id: reviewed.state for reviewed in rejected.marks()}
        assert {**states, mark.id: "rejected"} == others


def test_marks_folded_step_by_step_are_those_folded_at_once() -> None:
    """A document knows what it was made of; a copy of it knows nothing and folds all anew."""
    draw, document = Random(11), busy_document()
    for step in range(100):
        assert list(document.marks()) == list(replace(document).marks())
        document = random_edit(draw, document).apply(document)
        if step % 30 == 29:  # a new analysis no longer finds what was decided upon
            analysis = replace(document.analysis, marks=document.analysis.marks[20:])
            document = replace(document, analysis=analysis)
    assert len(document.decisions) > 10
