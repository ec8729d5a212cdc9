"""Degrees beside the melody's notes: nearly all have room, clear of words and of each other."""

from __future__ import annotations

from itertools import combinations

import pytest

from app.engraving.bounds import shape_edges
from app.engraving.engraver import engrave
from app.engraving.layouts import Layout
from app.engraving.melody_degrees import lay_out_degrees
from app.engraving.overlay import lay_out, room
from app.engraving.pages import TextShape
from tests.app.reviews import SAMPLES, read_sample


@pytest.mark.parametrize("name", SAMPLES)
def test_notes_have_their_degree_over_or_under_them(name: str) -> None:
    source, document = read_sample(name)
    above, below = room()
    page = next(engrave(source, Layout(room_above=above, room_below=below)))
    taken = lay_out(page, list(document.shown_marks()), document.score).boxes
    degrees = lay_out_degrees(page, document.analysis.melody, lambda degree: degree[-1], taken)
    boxes = [page.boxes.get(fact.note, (0.0, 0.0, 0.0, 0.0)) for fact in document.analysis.melody]
    heads = [box for box in boxes if box[2] > 0]
    texts = [shape_edges(shape) for _, shape in degrees.strokes if isinstance(shape, TextShape)]
    assert len(texts) >= 0.95 * len(heads)
    words = [shape_edges(s) for s in page.shapes if isinstance(s, TextShape) and s.role == "syl"]
    for one in texts:
        middle = (one[0] + one[2]) / 2
        assert any(abs(middle - x - width / 2) < 18 for x, _, width, _ in heads)
        assert not any(_meet(one, word) for word in words)
    assert not any(_meet(one, other) for one, other in combinations(texts, 2))


def _meet(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    across = one[0] < other[2] and other[0] < one[2]
    return across and one[1] < other[3] and other[1] < one[3]
