"""Reviews carried over to samples that were corrected and exported again."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import pairwise

import pytest
from lxml import etree

from analysis.chords import KIND_DEGREES, Chord
from analysis.marks import Mark, Settings
from analysis.pipeline import analyse
from analysis.pitch import Key, PitchName
from analysis.timebase import Span
from app.review.carry_reports import CarryReport, Entry, Group
from app.review.carrying import Carried
from app.review.correction_edits import SetChord, SetKey, SetMelodyPart, SetRole
from app.review.document import Decision, Document
from app.review.edits import Decide, Reword
from app.review.mark_edits import AddMark, Reorder, own_mark
from app.review.section_edits import ColourSection, SetSections, sections_of
from app.review.storage import from_bytes, stored, to_bytes
from app.review.transpositions import Interval
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


def corrected() -> Document:
    """A review with corrections of every kind, an own mark, an order and a colour."""
    document = read_sample(SAMPLE)[1]
    measures = document.score.measures
    key = Span(measures[4].onset, measures[8].onset)
    beat = Span(measures[6].onset, measures[6].onset + 2)
    root = PitchName.parse("Eb")
    document = SetKey(key, Key(PitchName.parse("Bb"), "minor")).apply(document)
    document = SetChord(beat, Chord(root, KIND_DEGREES["dominant"], root, "dominant")).apply(
        document
    )
    document = SetMelodyPart(document.score.parts[0].id).apply(document)
    document = SetRole(document.score.parts[1].id, "chords").apply(document)
    document = SetSections(sections_of(document)).apply(document)
    document = ColourSection(sections_of(document)[0].label, "#0072b2").apply(document)
    notes = [note.id for note in document.score.parts[0].notes if note.measure == 6]
    mark = own_mark("line", Span(measures[6].onset, measures[7].onset), "my line", "Listen.",
                    (document.score.parts[0].id,), notes)  # fmt: skip
    document = AddMark(mark).apply(document)
    document = Decide((mark.id,), "accepted").apply(document)
    analysis = analyse(document.score, Settings(), document.corrections)
    document = replace(document, analysis=analysis)
    open_mark = next(one.id for one in document.marks() if one.mark.span.start > beat.start)
    return Reorder((open_mark, mark.id)).apply(document)


def test_corrections_own_marks_order_and_colours_go_with_the_music() -> None:
    before = corrected()
    after, carried = edited(lambda root: insert_rests(root, 1, 2), before)
    shift = after.score.end - before.score.end
    assert shift > 0

    def later(span: Span) -> Span:
        return Span(span.start + shift, span.end + shift)

    ((span, key),) = before.corrections.keys
    assert after.corrections.keys == ((later(span), key),)
    ((span, chord),) = before.corrections.chords
    assert after.corrections.chords == ((later(span), chord),)
    (own,), (own_before,) = after.own_marks, before.own_marks
    assert (own.id, own.span) == (own_before.id, later(own_before.span))
    assert len(own.elements) == len(own_before.elements)
    assert after.mark(own.id).state == "accepted"
    assert after.corrections.melody_part == before.corrections.melody_part
    assert after.corrections.roles == before.corrections.roles
    assert after.section_colours == before.section_colours
    assert len(after.order) == 2
    assert after.order[1] == own.id
    first, first_before = after.mark(after.order[0]), before.mark(before.order[0])
    assert (first.label, first.mark.span) == (first_before.label, later(first_before.mark.span))
    sections = after.corrections.sections
    assert sections is not None
    assert [one.name for one in sections] == [one.name for one in sections_of(before)]
    assert sections[0].span.start == 0
    assert sections[-1].span.end == after.score.end
    assert all(a.span.end == b.span.start for a, b in pairwise(sections))
    assert {entry.name for entry in carried.report.group("moved")} >= {"Key B♭ minor", "my line"}


def test_corrections_in_deleted_measures_are_left_over_and_come_back() -> None:
    before = corrected()
    after, carried = edited(lambda root: delete_measures(root, 3, 9), before)
    assert after.corrections.keys == ()
    assert after.corrections.chords == ()
    assert after.own_marks == ()
    assert {"Key B♭ minor", "Chord E♭7", "my line"} <= set(names(carried, "unplaced"))
    (left,) = after.leftovers
    assert left.corrections.keys == before.corrections.keys
    assert left.own_marks == before.own_marks
    back, carried = exported_again(after, transcription(SAMPLE))
    assert back.corrections.keys == before.corrections.keys
    assert back.corrections.chords == before.corrections.chords
    assert back.own_marks == before.own_marks
    assert back.mark(back.own_marks[0].id).state == "accepted"
    assert {"Key B♭ minor", "Chord E♭7", "my line"} <= set(names(carried, "returned"))
    assert back.leftovers == ()


def test_a_transposed_song_takes_its_corrections_along() -> None:
    before = corrected()
    after, _ = edited(lambda root: transpose(root, Interval(2, 1)), before)
    ((_, key),) = after.corrections.keys
    assert key == Key(PitchName.parse("C"), "minor")
    ((_, chord),) = after.corrections.chords
    assert chord is not None
    assert (str(chord.root), str(chord.bass)) == ("F", "F")


def test_a_part_that_is_gone_takes_nothing_with_it() -> None:
    before = corrected()

    def without_piano(root: Root) -> None:
        for element in (root.findall("part")[1], root.findall("part-list/score-part")[1]):
            parent = element.getparent()
            assert parent is not None
            parent.remove(element)

    after, carried = edited(without_piano, before)
    assert carried.report.statements[0] == "The part “Piano” is gone."
    assert after.corrections.roles == ()
    assert after.leftovers[0].corrections.roles == before.corrections.roles
    assert "Piano" in names(carried, "unplaced")


def test_a_review_without_its_music_stands_where_it_stood() -> None:
    before = reviewed()
    after, carried = exported_again(
        before, transcription(SAMPLE), lambda review: replace(review, skeleton=None)
    )
    assert carried.report.statements[0].startswith("The review was saved by an earlier version")
    assert states(after) == states(before)


def test_an_entry_is_one_line_for_people() -> None:
    entry = Entry("moved", "V", "From measure 1 to measure 3.", "1", "3")
    assert entry.selection.span is None
    _, carried = edited(lambda root: delete_measures(root, 3, 9), reviewed())
    assert carried.report.summary.endswith(".")
    assert "could not be placed" in carried.report.summary


@pytest.mark.parametrize(
    ("kept", "moved", "summary"),
    [
        (1, 0, "1 stands where it stood."),
        (0, 1, "0 stand where they stood; 1 moved with its measure."),
        (2, 2, "2 stand where they stood; 2 moved with their measures."),
    ],
)
def test_one_is_told_as_one(kept: int, moved: int, summary: str) -> None:
    entry = Entry("moved", "V", "From measure 1 to measure 3.", "1", "3")
    assert CarryReport((), kept, (entry,) * moved).summary == summary
