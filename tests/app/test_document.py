"""Decisions laid over marks, and what outlives a new analysis."""

import pickle
from dataclasses import replace
from fractions import Fraction
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.marks import Analysis, ChordFact, Mark, MarkKind, Reading
from analysis.pitch import Key
from analysis.score import Score
from analysis.timebase import Span
from app.review.document import Decision, Document, ReviewedMark, SourceInfo, State, Time
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


@pytest.mark.parametrize(("start", "length"), [(-1, 2), (0, 0), (3, -1), (-2, -1)])
def test_no_time_begins_before_the_video_or_lasts_not_at_all(start: int, length: int) -> None:
    with pytest.raises(ValueError, match="longer than 0"):
        Time(Fraction(start), Fraction(length))


def test_a_time_may_begin_with_the_video() -> None:
    assert Time(Fraction(0), Fraction(1, 30)).end == Fraction(1, 30)
    assert Time(Fraction(2), Fraction(3)).end == 5


def test_an_undecided_mark_says_what_was_found() -> None:
    found = _mark("a", "V")
    fact = ChordFact(found.span, "h", ("h",), Key.parse("C major"), None, None, "D", False)
    open_mark = ReviewedMark(replace(found, fact=fact), None)
    assert (open_mark.state, open_mark.label, open_mark.sentence) == ("open", "V", "It is.")
    assert (open_mark.reading, open_mark.function, open_mark.comment) == (None, "D", "")
    assert ReviewedMark(found, None).function == "", "what is no chord has none"
    worded = ReviewedMark(found, Decision("edited", sentence="", comment="ask"))
    assert (worded.sentence, worded.comment, worded.label) == ("", "ask", "V")


@pytest.mark.parametrize("kind", ["key", "section"])
def test_keys_and_sections_are_shown_however_unsure(kind: MarkKind) -> None:
    document = _document(replace(_mark("a", "C major", confidence=0.1), kind=kind))
    assert [mark.id for mark in document.shown_marks()] == ["a"]
    assert not list(Decide(("a",), "rejected").apply(document).shown_marks())


def test_the_least_confidence_is_shown_and_each_bound_by_itself() -> None:
    document = _document(_mark("half", "I", confidence=0.5), _mark("third", "II", 4, 0.3))
    for least, ids in ((0.5, ["half"]), (0.3, ["half", "third"]), (0.6, []), (0.5, ["half"])):
        assert [mark.id for mark in document.shown_marks(least)] == ids
    commented = Reword("third", comment="hm").apply(document)
    assert [mark.id for mark in commented.shown_marks()] == ["half"], "it is as open as before"


def test_marks_come_by_start_then_by_end() -> None:
    long = replace(_mark("a", "I"), span=Span(Fraction(0), Fraction(8)))
    document = _document(_mark("c", "V", 4), long, _mark("b", "I"))
    assert [mark.id for mark in document.marks()] == ["b", "a", "c"]


@pytest.mark.parametrize("state", ["accepted", "edited", "rejected", "open"])
def test_what_was_decided_keeps_a_mark_that_is_found_no_more(state: State) -> None:
    kept = Decision(state, comment="say it", mark=_mark("old", "V/V"))
    document = replace(_document(_mark("far", "I", 8)), decisions={"old": kept})
    stays = state in ("accepted", "edited")
    assert [mark.id for mark in document.marks()] == ["old", "far"][not stays :]
    unknown = replace(document, decisions={"old": replace(kept, mark=None)})
    assert [mark.id for mark in unknown.marks()] == ["far"]


def test_a_kept_mark_goes_by_the_id_that_its_decision_has() -> None:
    document = replace(
        _document(), decisions={"now": Decision("accepted", mark=_mark("then", "V/V"))}
    )
    assert [(mark.id, mark.state) for mark in document.marks()] == [("now", "accepted")]


@pytest.mark.parametrize(
    "other",
    [
        replace(_mark("new", "II7"), parts=("P2",)),
        replace(_mark("new", "II7"), kind="cadence"),
        _mark("new", "II7", 2),
    ],
    ids=["another part", "another kind", "another place"],
)
def test_a_claim_about_something_else_is_no_reading_of_a_kept_mark(other: Mark) -> None:
    document = Decide(("old",), "accepted").apply(_document(_mark("old", "V/V")))
    document = replace(document, analysis=Analysis(marks=(other,)))
    assert {mark.id for mark in document.marks()} == {"old", "new"}
    assert document.mark("old").mark.alternatives == ()


def test_what_a_kept_mark_offers_already_is_not_offered_twice() -> None:
    old = replace(_mark("old", "V/V"), alternatives=(Reading("II7", "at home"),))
    document = Decide(("old",), "accepted").apply(_document(old))
    for label, offered in (("II7", ["II7"]), ("V/V", ["II7"]), ("ii", ["II7", "ii"])):
        found = replace(document, analysis=Analysis(marks=(_mark("new", label, confidence=0.7),)))
        (mark,) = found.marks()
        assert [reading.label for reading in mark.mark.alternatives] == offered
    added = mark.mark.alternatives[-1]
    assert (added.reason, added.confidence) == ("It is.", 0.7)


def test_a_decided_mark_that_is_opened_again_gives_way_to_the_kept_one() -> None:
    """Also where the marks had been listed before."""
    document = Decide(("old",), "accepted").apply(_document(_mark("old", "V/V")))
    document = replace(document, analysis=Analysis(marks=(_mark("new", "II7"),)))
    both = document.with_decisions({"new": Decision("rejected", mark=_mark("new", "II7"))})
    assert [mark.id for mark in both.marks()] == ["new", "old"]
    again = both.with_decisions({"new": None})
    assert [mark.id for mark in again.marks()] == ["old"]
    assert [reading.label for reading in again.mark("old").mark.alternatives] == ["II7"]


def test_only_what_was_decided_is_folded_anew() -> None:
    document = replace(_document(_mark("a", "I"), _mark("b", "V", 4)), own_marks=(_mark("c", "x"),))
    before = {mark.id: mark for mark in document.marks()}
    for decided in ({"a"}, {"c"}, {"a", "b", "c"}):
        after = document.with_decisions(dict.fromkeys(decided, Decision("accepted")))
        fresh = {mark.id for mark in after.marks() if mark is not before[mark.id]}
        assert fresh == decided
        assert {mark.id for mark in after.marks() if mark.state == "accepted"} == decided
    assert {mark.state for mark in document.marks()} == {"open"}


def test_what_a_document_has_worked_out_is_none_of_its_value() -> None:
    document = Decide(("a",), "accepted").apply(_document(_mark("a", "I"), _mark("b", "V", 4)))
    copy = replace(document)
    said = repr(document)
    list(document.marks()), list(document.shown_marks())
    assert document == copy
    assert hash(document) == hash(copy)
    assert repr(document) == said
    crossed = pickle.loads(pickle.dumps(document))
    assert crossed == document
    assert len(pickle.dumps(document)) == len(pickle.dumps(copy))
    assert list(crossed.marks()) == list(document.marks())
    assert list(crossed.shown_marks()) == list(document.shown_marks())


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
