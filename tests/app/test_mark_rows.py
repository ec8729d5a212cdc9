"""Which marks a list shows, and in what order."""

from dataclasses import replace

import pytest

from analysis.marks import Repeat
from app.review.document import Document
from app.review.edits import Decide
from app.views.mark_rows import MarkFilter, confidence_text, decided, rows
from app.views.signs import KIND_NAMES
from app.views.timeline_layout import (
    COLUMN_KINDS,
    GROUPS,
    Columns,
    lane_signs,
    lanes_of,
    number_step,
)
from tests.app.reviews import crowded_sample, read_sample


@pytest.fixture(scope="module")
def crowded() -> Document:
    return crowded_sample("wednesday-table")[1]


def test_rows_are_in_order_of_time(crowded: Document) -> None:
    starts = [row.mark.span.start for row in rows(crowded, MarkFilter())]
    assert starts == sorted(starts)
    assert len(starts) > 100


def test_each_filter_keeps_what_it_says(crowded: Document) -> None:
    section = crowded.analysis.sections[2]
    for wanted, holds in (
        (MarkFilter(kind="melody"), lambda row: row.mark.kind == "melody"),
        (MarkFilter(state="edited"), lambda row: row.state == "edited"),
        (MarkFilter(section=2), lambda row: row.mark.span.start in section.span),
        (MarkFilter(text="LOWERED third"), lambda row: "lowered third" in row.sentence),
    ):
        everything = rows(crowded, MarkFilter())
        found = rows(crowded, wanted)
        assert 0 < len(found) < len(everything)
        assert list(found) == [row for row in everything if holds(row)]


def test_doubtful_marks_come_only_when_asked_for_or_decided() -> None:
    _, document = read_sample("wednesday-table")
    first = document.analysis.marks[0]
    doubtful = replace(first, confidence=0.2)
    marks = (doubtful, *document.analysis.marks[1:])
    document = replace(document, analysis=replace(document.analysis, marks=marks))
    ids = [row.id for row in rows(document, MarkFilter())]
    assert doubtful.id not in ids
    assert doubtful.id in [row.id for row in rows(document, MarkFilter(least=0.0))]
    kept = Decide((doubtful.id,), "accepted").apply(document)
    assert doubtful.id in [row.id for row in rows(kept, MarkFilter())]
    rejected = Decide((doubtful.id,), "rejected").apply(document)
    assert doubtful.id in [row.id for row in rows(rejected, MarkFilter())], (
        "a list can take it back"
    )


def test_talking_points_follow_the_users_order_then_rank() -> None:
    _, document = read_sample("wednesday-table")
    one, two, three, four, *others = document.analysis.marks
    marks = (
        replace(one, rank=None),
        replace(two, rank=3),
        replace(three, rank=1),
        replace(four, rank=2),
        *(replace(mark, rank=None) for mark in others),
    )
    document = replace(document, analysis=replace(document.analysis, marks=marks), order=(two.id,))
    found = [row.id for row in rows(document, MarkFilter(order="talking points"))]
    assert found[:4] == [two.id, three.id, four.id, one.id]


def test_how_much_is_decided() -> None:
    _, document = read_sample("wednesday-table")
    done, all_marks = decided(document)
    assert done == 0
    after = Decide((document.analysis.marks[0].id,), "rejected").apply(document)
    assert decided(after) == (1, all_marks)


@pytest.mark.parametrize(
    ("confidence", "text"),
    [
        (1.0, "very sure (100 %)"),
        (0.78, "fairly sure (78 %)"),
        (0.5, "likely (50 %)"),
        (0, "a guess (0 %)"),
    ],
)
def test_confidence_in_words(confidence: float, text: str) -> None:
    assert confidence_text(confidence) == text


def test_every_shown_mark_has_its_column_or_its_lane(crowded: Document) -> None:
    signs = lane_signs(crowded, 4.0, 16.0)
    shown = [m for m in crowded.shown_marks() if m.mark.kind not in COLUMN_KINDS]
    assert {sign.mark.id for sign in signs} == {mark.id for mark in shown}
    assert {kind for kinds in GROUPS.values() for kind in kinds} | {*COLUMN_KINDS} == {*KIND_NAMES}
    columns = Columns(16.0, lanes_of(signs))
    middles = [columns.lane(group, row) for group, rows in columns.lanes_of for row in range(rows)]
    assert middles == sorted(middles)
    assert middles[-1] < columns.width


def test_both_passes_of_a_repeat_are_on_the_timeline(crowded: Document) -> None:
    signs = lane_signs(crowded, 30.0, 16.0)
    repeats = [sign for sign in signs if sign.mark.mark.kind == "repeat"]
    assert repeats
    for sign in repeats:
        fact = sign.mark.mark.fact
        assert isinstance(fact, Repeat)
        assert {fact.first, fact.later} <= set(sign.stretches)


def test_measure_numbers_thin_out_by_doubling(crowded: Document) -> None:
    measures = crowded.score.measures
    steps = [number_step(measures, rate, 16.0) for rate in (20.0, 4.0, 1.0, 0.1)]
    assert steps == sorted(steps)
    assert steps[0] == 1
    for step, rate in zip(steps, (20.0, 4.0, 1.0, 0.1), strict=True):
        assert step * 4 * rate >= 1.5 * 16.0
