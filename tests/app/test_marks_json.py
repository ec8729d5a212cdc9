"""The marks as JSON: their schema, and the facts that other programs read from them."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings

from analysis.marks import Analysis
from analysis.pipeline import analyse
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from analysis.score import Score
from app.export import marks_json
from app.export.marks_json import to_json
from tests import strategies
from tests.analysis.tunes import study, tune

SAMPLES = Path(__file__).parents[2] / "sample_scores"
SCHEMA = json.loads(Path(marks_json.__file__).with_name("marks.schema.json").read_text("utf-8"))


@cache
def written(name: str) -> dict[str, Any]:
    source = read_source(SAMPLES / f"{name}.musicxml")
    score = read_score(source)
    found: dict[str, Any] = json.loads(to_json(analyse(score), score, source.name, source.digest))
    return found


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.musicxml")), ids=lambda path: path.stem)
def test_the_samples_keep_to_the_schema(path: Path) -> None:
    facts = written(path.stem)
    jsonschema.Draft202012Validator(SCHEMA).validate(facts)
    assert facts["source"]["name"] == path.name
    assert all(facts[name] for name in ("key_regions", "sections", "chords", "melody", "marks"))


def test_the_schema_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


def test_facts_of_one_chord() -> None:
    """Names agree with those that reference analyses use."""
    score = tune("C5:4 B4:4 C5:4 r:4", "C:4 E7/G#:4 Am:4 N.C.:4")
    chords = json.loads(to_json(study(score), score))["chords"]
    applied, silent = chords[1], chords[3]
    expected = {
        "onset": 4,
        "duration": 4,
        "measure": "2",
        "beat": 1,
        "key": {"tonic": "C", "mode": "major"},
        "numeral": "V65/vi",
        "root": "E",
        "bass": "G#",
        "triad": "maj",
        "seventh": "m7",
        "inversion": 1,
        "nc": False,
        "applied_root": "A",
        "applied_to": "vi",
        "function": "D",
        "outside_key": True,
        "written": True,
        "resolution": "resolves",
        "expected": "Am",
        "came": "Am",
    }
    assert {name: applied[name] for name in expected} == expected
    assert silent["nc"]
    assert (silent["root"], silent["numeral"], silent["function"]) == ("", "", "")


def test_an_empty_analysis_is_written_too() -> None:
    facts = json.loads(to_json(Analysis(), Score("", "", (), ())))
    jsonschema.Draft202012Validator(SCHEMA).validate(facts)
    assert facts["marks"] == facts["chords"] == facts["melody"] == []


@settings(max_examples=30, deadline=None)
@given(strategies.scores())
def test_any_score_keeps_to_the_schema(score: Score) -> None:
    facts = json.loads(to_json(analyse(score), score))
    jsonschema.Draft202012Validator(SCHEMA).validate(facts)
    ends = [chord["onset"] + chord["duration"] for chord in facts["chords"]]
    starts = [chord["onset"] for chord in facts["chords"]]
    assert all(end <= start + 1e-9 for end, start in zip(ends, starts[1:], strict=False))
