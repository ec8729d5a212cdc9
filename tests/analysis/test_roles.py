"""Which part is what. Common practice, no source."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from analysis.marks import Corrections
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from analysis.score import Score
from analysis.vocabulary.roles import find_roles
from tests.analysis.tunes import tune

SAMPLES = Path(__file__).parents[2] / "sample_scores"
SUNG = "C5:1=one E5:1=two G5:2=three"
EXPECTED = {
    "wednesday-table": ["melody", "backing", "backing", "chords", "bass"],
    "slow-to-warm": ["melody", "chords"],
    "seven-small-screws": ["melody", "answer", "chords", "bass"],
    "kettle-wont-sing": ["melody", "chords", "bass"],
}


def found(score: Score, **corrections: object) -> dict[str, str]:
    held = Corrections(**corrections)  # type: ignore[arg-type]
    return {one.part: one.role for one in find_roles(score, held)}


@pytest.mark.parametrize("stem", EXPECTED)
def test_the_samples(stem: str) -> None:
    score = read_score(read_source(SAMPLES / f"{stem}.musicxml"))
    assert list(found(score).values()) == EXPECTED[stem]


def test_words_make_the_melody_whatever_the_parts_are_called() -> None:
    score = tune(SUNG, lead="C5:1 E5:1 G5:2", bass="E5:1 G5:1 B5:2")
    assert found(score)["voice"] == "melody"
    parts = tuple(replace(part, name="Bass guitar") for part in score.parts)
    assert found(replace(score, parts=parts))["voice"] == "melody"


def test_most_words_lead_and_fewer_back() -> None:
    score = tune("C5:1=one E5:1=two G5:2=three", second="C4:4=ooh")
    assert found(score) == {"voice": "melody", "second": "backing"}


def test_with_equal_words_the_name_and_then_the_register_decide() -> None:
    score = tune("E4:1=a E4:1=b E4:2=c", other="C5:1=a C5:1=b C5:2=c")
    assert found(score)["voice"] == "melody"
    nameless = replace(score, parts=tuple(replace(part, name="") for part in score.parts))
    assert found(nameless)["other"] == "melody"


def test_the_lowest_line_is_the_bass_by_register_not_by_name() -> None:
    score = tune(SUNG, guitar="E2:2 B2:2", bass="C4+E4+G4:4")
    assert found(score) == {"voice": "melody", "guitar": "bass", "bass": "chords"}


def test_timpani_are_no_bass() -> None:
    score = tune(SUNG, timpani="C2:2 G2:2", cello="C3:1 B2:1 A2:1 F2:1/2 G2:1/2")
    assert found(score)["cello"] == "bass"


def test_a_line_in_the_rests_answers() -> None:
    score = tune(SUNG + " r:4", flute="r:4 G5:1 E5:1 C5:2")
    assert found(score)["flute"] == "answer"


def test_percussion_and_empty_parts() -> None:
    score = tune(SUNG, drums="x:1 x:1 x:2", silent="r:4")
    assert found(score) == {"voice": "melody", "drums": "percussion", "silent": ""}


def test_what_the_user_sets_is_followed() -> None:
    score = tune(SUNG, flute="G5:1 E5:1 C5:2")
    assert found(score, melody_part="flute") == {"voice": "backing", "flute": "melody"}
    assert found(score, roles=(("voice", "bass"),))["voice"] == "bass"
    assert found(score, roles=(("flute", "melody"),))["voice"] == "backing"


def test_an_instrumental_has_its_highest_single_line_as_melody() -> None:
    score = tune("C4+E4+G4:4", flute="G5:1 E5:1 C5:2")
    nameless = replace(score, parts=tuple(replace(part, name="") for part in score.parts))
    assert found(nameless)["flute"] == "melody"
