"""Scores that nobody here made: what is read, held against music21's own reading of the whole file.

The suite reads sixty pieces of music21's corpus; `tests.corpus.test_whole_paths` does the same, and
more, with all of them in a full run. What music21 reads from the untouched document (sounding
pitch, place in the measure, duration of every printed note) must agree with the Score, note by
note, under the same id. Places of measures are compared as far as music21's
parts agree on them: it lets a part fall behind that has an incomplete measure. They may differ by
the slips that the reader drops.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from tests.corpus.other_readings import (
    differing_notes,
    first_differing_measure,
    music21_reading,
)
from tests.corpus.pieces import SAMPLE_SIZE, all_pieces, name_of, sample_pieces
from tests.corpus.sweep import check_values


def check_piece(path: Path) -> None:
    """Read a piece both ways and compare."""
    source = read_source(path)
    score = read_score(source)
    check_values(score, source)
    reference = music21_reading(source)
    assert differing_notes(score, source, reference) == []
    assert first_differing_measure(score, reference) is None


def test_the_corpus_has_654_pieces_and_the_sample_sixty() -> None:
    assert len(all_pieces()) == 654
    assert len(set(sample_pieces())) == SAMPLE_SIZE


@pytest.mark.parametrize("path", sample_pieces(), ids=name_of)
def test_a_sample_agrees_with_music21(path: Path) -> None:
    check_piece(path)
