"""The sample scores: returns with new chords, echoes and loops as planted, and nothing else shown.

What was planted is in ``sample_scores/planted.json``; what was composed without being planted is
listed with the reason for which a musician would point at it.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any, Final

import pytest

from analysis.marks import DEFAULT_CONFIDENCE, Analysis, Mark, Repeat
from analysis.pipeline import analyse
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from analysis.score import Score

FOLDER: Final = Path(__file__).parents[2] / "sample_scores"
PLANTED: Final[dict[str, Any]] = json.loads((FOLDER / "planted.json").read_text(encoding="utf-8"))
STEMS: Final = list(PLANTED["scores"])
#: Measure and beat of echoes that were not planted.
ALSO: Final = {
    "seven-small-screws": [
        ("24", 1)
    ],  # D C B flat G after E flat D C A of measure 22, a step lower
}
#: Planted within a longer return, which is told once, from its beginning.
TOLD_WITH: Final = {
    ("slow-to-warm", "21"): "17",
    ("kettle-wont-sing", "17"): "13",
}


@cache
def heard(stem: str) -> tuple[Score, Analysis]:
    score = read_score(read_source(FOLDER / f"{stem}.musicxml"))
    return score, analyse(score)


def shown(stem: str, kind: str) -> list[Mark]:
    return [
        mark
        for mark in heard(stem)[1].marks
        if mark.kind == kind and mark.confidence >= DEFAULT_CONFIDENCE
    ]


def places(stem: str, kind: str) -> list[tuple[str, float]]:
    score = heard(stem)[0]
    return [
        (score.measure_at(mark.span.start).number, float(score.beat_at(mark.span.start)))
        for mark in shown(stem, kind)
    ]


def planted(stem: str, feature: str) -> list[tuple[str, float]]:
    return [
        (one["measure"], one["beat"])
        for one in PLANTED["planted"]
        if one["score"] == stem and one["feature"] == feature
    ]


@pytest.mark.parametrize("stem", STEMS)
def test_echoes_are_those_that_were_planted(stem: str) -> None:
    expected = {*planted(stem, "k"), *ALSO.get(stem, [])}
    assert set(places(stem, "echo")) == expected


@pytest.mark.parametrize("stem", STEMS)
def test_returns_with_new_chords_are_those_that_were_planted(stem: str) -> None:
    measures = {TOLD_WITH.get((stem, number), number) for number, _ in planted(stem, "i")}
    assert {number for number, _ in places(stem, "repeat")} == measures


@pytest.mark.parametrize("stem", STEMS)
def test_no_loop_is_claimed_in_songs_without_one(stem: str) -> None:
    assert shown(stem, "loop") == []


def differences(stem: str) -> list[tuple[str, str, str]]:
    """Measure, chord before and chord now of every exchange under the marked returns."""
    score = heard(stem)[0]
    return [
        (score.measure_at(one.later_at).number, one.was, one.now)
        for mark in shown(stem, "repeat")
        if isinstance(mark.fact, Repeat)
        for one in mark.fact.differences
    ]


def test_each_pair_of_chords_under_a_return_is_told_once() -> None:
    assert differences("wednesday-table") == [
        ("22", "G", "Em7"),
        ("23", "G", "C"),
        ("23", "G", "Bm7"),
        ("24", "G", "C"),
        ("25", "G", "Am7"),
    ]
    assert differences("slow-to-warm") == [
        ("17", "E♭", "Cm7"),
        ("18", "E♭7", "Gm7"),
        ("19", "A♭", "Fm7"),
        ("20", "A♭m6", "D♭7"),
        ("21", "C7/E", "E♭7/G"),
        ("22", "Fm7", "A♭"),
        ("22", "Fm7", "A♭m6"),
    ]
    assert differences("kettle-wont-sing") == [
        ("18", "A7", "A♯°7"),
        ("23", "E7", "A/C♯"),
        ("23", "E7", "Am/C"),
    ]


def test_a_sung_note_has_a_new_role_under_the_new_chord() -> None:
    (mark,) = shown("slow-to-warm", "repeat")
    assert isinstance(mark.fact, Repeat)
    assert "Eb: root → minor third" in mark.fact.differences[0].roles


@pytest.mark.parametrize(
    ("stem", "form"),
    [
        ("wednesday-table", "ABCDBDEDF"),
        ("slow-to-warm", "ABA"),
        ("seven-small-screws", "AB"),
        ("kettle-wont-sing", "AA"),
    ],
)
def test_form_letters(stem: str, form: str) -> None:
    score, found = heard(stem)
    assert "".join(section.label for section in found.sections) == form
    assert [section.name for section in found.sections] == [
        one["name"] for one in PLANTED["scores"][stem]["sections"]
    ]
    assert found.sections[0].span.start == score.span.start
