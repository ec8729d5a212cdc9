"""The picture of a melody that comes back over other chords, on the pop song among the samples.

Its planted reharmonisation (see the samples' own list) is measures 5 to 8 in measures 22 to 25.
"""

from fractions import Fraction
from itertools import combinations, pairwise

import pytest

from analysis.marks import Repeat
from analysis.reading.sources import Source
from analysis.score import Score
from app.engraving.aligned_lines import Side
from app.engraving.alignments import PairLine
from app.engraving.comparisons import Comparison, compare
from app.engraving.pages import Box
from app.engraving.pair_engraving import Passage, engrave_pair
from app.review.document import Document
from tests.app.reviews import read_sample


@pytest.fixture(scope="module")
def pair() -> tuple[Document, Repeat, list[PairLine]]:
    source, document = read_sample("wednesday-table")
    repeat = next(one for one in document.analysis.repeats if one.reharmonised)
    return document, repeat, engraved(source, document.score, repeat, 2000.0)


def engraved(source: Source, score: Score, repeat: Repeat, width: float) -> list[PairLine]:
    ends = []
    for span in (repeat.first, repeat.later):
        first, last = (
            score.measure_at(at).index for at in (span.start, span.end - Fraction(1, 64))
        )
        ends.append(Passage(repeat.part, first, last))
    return list(engrave_pair(source, ends[0], ends[1], width))


def picture(pair: tuple[Document, Repeat, list[PairLine]], width: float = 2000.0) -> Comparison:
    document, repeat, lines = pair
    first = Side("First", repeat.first, repeat.part)
    later = Side("Later", repeat.later, repeat.part)
    return compare(document, first, later, repeat.differences, lines, width)


def heads(found: Comparison, document: Document, start: Fraction) -> dict[Fraction, Box]:
    """Boxes of the notes of a passage by their time in it."""
    boxes = {element: box for page in found.pages for element, box in page.boxes.items()}
    onsets = {note.id: note.onset for part in document.score.parts for note in part.notes}
    return {onsets[note] - start: box for note, box in boxes.items() if note in onsets}


def test_what_sounds_together_stands_together(
    pair: tuple[Document, Repeat, list[PairLine]],
) -> None:
    document, repeat, _ = pair
    found = picture(pair)
    whole = repeat.first.duration
    above, below = (
        {time: box for time, box in heads(found, document, start).items() if 0 <= time < whole}
        for start in (repeat.first.start, repeat.later.start)
    )
    shared = set(above) & set(below)
    assert len(shared) > 20
    for time in shared:
        assert above[time][0] == pytest.approx(below[time][0], abs=0.5)
        assert above[time][1] < below[time][1]


def test_the_planted_changes_have_their_bands(
    pair: tuple[Document, Repeat, list[PairLine]],
) -> None:
    _, repeat, _ = pair
    found = picture(pair)
    assert len(found.bands) == len(repeat.differences) == 5
    said = {label.text for label in found.overlay.labels}
    assert {"G", "Em7", "C", "Bm7", "Am7"} <= said
    assert {"I", "vi⁷", "IV", "iii⁷", "ii⁷"} <= said
    assert "tonic became subdominant" in said
    for label in found.overlay.labels:
        if label.text in ("Em7", "Bm7", "Am7"):
            x, y, _, height = label.box
            assert any(
                left <= x < left + wide and top <= y and y + height <= top + high
                for left, top, wide, high in found.bands
            ), label
    for one, other in combinations(found.bands, 2):
        assert not overlap(one, other)


def test_no_label_lies_on_another(pair: tuple[Document, Repeat, list[PairLine]]) -> None:
    boxes = [label.box for label in picture(pair).overlay.labels]
    assert not [pair for pair in combinations(boxes, 2) if overlap(*pair)]


def test_degrees_say_what_each_note_has_become(
    pair: tuple[Document, Repeat, list[PairLine]],
) -> None:
    # G over G is the root, over Em7 the minor third: arithmetic.
    melody = [label for label in picture(pair).overlay.labels if label.layer == "melody"]
    rows = sorted({round(label.box[1] + label.box[3], 0) for label in melody})
    first = next(label.text for label in melody if label.box[1] < rows[0])
    assert first == "1"
    assert "♭3" in [label.text for label in melody]


def test_everything_is_inside_the_picture(
    pair: tuple[Document, Repeat, list[PairLine]],
) -> None:
    found = picture(pair)
    for x, y, width, height in [*found.bands, *(label.box for label in found.overlay.labels)]:
        assert x >= 0
        assert y >= 0
        assert x + width <= found.width + 0.01
        assert y + height <= found.height + 0.01


def test_lines_are_no_wider_than_asked_where_that_can_be() -> None:
    source, document = read_sample("wednesday-table")
    repeat = next(one for one in document.analysis.repeats if one.reharmonised)
    for width in (1200.0, 2000.0, 3600.0):
        lines = engraved(source, document.score, repeat, width)
        found = picture((document, repeat, lines), width)
        assert found.width == pytest.approx(width, rel=0.02)
    assert len(lines) == 1, "four measures fit into one line where it is long"


def test_lines_come_one_after_the_other(pair: tuple[Document, Repeat, list[PairLine]]) -> None:
    document, repeat, lines = pair
    one, both = picture((document, repeat, lines[:1])), picture(pair)
    assert one.height < both.height
    tops = [page.systems[0].box[1] for page in both.pages]
    assert all(a < b for a, b in pairwise(tops))


def overlap(one: Box, other: Box) -> bool:
    (a, b, c, d), (e, f, g, h) = one, other
    return a < e + g and e < a + c and b < f + h and f < b + d
