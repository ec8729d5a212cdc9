"""Corrections, hand-made marks, order and colours of a review carried over to changed music."""

from dataclasses import replace
from itertools import pairwise

from analysis.chords import KIND_DEGREES, Chord
from analysis.marks import Settings
from analysis.pipeline import analyse
from analysis.pitch import Key, PitchName
from analysis.timebase import Span
from app.review.correction_edits import SetChord, SetKey, SetMelodyPart, SetRole
from app.review.document import Document
from app.review.edits import Decide
from app.review.mark_edits import AddMark, Reorder, own_mark
from app.review.section_edits import ColourSection, SetSections, sections_of
from app.review.transpositions import Interval
from tests.app.carried import SAMPLE, edited, names
from tests.app.reviews import read_sample
from tests.app.transcriptions import (
    Root,
    delete_measures,
    exported_again,
    insert_rests,
    transcription,
    transpose,
)


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
