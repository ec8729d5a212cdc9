"""What changes nothing to the ear changes no mark, of whatever kind; in songs of every plant."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from random import Random
from typing import Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.marks import Analysis, Corrections, Mark
from analysis.pipeline import analyse
from analysis.pitch import Key
from analysis.score import Part, Score
from analysis.timebase import Fraction, Span
from tests.analysis.test_melody_samples import STEMS, read, split_in_two, transposed
from tests.analysis.tunes import tune
from tests.bench.answers import song_with_echoes
from tests.bench.lowered import song_with_thirds
from tests.bench.returns import song_with_returns
from tests.bench.slides import song_with_lines
from tests.bench.songs import Song, to_score

SONGS: Final[dict[str, Callable[[Random], tuple[Song, object]]]] = {
    "returns": song_with_returns,
    "thirds": song_with_thirds,
    "echoes": song_with_echoes,
    "lines": song_with_lines,
}
F_MAJOR: Final = Key.parse("F major")
#: An example is a whole song, analysed twice.
few = settings(max_examples=5)
seeds = st.integers(0, 10**6)


def heard(song: Song, score: Score, fifths: int = 0) -> Analysis:
    """The analysis in the keys that the song was written in."""
    spans = [song.span(at) for at in range(len(song.phrases))]
    keys = [song.key_of(at) for at in range(len(song.phrases))]
    moved = [Key(key.tonic + fifths, key.mode) for key in keys]
    return analyse(score, corrections=Corrections(keys=tuple(zip(spans, moved, strict=True))))


def outside(mark: Mark) -> tuple[object, ...]:
    """A mark without the names of pitches, chords and parts; tied heads are one note."""
    heads = tuple(one for one in mark.elements if not one.endswith("-2"))
    return (mark.kind, mark.span, mark.parts, heads, mark.confidence, mark.rank, mark.words)


def in_order(found: Analysis) -> list[tuple[object, ...]]:
    """All marks but doubts about symbols: their decoder counts note heads, tied or not."""
    marks = (mark for mark in found.marks if mark.kind != "query")
    return sorted((outside(mark) for mark in marks), key=repr)


def with_silence(score: Score) -> Score:
    return replace(score, parts=(*score.parts, Part("silent", "Harp", "Hp.", ())))


def renamed(score: Score) -> Score:
    parts = (replace(part, name=f"Staff {at}") for at, part in enumerate(score.parts, 1))
    return replace(score, parts=tuple(parts))


def with_ties(score: Score) -> Score:
    return replace(score, parts=tuple(split_in_two(part) for part in score.parts))


@pytest.mark.parametrize("change", [with_silence, renamed, with_ties])
@pytest.mark.parametrize("plant", SONGS)
@few
@given(seed=seeds)
def test_it_sounds_the_same_and_has_the_same_marks(
    plant: str, change: Callable[[Score], Score], seed: int
) -> None:
    song, _ = SONGS[plant](Random(seed))
    score = to_score(song, Random(seed))
    here, there = heard(song, score), heard(song, change(score))
    assert in_order(here) == in_order(there)
    assert [mark.id for mark in here.marks] == [mark.id for mark in there.marks]


@pytest.mark.parametrize("plant", SONGS)
@few
@given(seed=seeds, fifths=st.sampled_from([-4, -1, 2, 5]))
def test_in_another_key_it_has_the_same_marks(plant: str, seed: int, fifths: int) -> None:
    song, _ = SONGS[plant](Random(seed))
    score = to_score(song, Random(seed))
    here, there = heard(song, score), heard(song, transposed(score, fifths), fifths)
    assert in_order(here) == in_order(there)


def named_in(score: Score) -> set[str]:
    """The ids of all elements that a mark may point at."""
    notes = {note.id for part in score.parts for note in part.notes}
    symbols = {symbol.id for symbol in score.chord_symbols}
    boxes = {mark.id for mark in score.rehearsal_marks}
    return (
        notes | symbols | boxes | {one for each in score.measures for one in (each.id, *each.ids)}
    )


def rests_on_something(found: Analysis, score: Score) -> None:
    """Every mark says what it rests on, in sentences, with elements that the score has."""
    known = named_in(score)
    for mark in found.marks:
        assert mark.evidence, mark
        assert set(mark.elements) <= known, mark
        for one in mark.evidence:
            assert one.statement.endswith("."), mark
            assert set(one.elements) <= known, mark


@pytest.mark.parametrize("stem", STEMS)
def test_every_mark_of_a_sample_says_what_it_rests_on(stem: str) -> None:
    score = read(stem)
    rests_on_something(analyse(score), score)


def test_every_mark_of_a_piece_with_silence_and_a_key_set_by_hand_says_what_it_rests_on() -> None:
    score = tune("C5:4 " * 8, "C:4 N.C.:4 F:4 G7:4 C:4 C/G:4 G7:4 C:4")
    rests_on_something(analyse(score), score)
    span = Span(Fraction(8), Fraction(16))
    rests_on_something(analyse(score, corrections=Corrections(keys=((span, F_MAJOR),))), score)


@pytest.mark.parametrize("plant", SONGS)
@few
@given(seed=seeds)
def test_every_mark_of_a_song_says_what_it_rests_on(plant: str, seed: int) -> None:
    song, _ = SONGS[plant](Random(seed))
    score = to_score(song, Random(seed))
    rests_on_something(heard(song, score), score)
    rests_on_something(analyse(score), score)
