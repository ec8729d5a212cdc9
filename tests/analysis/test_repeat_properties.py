"""What holds of returns, sections, echoes and loops in any song."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from random import Random
from typing import Any, Final

from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.marks import Analysis, Corrections, Mark, Repeat
from analysis.pipeline import analyse
from analysis.pitch import Key
from analysis.score import Part
from tests.bench.returns import song_with_returns
from tests.bench.songs import Song, draw_song, to_score

OURS: Final = ("repeat", "section", "echo", "loop")
seeds = st.integers(0, 10**6)
#: An example is a whole song, analysed once or twice.
few: Final[Callable[[Any], Any]] = settings(max_examples=12)


def song(seed: int) -> Song:
    """A song with returns; its key is held so that it can be moved."""
    return song_with_returns(Random(seed))[0]


def heard(one: Song, seed: int = 0) -> Analysis:
    """The analysis in the keys that the song was written in."""
    keys = tuple((one.span(at), one.key_of(at)) for at in range(len(one.phrases)))
    return analyse(to_score(one, Random(seed)), corrections=Corrections(keys=keys))


def shape(repeats: tuple[Repeat, ...]) -> list[tuple[object, ...]]:
    """Everything of returns but the names of pitches and chords."""
    return [
        (
            one.first,
            one.later,
            one.part,
            one.later_part,
            one.transposition % 12,
            one.similarity,
            one.reharmonised,
            tuple((each.first_at, each.later_at) for each in one.differences),
        )
        for one in repeats
    ]


def ours(found: Analysis) -> list[Mark]:
    return [mark for mark in found.marks if mark.kind in OURS]


def _outside(mark: Mark) -> tuple[object, ...]:
    return mark.kind, mark.span, mark.parts, mark.confidence, mark.rank


@few
@given(seeds, st.sampled_from([-5, -2, 1, 4, 6]))
def test_moving_a_song_moves_nothing_but_names(seed: int, fifths: int) -> None:
    one = replace(song(seed), moved=())
    moved = replace(one, key=Key(one.key.tonic + fifths, one.key.mode))
    here, there = heard(one), heard(moved)
    assert shape(here.repeats) == shape(there.repeats)
    assert [_outside(mark) for mark in ours(here)] == [_outside(mark) for mark in ours(there)]


@few
@given(seeds)
def test_swapping_which_return_comes_first_swaps_the_pair(seed: int) -> None:
    """A B A' C B' against A' B' A C B: what was the later chord is the first."""
    one = replace(song(seed), moved=())
    first, second, third, fourth, fifth = one.phrases
    swapped = replace(one, phrases=(third, fifth, first, fourth, second))
    here, there = heard(one), heard(swapped)
    for a, b in ((0, 2), (1, 4)):
        mine = {
            (each.later_at - one.start(b), each.was, each.now)
            for repeat in here.repeats
            if repeat.first == one.span(a) and repeat.later == one.span(b)
            for each in repeat.differences
        }
        theirs = {
            (each.later_at - one.start(b), each.now, each.was)
            for repeat in there.repeats
            if repeat.first == one.span(a) and repeat.later == one.span(b)
            for each in repeat.differences
        }
        assert mine == theirs


@few
@given(seeds)
def test_every_mark_of_ours_has_its_place_its_words_and_an_id_of_its_own(seed: int) -> None:
    score = to_score(song(seed), Random(seed))
    found = analyse(score)
    elements = {note.id for part in score.parts for note in part.notes}
    elements |= {symbol.id for symbol in score.chord_symbols}
    marks = ours(found)
    assert len({mark.id for mark in marks}) == len(marks)
    for mark in marks:
        assert set(mark.elements) <= elements
        assert 0 <= mark.span.start < mark.span.end <= score.end
        assert 0 <= mark.confidence <= 1
        assert mark.label
        assert len(mark.sentence.split()) <= 30
        assert all(set(one.elements) <= elements for one in mark.evidence)
    sections = found.sections
    assert sections[0].span.start == score.span.start
    assert sections[-1].span.end == score.end
    assert all(a.span.end == b.span.start for a, b in pairwise(sections))
    ranks = sorted(mark.rank for mark in found.marks if mark.rank is not None)
    assert ranks == list(range(1, len(ranks) + 1))


@few
@given(seeds)
def test_a_silent_part_and_other_part_names_change_nothing(seed: int) -> None:
    score = to_score(song(seed), Random(seed))
    parts = tuple(
        replace(part, name=f"Staff {number}") for number, part in enumerate(score.parts, 1)
    )
    other = replace(score, parts=(*parts, Part("silent", "Harp", "Hp.", ())))
    here, there = analyse(score), analyse(other)
    assert here.repeats == there.repeats
    assert here.sections == there.sections
    assert [mark.id for mark in ours(here)] == [mark.id for mark in ours(there)]


@few
@given(seeds)
def test_a_song_without_returns_has_none_that_are_shown(seed: int) -> None:
    found = heard(draw_song(Random(seed), 6))
    assert [mark for mark in found.marks if mark.kind == "repeat" and mark.confidence >= 0.5] == []
