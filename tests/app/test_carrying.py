"""Reviews carried over to samples that were corrected and exported again."""

from dataclasses import replace

import pytest
from lxml import etree

from analysis.marks import Mark
from app.review.document import Decision, Document
from app.review.edits import Decide
from app.review.transpositions import Interval
from tests.app.carried import SAMPLE, edited, names, reviewed, states
from tests.app.reviews import SAMPLES, melody_mark, read_sample
from tests.app.transcriptions import (
    Root,
    delete_measures,
    exported_again,
    insert_rests,
    notes_of,
    rename_part,
    set_pitch,
    set_symbol,
    transcription,
    transpose,
    turn_parts_round,
)


@pytest.mark.parametrize("name", SAMPLES)
def test_the_same_music_exported_again_changes_nothing(name: str) -> None:
    before = reviewed(name)
    after, carried = edited(lambda root: root.set("version", "3.1"), before)
    assert after.source.digest != before.source.digest
    assert carried.report.entries == ()
    assert carried.report.statements == ()
    assert carried.report.kept == len(before.decisions)
    assert states(after) == states(before)


@pytest.mark.parametrize("name", SAMPLES)
def test_parts_in_another_order_with_other_ids_change_nothing(name: str) -> None:
    before = reviewed(name)
    after, carried = edited(turn_parts_round, before)
    assert names(carried, "unplaced") == []
    kept = {(one.label, one.state) for one in before.marks() if one.state != "open"}
    assert kept <= {(one.label, one.state) for one in after.marks()}


@pytest.mark.parametrize("name", SAMPLES)
def test_a_transposed_song_keeps_every_decision(name: str) -> None:
    before = reviewed(name)
    after, carried = edited(lambda root: transpose(root, Interval(2, 1)), before)
    assert carried.report.statements == ("The song is 2 half steps higher.",)
    assert names(carried, "unplaced") == []
    shares = carried.report.kept / len(before.decisions)
    assert shares > 0.95, carried.report.entries
    assert len(after.leftovers) == 0


@pytest.mark.parametrize("name", SAMPLES)
def test_measures_inserted_before_move_everything_after_them(name: str) -> None:
    before = reviewed(name)
    after, carried = edited(lambda root: insert_rests(root, 1, 2), before)
    assert len(carried.report.statements) == 1
    assert carried.report.statements[0].endswith("are new.")
    assert names(carried, "unplaced") == []
    shift = after.score.end - before.score.end
    changed = {entry.name for entry in carried.report.group("changed")}
    start = before.score.measures[1].onset
    new = {decision.mark.id: decision for decision in after.decisions.values() if decision.mark}
    places = {(one.mark.label, one.mark.span.start) for one in new.values() if one.mark is not None}
    for decision in before.decisions.values():
        mark = decision.mark
        assert mark is not None
        if mark.span.start >= start and mark.kind != "repeat" and mark.label not in changed:
            assert (mark.label, mark.span.start + shift) in places


def test_every_moved_entry_tells_both_measures() -> None:
    before = reviewed()
    after, carried = edited(lambda root: insert_rests(root, 1, 3), before)
    moved = carried.report.group("moved")
    assert moved
    for entry in moved:
        assert int(entry.now) - int(entry.was) == 3
        assert entry.sentence == f"From measure {entry.was} to measure {entry.now}."
        assert entry.selection.span is not None
        assert after.score.measure_at(entry.selection.span.start).number == entry.now
    starts = [entry.selection.span.start for entry in moved if entry.selection.span]
    assert starts == sorted(starts)


def with_melody_mark() -> tuple[Document, Mark, int, int]:
    """The pop song with one accepted mark, at a sung note; measure and number of the note."""
    document = read_sample("wednesday-table")[1]
    notes = document.score.parts[0].notes
    note = notes[40]
    mark = melody_mark(note, "neighbour", "6")
    document = replace(document, decisions={mark.id: Decision("accepted", mark=mark)})
    number = sum(1 for other in notes[:40] if other.measure == note.measure)
    return document, mark, note.measure, number


def test_a_corrected_note_under_a_decision_is_told_and_the_decision_kept() -> None:
    before, mark, measure, number = with_melody_mark()
    after, carried = edited(
        lambda root: set_pitch(notes_of(root, 0, measure)[number], "F6"), before
    )
    assert carried.report.statements == ("1 note has another pitch.",)
    (entry,) = carried.report.entries
    assert entry.group == "changed"
    assert "is now F6" in entry.sentence
    kept = after.mark(entry.selection.mark)
    assert (kept.label, kept.state) == (mark.label, "accepted")
    assert kept.mark.elements == mark.elements, "ids by place are the same in this file"


