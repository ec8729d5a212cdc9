"""What was left over from an earlier transcription, placed by hand or let go."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.errors import EditError
from analysis.marks import Analysis, Corrections, Mark
from analysis.pitch import Key, PitchName
from analysis.timebase import Span
from app.review.document import Decision, Document, Leftover, SourceInfo
from app.review.edits import Decide
from app.review.leftover_edits import DropLeftover, DropLeftovers, PlaceLeftover
from app.review.storage import from_bytes, stored, to_bytes
from tests.strategies import documents, edits_of, plain_score

SPAN = Span(Fraction(0), Fraction(4))
OLD = SourceInfo("song.musicxml", "", "1" * 64)
#: Two decisions and a key from a transcription of before.
LEFT = Leftover(
    OLD,
    decisions={
        "a": Decision("edited", label="my V", comment="say it", reading="II"),
        "b": Decision("accepted"),
    },
    corrections=Corrections(keys=((SPAN, Key(PitchName(0))),)),
)


@pytest.fixture
def document() -> Document:
    marks = (Mark("new", "chord", SPAN, (), (), "V", "It pulls."),)
    return Document(
        SourceInfo("song.musicxml", "", "2" * 64), plain_score(), Analysis(marks=marks),
        leftovers=(LEFT,),
    )  # fmt: skip


def test_a_leftover_decision_is_placed_on_another_mark(document: Document) -> None:
    after = PlaceLeftover(OLD.digest, "a", "new").apply(document)
    mark = after.mark("new")
    assert (mark.label, mark.state, mark.comment) == ("my V", "edited", "say it")
    assert mark.decision is not None
    assert mark.decision.reading == "", "the readings are the other mark's"
    assert set(after.leftovers[0].decisions) == {"b"}


def test_a_decision_is_never_written_over(document: Document) -> None:
    decided = Decide(("new",), "rejected").apply(document)
    with pytest.raises(EditError, match="reopen"):
        PlaceLeftover(OLD.digest, "a", "new").apply(decided)
    with pytest.raises(EditError, match="Select the mark"):
        PlaceLeftover(OLD.digest, "a", "gone").apply(document)
    with pytest.raises(EditError, match="no longer left over"):
        PlaceLeftover(OLD.digest, "c", "new").apply(document)


def test_what_is_dropped_is_gone_and_the_rest_stays(document: Document) -> None:
    after = DropLeftover(OLD.digest, "a").apply(document)
    after = DropLeftover(OLD.digest, "b").apply(after)
    assert after.leftovers[0].corrections == LEFT.corrections
    with pytest.raises(EditError, match="no longer left over"):
        DropLeftover(OLD.digest, "a").apply(after)
    empty = replace(document, leftovers=(replace(LEFT, corrections=Corrections()),))
    empty = DropLeftover(OLD.digest, "a").apply(empty)
    assert DropLeftover(OLD.digest, "b").apply(empty).leftovers == ()


def test_all_of_one_transcription_can_be_dropped(document: Document) -> None:
    other = replace(LEFT, source=replace(OLD, digest="3" * 64))
    document = replace(document, leftovers=(LEFT, other))
    assert DropLeftovers(OLD.digest).apply(document).leftovers == (other,)
    assert DropLeftovers().apply(document).leftovers == ()


@given(st.data())
def test_leftovers_survive_all_other_edits_and_the_file(data: Any) -> None:
    document = data.draw(documents(with_leftovers=True))
    edit = data.draw(edits_of(document))
    after = edit.apply(document)
    if not isinstance(edit, PlaceLeftover | DropLeftover | DropLeftovers):
        assert after.leftovers == document.leftovers
    assert from_bytes(to_bytes(stored(after))).leftovers == after.leftovers
