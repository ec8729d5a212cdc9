"""The bones of a score, and their text."""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given

from analysis.errors import ReviewFileError
from analysis.pitch import PitchName
from analysis.score import ChordSymbol, Degree
from app.review.plain_values import from_plain, to_plain
from app.review.skeletons import BonePart, Skeleton, skeleton_of, symbol_text
from tests.app.reviews import SAMPLES, read_sample
from tests.strategies import skeletons


@given(skeletons())
def test_what_is_written_is_read_back(skeleton: Skeleton) -> None:
    assert from_plain(to_plain(skeleton), Skeleton) == skeleton


@pytest.mark.parametrize("name", SAMPLES)
def test_every_note_and_symbol_of_a_sample_is_there_in_its_place(name: str) -> None:
    _, document = read_sample(name)
    score, skeleton = document.score, skeleton_of(document.score)
    assert from_plain(to_plain(skeleton), Skeleton) == skeleton
    onsets = skeleton.onsets
    assert onsets[-1] == score.end
    notes = {
        (part.id, note.id, onsets[at] + note.onset, note.duration, note.pitch)
        for part in skeleton.parts
        for at, row in enumerate(part.measures)
        for note in row
    }
    assert notes == {
        (part.id, note.id, note.onset, note.duration, note.pitch)
        for part in score.parts
        for note in part.notes
    }
    symbols = [(symbol.id, onsets[symbol.measure] + symbol.onset) for symbol in skeleton.symbols]
    assert symbols == [(symbol.id, symbol.onset) for symbol in score.chord_symbols]


def test_a_measure_is_one_line_of_text() -> None:
    part = from_plain(
        {"id": "P1", "name": "Bass", "measures": ["Bb2 0 1/2 n1, x 1/2 1/2 n2", ""]}, BonePart
    )
    first, second = part.measures[0]
    assert (str(first.pitch), first.duration, first.id) == ("Bb2", Fraction(1, 2), "n1")
    assert (second.pitch, second.onset) == (None, Fraction(1, 2))
    assert part.measures[1] == ()


@pytest.mark.parametrize(
    "plain",
    [
        None,
        {"id": "P1", "name": "Bass"},
        {"id": "P1", "name": "Bass", "measures": None},
        {"id": "P1", "name": "Bass", "measures": [1]},
        {"id": "P1", "name": "Bass", "measures": ["Bb2 0 1/2"]},
        {"id": "P1", "name": "Bass", "measures": ["H2 0 1/2 n1"]},
        {"id": "P1", "name": "Bass", "measures": ["B2 0 1e9 n1"]},
    ],
)
def test_what_is_no_part_is_refused_in_words(plain: Any) -> None:
    with pytest.raises(ReviewFileError):
        from_plain(plain, BonePart)


def test_a_part_without_all_measures_is_refused() -> None:
    part = {"id": "P1", "name": "", "measures": []}
    measure = {"number": "1", "length": "4", "meter": {"beats": 4, "beat_type": 4}}
    with pytest.raises(ReviewFileError):
        from_plain({"parts": [part], "measures": [measure], "symbols": []}, Skeleton)


def test_a_symbol_is_what_it_says_not_how_it_is_printed() -> None:
    e_flat = PitchName.parse("Eb")
    zero = Fraction(0)
    symbol = ChordSymbol(
        "h1",
        "P1",
        0,
        zero,
        zero,
        e_flat,
        "dominant",
        (Degree(9, -1, "add"),),
        PitchName.parse("G"),
        "7(b9)",
    )
    assert symbol_text(symbol) == "Eb dominant add-1 9 /G"
    assert symbol_text(ChordSymbol("h2", "P1", 0, zero, zero, None, "none", text="N.C.")) == "none"
