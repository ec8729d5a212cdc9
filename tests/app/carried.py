"""Reviews of samples, carried over to the same music edited; nothing may get lost on the way."""

from collections.abc import Callable, Iterable

from app.review.carry_reports import Group
from app.review.carrying import Carried
from app.review.document import Decision, Document
from app.review.edits import Decide, Reword
from app.review.storage import from_bytes, stored, to_bytes
from tests.app.reviews import read_sample
from tests.app.transcriptions import (
    Root,
    exported_again,
    transcription,
)

SAMPLE = "slow-to-warm"


def reviewed(name: str = SAMPLE) -> Document:
    """A sample of which every third mark is accepted, rejected or edited, with a remark."""
    document = read_sample(name)[1]
    marks = [mark.id for mark in document.marks()]
    document = Decide(tuple(marks[::3]), "accepted").apply(document)
    document = Decide(tuple(marks[1::3]), "rejected").apply(document)
    for mark in marks[2::3]:
        document = Reword(mark, sentence="In my own words.", comment="say it").apply(document)
    return document


def edited(edit: Callable[[Root], None], document: Document) -> tuple[Document, Carried]:
    """The sample of the document edited, and the review carried over to it."""
    root = transcription(document.source.name.removesuffix(".musicxml"))
    edit(root)
    after, carried = exported_again(document, root)
    nothing_is_lost(document, after, carried)
    return after, carried


def nothing_is_lost(before: Document, after: Document, carried: Carried) -> None:
    """Every decision is somewhere, with its words, and every id that is named exists."""
    left = [one for rest in after.leftovers for one in rest.decisions.values()]

    def words(decisions: Iterable[Decision]) -> list[tuple[str, str, str]]:
        return sorted((one.state, one.sentence or "", one.comment) for one in decisions)

    assert words([*after.decisions.values(), *left]) == words(before.decisions.values())
    ids = {note.id for part in after.score.parts for note in part.notes}
    ids |= {symbol.id for symbol in after.score.chord_symbols}
    for mark_id, decision in after.decisions.items():
        assert decision.mark is not None
        assert decision.mark.id == mark_id
        assert set(decision.mark.elements) <= ids
        assert set(decision.mark.parts) <= {part.id for part in after.score.parts}
        assert decision.mark.span.end <= after.score.end
        if decision.state in ("accepted", "edited"):
            assert after.mark(mark_id).state == decision.state
    for entry in carried.report.entries:
        if entry.selection.mark:
            assert after.has_mark(entry.selection.mark)
            assert entry.now
        assert set(entry.selection.elements) <= ids
        assert entry.group != "unplaced" or not entry.now
    assert from_bytes(to_bytes(stored(after))) == from_bytes(to_bytes(carried.review))


def names(carried: Carried, group: Group) -> list[str]:
    return [entry.name for entry in carried.report.group(group)]


def states(document: Document) -> list[tuple[str, str, str]]:
    """What a viewer of the review sees, without places."""
    return [(one.label, one.state, one.comment) for one in document.marks()]
