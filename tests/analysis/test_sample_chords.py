"""The chords planted in the samples, by measure and beat: what each is and what it does.

`sample_scores/planted.json` says what was meant when the pieces were written; keys are those that
the analysis finds by itself. Cadential six-fours are written ``Cad64`` there and by degree here;
added notes stand in other brackets.
"""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

import sample_scores
from analysis.marks import ChordFact
from tests.app.reviews import SAMPLES, read_sample

PLANTED: dict[str, Any] = json.loads(
    (Path(sample_scores.__path__[0]) / "planted.json").read_text("utf-8")
)
#: Places with two defensible readings, where the analysis takes the other one and offers this.
OTHERWISE = {
    ("seven-small-screws", "3", 1.0): "VI before V: its function may be T or S",
    ("wednesday-table", "32", 1.0): "the pivot chord, named in the key that it leads to",
}


def _chords(name: str) -> dict[tuple[str, float], ChordFact]:
    _, document = read_sample(name)
    score = document.score
    found = {}
    for fact in document.analysis.chords:
        measure = score.measure_at(fact.span.start)
        beat = round(float(score.beat_at(fact.span.start)), 2)
        found[measure.number, beat] = fact
    return found


def _plain(numeral: str) -> str:
    """A numeral without the marks in which the two lists differ."""
    return numeral.replace("Cad", "I").replace("[", "(").replace("]", ")").lower()


@pytest.mark.parametrize("name", SAMPLES)
def test_every_chord_is_named_as_it_was_meant(name: str) -> None:
    found = _chords(name)
    for chord in PLANTED["scores"][name]["chords"]:
        place = chord["measure"], round(float(Fraction(chord["beat"])), 2)
        fact = found[place]
        if (name, *place) in OTHERWISE:
            continue
        assert fact.numeral is not None
        applied = str(fact.numeral.applied_root) if fact.numeral.applied_root else ""
        assert (
            place,
            _plain(fact.numeral.text),
            fact.function,
            applied,
        ) == (place, _plain(chord["numeral"]), chord["function"], chord["applied_root"])


#: Features a to l of the samples that a chord shows, and what must be said of it.
TAGS = {"b": "pedal", "e": "backdoor"}


@pytest.mark.parametrize("feature", "bcdefg")
def test_planted_chords_are_found_by_measure_and_beat(feature: str) -> None:
    planted = [one for one in PLANTED["planted"] if one["feature"] == feature]
    assert planted
    for one in planted:
        fact = _chords(one["score"])[one["measure"], round(float(one["beat"]), 2)]
        where = (one["score"], one["measure"], one["beat"])
        assert fact.chord is not None
        match feature:
            case "b" | "e":
                assert TAGS[feature] in fact.tags, where
            case "c":
                assert "applied" in fact.tags, where
                assert fact.chord.inversion > 0, where
            case "d":
                assert "applied" in fact.tags, where
                # What follows a first ending in written order is the second, not the return.
                assert fact.resolution == "deceptive" or one["measure"] == "20", where
            case "f":
                assert "mixture" in fact.tags or "backdoor" in fact.tags, where
            case "g":
                assert {"Neapolitan", "augmented sixth"} & set(fact.tags), where


@pytest.mark.parametrize("name", SAMPLES)
def test_keys_change_where_they_were_meant_to(name: str) -> None:
    _, document = read_sample(name)
    score = document.score
    found = [
        (int(score.measure_at(region.span.start).number), str(region.key.tonic))
        for region in document.analysis.key_regions
    ]
    meant = [(int(key["measure"]), key["tonic"]) for key in PLANTED["scores"][name]["keys"]]
    assert [tonic for _, tonic in found] == [tonic for _, tonic in meant]
    # A pivot chord may be counted with either key.
    assert all(abs(one - two) <= 1 for (one, _), (two, _) in zip(found, meant, strict=True))


@pytest.mark.parametrize("name", SAMPLES)
def test_every_sentence_is_under_thirty_words(name: str) -> None:
    _, document = read_sample(name)
    for mark in document.analysis.marks:
        assert 0 < len(mark.sentence.split()) < 30, mark.sentence
        assert mark.sentence.endswith((".", "?")), mark.sentence
