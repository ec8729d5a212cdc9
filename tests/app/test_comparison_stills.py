"""Comparisons fitted to frames: both passages, beat under beat, inside the safe area."""

from __future__ import annotations

from functools import cache

import pytest

from analysis.marks import Repeat
from app.engraving.pages import GlyphShape
from app.export.comparisons import lay_out_comparison
from app.export.frames import Frame, Picture
from app.export.pictures import paint_picture
from app.review.document import Document, ReviewedMark
from tests.app.pixels import box_of, rgba_of, title_safe, within
from tests.app.reviews import SAMPLES, read_sample

SONG = SAMPLES[0]
HD = Frame(1280, 720)


@cache
def _repeat() -> tuple[Document, ReviewedMark, Repeat]:
    document = read_sample(SONG)[1]
    for reviewed in document.shown_marks():
        fact = reviewed.mark.fact
        if isinstance(fact, Repeat) and fact.differences:
            return document, reviewed, fact
    raise AssertionError("the song has no reharmonised return")


@cache
def _picture(frame: Frame) -> Picture:
    document, reviewed, _ = _repeat()
    return lay_out_comparison(document, read_sample(SONG)[0], reviewed, frame)


@pytest.mark.parametrize("size", [(1280, 720), (540, 960), (540, 540)])
def test_everything_is_inside_the_title_safe_area(size: tuple[int, int]) -> None:
    frame = Frame(*size)
    picture = _picture(frame)
    image = rgba_of(paint_picture(frame, picture.pieces, picture.plates))
    assert within(box_of(image[:, :, 3] > 0), title_safe(*size))
    assert picture.text_height > 0
    assert bool(picture.warnings) == (picture.text_height < 0.99 * frame.least_text)


def test_both_passages_have_as_many_measures_and_hold_the_first_change() -> None:
    document, _, fact = _repeat()
    (first, last), (later, later_last) = _picture(HD).measures
    assert last - first == later_last - later
    change = fact.differences[0]
    assert first <= document.score.measure_at(change.first_at).index <= last
    assert later <= document.score.measure_at(change.later_at).index <= later_last


def test_notes_of_one_beat_stand_under_each_other() -> None:
    document, _, fact = _repeat()
    starts = {
        note.id: note.onset
        for part in document.score.parts
        if part.id in (fact.part, fact.later_part)
        for note in part.notes
    }
    xs: dict[object, list[float]] = {}
    for tone, shape in _picture(HD).pieces[0].strokes:
        if tone == "ink" and isinstance(shape, GlyphShape) and shape.role == "notehead":
            at = starts[shape.element]
            passage = fact.first if at in fact.first else fact.later
            xs.setdefault(at - passage.start, []).append(shape.x)
    pairs = [found for found in xs.values() if len(found) == 2]
    assert len(pairs) > 4
    for one, other in pairs:
        assert one == pytest.approx(other, abs=2.0)


def test_bands_lie_below_everything_and_chords_that_differ_are_set_off() -> None:
    tones = [stroke.tone for stroke in _picture(HD).pieces[0].strokes]
    assert tones[0] == "tint"
    assert "tint" not in tones[tones.index("ink") :]
    assert "accent" in tones
