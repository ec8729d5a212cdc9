"""Sections as rehearsal marks name them, and as they are found without."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from analysis.marks import Section, Settings
from analysis.pipeline import analyse
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from analysis.score import Measure, RehearsalMark, Score
from tests.analysis.tunes import study, tune

SAMPLES = Path(__file__).parents[2] / "sample_scores"
A = "E4:1 G4:1 A4:1 G4:1 E4:1.5 D4:.5 C4:2 D4:1 E4:1 F4:1 A4:1 G4:3 r:1"
B = "C5:2 B4:2 A4:2 B4:1 C5:1 D5:2 C5:2 B4:3 r:1"
ON_A, ON_B = "C:4 Am:4 Dm:4 G:4", "F:2 C:2 F:2 C:2 Dm:2 Am:2 G:4"
A_OTHER = "C4:1 E4:1 F4:1 E4:1 C4:1.5 B3:.5 A3:2 B3:1 C4:1 D4:1 F4:1 D4:3 r:1"


def marked(*marks: tuple[int, str], measures: int = 8, pickup: bool = False) -> Score:
    """A score of whole notes with rehearsal marks at measure indexes."""
    score = tune(" ".join(["C4:4"] * measures))
    if pickup:
        score = replace(score, measures=tuple(_with_pickup(score.measures)))
    rehearsal = tuple(
        RehearsalMark(f"r{at}", at, score.measures[at].onset, text) for at, text in marks
    )
    return replace(score, rehearsal_marks=rehearsal)


def _with_pickup(measures: Sequence[Measure]) -> list[Measure]:
    """The same measures, the first cut to one beat."""
    row = [replace(measures[0], length=Fraction(1), pickup=True, number="0")]
    row += [replace(one, onset=one.onset - 3, number=str(one.index)) for one in measures[1:]]
    return row


def told(sections: Sequence[Section]) -> list[tuple[int, str, str]]:
    return [(int(one.span.start), one.label, one.name) for one in sections]


def test_marks_are_kept_as_printed_and_like_names_share_a_letter() -> None:
    score = marked((0, "Intro"), (2, "Verse 1"), (4, "Chorus"), (5, "Verse 2"), (6, "Last chorus"))
    sections = study(score).sections
    assert told(sections) == [
        (0, "A", "Intro"),
        (8, "B", "Verse 1"),
        (16, "C", "Chorus"),
        (20, "B", "Verse 2"),
        (24, "C", "Last chorus"),
    ]
    assert [one.span.end for one in sections] == [8, 16, 20, 24, 32]
    assert all(one.written for one in sections)


def test_a_pickup_belongs_to_the_first_section() -> None:
    sections = study(marked((1, "Intro"), (3, "Verse"), pickup=True)).sections
    assert told(sections) == [(0, "A", "Intro"), (9, "B", "Verse")]


def test_what_stands_before_the_first_mark_is_a_section_of_its_own() -> None:
    sections = study(marked((2, "Verse"))).sections
    assert told(sections) == [(0, "A", ""), (8, "B", "Verse")]
    assert [one.written for one in sections] == [False, True]


def test_of_two_marks_in_one_place_the_first_counts() -> None:
    assert told(study(marked((0, "A"), (0, "piano"), (4, "B"))).sections) == [
        (0, "A", "A"),
        (16, "B", "B"),
    ]


def test_numbers_as_marks_share_letters_by_content() -> None:
    score = tune(f"{A} {B} {A}", f"{ON_A} {ON_B} {ON_A}")
    rehearsal = tuple(
        RehearsalMark(f"r{at}", at, score.measures[at].onset, str(at + 1)) for at in (0, 4, 8)
    )
    sections = study(replace(score, rehearsal_marks=rehearsal)).sections
    assert told(sections) == [(0, "A", "1"), (16, "B", "5"), (32, "A", "9")]


def test_without_marks_sections_are_found_lettered_and_named() -> None:
    silence = "r:4 r:4 r:4 r:4"
    melody = f"{silence} {A} {A_OTHER} {B} {B} {A} {A_OTHER} {B} {B}"
    chords = f"C:4 F:4 C:4 G:4 {ON_A} {ON_A} {ON_B} {ON_B} {ON_A} {ON_A} {ON_B} {ON_B}"
    sections = study(tune(melody, chords)).sections
    letters = {int(one.span.start / 16): one.label for one in sections}
    assert {at: letters.get(at) for at in (0, 1, 3, 5, 7)} == {
        0: "A", 1: "B", 3: "C", 5: "B", 7: "C",
    }  # fmt: skip
    names = {int(one.span.start / 16): one.name for one in sections}
    assert (names[0], names[1], names[3]) == ("Intro", "Verse 1", "Chorus 1")
    assert not any(one.written for one in sections)
    assert all(one.evidence and 0 < one.confidence <= 1 for one in sections)


def test_in_a_very_long_piece_form_is_what_is_written(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("analysis.form.sections._MOST_MEASURES", 7)
    (whole,) = analyse(marked()).sections
    assert "not looked for" in whole.evidence[0].statement
    numbered = marked((0, "1"), (4, "2"))
    assert [one.name for one in analyse(numbered).sections] == ["1", "2"]


def test_marks_can_be_left_aside_and_a_short_piece_is_one_section() -> None:
    score = marked((0, "Verse"), (2, "Chorus"), measures=4)
    (section,) = analyse(score, Settings(use_rehearsal_marks=False)).sections
    assert (section.label, section.name, section.span) == ("A", "", score.span)


@pytest.mark.parametrize(
    ("sample", "least"), [("wednesday-table", 6), ("slow-to-warm", 3), ("seven-small-screws", 1)]
)
def test_samples_without_their_marks_begin_sections_where_marks_are(
    sample: str, least: int
) -> None:
    score = read_score(read_source(SAMPLES / f"{sample}.musicxml"))
    written = {section.span.start for section in analyse(score).sections}
    found = analyse(score, Settings(use_rehearsal_marks=False)).sections
    assert len(written & {section.span.start for section in found}) >= least
    assert [one.span.end for one in found[:-1]] == [two.span.start for two in found[1:]]
    assert found[0].span.start == 0
    assert found[-1].span.end == score.end
