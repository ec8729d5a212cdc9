"""Scores that nobody here made: what is read, held against music21's own reading of the whole file.

The suite reads sixty pieces of music21's corpus, ``--full`` all 654. What music21 reads from the
untouched document (sounding pitch, place in the measure, duration of every printed note) must agree
with the Score, note by note, under the same id. Places of measures are compared as far as music21's
parts agree on them: it lets a part fall behind that has an incomplete measure. They may differ by
the slips that the reader drops.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from analysis.reading.documents import element_ids, parse_document
from analysis.reading.scores import read_score
from analysis.reading.sources import Source, read_source
from analysis.score import Score
from tests.corpus.other_readings import differing_notes, music21_reading
from tests.corpus.pieces import SAMPLE_SIZE, all_pieces, name_of, sample_pieces

#: Notes whose reading differs on purpose, and why. All others must agree.
EXPLAINED = {
    # The element has an accidental and no alteration; MusicXML lets the alteration decide.
    ("trecento/PMFC_13_04-Credo Cursor.xml", "p2m147n2"),
}
#: Measures from which on music21 counts otherwise, though its parts agree, and why.
EXPLAINED_MEASURES = {
    # All parts have a dynamic sign moved past the barline, which lengthens music21's measure.
    "beethoven/opus59no3/movement2.mxl": 135,
}


def check_values(score: Score, source: Source) -> None:
    """What holds for every Score, whatever the piece."""
    known = element_ids(parse_document(source.original))
    for before, after in pairwise(score.measures):
        assert before.span.end == after.onset
    for part in score.parts:
        for note in part.notes:
            assert known[note.id].tag == "note"
            assert note.duration > 0 or note.grace
            assert 0 <= note.measure < len(score.measures)
        onsets = [note.onset for note in part.notes]
        assert onsets == sorted(onsets)
    for symbol in score.chord_symbols:
        assert known[symbol.id].tag == "harmony"
        assert symbol.span.end <= score.end
    for measure in score.measures:
        assert all(id in known for id in measure.ids)
        assert measure.length > 0
    assert set(score.played) <= set(range(len(score.measures)))


def check_piece(path: Path) -> None:
    """Read a piece both ways and compare."""
    source = read_source(path)
    score = read_score(source)
    check_values(score, source)
    reference = music21_reading(source)
    differing = [
        name
        for name in differing_notes(score, source, reference)
        if (name_of(path), name) not in EXPLAINED
    ]
    assert differing == []
    for index, places in sorted(reference.measures.items()):
        if len(places) > 1 or index == EXPLAINED_MEASURES.get(name_of(path)):
            break
        assert float(score.measures[index].onset) == pytest.approx(places.pop(), abs=0.1), index


def test_the_corpus_has_654_pieces_and_the_sample_sixty() -> None:
    assert len(all_pieces()) == 654
    assert len(set(sample_pieces())) == SAMPLE_SIZE


@pytest.mark.parametrize("path", sample_pieces(), ids=name_of)
def test_a_sample_agrees_with_music21(path: Path) -> None:
    check_piece(path)


@pytest.mark.full
@pytest.mark.parametrize("path", all_pieces(), ids=name_of)
def test_every_piece_agrees_with_music21(path: Path) -> None:
    check_piece(path)