def test_a_note_that_was_deleted_leaves_its_decision_over() -> None:
    before, mark, measure, number = with_melody_mark()

    def without_note(root: Root) -> None:
        note = notes_of(root, 0, measure)[number]
        pitch = note.find("pitch")
        assert pitch is not None
        note.replace(pitch, etree.Element("rest"))

    after, carried = edited(without_note, before)
    (entry,) = carried.report.entries
    assert (entry.group, entry.sentence) == ("unplaced", "Its note is gone.")
    assert entry.selection.span is not None
    assert after.score.measure_at(entry.selection.span.start).index == measure
    kept = Decision("accepted", mark=replace(mark, fact=None))
    assert after.leftovers[0].decisions == {mark.id: kept}


def test_a_note_corrected_elsewhere_is_nobodys_business() -> None:
    before, _, measure, _ = with_melody_mark()
    after, carried = edited(lambda root: set_pitch(notes_of(root, 4, measure)[0], "E2"), before)
    assert [entry for entry in carried.report.entries if "E2" in entry.sentence] == []
    assert len(after.decisions) == 1


def test_a_renamed_part_keeps_its_marks() -> None:
    before = reviewed()
    after, carried = edited(lambda root: rename_part(root, 0, "Lead vocal"), before)
    assert carried.report.statements == ("The part “Voice” is now called “Lead vocal”.",)
    assert carried.report.entries == ()
    assert states(after) == states(before)


def chord_marks(document: Document) -> list[Mark]:
    return [one.mark for one in document.marks() if one.mark.kind == "chord"]


@pytest.mark.parametrize("state", ["accepted", "rejected"])
def test_a_changed_chord_symbol_under_a_decision(state: str) -> None:
    document = read_sample("wednesday-table")[1]
    symbols = [symbol.id for symbol in document.score.chord_symbols]
    mark = next(mark for mark in chord_marks(document) if mark.label == "vi⁷")
    number = symbols.index(mark.elements[0])
    before = Decide((mark.id,), state).apply(document)  # type: ignore[arg-type]
    after, carried = edited(lambda root: set_symbol(root, number, "D", "minor"), before)
    assert carried.report.statements == ("1 chord symbol says something else.",)
    (entry,) = carried.report.entries
    assert entry.group == "changed"
    assert "was E minor-seventh and is now D minor" in entry.sentence
    here = [one for one in after.marks() if one.mark.kind == "chord"
            and one.mark.span.start == mark.span.start]  # fmt: skip
    if state == "accepted":
        (kept,) = here
        assert (kept.label, kept.state) == ("vi⁷", "accepted")
        assert [reading.label for reading in kept.mark.alternatives[-1:]] == ["v"]
    else:
        (fresh,) = here
        assert (fresh.label, fresh.state) == ("v", "open")
        assert [one.state for one in after.decisions.values()] == ["rejected"]


def test_what_stood_in_deleted_measures_is_kept_listed_and_finds_its_place_again() -> None:
    before = reviewed("wednesday-table")
    after, carried = edited(lambda root: delete_measures(root, 9, 11), before)
    unplaced = carried.report.group("unplaced")
    assert unplaced
    assert all(entry.sentence.endswith("is gone.") for entry in unplaced)
    assert {entry.was for entry in unplaced} <= {"9", "10", "11"}
    (left,) = after.leftovers
    assert len(left.decisions) == len(unplaced)
    assert left.source == before.source

    # Exported once more with another correction, they are still there, and not told again.
    root = transcription("wednesday-table")
    delete_measures(root, 9, 11)
    set_pitch(notes_of(root, 4, 30)[0], "E2")
    again, carried = exported_again(after, root)
    assert again.leftovers == after.leftovers
    assert carried.report.group("unplaced") == ()

    # The measures come back, in a transcription that has other corrections.
    root = transcription("wednesday-table")
    set_pitch(notes_of(root, 4, 30)[0], "E2")
    back, carried = exported_again(again, root)
    assert back.leftovers == ()
    assert len(carried.report.group("returned")) == len(left.decisions)
    assert len(back.decisions) == len(before.decisions)
    wanted = {(one.label, one.mark.span, one.state, one.comment) for one in before.marks()
              if one.state != "open"}  # fmt: skip
    found = {(one.label, one.mark.span, one.state, one.comment) for one in back.marks()}
    assert len(wanted & found) >= 0.95 * len(wanted)


def test_a_review_without_its_music_stands_where_it_stood() -> None:
    before = reviewed()
    after, carried = exported_again(
        before, transcription(SAMPLE), lambda review: replace(review, skeleton=None)
    )
    assert carried.report.statements[0].startswith("The review was saved by an earlier version")
    assert states(after) == states(before)
