"""Where things stand on the timeline, in written and in played order."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.score import Score
from app.review.document import Document
from app.review.section_edits import sections_of
from app.views.timeline_hits import TimelinePlaces
from app.views.timeline_layout import Columns, changes_in, lane_signs, lanes_of, snapped
from app.views.timeline_scale import Scale, played_runs, written_runs
from tests.app.reviews import read_sample

EM, HEAD = 13.0, 26.0


@pytest.fixture(scope="module")
def song() -> Document:
    return read_sample("wednesday-table")[1]


def places(document: Document, rate: float = 4.0, *, played: bool = False) -> TimelinePlaces:
    runs = (played_runs if played else written_runs)(document.score)
    signs = lane_signs(document, rate, EM)
    return TimelinePlaces(
        document, Columns(EM, lanes_of(signs)), Scale(HEAD, rate, runs), signs, HEAD
    )


@given(st.fractions(0, 180), st.floats(0.5, 40), st.floats(-500, 500))
def test_there_and_back_again(offset: Fraction, rate: float, top: float) -> None:
    score = read_sample("wednesday-table")[1].score
    scale = Scale(top, rate, written_runs(score))
    if offset < score.end:
        assert float(scale.offset(scale.y(offset))) == pytest.approx(float(offset), abs=1 / 64)


def test_the_played_order_unfolds_what_the_score_says(song: Document) -> None:
    # The chorus of the song is repeated: measures 17 to 20 sound twice, then 21 follows.
    runs = played_runs(song.score)
    numbers = [
        (
            song.score.measure_at(run.written.start).number,
            song.score.measure_at(run.written.end - Fraction(1, 8)).number,
        )
        for run in runs
    ]
    assert numbers == [("0", "20"), ("17", "19"), ("21", "45")]
    length = sum(song.score.measures[index].length for index in song.score.played)
    assert Scale(0.0, 1.0, runs).length == length
    assert all(one.end == other.at for one, other in pairwise(runs))


def test_a_place_that_is_played_twice_is_found_at_both(song: Document) -> None:
    scale = Scale(0.0, 4.0, played_runs(song.score))
    first, again = scale.runs[0], scale.runs[1]
    start = again.written.start
    for run in (first, again):
        assert scale.offset(scale.y_in(run, start + 1)) == start + 1
    assert scale.y(start) == scale.y_in(first, start)


def test_without_jumps_both_orders_are_the_same(song: Document) -> None:
    plain: Score = replace(song.score, played=())
    assert played_runs(plain) == written_runs(plain)


def test_no_sign_lies_on_another_in_its_lane(song: Document) -> None:
    signs = lane_signs(song, 4.0, EM)
    assert signs
    for one in signs:
        for other in signs:
            if one is not other and (one.group, one.row) == (other.group, other.row):
                assert abs(float(one.start - other.start)) * 4.0 >= EM or one.row == 2


def test_a_border_is_found_where_it_is_and_a_section_beside_it(song: Document) -> None:
    found = places(song)
    sections = sections_of(song)
    for index, section in enumerate(sections):
        y = found.scale.y(section.span.start)
        x = found.columns.sections + 10
        assert found.border_at(x, y + 2) == (index or None)
        assert found.border_at(x, y + 9) is None
        assert found.border_at(found.columns.lanes, y) is None
        selection = found.selection(x, y + 9)
        assert selection is not None
        assert selection.span == section.span


def test_everything_can_be_clicked_in_either_order(song: Document) -> None:
    for played in (False, True):
        found = places(song, played=played)
        for x in range(0, int(found.columns.width) + 20, 7):
            for y in range(0, int(found.scale.bottom) + 20, 11):
                selection = found.selection(x, y)
                assert selection is None or selection.span is not None
                assert isinstance(found.tip(x, y), str)


def test_borders_snap_to_barlines_or_beats(song: Document) -> None:
    # The pickup is one beat long, so the first full measure begins at 1.
    assert snapped(song, Fraction(2), beats=False) == 1
    assert snapped(song, Fraction(31, 10), beats=False) == 5
    assert snapped(song, Fraction(31, 10), beats=True) == 3
    assert snapped(song, Fraction(36, 10), beats=True) == 4
    assert snapped(song, Fraction(1, 10), beats=True) == 0


def test_chord_changes_are_counted_by_measure(song: Document) -> None:
    # A chord on every beat of measures 13 and 14, one alone over 5 to 8 (the samples' own list).
    numbers = {measure.number: measure for measure in song.score.measures}
    wanted = tuple(numbers[number] for number in ("5", "6", "13", "14"))
    assert changes_in(song, wanted) == [1, 0, 4, 4]
