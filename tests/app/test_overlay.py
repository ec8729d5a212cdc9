"""Overlays: each mark at its place, and no label on a note, a sign or another label."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from functools import cache

import pytest

from analysis.marks import ChordFact, Function, Mark, Reading, Section
from analysis.score import Measure, Note, Part, Score
from analysis.timebase import Meter, Span
from app.engraving.bounds import shape_box
from app.engraving.callouts import FreeSpace, ink_pieces
from app.engraving.engraver import engrave
from app.engraving.labels import LAYERS, PLAIN, Area, Label, Overlay, Style
from app.engraving.layouts import Layout
from app.engraving.overlay import lay_out, room, selection
from app.engraving.pages import Box, MeasureBox, Page, PathShape, StaffBox, System
from app.review.document import Decision, Document, ReviewedMark
from tests.app.collisions import find_collisions, holds, overlaps
from tests.app.reviews import (
    SAMPLES,
    crowded_sample,
    line_mark,
    melody_mark,
    read_sample,
    repeat_mark,
)

#: Page widths of two staff scales: on a screen of one size the staff is 1.6 times higher.
WIDTHS = (2100.0, 1300.0)


@cache
def _pages(name: str, width: float) -> tuple[Page, ...]:
    source, _ = read_sample(name)
    above, below = room(PLAIN)
    height = 1.414 * width
    layout = Layout(width, height, room_above=above, room_below=below)
    return tuple(engrave(source, layout))


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("crowded", [False, True], ids=["analysed", "crowded"])
def test_no_collisions_on_any_page(name: str, width: float, crowded: bool) -> None:
    _, document = crowded_sample(name) if crowded else read_sample(name)
    marks = list(document.shown_marks())
    labelled = 0
    for page in _pages(name, width):
        overlay = lay_out(page, marks, document.score)
        assert find_collisions(page, overlay) == []
        labelled += len(overlay.labels)
    assert labelled > (100 if crowded else 30)


@pytest.mark.parametrize("name", SAMPLES)
def test_every_chord_has_its_numeral_and_function_under_it(name: str) -> None:
    _, document = read_sample(name)
    marks = list(document.shown_marks())
    seen: dict[str, dict[str, Label]] = {}
    placed = 0
    for page in _pages(name, WIDTHS[0]):
        overlay = lay_out(page, marks, document.score)
        for label in overlay.labels:
            if label.layer in ("numerals", "functions"):
                assert label.layer not in seen.setdefault(label.mark, {})
                seen[label.mark][label.layer] = label
        for m in marks:
            fact = m.mark.fact
            if m.id in seen and isinstance(fact, ChordFact) and fact.symbol in page.boxes:
                numeral = seen[m.id]["numerals"]
                assert numeral.text == m.label
                assert abs(numeral.box[0] - page.boxes[fact.symbol][0]) < 60
                placed += abs(numeral.box[0] - page.boxes[fact.symbol][0]) < 1
    chords = [m for m in marks if m.mark.kind == "chord"]
    assert set(seen) == {m.id for m in chords}
    for m in chords:
        fact = m.mark.fact
        assert isinstance(fact, ChordFact)
        assert ("functions" in seen[m.id]) == bool(fact.function)
    # Nearly all stand exactly under their symbols; crowded ones have moved a little.
    assert placed > 0.8 * len(chords)


def _hand_made() -> tuple[Page, Score]:
    """Four measures of four quarter notes in two systems of one staff, without any ink."""
    meter = Meter(4, 4)
    measures = tuple(
        Measure(at, str(at + 1), Fraction(4 * at), Fraction(4), meter, f"m{at}") for at in range(4)
    )
    score = Score("", "", (Part("P1", "Voice", "V.", ()),), measures)
    systems = []
    for line in range(2):
        top = 300.0 + 600 * line
        boxes = []
        for at in range(2):
            left = 100.0 + 800 * at
            box = (left, top, 800.0, 72.0)
            onsets = (*((float(q), left + 20 + 195 * q) for q in range(4)), (4.0, left + 800))
            staves = (StaffBox(1, box),)
            boxes.append(MeasureBox(2 * line + at, f"m{2 * line + at}", box, staves, onsets))
        systems.append(System((100.0, top, 1600.0, 72.0), tuple(boxes)))
    return Page(0, 1800.0, 1400.0, (), tuple(systems), {}), score


def _chord(label: str, start: int, end: int, function: Function = "T") -> Mark:
    _, document = read_sample(SAMPLES[0])
    fact = replace(
        document.analysis.chords[0],
        function=function,
        symbol="",
        span=Span(Fraction(start), Fraction(end)),
    )
    readings = (Reading("IV", "it could be", 0.3, "S"),)
    name = f"{label}@{start}"
    return Mark(name, "chord", fact.span, (), (), label, "", alternatives=readings, fact=fact)


def _reviewed(*marks: Mark, decision: Decision | None = None) -> list[ReviewedMark]:
    return [ReviewedMark(mark, decision) for mark in marks]


def _texts(overlay: Overlay) -> list[tuple[str, str]]:
    return [(label.layer, label.text) for label in overlay.labels]


def test_labels_stand_at_their_times_below_the_system() -> None:
    page, score = _hand_made()
    overlay = lay_out(page, _reviewed(_chord("I", 0, 6), _chord("V⁷", 6, 8, "D")), score)
    numerals = [label for label in overlay.labels if label.layer == "numerals"]
    assert [label.box[0] for label in numerals] == pytest.approx([120.0, 100 + 800 + 20 + 390])
    assert all(label.box[1] > 372 for label in overlay.labels)
    assert _texts(overlay)[2:] == [("functions", "T"), ("functions", "D")]


def test_the_chosen_reading_is_shown_with_its_function() -> None:
    page, score = _hand_made()
    chosen = _reviewed(_chord("ii", 0, 4, "D"), decision=Decision("edited", reading="IV"))
    assert _texts(lay_out(page, chosen, score)) == [("numerals", "IV"), ("functions", "S")]


def test_crowded_labels_keep_their_order_and_are_led_to_their_places() -> None:
    page, score = _hand_made()
    chords = [_chord("V⁶₅/♭III", at, at + 1, "D") for at in range(4)]
    system = page.systems[0]
    onsets = (*((float(q), 120.0 + 30 * q) for q in range(4)), (4.0, 900.0))
    narrow = replace(system.measures[0], onsets=onsets)
    tight = replace(page, systems=(System(system.box, (narrow,)),))
    overlay = lay_out(tight, _reviewed(*chords), score)
    numerals = [label for label in overlay.labels if label.layer == "numerals"]
    assert [label.mark for label in numerals] == [chord.id for chord in chords]
    assert find_collisions(tight, overlay) == []
    leaders = [s for tone, s in overlay.strokes if tone == "soft" and isinstance(s, PathShape)]
    assert {leader.element for leader in leaders} >= {chords[0].id, chords[3].id}


def test_a_key_is_named_where_it_begins_and_softly_on_every_further_system() -> None:
    page, score = _hand_made()
    key = Mark("key", "key", Span(Fraction(4), Fraction(16)), (), (), "B♭ major", "")
    overlay = lay_out(page, _reviewed(key), score)
    assert [label.box[0] for label in overlay.labels] == pytest.approx([920.0, 120.0])
    tones = {stroke.tone for stroke in overlay.strokes}
    assert tones == {"accent", "soft"}


def test_sections_with_a_printed_rehearsal_mark_are_not_named_again() -> None:
    page, score = _hand_made()
    span = Span(Fraction(0), Fraction(8))
    printed = Mark(
        "a", "section", span, (), (), "Verse", "", fact=Section(span, "A", "Verse", True)
    )
    found = Mark("b", "section", span, (), (), "A", "", fact=Section(span, "A", "", False))
    assert _texts(lay_out(page, _reviewed(printed), score)) == []
    assert _texts(lay_out(page, _reviewed(found), score)) == [("sections", "A")]


def test_returns_share_a_letter_and_new_harmonies_add_a_stroke() -> None:
    page, score = _hand_made()
    marks = [
        repeat_mark(score, (0, 0), (1, 1), False),
        repeat_mark(score, (0, 0), (2, 2), True),
    ]
    overlay = lay_out(page, _reviewed(*marks), score)
    places = {label.text: label.box[0] for label in overlay.labels}
    assert sorted(text for _, text in _texts(overlay)) == ["a", "a", "a′"]
    assert places["a′"] == pytest.approx(120, abs=40)
    assert all(label.box[1] + label.box[3] <= 900 for label in overlay.labels)


def test_a_bracket_over_a_line_break_is_open_at_both_ends() -> None:
    page, score = _hand_made()
    loop = Mark("loop", "loop", Span(Fraction(4), Fraction(12)), (), (), "I–IV", "")
    overlay = lay_out(page, _reviewed(loop, decision=Decision("accepted")), score)
    ends = [
        shape.points
        for _, shape in overlay.strokes
        if isinstance(shape, PathShape) and shape.points[0] == shape.points[2]
    ]
    assert len(ends) == 2
    assert len(overlay.labels) == 2


def test_more_brackets_than_lanes_stay_in_the_room_that_was_asked_for() -> None:
    page, score = _hand_made()
    whole = Span(Fraction(0), Fraction(8))
    loops = [Mark(f"{at}", "loop", whole, (), (), f"loop {at}", "") for at in range(6)]
    overlay = lay_out(page, _reviewed(*loops), score)
    top = page.systems[0].box[1] - room(PLAIN).above
    assert len(overlay.labels) == 6
    assert all(shape_box(stroke.shape)[1] >= top for stroke in overlay.strokes)


@pytest.mark.parametrize(
    ("state", "dashed", "notches"),
    [("open", True, 0), ("accepted", False, 0), ("edited", False, 1)],
)
def test_states_differ_by_stroke(state: str, dashed: bool, notches: int) -> None:
    _, document = read_sample(SAMPLES[0])
    page = _pages(SAMPLES[0], WIDTHS[0])[1]
    note = _note_on(page, document)
    decision = Decision(state)  # type: ignore[arg-type]
    overlay = lay_out(
        page, _reviewed(melody_mark(note, "foreign", "♯4"), decision=decision), document.score
    )
    frames = [shape for tone, shape in overlay.strokes if tone == "foreign"]
    rings = [shape for shape in frames if isinstance(shape, PathShape) and shape.stroke]
    assert [bool(ring.dash) for ring in rings] == [dashed]
    assert (
        len([shape for shape in frames if isinstance(shape, PathShape) and shape.filled]) == notches
    )
    plain = lay_out(
        page,
        _reviewed(melody_mark(note, "foreign", "♯4"), decision=decision),
        document.score,
        Style(states=False),
    )
    assert not any(isinstance(shape, PathShape) and shape.dash for _, shape in plain.strokes)


def _note_on(page: Page, document: Document) -> Note:
    notes = document.score.parts[0].notes
    return next(n for n in notes if n.pitch is not None and page.boxes.get(n.id, (0, 0, 0, 0))[2])


def test_kinds_of_melody_mark_have_shapes_of_their_own() -> None:
    _, document = read_sample(SAMPLES[0])
    page = _pages(SAMPLES[0], WIDTHS[0])[1]
    note = _note_on(page, document)
    shapes = set()
    for role, label in (("foreign", "♯4"), ("chord tone", "♭3"), ("passing", "2")):
        overlay = lay_out(page, _reviewed(melody_mark(note, role, label)), document.score)
        (area,) = overlay.areas
        head = page.boxes[note.id]
        assert holds(area.box, head)
        shapes.add(next(s.commands for _, s in overlay.strokes if isinstance(s, PathShape)))
    assert len(shapes) == 3


def test_lines_join_the_heads_of_their_notes() -> None:
    _, document = read_sample(SAMPLES[0])
    page = _pages(SAMPLES[0], WIDTHS[0])[0]
    bass = [n for n in document.score.parts[-1].notes if page.boxes.get(n.id, (0, 0, 0, 0))[2]][:5]
    overlay = lay_out(page, _reviewed(line_mark(bass)), document.score)
    assert len(overlay.areas) == 5
    strokes = [s for tone, s in overlay.strokes if tone == "line" and isinstance(s, PathShape)]
    for stroke in strokes:
        assert stroke.points[0] < stroke.points[2]
    assert 1 <= len(strokes) <= 4


def test_a_line_over_a_line_break_is_not_drawn_across_it() -> None:
    _, document = read_sample(SAMPLES[0])
    page = _pages(SAMPLES[0], WIDTHS[0])[0]
    bass = [n for n in document.score.parts[-1].notes if page.boxes.get(n.id, (0, 0, 0, 0))[2]]
    bottom = page.systems[0].box[1] + page.systems[0].box[3]
    upper = [note for note in bass if page.boxes[note.id][1] < bottom][-3:]
    lower = [note for note in bass if page.boxes[note.id][1] > bottom][:3]
    # Far right of the break, so that no jump to the left tells of it.
    moved = replace(page, boxes=dict(page.boxes))
    for at, note in enumerate(lower):
        _, y, width, height = page.boxes[note.id]
        moved.boxes[note.id] = (page.boxes[upper[-1].id][0] + 60 * at, y, width, height)
    overlay = lay_out(moved, _reviewed(line_mark(upper + lower)), document.score)
    for tone, shape in overlay.strokes:
        if tone == "line" and isinstance(shape, PathShape):
            assert not shape_box(shape)[1] < bottom < shape_box(shape)[1] + shape_box(shape)[3]


def test_a_click_finds_the_mark_and_a_label_before_what_lies_under_it() -> None:
    overlay = Overlay(
        0,
        labels=(Label("label", "numerals", "V", (10, 10, 20, 10)),),
        areas=(Area("ring", "melody", (0, 0, 60, 30)), Area("line", "lines", (40, 0, 20, 30))),
    )
    assert overlay.mark_at(15, 15) == "label"
    assert overlay.mark_at(5, 5) == "ring"
    assert overlay.mark_at(50, 15) == "line"
    assert overlay.mark_at(50, 50) is None
    assert overlay.mark_at(33, 15, slack=4) == "label"


@pytest.mark.parametrize("name", SAMPLES[:1])
def test_every_shown_mark_can_be_clicked_and_selected(name: str) -> None:
    _, document = crowded_sample(name)
    marks = list(document.shown_marks())
    for page in _pages(name, WIDTHS[0])[:2]:
        overlay = lay_out(page, marks, document.score)
        for label in overlay.labels:
            x, y, width, height = label.box
            assert overlay.mark_at(x + width / 2, y + height / 2) == label.mark
            assert selection(overlay, label.mark)


def test_layers_can_be_left_out_and_then_need_no_room() -> None:
    page, score = _hand_made()
    marks = _reviewed(_chord("I", 0, 6))
    none = Style(layers=frozenset())
    assert lay_out(page, marks, score, none) == Overlay(0)
    assert room(none) == (0.0, 0.0)
    for layer in LAYERS:
        assert room(Style(layers=frozenset({layer}))) <= room(PLAIN)


def test_a_larger_style_asks_for_more_room() -> None:
    assert room(Style(scale=2.0)).below > 1.5 * room(PLAIN).below


def test_free_space_is_nearest_and_rather_above() -> None:
    head = (100.0, 100.0, 20.0, 18.0)
    assert _place(FreeSpace([head]), head)[1] < 100
    over = (0.0, 0.0, 400.0, 99.0)
    assert _place(FreeSpace([head, over]), head)[1] > 100
    wall = [(x, y, 18.0, 18.0) for x in range(-300, 500, 18) for y in range(-300, 500, 18)]
    assert FreeSpace([head, *wall]).place_near(head, 40, 20) is None


def _place(space: FreeSpace, head: Box) -> Box:
    place = space.place_near(head, 40, 20)
    assert place is not None
    assert not overlaps(place, head)
    return place


def test_slices_of_a_slanted_beam_leave_the_space_beside_it() -> None:
    beam = PathShape("", "beam", "MLLLZ", (0, 0, 400, 200, 400, 210, 0, 10), True)
    page = Page(0, 500.0, 500.0, (beam,), (), {})
    pieces = list(ink_pieces(page))
    whole = shape_box(beam)
    assert max(box[3] for box in pieces) < whole[3] / 4
    for x in range(0, 401, 5):
        for y in (x / 2 + 1, x / 2 + 9):
            assert any(_holds(box, x, y) for box in pieces)


def _holds(box: Box, x: float, y: float) -> bool:
    return (
        box[0] - 0.01 <= x <= box[0] + box[2] + 0.01
        and box[1] - 0.01 <= y <= box[1] + box[3] + 0.01
    )


def test_the_same_marks_give_the_same_overlay() -> None:
    _, document = crowded_sample(SAMPLES[0])
    page = _pages(SAMPLES[0], WIDTHS[0])[0]
    marks: Iterable[ReviewedMark] = list(document.shown_marks())
    assert lay_out(page, marks, document.score) == lay_out(page, marks, document.score)
