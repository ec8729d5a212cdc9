"""What edits are called in the undo list, and their smaller promises, one by one."""

from dataclasses import replace
from fractions import Fraction

import pytest

from analysis.chords import KIND_DEGREES, Chord
from analysis.errors import EditError
from analysis.marks import Analysis, Mark, MarkKind, Section
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
from app.review.document import Decision, Document, SourceInfo
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
from tests import strategies

SPAN = Span(Fraction(4), Fraction(8))
CHORD = Chord(PitchName(0), KIND_DEGREES["minor"], PitchName(-3), "minor")


def mark(mark_id: str, label: str = "I", start: int = 4, kind: MarkKind = "chord") -> Mark:
    span = Span(Fraction(start), Fraction(start + 4))
    return Mark(mark_id, kind, span, ("P1",), (), label, f"It is {label}.", confidence=0.9)


@pytest.fixture
def document() -> Document:
    sections = tuple(
        Section(Span(Fraction(start), Fraction(end)), label, "", True)
        for label, start, end in (("A", 0, 16), ("B", 16, 48), ("A", 48, 64))
    )
    analysis = Analysis(sections=sections, marks=(mark("a"), mark("b", "V", 8)))
    return Document(SourceInfo("song.musicxml", "", ""), strategies.plain_score(), analysis)


NAMES: list[tuple[Edit, str]] = [
    (Decide(("a",), "accepted", "V⁷/vi"), "Accept V⁷/vi"),
    (Decide(("a",), "rejected"), "Reject mark"),
    (Decide(("a", "b"), "open"), "Reopen 2 marks"),
    (Decide(("a", "b", "c"), "edited"), "Edit 3 marks"),
    (Reword("a", reading="ii"), "Choose another reading"),
    (Reword("a", label="x", reading="ii"), "Choose another reading"),
    (Reword("a", comment="x"), "Comment"),
    (Reword("a", label="x", comment="x"), "Edit mark"),
    (Reword("a", sentence="x", comment="x"), "Edit mark"),
    (AddMark(mark("c", "half cadence")), "Add half cadence"),
    (AddMark(mark("c", "")), "Add"),
    (ChangeMark(mark("c", "half cadence")), "Change half cadence"),
    (RemoveMarks(("c",)), "Remove the mark"),
    (RemoveMarks(("c", "d")), "Remove 2 marks"),
    (Reorder(("a",)), "Order the talking points"),
    (SetKey(SPAN, Key.parse("Bb minor")), "Set B♭ minor"),
    (ClearKey(SPAN), "Find the key again"),
    (SetChord(SPAN, CHORD), "Set Cm/E♭"),
    (SetChord(SPAN, None), "Set N.C."),
    (ClearChord(SPAN), "Go back to the score’s chord"),
    (SetMelodyPart("P1"), "Choose the melody"),
    (SetRole("P1", "bass"), "Make it bass"),
    (SetRole("P1", ""), "Find the role again"),
    (SetSections(()), "Set the sections"),
    (SetSections(None), "Find the sections again"),
    (MoveBorder(1, Fraction(4)), "Move the border"),
    (SplitSection(Fraction(4)), "Split the section"),
    (JoinSections(0), "Join the sections"),
    (RenameSection(0), "Rename the section"),
    (ColourSection("A", ""), "Colour the section"),
]


@pytest.mark.parametrize(("edit", "text"), NAMES)
def test_what_the_undo_list_says(edit: Edit, text: str) -> None:
    assert edit.text == text


@pytest.mark.parametrize("edit", [Reorder(()), MoveBorder(1, Fraction(4))], ids=["order", "border"])
def test_edits_are_no_drag_unless_they_say_so(edit: Reorder | MoveBorder) -> None:
    assert edit.drag == ""


