"""Timeline strips: sections to scale, functions at their times, nothing outside the frame."""

from __future__ import annotations

from itertools import pairwise

import pytest

from analysis.timebase import Offset, Span
from app.engraving.pages import PathShape, TextShape
from app.export.frames import Frame
from app.export.pictures import paint_picture
from app.export.timeline_strips import broken_rows, lay_out_timeline
from tests.app.pixels import box_of, rgba_of, within
from tests.app.reviews import SAMPLES, read_sample

HD = Frame(1280, 720)


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("size", [(1280, 720), (540, 960), (540, 540)])
def test_everything_is_inside_the_title_safe_area(name: str, size: tuple[int, int]) -> None:
    frame = Frame(*size)
    picture = lay_out_timeline(read_sample(name)[1], frame)
    image = rgba_of(paint_picture(frame, picture.pieces, picture.plates))
    assert within(box_of(image[:, :, 3] > 0), frame.title_safe)
    assert bool(picture.warnings) == (picture.text_height < 0.99 * frame.least_text)


def _stretches(name: str) -> list[tuple[float, float]]:
    """What is meant as (length on the picture, length in time), for each section by itself."""
    document = read_sample(name)[1]
    found = []
    for section in document.analysis.sections:
        (piece,) = lay_out_timeline(document, HD, section.span).pieces
        heavy = max(
            (s for tone, s in piece.strokes if tone == "accent" and isinstance(s, PathShape)),
            key=lambda shape: shape.stroke,
        )
        left, _, right, _ = heavy.points
        found.append((right - left, float(section.span.duration)))
    return found


@pytest.mark.parametrize("name", SAMPLES[:2])
def test_sections_have_the_lengths_of_their_times(name: str) -> None:
    lengths = _stretches(name)
    assert len(lengths) > 1
    scales = [length / time for length, time in lengths]
    assert max(scales) == pytest.approx(min(scales), rel=1e-6)


def test_every_section_is_named_and_every_change_of_function_has_its_letter() -> None:
    document = read_sample(SAMPLES[0])[1]
    (piece,) = lay_out_timeline(document, HD).pieces
    marks = {s.element for _, s in piece.strokes if isinstance(s, TextShape)}
    letters = "".join(s.text for _, s in piece.strokes if isinstance(s, TextShape))
    chords = [fact for fact in document.analysis.chords if fact.function]
    changes = [b for a, b in pairwise(chords) if a.function != b.function]
    starts = {fact.span.start for fact in changes}
    labelled = {document.mark(mark).mark.span.start for mark in marks if mark.startswith("chord")}
    shown = {m.mark.span.start for m in document.shown_marks() if m.mark.kind == "chord"}
    assert starts & shown <= labelled
    for section in document.analysis.sections:
        assert section.name.replace(" ", "") in letters.replace(" ", "")


def test_what_is_meant_alone_is_heavy() -> None:
    document = read_sample(SAMPLES[0])[1]
    plain = lay_out_timeline(document, HD).pieces[0].strokes
    end = document.score.measures[0].span.end
    meant = lay_out_timeline(document, HD, Span(document.score.measures[0].onset, end))
    assert len(meant.pieces[0].strokes) == len(plain) + 1


@pytest.mark.parametrize("name", SAMPLES)
def test_each_section_and_key_says_its_function_anew(name: str) -> None:
    document = read_sample(name)[1]
    chords = [m for m in document.shown_marks() if m.mark.kind == "chord" and m.function]
    begins = [m.mark.span.start for m in document.shown_marks() if m.mark.kind == "key"]
    begins += [section.span.start for section in document.analysis.sections]
    (piece,) = lay_out_timeline(document, HD).pieces
    lettered = {s.element for _, s in piece.strokes if isinstance(s, TextShape)}
    for chord in chords:
        if any(begin in chord.mark.span for begin in begins):
            assert chord.id in lettered


def test_rows_are_even_and_the_last_may_be_short() -> None:
    spans = [Span(Offset(at), Offset(at + 8)) for at in range(0, 56, 8)]
    assert [row.duration for row in broken_rows(spans, 3)] == [24, 16, 16]
