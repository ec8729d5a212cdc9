"""Which marks are picked to talk about, and in which order."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from analysis.form.talking_points import MOST, rank_marks
from analysis.marks import Mark, MarkKind, mark_id
from analysis.pipeline import analyse
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from analysis.timebase import Span
from tests.analysis.test_reharmonisations import HOME, MELODY
from tests.analysis.test_sections import SAMPLES
from tests.analysis.tunes import study, tune


def told(marks: tuple[Mark, ...]) -> list[Mark]:
    """The talking points in order."""
    return sorted(
        (mark for mark in marks if mark.rank is not None), key=lambda mark: mark.rank or 0
    )


def plain(kind: MarkKind, start: int, label: str, confidence: float = 0.9) -> Mark:
    span = Span(Fraction(start), Fraction(start + 4))
    return Mark(mark_id(kind, start, label), kind, span, (), (), label, label, (), (), confidence)


def test_a_plain_cadence_in_one_key_is_nothing_to_talk_about() -> None:
    assert told(study(tune("", "C:4 F:4 G7:4 C:4")).marks) == []


def test_a_reharmonised_return_leads() -> None:
    points = told(study(tune(MELODY, f"{HOME} Am:4 D7:4")).marks)
    assert points[0].kind == "repeat"
    assert [mark.rank for mark in points] == list(range(1, len(points) + 1))


def test_the_rarer_chord_and_the_deceived_dominant_come_first() -> None:
    points = told(study(tune("", "C:4 E7:4 F:4 D7:4 G:4 C:4 G:4 C:4")).marks)
    assert [mark.label for mark in points] == ["V⁷/vi", "V⁷/V"]


def test_what_is_said_of_several_places_is_told_once_of_its_best() -> None:
    marks = (plain("echo", 0, "same", 0.7), plain("echo", 8, "same"), plain("echo", 16, "same"))
    assert [mark.rank for mark in rank_marks(marks, ())] == [None, 1, None]


def test_a_habit_counts_more_than_a_single_place() -> None:
    loop = plain("loop", 32, "loop")
    once = rank_marks((plain("pedal", 0, "pedal"), loop), ())
    often = rank_marks((plain("pedal", 0, "pedal"), plain("pedal", 16, "pedal"), loop), ())
    assert [mark.label for mark in told(once)] == ["pedal", "loop"]
    assert told(often)[0].label == "pedal"


def test_a_kind_told_already_counts_less() -> None:
    passages = [replace(plain("passage", 16 * at, ""), parts=(f"P{at}",)) for at in range(3)]
    points = told(rank_marks((*passages, plain("pedal", 64, "pedal")), ()))
    assert [mark.kind for mark in points] == ["passage", "passage", "pedal", "passage"]


def test_marks_in_one_spot_lift_each_other() -> None:
    alone, other = plain("pedal", 0, "pedal"), plain("loop", 32, "loop")
    company = plain("rhythm", 32, "quick chords")
    assert told(rank_marks((alone, other), ()))[0].label == "pedal"
    assert told(rank_marks((alone, other, company), ()))[0].span.start == 32


def test_doubtful_marks_queries_and_sections_are_no_points() -> None:
    marks = (
        plain("echo", 0, "echo", 0.4),
        plain("query", 4, "query"),
        plain("section", 8, "Verse"),
        plain("shape", 12, "range", 0.6),
    )
    assert told(rank_marks(marks, ())) == []


@pytest.mark.parametrize(
    ("sample", "first", "picked"),
    [
        (
            "wednesday-table",
            {("chord", "16"), ("repeat", "22")},
            {("key", "32"), ("echo", "19"), ("line", "13"), ("pedal", "1")},
        ),
        (
            "slow-to-warm",
            {("repeat", "17")},
            {("line", "1"), ("chord", "20"), ("chord", "4"), ("line", "12")},
        ),
        (
            "seven-small-screws",
            {("chord", "14")},
            {("line", "25"), ("chord", "6"), ("key", "17"), ("chord", "30"), ("echo", "20")},
        ),
        (
            "kettle-wont-sing",
            {("repeat", "13"), ("mixed third", "1")},
            {("line", "23"), ("echo", "2"), ("chord", "18"), ("chord", "23")},
        ),
    ],
)
def test_the_samples_are_told_by_what_was_planted(
    sample: str, first: set[tuple[str, str]], picked: set[tuple[str, str]]
) -> None:
    score = read_score(read_source(SAMPLES / f"{sample}.musicxml"))
    points = [
        (mark.kind, score.measure_at(mark.span.start).number) for mark in told(analyse(score).marks)
    ]
    assert set(points[: len(first)]) == first
    assert picked <= set(points)
    assert 5 <= len(points) <= MOST
