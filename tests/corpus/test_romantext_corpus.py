"""RomanText of scores that nobody here made: music21 reads every chord in its place, same root."""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Any

import pytest
from music21 import converter, roman

from analysis.pipeline import analyse
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from app.export.romantext import to_romantext
from app.review.document import Document, SourceInfo
from tests.corpus.pieces import name_of, sample_pieces

PIECES = sample_pieces()[1::2]
FEW = 3


@pytest.mark.parametrize(
    "path",
    [
        pytest.param(path, id=name_of(path), marks=() if at < FEW else pytest.mark.full)
        for at, path in enumerate(PIECES)
    ],
)
def test_every_chord_comes_back_in_its_place_with_its_root(path: Path) -> None:
    source = read_source(path)
    score = read_score(source)
    document = Document(SourceInfo(source.name, "", source.digest), score, analyse(score))
    first = 0 if score.measures[0].pickup else 1
    wanted = {}
    for fact in document.analysis.chords:
        if fact.chord is not None:
            measure = score.measure_at(fact.span.start)
            into = fact.span.start - measure.onset
            if measure.pickup:
                into += measure.meter.length - measure.length
            wanted[first + measure.index, round(float(into), 1)] = fact.chord.root.pc
    read = read_back(to_romantext(document))
    assert {place: read.get(place) for place in wanted} == wanted


def read_back(text: str) -> dict[tuple[int, float], int]:
    """Root of each numeral by measure and offset in it, in tenths of a quarter note."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        stream: Any = converter.parse(text, format="romanText")
    return {
        (
            measure.number,
            round(float(numeral.getOffsetInHierarchy(measure)) + measure.paddingLeft, 1),
        ): (numeral.root().pitchClass)
        for measure in stream.recurse().getElementsByClass("Measure")
        for numeral in measure.recurse().getElementsByClass(roman.RomanNumeral)
    }
