"""Scores that nobody here made along the whole path, and against music21 and partitura.

The suite takes a few of each notation, ``--full`` all 654 MusicXML files of music21's corpus, a
hundred pieces of other notations by way of music21, and the reference pieces; `tests.corpus.sweep`
does the same with times. Where another library reads otherwise, the piece stands here with why.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from analysis.errors import ReadingError
from analysis.reading.sources import read_source
from tests.corpus.pieces import name_of, other_notations, reference_pieces, sample_pieces
from tests.corpus.sweep import OTHERS, sweep, swept_pieces

#: Notes on which music21 does not agree, and why.
MUSIC21 = {
    # Note p2m147n2 has an accidental and no alteration; MusicXML lets the alteration decide.
    "trecento/PMFC_13_04-Credo Cursor.xml": 1,
}
#: Measures from which on music21 counts otherwise, though its parts agree, and why.
MEASURES = {
    # All parts have a dynamic sign moved past the barline, which lengthens music21's measure.
    "beethoven/opus59no3/movement2.mxl": 135,
    # The measure before is overfull by a note of 4/21; music21 lets the meter decide its length.
    "rock/rock-049.mxl": 75,
}
#: Notes on which partitura does not agree, and why; music21 agrees with ours on all but the first.
PARTITURA = {
    # As for music21: partitura takes the accidental for the alteration.
    "trecento/PMFC_13_04-Credo Cursor.xml": 1,
    # Members of chords that are shorter than the first: partitura makes them all as long.
    "schubert/Lindenbaum.xml": 132,
}
#: Pieces that partitura does not read, and the error it ends in.
UNREAD = {
    "demos/drum_sample.xml": "AttributeError",  # a grace note of no pitch
    "schumann_robert/opus41no1/movement4.mxl": "IndexError",
    "trecento/PMFC_13_07-Gloria Laus Honor.xml": "KeyError",
}


def cases() -> list[Any]:
    """The first and smallest in every run, the rest in a full one."""
    quick = {*sample_pieces()[::10], *reference_pieces()[:1]}
    quick |= {other_notations(ending, count)[1] for ending, count in OTHERS.items()}
    return [
        pytest.param(path, id=name_of(path), marks=() if path in quick else pytest.mark.full)
        for path in swept_pieces()
    ]


@pytest.mark.parametrize("path", cases())
def test_the_whole_path(path: Path) -> None:
    row = sweep(path)
    assert "failed" not in row, row.get("trace")
    assert "refused" not in row, row["refused"]
    name = row["piece"]
    assert len(row["music21"]["notes"]) == MUSIC21.get(name, 0)
    assert row["music21"]["measure"] == MEASURES.get(name)
    assert row["music21"]["symbols"] == []
    if name in UNREAD:
        assert row["partitura"]["unread"].startswith(UNREAD[name])
    else:
        assert len(row["partitura"]["notes"]) == PARTITURA.get(name, 0)
        assert row["partitura"]["symbols"] == []


@pytest.mark.parametrize("ending", OTHERS)
def test_other_notations_are_refused_in_words(ending: str) -> None:
    for path in other_notations(ending, 5):
        with pytest.raises(ReadingError, match=r"export MusicXML.*\.$"):
            read_source(path)
