"""The melody's shape: range, contour, density, climax. Common practice, no source."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest

from analysis.marks import Section
from analysis.melody.shape_marks import make_shape_marks
from analysis.melody.shapes import find_climax, find_shapes
from analysis.timebase import Span
from analysis.vocabulary.voices import lead_line
from tests.analysis.tunes import tune


def sections(*bounds: int) -> tuple[Section, ...]:
    spans = pairwise(bounds)
    return tuple(
        Section(Span(Fraction(start), Fraction(end)), "ABCD"[at], "", False)
        for at, (start, end) in enumerate(spans)
    )


@pytest.mark.parametrize(
    ("melody", "contour"),
    [
        ("C4:1 E4:1 G4:1 C5:1 E5:1 G5:1", "rising"),
        ("G5:1 E5:1 C5:1 G4:1 E4:1 C4:1", "falling"),
        ("C4:1 E4:1 C5:1 C5:1 E4:1 C4:1", "arch"),
        ("C5:1 G4:1 C4:1 C4:1 G4:1 C5:1", "valley"),
        ("C4:1 D4:1 C4:1 D4:1 C4:1 D4:1", "level"),
    ],
)
def test_contours(melody: str, contour: str) -> None:
    score = tune(melody)
    (shape,) = find_shapes(score, lead_line(score.parts[0]), sections(0, 8))
    assert shape.contour == contour


def test_range_and_density() -> None:
    score = tune("C4:1 E4:1 G4:1 E4:1 D4:1/2 B3:1/2 C4:3")
    (shape,) = find_shapes(score, lead_line(score.parts[0]), sections(0, 8))
    assert (str(shape.lowest.pitch), str(shape.highest.pitch)) == ("B3", "G4")
    assert shape.density == 3.5


def test_a_pickup_alone_is_no_section_of_melody() -> None:
    score = tune("r:3 C4:1 C4:1 D4:1 E4:1 F4:1 G4:4")
    shapes = find_shapes(score, lead_line(score.parts[0]), sections(0, 4, 12))
    assert [shape.section.label for shape in shapes] == ["B"]


VERSE = "C4:1 D4:1 E4:1 D4:1 C4:1 D4:1 E4:2"


def test_the_climax_is_the_highest_note_kept_for_one_section() -> None:
    line = lead_line(tune(f"{VERSE} E4:1 A4:1 G4:2 A4:3 G4:1").parts[0])
    climax = find_climax(line, sections(0, 8, 16))
    assert climax is not None
    note, section = climax
    assert note.onset == 12
    assert section is not None
    assert section.label == "B"


def test_a_height_reached_again_and_again_is_no_climax() -> None:
    line = lead_line(tune(f"{VERSE} {VERSE} {VERSE}").parts[0])
    assert find_climax(line, sections(0, 8, 16, 24)) is None


def test_the_marks_say_it_by_the_words() -> None:
    score = tune("C4:1=we D4:1=go E4:1=on D4:1=and C4:1=on D4:1=to E4:2=sing G4:8=out")
    marks = make_shape_marks(score, lead_line(score.parts[0]), sections(0, 16))
    shown = [mark for mark in marks if mark.confidence >= 0.5]
    assert [mark.sentence for mark in shown] == [
        "On “out” the melody comes to its highest note, G4."
    ]
