"""Scores that nobody here made, engraved: every element of the source is on one page, in its place.

The suite engraves sixty pieces of music21's corpus, ``--full`` all 654. Held against each other are
the ids that the source's copy carries and those of the pages; the times of the notes, read from the
document, must go from left to right in every measure.
"""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from pathlib import Path

import pytest
from lxml import etree

from analysis.errors import ReadingError
from analysis.reading.sources import Source, read_source
from app.engraving.engraver import engrave
from app.engraving.layouts import Layout
from app.engraving.pages import Page
from tests.corpus.pieces import all_pieces, name_of, sample_pieces

SAMPLE = sample_pieces()
REST = [piece for piece in all_pieces() if piece not in SAMPLE]


def check(piece: Path) -> None:
    try:
        source = read_source(piece)
    except ReadingError as error:
        pytest.skip(str(error))
    pages = list(engrave(source, Layout()))
    shown = Counter(element for page in pages for element in page.boxes)
    expected = element_ids(source)
    assert shown == Counter(expected)
    for page in pages:
        check_boxes(page)
        check_times(page)
    measures = [m.index for page in pages for system in page.systems for m in system.measures]
    assert measures == list(range(len(measures)))


def element_ids(source: Source) -> list[str]:
    root = etree.fromstring(source.musicxml)
    found = [node.get("id", "") for node in root.iter("note", "harmony", "measure")]
    rehearsals = {
        direction.get("id", "")
        for direction in root.iter("direction")
        if direction.find("direction-type/rehearsal") is not None
    }
    return [*found, *rehearsals]


def check_boxes(page: Page) -> None:
    for x, y, width, height in page.boxes.values():
        assert x > -1
        assert y > -1
        assert x + width < page.width + 1
        assert y + height < page.height + 1


def check_times(page: Page) -> None:
    for system in page.systems:
        for measure in system.measures:
            for (start, left), (end, right) in pairwise(measure.onsets):
                assert start < end
                assert left <= right


@pytest.mark.parametrize("piece", SAMPLE, ids=name_of)
def test_sixty_pieces(piece: Path) -> None:
    check(piece)


@pytest.mark.full
@pytest.mark.parametrize("piece", REST, ids=name_of)
def test_all_other_pieces(piece: Path) -> None:
    check(piece)
