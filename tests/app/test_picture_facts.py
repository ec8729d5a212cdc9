"""Facts of pixels that hold for every kind of picture, theme and frame."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from analysis.errors import ExportError
from app.engraving.labels import Toned
from app.engraving.metrics import CAP_HEIGHT, UNITS_PER_EM
from app.engraving.pages import TextShape
from app.export.card_layouts import lay_out_card
from app.export.excerpts import Excerpt
from app.export.frames import GLOW, OUTLINE, Backing, Frame, Ink, Picture
from app.export.legibility import reading_warnings, text_warnings
from app.export.passages import Contents, passage_over, section_spans
from app.export.pictures import paint_picture
from app.export.song_pictures import write_song_pictures
from app.export.still_layouts import engrave_still, lay_out_still, lay_out_stretch, page_spans
from app.export.themes import shipped_themes
from app.export.timeline_strips import lay_out_timeline
from app.review.document import Document, ReviewedMark
from tests.app.pixels import (
    Pixels,
    box_of,
    contrast_around,
    coverage,
    grown,
    rgba_of,
    title_safe,
    within,
)
from tests.app.reviews import SAMPLES, read_sample

SONG = SAMPLES[0]
HD = Frame(1280, 720)
KINDS = ("still", "comparison", "card", "section", "timeline")


def _mark(kind: str) -> tuple[Document, ReviewedMark]:
    document = read_sample(SONG)[1]
    if kind == "comparison":
        return document, next(m for m in document.shown_marks() if m.mark.kind == "repeat")
    return document, next(m for m in document.shown_marks() if "V⁷/" in m.label)


@cache
def _picture(kind: str, frame: Frame) -> Picture:
    source = read_sample(SONG)[0]
    document, reviewed = _mark(kind)
    if kind in ("still", "comparison"):
        return lay_out_still(document, source, reviewed, frame)
    if kind == "card":
        return lay_out_card(document, source, reviewed, frame).picture(frame)
    if kind == "section":
        return lay_out_stretch(document, source, section_spans(document)[1][1], frame)
    return lay_out_timeline(document, frame)


def _painted(picture: Picture) -> Pixels:
    return rgba_of(paint_picture(picture.frame, picture.pieces, picture.plates))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("theme", sorted(shipped_themes()))
def test_alpha_is_nothing_outside_the_ink(kind: str, theme: str) -> None:
    frame = replace(HD, backing="none", theme=shipped_themes()[theme])
    picture = _picture(kind, frame)
    ink = coverage(frame, picture.pieces)
    assert 0.005 < (ink > 0).mean() < 0.5
    assert np.array_equal(_painted(picture)[:, :, 3] > 0, ink > 0)


@pytest.mark.parametrize("backing", ["plate", "outline", "glow"])
def test_alpha_is_nothing_outside_what_lies_under_the_ink(backing: Backing) -> None:
    frame = replace(HD, backing=backing)
    picture = _picture("still", frame)
    near = coverage(frame, picture.pieces) > 0
    for x, y, width, height in picture.plates if backing == "plate" else ():
        near[int(y) : int(y + height) + 1, int(x) : int(x + width) + 1] = True
    # An outline and a glow reach as far as this around the ink, and no farther.
    reach = {"plate": 0.0, "outline": OUTLINE, "glow": 2 * OUTLINE + 2 * GLOW}[backing]
    # Its ends are round, so it also runs half their width beyond thick lines.
    thick = 0.006
    near = grown(near, int((reach + thick) * frame.shorter) + 2)
    painted = _painted(picture)[:, :, 3] > 0
    assert painted.any()
    assert not (painted & ~near).any()


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("theme", sorted(shipped_themes()))
@pytest.mark.parametrize("size", [(960, 540), (540, 960), (540, 540)])
def test_nothing_is_outside_the_safe_area(kind: str, theme: str, size: tuple[int, int]) -> None:
    frame = Frame(*size, theme=shipped_themes()[theme])
    box = box_of(_painted(_picture(kind, frame))[:, :, 3] > 0)
    assert within(box, title_safe(*size))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("theme", sorted(shipped_themes()))
@pytest.mark.parametrize("ink", ["dark", "light"])
def test_text_can_be_read_on_white_black_and_grey(kind: str, theme: str, ink: Ink) -> None:
    _check_contrasts(kind, Frame(960, 540, ink=ink, theme=shipped_themes()[theme]))


@pytest.mark.parametrize("kind", ["still", "card"])
@pytest.mark.parametrize("theme", sorted(shipped_themes()))
@pytest.mark.parametrize("ink", ["dark", "light"])
@pytest.mark.parametrize("backing", ["outline", "glow"])
def test_text_without_a_plate_can_be_read_too(
    kind: str, theme: str, ink: Ink, backing: Backing
) -> None:
    frame = Frame(960, 540, ink=ink, backing=backing, theme=shipped_themes()[theme])
    _check_contrasts(kind, frame)


@pytest.mark.parametrize("theme", sorted(shipped_themes()))
@pytest.mark.parametrize("ink", ["dark", "light"])
@pytest.mark.parametrize("backing", ["plate", "outline", "glow", "none"])
def test_a_colour_fills_all_that_is_not_painted(theme: str, ink: Ink, backing: Backing) -> None:
    frame = Frame(960, 540, ink=ink, backing=backing, theme=shipped_themes()[theme])
    bare = _painted(_picture("card", frame))
    coloured = _painted(_picture("card", replace(frame, ground="#336699")))
    assert (coloured[:, :, 3] == 1).all()
    empty = bare[:, :, 3] == 0
    assert empty.mean() > 0.2
    assert not empty.all()
    assert np.array_equal(
        coloured[empty][:, :3] * 255, np.tile([0x33, 0x66, 0x99], (empty.sum(), 1))
    )


def _check_contrasts(kind: str, frame: Frame) -> None:
    picture = _picture(kind, frame)
    painted = _painted(picture)
    # A tint is ground, not ink.
    inked = [p._replace(strokes=[s for s in p.strokes if s.tone != "tint"]) for p in picture.pieces]
    everything = coverage(frame, inked)
    checked = 0
    for tone in ("ink", "soft", "accent"):
        letters = [p._replace(strokes=[s for s in p.strokes if _is_text(s, tone)]) for p in inked]
        if any(piece.strokes for piece in letters):
            cover = coverage(frame, letters)
            for footage in (0.0, 0.5, 1.0):
                assert contrast_around(painted, cover, everything, footage) >= 4.5
                checked += 1
    # Every kind of picture has text in two tones at least.
    assert checked >= 6


def _is_text(stroke: Toned, tone: str) -> bool:
    return stroke.tone == tone and isinstance(stroke.shape, TextShape)


@pytest.mark.parametrize("kind", KINDS)
def test_the_height_of_text_is_what_is_told(kind: str) -> None:
    picture = _picture(kind, HD)
    sizes = [
        stroke.shape.size * piece.scale * CAP_HEIGHT / UNITS_PER_EM
        for piece in picture.pieces
        for stroke in piece.strokes
        if isinstance(stroke.shape, TextShape) and stroke.shape.role in ("label", "syl")
    ]
    # Raised figures are smaller than the line that they belong to.
    assert 0.5 * picture.text_height <= min(sizes) <= max(sizes)
    assert sum(size >= 0.99 * picture.text_height for size in sizes) > 0.6 * len(sizes)


def test_a_stretch_holds_exactly_its_measures() -> None:
    source, document = read_sample(SONG)
    for _, span in section_spans(document)[:3]:
        picture = lay_out_stretch(document, source, span, HD)
        ((first, last),) = picture.measures
        shown = document.score.measures[first : last + 1]
        assert shown[0].onset == span.start
        assert shown[-1].span.end == span.end


def test_pages_follow_each_other_without_a_hole() -> None:
    source, document = read_sample(SONG)
    spans = page_spans(document, source)
    assert spans[0].start == document.score.measures[0].onset
    assert spans[-1].end == document.score.measures[-1].span.end
    assert all(a.end == b.start for a, b in pairwise(spans))


def _excerpt(contents: Contents) -> Excerpt:
    source = read_sample(SONG)[0]
    document, reviewed = _mark("still")
    return engrave_still(document, source, reviewed, HD, contents).excerpts[0]


def test_parts_and_layers_are_chosen() -> None:
    document = read_sample(SONG)[1]
    last = document.score.parts[-1]
    excerpt = _excerpt(Contents(layers=frozenset({"functions"}), parts=(last.id,)))
    notes = {s.element for s in excerpt.page.shapes if s.role == "notehead"}
    assert notes
    assert notes <= {note.id for note in last.notes}
    # The chord symbols belong to another part, and are shown all the same.
    assert [s for s in excerpt.page.shapes if s.role == "harm"]
    numerals = _excerpt(Contents(layers=frozenset()))
    assert {label.layer for label in numerals.overlay.labels} <= {"numerals", "functions"}


def test_measure_numbers_words_and_symbols_are_shown_on_demand() -> None:
    plain = {s.role for s in _excerpt(Contents()).page.shapes}
    assert {"harm", "syl"} <= plain
    assert "mNum" not in plain
    contents = Contents(measure_numbers=True, chord_symbols=False, lyrics=False)
    other = {s.role for s in _excerpt(contents).page.shapes}
    assert "mNum" in other
    assert not {"harm", "syl"} & other


def test_parts_that_are_not_there_are_refused_in_words() -> None:
    document = read_sample(SONG)[1]
    with pytest.raises(ExportError, match="has no part P99"):
        passage_over(document, section_spans(document)[0][1], Contents(parts=("P99",)))


def test_warnings_say_what_is_wrong() -> None:
    assert text_warnings(HD.least_text, HD) == ()
    assert "1.4 % of the frame's height" in text_warnings(10.0, HD)[0]
    assert "lost on some footage" in text_warnings(30.0, replace(HD, backing="none"))[0]
    grey = replace(HD, backing="none", ground="#808080", ink="light")
    assert ": 1 with the ground" in text_warnings(30.0, grey)[0]
    assert reading_warnings(20, 2) == ()
    assert reading_warnings(20, 2, 6.7) == ()
    assert reading_warnings(20, 2, 5.0) == (
        "20 words take 6.7 to 7.5 s to read; the card stands for 5.0 s.",
    )
    assert "3 lines" in reading_warnings(20, 3)[0]
    assert "make two cards" in reading_warnings(60, 2)[0]


def test_a_card_that_stands_too_short_says_so() -> None:
    source = read_sample(SONG)[0]
    document, reviewed = _mark("card")
    card = lay_out_card(document, source, reviewed, HD, shown=1.0)
    assert any("the card stands for 1.0 s" in warning for warning in card.warnings)
    fast, slow = card.range_seconds
    assert fast <= card.seconds <= slow


def test_pictures_of_a_song_are_twice_the_same(tmp_path: Path) -> None:
    source, document = read_sample(SAMPLES[1])
    frame = Frame(426, 240)
    first = write_song_pictures(document, source, tmp_path / "a", frame, endings=("png", "svg"))
    second = write_song_pictures(document, source, tmp_path / "b", frame, endings=("png", "svg"))
    assert [p.read_bytes() for p in first] == [p.read_bytes() for p in second]
    rows = json.loads(first[-1].read_bytes())
    assert [row["file"] for row in rows] == [p.name for p in first if p.suffix == ".png"]
    assert {p.suffix for p in first[:-1]} == {".png", ".svg"}
