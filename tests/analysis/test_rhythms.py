"""Harmonic rhythm: rates of sections, and where it changes (common practice, no source)."""

from __future__ import annotations

from fractions import Fraction

from analysis.harmony.rhythms import find_section_rhythms
from analysis.marks import Analysis, Section
from analysis.timebase import Span
from tests.analysis.tunes import study, tune

SLOW = "C:8 F:8 C:8 F:8 "
QUICK = "C:2 F:2 G:2 C:2 " * 4


def sections(*ends: int) -> tuple[Section, ...]:
    starts = (0, *ends[:-1])
    return tuple(
        Section(Span(Fraction(start), Fraction(end)), "ABCD"[at], f"part {at + 1}", True)
        for at, (start, end) in enumerate(zip(starts, ends, strict=True))
    )


def over(chords: str, *ends: int) -> tuple[Analysis, list[float]]:
    score = tune("C5:4 " * (ends[-1] // 4), chords)
    found = study(score, "C major", sections=sections(*ends))
    rhythms = find_section_rhythms(score, found.sections, found.chords)
    return found, [rhythm.rate for rhythm in rhythms]


def test_the_rate_of_each_section() -> None:
    _, rates = over(SLOW + QUICK, 32, 64)
    # Eight measures with four changes; eight with sixteen, of which every fourth repeats the C.
    assert rates == [0.5, 1.625]


def test_the_same_chord_written_again_is_no_change() -> None:
    _, rates = over("C:2 C:2 C:4 F:4 F:4 ", 16)
    assert rates == [0.5]


def test_where_it_quickens_is_said() -> None:
    found, _ = over(SLOW + QUICK, 32, 64)
    marks = [mark for mark in found.marks if mark.kind == "rhythm"]
    assert any("part 2" in mark.sentence and "quickens" in mark.sentence for mark in marks)
    assert all(len(mark.sentence.split()) < 30 for mark in marks)


def test_an_even_rhythm_is_not_worth_a_mark() -> None:
    found, rates = over("C:4 Am:4 F:4 G:4 " * 4, 32, 64)
    assert rates == [1.0, 1.0]
    assert not [mark for mark in found.marks if mark.kind == "rhythm"]