def test_a_decision_touches_its_marks_alone_and_keeps_them(document: Document) -> None:
    after = Decide(("b",), "accepted").apply(document)
    assert after.decisions == {"b": Decision("accepted", mark=mark("b", "V", 8))}
    commented = Reword("b", comment="slowly").apply(after)
    assert commented.mark("b").state == "accepted"
    reopened = Decide(("b",), "open").apply(commented)
    assert reopened.decisions["b"].comment == "slowly", "a word of the user's is no trace to lose"
    assert Decide(("a",), "rejected").apply(document).mark("b").state == "open"


def test_what_is_said_goes_before_what_is_chosen_before_what_was_found(document: Document) -> None:
    assert (document.mark("a").label, document.mark("a").comment) == ("I", "")
    chosen = Reword("a", reading="vi").apply(document)
    assert (chosen.mark("a").label, chosen.mark("a").state) == ("vi", "edited")
    assert chosen.mark("a").sentence == "It is I."
    said = Reword("a", label="home", sentence="We are home.").apply(chosen)
    assert (said.mark("a").label, said.mark("a").sentence) == ("home", "We are home.")
    emptied = Reword("a", label="").apply(said)
    assert emptied.mark("a").label == ""


def test_a_changed_mark_takes_its_decision_along(document: Document) -> None:
    own, other = mark("own", "line"), mark("other", "line")
    edited = AddMark(other).apply(AddMark(own).apply(document))
    edited = Decide(("own", "other", "a"), "accepted").apply(edited)
    changed = ChangeMark(replace(own, label="falling bass")).apply(edited)
    assert [one.label for one in changed.own_marks] == ["falling bass", "line"]
    kept = {mark_id: held.mark for mark_id, held in changed.decisions.items()}
    assert kept == {"own": changed.own_marks[0], "other": other, "a": mark("a")}
    for start, end in ((8, 8), (9, 8)):
        nowhere = replace(own, span=Span(Fraction(start), Fraction(end)))
        with pytest.raises(EditError, match="needs a place"):
            ChangeMark(nowhere).apply(edited)
        with pytest.raises(EditError, match="needs a place"):
            AddMark(replace(nowhere, id="new")).apply(edited)
    short = replace(own, span=Span(Fraction(8), Fraction(8) + Fraction(1, 24)))
    assert ChangeMark(short).apply(edited).own_marks[0] == short


def test_only_a_mark_made_by_hand_is_changed_however_many_there_are(document: Document) -> None:
    alone = AddMark(mark("own")).apply(document)
    changed = replace(mark("own"), label="x")
    assert ChangeMark(changed).apply(alone).own_marks == (changed,)
    with pytest.raises(EditError, match="made by hand"):
        ChangeMark(mark("a")).apply(alone)


def test_removing_leaves_the_others(document: Document) -> None:
    edited = AddMark(mark("other")).apply(AddMark(mark("own")).apply(document))
    edited = Decide(("own", "other", "a"), "accepted").apply(edited)
    edited = Reorder(("a", "own", "other")).apply(edited)
    left = RemoveMarks(("own",)).apply(edited)
    assert [one.id for one in left.own_marks] == ["other"]
    assert (set(left.decisions), left.order) == ({"other", "a"}, ("a", "other"))
    with pytest.raises(EditError, match="made by hand"):
        RemoveMarks(("other", "a")).apply(edited)


def test_marks_stand_in_order_of_place_and_then_of_kind(document: Document) -> None:
    late, wide = mark("late", "x", 12), mark("wide", "x", 8)
    wide = replace(wide, span=Span(Fraction(8), Fraction(40)))
    kinds = [mark("k", "x", 8, "key"), mark("c", "x", 8, "cadence")]
    for one in (late, wide, *kinds):
        document = AddMark(one).apply(document)
    assert [one.id for one in document.marks()] == ["a", "c", "b", "k", "wide", "late"]
    assert document.has_mark("wide")
    assert not document.has_mark("gone")
    with pytest.raises(KeyError):
        document.mark("gone")


