"""Arrows from dominants: only where they help, in the gap, whole or dashed."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from analysis.marks import ChordFact
from app.engraving.arrows import arrows_between
from app.engraving.labels import Label, Toned
from app.engraving.pages import PathShape
from app.review.document import ReviewedMark
from tests.app.reviews import SAMPLES, read_sample


def _pair(sample: str, resolution: str) -> tuple[ReviewedMark, ReviewedMark]:
    """An applied dominant that is answered so, and its answer."""
    chords = [m for m in read_sample(sample)[1].shown_marks() if m.mark.kind == "chord"]
    for one, other in pairwise(chords):
        fact, following = one.mark.fact, other.mark.fact
        assert isinstance(fact, ChordFact)
        assert isinstance(following, ChordFact)
        roots = [f.chord.root if f.chord else None for f in (fact, following)]
        applied = fact.numeral is not None and fact.numeral.applied_to
        if fact.resolution == resolution and applied and roots[0] != roots[1]:
            return one, other
    raise AssertionError(f"no {resolution} dominant")


def _arrows(one: ReviewedMark, other: ReviewedMark, apart: float) -> list[Toned]:
    labels = [
        Label(one.id, "numerals", one.label, (0.0, 0.0, 60.0, 30.0)),
        Label(other.id, "numerals", other.label, (60.0 + apart, 0.0, 40.0, 30.0)),
    ]
    return list(arrows_between(labels, {one.id: one, other.id: other}, 30.0, 38.0))


def test_a_resolved_dominant_has_a_whole_arrow_and_a_deceived_one_a_dashed() -> None:
    whole = _arrows(*_pair(SAMPLES[0], "resolves"), 100.0)
    dashed = _arrows(*_pair(SAMPLES[0], "deceptive"), 100.0)
    assert [shape.commands for _, shape in whole if isinstance(shape, PathShape)] == ["ML", "MLLZ"]
    dashes = [shape.points for _, shape in dashed[:-1] if isinstance(shape, PathShape)]
    assert len(dashes) > 4, "a single gap would look like a barline's"
    lengths = [right - left for left, _, right, _ in dashes]
    assert max(lengths) - min(lengths) < 1e-6


def test_an_arrow_touches_neither_numeral() -> None:
    for _, shape in _arrows(*_pair(SAMPLES[0], "resolves"), 80.0):
        assert isinstance(shape, PathShape)
        assert min(shape.points[::2]) > 60.0
        assert max(shape.points[::2]) < 140.0


def test_a_short_gap_has_none() -> None:
    assert _arrows(*_pair(SAMPLES[0], "resolves"), 40.0) == []


def test_plain_dominants_and_distant_answers_have_none() -> None:
    one, other = _pair(SAMPLES[0], "resolves")
    fact = one.mark.fact
    assert isinstance(fact, ChordFact)
    assert fact.numeral is not None
    plain = replace(fact, numeral=replace(fact.numeral, applied_to=""))
    assert _arrows(replace(one, mark=replace(one.mark, fact=plain)), other, 100.0) == []
    assert _arrows(other, one, 100.0) == []
