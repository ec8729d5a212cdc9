"""Text is large enough by default, in every kind of picture, and nothing is lost for it."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import pytest

from analysis.marks import Repeat
from app.engraving.labels import Toned
from app.engraving.metrics import CAP_HEIGHT, UNITS_PER_EM
from app.engraving.pages import TextShape
from app.export.card_layouts import lay_out_card
from app.export.comparisons import fitted_comparisons
from app.export.frames import Frame, Picture, Piece
from app.export.legible_excerpts import SLACK
from app.export.passages import Contents, measures_named, section_named, section_spans
from app.export.reveal_layouts import lay_out_reveal
from app.export.still_layouts import lay_out_stills, lay_out_stretch, lay_out_stretches
from app.export.talking_points import talking_points
from app.export.timeline_strips import lay_out_timeline
from app.review.document import Document, ReviewedMark
from tests.app.pixels import box_of, coverage
from tests.app.reviews import SAMPLES, read_sample

HD = Frame()
SQUARE = Frame(1080, 1080)
UPRIGHT = Frame(1080, 1920)
#: Letters and figures as high as capitals, without a foot or a curve beyond them.
_STRAIGHT = frozenset("IVTDEHFLBKZ174")


def _pictures(name: str, frame: Frame) -> Iterator[Picture]:
    source, document = read_sample(name)
    for point in talking_points(document):
        yield from lay_out_stills(document, source, point, frame)
        yield lay_out_card(document, source, point, frame).picture(frame)
        reveal = lay_out_reveal(document, source, point, frame)
        yield Picture(frame, (), (), (), reveal.text_height)
    yield lay_out_timeline(document, frame)


def _share_too_small(pictures: Iterator[Picture], frame: Frame) -> float:
    heights = [picture.text_height for picture in pictures if picture.text_height]
    assert len(heights) > 20
    return sum(height < SLACK * frame.least_text for height in heights) / len(heights)


def test_text_is_large_enough_in_a_wide_frame() -> None:
    assert _share_too_small(_pictures("slow-to-warm", HD), HD) <= 0.05


@pytest.mark.full
@pytest.mark.parametrize("frame", [HD, SQUARE, UPRIGHT], ids=["wide", "square", "upright"])
@pytest.mark.parametrize("name", SAMPLES)
def test_text_is_large_enough_in_every_frame(name: str, frame: Frame) -> None:
    most = 0.15 if frame == UPRIGHT else 0.06
    assert _share_too_small(_pictures(name, frame), frame) <= most


@cache
def _repeat(name: str) -> tuple[Document, ReviewedMark, Repeat]:
    document = read_sample(name)[1]
    for reviewed in talking_points(document):
        fact = reviewed.mark.fact
        if isinstance(fact, Repeat) and fact.differences:
            return document, reviewed, fact
    raise AssertionError("the song has no reharmonised return")


@pytest.mark.parametrize("frame", [HD, SQUARE, UPRIGHT], ids=["wide", "square", "upright"])
def test_comparisons_show_each_difference_once_and_can_be_read(frame: Frame) -> None:
    document, reviewed, fact = _repeat("slow-to-warm")
    source = read_sample("slow-to-warm")[0]
    found = list(fitted_comparisons(document, source, reviewed, frame, frame.title_safe))
    for one in found:
        assert one.text_height >= SLACK * frame.least_text
        assert not [w for w in one.picture(frame).warnings if "smallest text" in w]
    for change in fact.differences:
        at = document.score.measure_at(change.first_at).index
        assert sum(first <= at <= last for (first, last), _ in (c.measures for c in found)) == 1


def test_the_letters_of_a_comparison_are_as_high_in_pixels_as_it_says() -> None:
    document, reviewed, _ = _repeat("slow-to-warm")
    source = read_sample("slow-to-warm")[0]
    frame = Frame(1280, 720)
    picture = next(lay_out_stills(document, source, reviewed, frame))
    _check_pixels(picture, frame)


@pytest.mark.parametrize("frame", [Frame(1280, 720), Frame(540, 960)], ids=["wide", "upright"])
def test_the_letters_of_stills_are_as_high_in_pixels_as_they_say(frame: Frame) -> None:
    source, document = read_sample("slow-to-warm")
    point = next(p for p in talking_points(document) if p.mark.kind == "chord")
    for picture in lay_out_stills(document, source, point, frame):
        _check_pixels(picture, frame)


def _check_pixels(picture: Picture, frame: Frame) -> None:
    """Each capital on the line, painted by itself, is as high as the least, or higher."""
    heights = []
    for piece in picture.pieces:
        for stroke in piece.strokes:
            shape = stroke.shape
            if isinstance(shape, TextShape) and shape.text[:1] in _STRAIGHT:
                told = shape.size * piece.scale * CAP_HEIGHT / UNITS_PER_EM
                # Raised figures are smaller than the line that they belong to.
                if told >= SLACK * picture.text_height:
                    heights.append(_height_in_pixels(piece, stroke, frame))
    assert len(heights) > 3
    assert min(heights) >= picture.text_height - 1.5
    assert picture.text_height >= SLACK * frame.least_text


def _height_in_pixels(piece: Piece, stroke: Toned, frame: Frame) -> float:
    alone = Toned("ink", stroke.shape)
    return box_of(coverage(frame, [piece._replace(strokes=[alone])]) > 0.25)[3]


def test_a_section_is_shared_out_without_a_hole_and_whole_on_demand() -> None:
    source, document = read_sample("wednesday-table")
    span = section_named(document, "verse 1")
    shared = lay_out_stretches(document, source, span, UPRIGHT)
    assert len(shared) > 1
    shown = [at for picture in shared for at in range(*_past(picture.measures[0]))]
    first = document.score.measure_at(span.start).index
    assert shown == list(range(first, first + len(shown)))
    assert document.score.measures[shown[-1]].span.end == span.end
    whole = lay_out_stretch(document, source, span, UPRIGHT)
    assert whole.measures == ((shown[0], shown[-1]),)
    assert "smallest text" in whole.warnings[0]


def _past(measures: tuple[int, int]) -> tuple[int, int]:
    first, last = measures
    return first, last + 1


def test_an_upbeat_stays_with_its_phrase() -> None:
    source, document = read_sample("slow-to-warm")
    _, span = section_spans(document)[0]
    assert document.score.measures[0].length < document.score.measures[1].length
    first, *_ = lay_out_stretches(document, source, span, SQUARE)
    assert first.measures == ((0, 4),)


def test_parts_that_were_chosen_stay_even_where_text_becomes_small() -> None:
    source, document = read_sample("wednesday-table")
    parts = tuple(part.id for part in document.score.parts)
    picture = lay_out_stretch(
        document, source, measures_named(document, "5-8"), UPRIGHT, Contents(parts=parts)
    )
    notes = {
        shape.element
        for piece in picture.pieces
        for _, shape in piece.strokes
        if shape.role == "notehead"
    }
    for part in document.score.parts:
        inside = {n.id for n in part.notes if n.onset in measures_named(document, "5-8")}
        assert not inside or notes & inside, part.name
    assert any("smallest text" in warning for warning in picture.warnings)
