"""Where pages, elements and times lie in the column of pages."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.score import Measure, Score
from analysis.timebase import Meter, Span
from app.engraving.pages import MeasureBox, Page, StaffBox, System
from app.views.page_column import (
    GAP,
    PageColumn,
    cuts_of,
    element_at,
    measure_at,
    offset_at,
    page_of,
    shown_span,
    span_boxes,
)

FOUR = Meter(4, 4)
SCORE = Score(
    title="",
    composer="",
    parts=(),
    measures=tuple(
        Measure(i, str(i + 1), Fraction(4 * i), Fraction(4), FOUR, f"m{i}") for i in range(4)
    ),
)


def measure(index: int, left: float, top: float) -> MeasureBox:
    """A measure 400 wide, its four quarter notes 80 apart from 80 on."""
    box = (left, top, 400.0, 72.0)
    onsets = tuple((float(beat), left + 80.0 * (beat + 1)) for beat in range(5))
    return MeasureBox(index, f"m{index}", box, (StaffBox(1, box),), onsets)


def system(first: int, top: float) -> System:
    return System(
        (100.0, top - 20, 800.0, 112.0), (measure(first, 100, top), measure(first + 1, 500, top))
    )


PAGES = (
    Page(0, 1000.0, 300.0, (), (system(0, 100.0),), {"n1": (180.0, 120.0, 20.0, 18.0)}),
    Page(1, 1000.0, 300.0, (), (system(2, 100.0),), {"n2": (180.0, 120.0, 20.0, 18.0)}),
)


def column(zoom: float = 0.5, width: float = 800.0) -> PageColumn:
    return PageColumn(PAGES, zoom, width)


def test_pages_follow_each_other_in_the_middle_of_the_view() -> None:
    boxes = [box for _, box in column().strips]
    assert boxes == [(150.0, GAP, 500.0, 150.0), (150.0, GAP + 150, 500.0, 150.0)]
    assert column().height == 300 + 2 * GAP


def test_a_page_wider_than_the_view_begins_at_its_left() -> None:
    assert column(2.0).strips[0][1][0] == GAP


def test_only_the_pages_in_sight_are_visible() -> None:
    assert [strip.page.index for strip, _ in column().visible(0, 100)] == [0]
    assert [strip.page.index for strip, _ in column().visible(200, 300)] == [1]
    assert [strip.page.index for strip, _ in column().visible(100, 250)] == [0, 1]


@given(
    st.sampled_from(PAGES),
    st.floats(0, 999),
    st.floats(0, 299),
    st.floats(0.1, 4),
    st.floats(100, 3000),
)
def test_there_and_back_again(page: Page, x: float, y: float, zoom: float, width: float) -> None:
    pages = column(zoom, width)
    left, top, _, _ = pages.to_column(page, (x, y, 0.0, 0.0))
    # A hair inside, so that rounding does not push the point over the edge of the page.
    back = pages.to_page(left + 1e-6, top + 1e-6)
    assert back is not None
    assert back[0].index == page.index
    assert back[1] == pytest.approx(x, abs=1e-3)
    assert back[2] == pytest.approx(y, abs=1e-3)


CUTS = {0: [(40.0, 160.0), (200.0, 300.0)], 1: [(50.0, 250.0)]}


def test_what_is_cut_out_takes_no_room() -> None:
    cut = PageColumn(PAGES, 0.5, 800.0, CUTS)
    assert [box[1] for _, box in cut.strips] == [GAP, GAP + 60, GAP + 110]
    assert cut.height == 210 + 2 * GAP
    assert cut.to_page(400, GAP + 70) == (PAGES[0], 500.0, 220.0)
    assert cut.to_column(PAGES[1], (0.0, 60.0, 10.0, 10.0))[1] == GAP + 115
    assert shown_span(SCORE, cut.systems(0, 60)) == Span(Fraction(0), Fraction(8))


@given(
    st.lists(st.tuples(st.floats(0, 200), st.floats(0, 200)), min_size=2, max_size=2),
    st.floats(0, 30),
)
def test_every_system_stands_whole_in_one_strip(
    rooms: list[tuple[float, float]], gap: float
) -> None:
    page = Page(0, 1000.0, 800.0, (), (system(0, 150.0), system(2, 550.0)), {})
    cuts = cuts_of(page, rooms, gap)
    assert all(top < bottom for top, bottom in cuts)
    assert list(cuts) == sorted(cuts)
    for (box, _), (above, below) in zip(page.systems, rooms, strict=True):
        wanted = (max(0.0, box[1] - above), min(800.0, box[1] + box[3] + below))
        assert any(top <= box[1] and bottom >= wanted[1] for top, bottom in cuts)


def test_beside_the_pages_is_no_page() -> None:
    assert column().to_page(10, 50) is None
    assert column().to_page(400, 5) is None


def test_the_nearest_element_within_reach_is_hit() -> None:
    assert element_at(PAGES[0], 190, 130, {"n1"}) == "n1"
    assert element_at(PAGES[0], 205, 130, {"n1"}) == "n1"
    assert element_at(PAGES[0], 230, 130, {"n1"}) == ""
    assert element_at(PAGES[0], 190, 130, {"n2"}) == "", "only what can be clicked"


@pytest.mark.parametrize(
    ("x", "offset"), [(100, 0), (180, 0), (260, 1), (300, Fraction(3, 2)), (499, 4), (580, 4)]
)
def test_a_point_says_its_time(x: float, offset: Fraction) -> None:
    found = offset_at(SCORE, PAGES[0], x, 130)
    assert found is not None
    assert float(found) == pytest.approx(float(offset), abs=0.02)


def test_beside_the_music_is_no_time() -> None:
    assert offset_at(SCORE, PAGES[0], 50, 130) is None
    assert measure_at(PAGES[0], 950, 130) is None


def test_a_span_over_two_pages_has_a_box_on_each() -> None:
    span = Span(Fraction(6), Fraction(10))
    (first,), (later,) = (list(span_boxes(SCORE, page, span)) for page in PAGES)
    left, _, width, _ = first
    assert left == pytest.approx(500 + 80 * 3 - 12)
    assert left + width == 900
    assert later[0] == 100
    assert later[0] + later[2] == pytest.approx(100 + 80 * 3 - 12)


def test_a_span_without_length_still_shows() -> None:
    (box,) = span_boxes(SCORE, PAGES[0], Span(Fraction(2), Fraction(2)))
    assert box[2] > 0


def test_what_is_in_view_is_told_by_its_systems() -> None:
    top = column().systems(0, 150)
    assert shown_span(SCORE, top) == Span(Fraction(0), Fraction(8))
    assert shown_span(SCORE, column().systems(0, 320)) == SCORE.span
    assert shown_span(SCORE, []) is None


def test_the_page_of_a_span_is_where_it_begins() -> None:
    assert page_of(PAGES, SCORE, Span(Fraction(7), Fraction(12))) is PAGES[0]
    assert page_of(PAGES, SCORE, Span(Fraction(8), Fraction(12))) is PAGES[1]