def test_only_keys_and_sections_are_shown_however_unsure(document: Document) -> None:
    kinds: tuple[MarkKind, ...] = ("chord", "key", "section", "line")
    unsure = tuple(replace(mark(kind, "x", 4, kind), confidence=0.2) for kind in kinds)
    even = replace(mark("even", "x", 20), confidence=0.5)
    shown = replace(document, analysis=Analysis(marks=(*unsure, even)))
    assert {one.id for one in shown.shown_marks(0.5)} == {"key", "section", "even"}
    assert {one.id for one in shown.shown_marks(0.6)} == {"key", "section"}
    decided = Decide(("chord",), "accepted").apply(shown)
    decided = Decide(("key",), "rejected").apply(decided)
    assert {one.id for one in decided.shown_marks(0.6)} == {"chord", "section"}


@pytest.mark.parametrize(("state", "kept"), [("accepted", True), ("rejected", False)])
def test_a_decision_may_outlive_what_it_was_about(
    document: Document, state: str, kept: bool
) -> None:
    decided = Decide(("a",), state).apply(document)  # type: ignore[arg-type]
    other = replace(mark("new", "vi"), sentence="It is another.")
    later = replace(decided, analysis=Analysis(marks=(other,)))
    assert later.has_mark("a") is kept
    assert later.has_mark("new") is not kept
    if kept:
        assert [one.label for one in later.mark("a").mark.alternatives] == ["vi"]
        renamed = replace(later, decisions={"elsewhere": later.decisions["a"]})
        assert [one.id for one in renamed.marks()] == ["elsewhere"]


def test_sections_are_changed_one_at_a_time(document: Document) -> None:
    def rows(of: Document) -> list[tuple[str, str]]:
        return [(one.label, one.name) for one in sections_of(of)]

    named = RenameSection(0, name="Intro").apply(document)
    assert rows(named) == [("A", "Intro"), ("B", ""), ("A", "")]
    assert (sections_of(named)[0].confidence, sections_of(named)[1]) == (
        1.0,
        sections_of(document)[1],
    )
    assert rows(RenameSection(2, label=" C ").apply(named))[2] == ("C", "")
    assert RenameSection(1, name="", label="B").apply(document) is document
    for index in (-1, 3):
        with pytest.raises(EditError, match="no such section"):
            RenameSection(index, name="x").apply(document)
        with pytest.raises(EditError, match="no section after"):
            JoinSections(index).apply(document)
    assert rows(JoinSections(0).apply(document)) == [("A", ""), ("A", "")]
    assert MoveBorder(1, Fraction(16)).apply(document) is document
    assert rows(SplitSection(Fraction(1), "X", "Tag").apply(document))[:2] == [
        ("A", ""),
        ("X", "Tag"),
    ]
    with pytest.raises(EditError, match="must last"):
        SetSections(
            (replace(sections_of(document)[0], span=Span(Fraction(3), Fraction(3))),)
        ).apply(document)
    with pytest.raises(EditError, match="nothing to split"):
        SplitSection(Fraction(64)).apply(document)


def test_a_correction_of_nothing_is_the_same_document(document: Document) -> None:
    assert ClearKey(SPAN).apply(document) is document
    assert SetMelodyPart("").apply(document) is document
    both = SetRole("P2", "bass").apply(SetRole("P1", "backing").apply(document))
    assert both.corrections.roles == (("P1", "backing"), ("P2", "bass"))
    assert SetMelodyPart("P2").apply(both).corrections.roles == (("P1", "backing"),)
    sung = SetMelodyPart("P1").apply(document)
    assert SetRole("P2", "bass").apply(sung).corrections.melody_part == "P1"


def test_the_last_moment_of_the_piece_can_be_corrected(document: Document) -> None:
    end = document.score.end
    last = Span(end - 1, end + 1)
    assert SetKey(last, Key.parse("C")).apply(document).corrections.keys[0][0] == last
    cut = SetKey(Span(end - 2, end), Key.parse("G")).apply(document)
    cut = ClearKey(Span(end - 1, end)).apply(cut)
    assert [where for where, _ in cut.corrections.keys] == [Span(end - 2, end - 1)]
