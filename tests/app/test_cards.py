"""Caption cards: words, lines and reading time; the strip; what is measured on the pixels."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
from PySide6.QtGui import QImage

from analysis.marks import Mark
from app.engraving.musictext import set_text
from app.engraving.pages import TextShape
from app.export.card_layouts import Card, lay_out_card, place_of, set_place
from app.export.cards import write_cards
from app.export.frames import Backing, Frame, Ink
from app.export.function_strips import lay_out_strip
from app.export.legibility import most_lines, reading_seconds, reading_warnings
from app.export.pictures import paint_picture
from app.export.sentences import set_sentence
from app.export.talking_points import title_of
from app.review.document import Decision, Document, ReviewedMark
from tests.app.pixels import box_of, contrast_around, coverage, rgba_of, within
from tests.app.reviews import SAMPLES, line_mark, melody_mark, read_sample, repeat_mark

SONG = SAMPLES[0]
HD = Frame(1280, 720)
UPRIGHT = Frame(540, 960)
#: Thirty words, the most that a mark's sentence may have.
LONG = (
    "The chorus melody comes back note for note, yet V⁷/vi replaces the plain dominant beneath it, "
    "so what sounded settled before now leans forward and asks for a different answer."
)


@cache
def _points() -> tuple[Document, tuple[ReviewedMark, ...]]:
    document = read_sample(SONG)[1]
    score = document.score
    voice = [note for note in score.parts[0].notes if note.pitch is not None]
    bass = [note for note in score.parts[-1].notes if note.pitch is not None]
    marks: tuple[Mark, ...] = (
        melody_mark(voice[5], "chord tone", "♭3"),
        line_mark(bass[10:16]),
        repeat_mark(score, (4, 5), (8, 9), True),
    )
    document = replace(document, own_marks=marks)
    chord = next(m for m in document.shown_marks() if "V⁷/" in m.label)
    return document, (chord, *(document.mark(mark.id) for mark in marks))


def _card(at: int, frame: Frame, sentence: str | None = None) -> Card:
    document, points = _points()
    reviewed = points[at]
    if sentence is not None:
        reviewed = ReviewedMark(reviewed.mark, Decision("edited", sentence=sentence))
    return lay_out_card(document, read_sample(SONG)[0], reviewed, frame)


@pytest.mark.parametrize("at", range(4))
@pytest.mark.parametrize("frame", [HD, UPRIGHT, Frame(540, 540)], ids=["wide", "upright", "square"])
def test_a_card_stays_in_the_title_safe_area_and_on_its_panel(at: int, frame: Frame) -> None:
    card = _card(at, frame)
    assert within(card.panel, frame.title_safe, 0.01)
    ink = box_of(coverage(frame, card.pieces) > 0)
    assert within(ink, card.panel)
    picture = rgba_of(paint_picture(frame, card.pieces, [card.panel]))
    assert within(box_of(picture[:, :, 3] > 0), card.panel)


@pytest.mark.parametrize("at", range(4))
def test_two_lines_of_body_in_readable_size(at: int) -> None:
    card = _card(at, HD)
    assert 1 <= card.lines <= 2
    assert card.text_height >= 0.025 * HD.height


def test_thirty_words_take_two_lines_and_the_card_says_when_they_are_small() -> None:
    card = _card(0, HD, LONG)
    assert card.lines == 2
    assert card.words == 31
    assert card.text_height >= 0.6 * 0.025 * HD.height


def test_an_upright_card_may_have_eight_lines() -> None:
    assert 2 < _card(0, UPRIGHT, LONG).lines <= 8


def test_a_card_without_a_sentence_has_its_heading_and_pictures() -> None:
    card = _card(0, HD, "")
    assert card.lines == 0
    assert card.panel[3] < _card(0, HD).panel[3]


def test_reading_time_at_the_rate_for_text_on_screen() -> None:
    # 170 words take a minute; 160 to 180 is the range that Ofcom names.
    assert reading_seconds(170) == 60
    assert 60 * 28 / 180 <= reading_seconds(28) <= 60 * 28 / 160
    assert reading_seconds(1) == 2.0


@pytest.mark.parametrize("ink", ["dark", "light"])
@pytest.mark.parametrize("backing", ["plate", "outline", "glow"])
def test_the_words_can_be_read_over_any_footage(ink: Ink, backing: Backing) -> None:
    frame = replace(HD, ink=ink, backing=backing)
    card = _card(0, frame)
    picture = rgba_of(paint_picture(frame, card.pieces, [card.panel]))
    words = card.pieces[1]
    everything = coverage(frame, card.pieces)
    for tone in ("ink", "soft"):
        text = [s for s in words.strokes if s.tone == tone and isinstance(s.shape, TextShape)]
        cover = coverage(frame, [words._replace(strokes=text)])
        for footage in (0.0, 0.5, 1.0):
            assert contrast_around(picture, cover, everything, footage) >= 4.5


def test_nothing_on_a_card_overlaps() -> None:
    for at in range(4):
        card = _card(at, HD)
        boxes = [box_of(coverage(HD, [piece]) > 0) for piece in card.pieces]
        _, words, notes, strip = boxes
        assert words[1] + words[3] <= min(notes[1], strip[1])
        assert notes[0] + notes[2] <= strip[0]


def test_the_place_is_named_by_kind_measure_and_section() -> None:
    document, points = _points()
    assert place_of(document, points[1]) == "Melody · measure 5 · Verse 1"


def test_a_title_that_says_the_kind_is_not_said_again() -> None:
    document = read_sample("wednesday-table")[1]
    echo = next(one for one in document.shown_marks() if one.mark.kind == "echo")
    assert title_of(echo) == "Echo"
    assert place_of(document, echo).startswith("measure ")
    named = replace(echo, decision=Decision("edited", label="The bass joins in"))
    assert place_of(document, named).startswith("Echo · measure ")


def test_the_strip_shows_the_chords_around_at_their_times() -> None:
    document, points = _points()
    chord = points[0]
    strip = lay_out_strip(document, chord, {chord.id}, 1000.0, 40.0)
    assert strip is not None
    order = [m for m in document.shown_marks() if m.mark.kind == "chord"]
    at = order.index(chord)
    starts: dict[str, float] = {}
    for tone, shape in strip.strokes:
        if isinstance(shape, TextShape):
            starts.setdefault(shape.element, shape.x)
            assert (tone == "accent") == (shape.element == chord.id)
            assert 0 <= shape.x <= 1000
    assert list(starts) == [m.id for m in order[at - 2 : at + 3]]
    assert all(left < right for left, right in pairwise(starts.values()))


def test_a_repeat_has_two_strips_over_the_same_stretch() -> None:
    document, points = _points()
    one = lay_out_strip(document, points[0], (), 1000.0, 40.0)
    two = lay_out_strip(document, points[3], (), 1000.0, 40.0)
    assert one is not None
    assert two is not None
    assert two.height > 2 * one.height


def test_of_crowded_chords_the_strip_keeps_those_that_are_meant() -> None:
    document, points = _points()
    chord = points[0]
    strip = lay_out_strip(document, chord, {chord.id}, 200.0, 40.0)
    assert strip is not None
    assert strip.em == 40
    assert chord.id in {s.element for _, s in strip.strokes}
    edges = [s.x for _, s in strip.strokes if isinstance(s, TextShape)]
    assert max(edges) < 200


def _only(document: Document, *points: ReviewedMark) -> Document:
    """The document with these talking points alone: the analysis ranks none."""
    unranked = tuple(replace(mark, rank=None) for mark in document.analysis.marks)
    analysis = replace(document.analysis, marks=unranked)
    return replace(document, analysis=analysis, order=tuple(m.id for m in points))


def test_files_and_manifest(tmp_path: Path) -> None:
    document, points = _points()
    document = _only(document, *points[:2])
    files = write_cards(document, read_sample(SONG)[0], tmp_path, Frame(426, 240))
    again = write_cards(document, read_sample(SONG)[0], tmp_path / "again", Frame(426, 240))
    assert [p.read_bytes() for p in files] == [p.read_bytes() for p in again]
    rows = json.loads(files[-1].read_text(encoding="utf-8"))
    assert [row["file"] for row in rows] == [path.name for path in files[:-1]]
    for row, reviewed in zip(rows, points, strict=False):
        assert row["mark"] == reviewed.id
        assert row["sentence"] == reviewed.sentence
        assert row["reading_seconds"] >= 2
        measure = document.score.measure_at(reviewed.mark.span.start).number
        assert row["measures"] == [[measure, measure]]
        image = QImage(str(tmp_path / row["file"]))
        assert [image.width(), image.height()] == row["size"] == [426, 240]


def test_titles_that_were_found_as_words_begin_with_a_capital_and_typed_ones_stay() -> None:
    _, document = read_sample(SONG)
    pedal = next(one for one in document.marks() if one.mark.kind == "pedal")
    assert title_of(pedal) == "P" + pedal.label[1:]
    assert title_of(replace(pedal, decision=Decision("edited", label="held low"))) == "held low"
    chord = next(
        one for one in document.marks() if one.mark.kind == "chord" and one.label[:1].islower()
    )
    assert title_of(chord) == chord.label


def test_no_line_begins_with_a_dash_or_a_dot() -> None:
    notes = "The bass falls: G – F♯ – E – D – C – B – A – G – F♯ – E – D – C – B – A – G."
    lines = set_sentence(notes, UPRIGHT, 300.0)
    first = [next(line.shapes(0.0, 0.0)) for line in lines]
    assert len(lines) > 2
    assert not any(isinstance(one, TextShape) and one.text[:1] in "–·" for one in first)


def test_a_place_breaks_between_its_entries_and_leaves_no_dot_behind() -> None:
    entries = ["Return", "measure\N{NO-BREAK SPACE}22", "Verse 2"]
    first = set_text(" · ".join(entries[:2]), 30.0).width
    rows = set_place(entries, 30.0, first + 1, "regular")
    assert [row.width for row in rows] == [first, set_text("Verse 2", 30.0).width]
    assert len(set_place(entries, 30.0, 10 * first, "regular")) == 1


def test_a_strip_over_two_keys_names_both() -> None:
    document = read_sample("wednesday-table")[1]
    keys = [m for m in document.shown_marks() if m.mark.kind == "key"]
    assert len(keys) > 1
    one, two = (lay_out_strip(document, key, {key.id}, 600.0, 30.0) for key in keys[:2])
    assert one is not None
    assert two is not None
    named = {stroke.shape.element for stroke in two.strokes if stroke.shape.element}
    assert {key.id for key in keys[:2]} <= named
    assert not {key.id for key in keys} & {stroke.shape.element for stroke in one.strokes}
    assert two.height > one.height


@pytest.mark.parametrize("upright", [False, True])
def test_lines_are_too_many_by_the_frame(upright: bool) -> None:
    frame = UPRIGHT if upright else HD
    assert bool(reading_warnings(10, 3, most=most_lines(frame))) is not upright
    assert reading_warnings(10, 6, most=most_lines(frame))
