"""Which marks are told, and in which order."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from app.export.talking_points import talking_points, title_of
from app.review.document import Decision, ReviewedMark
from tests.app.reviews import SAMPLES, read_sample

SONG = SAMPLES[0]


def test_talking_points_follow_the_users_order_then_the_ranks() -> None:
    document = read_sample(SONG)[1]
    marks = list(document.shown_marks())
    by_rank = [marks[at].id for at in (2, 5, 9)]
    ranks = {mark: rank for rank, mark in enumerate(by_rank, start=1)}
    ranked = replace(
        document,
        analysis=replace(
            document.analysis,
            marks=tuple(replace(mark, rank=ranks.get(mark.id)) for mark in document.analysis.marks),
        ),
    )
    assert [m.id for m in talking_points(ranked)] == by_rank
    chosen = replace(ranked, order=(marks[7].id, by_rank[1]))
    assert [m.id for m in talking_points(chosen)] == [
        marks[7].id,
        by_rank[1],
        by_rank[0],
        by_rank[2],
    ]


@pytest.mark.parametrize("name", SAMPLES)
def test_where_nothing_is_ranked_the_surprising_marks_are_taken(name: str) -> None:
    document = read_sample(name)[1]
    bare = replace(
        document,
        analysis=replace(
            document.analysis, marks=tuple(replace(m, rank=None) for m in document.analysis.marks)
        ),
    )
    points = talking_points(bare)
    assert 1 <= len(points) <= 12
    assert [m.mark.span for m in points] == sorted(m.mark.span for m in points)
    plain = [m for m in points if m.mark.kind == "chord" and not m.mark.fact.outside_key]  # type: ignore[union-attr]
    assert all("/" in m.label or m.mark.fact.resolution for m in plain)  # type: ignore[union-attr]


@pytest.mark.parametrize("name", SAMPLES)
def test_titles_are_words_and_what_was_typed_stays(name: str) -> None:
    document = read_sample(name)[1]
    for reviewed in document.shown_marks():
        title = title_of(reviewed)
        if reviewed.mark.kind in ("cadence", "line", "mixed third", "repeat"):
            assert title[0].isupper(), title
            assert not re.search(r"\bm\. |[↘↗]|♭3/3|\b[A-Z]{2,3}\b", title), title
        typed = ReviewedMark(reviewed.mark, Decision("edited", label="DC al fine"))
        assert title_of(typed) == "DC al fine"
