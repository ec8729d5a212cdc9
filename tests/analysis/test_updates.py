"""An analysis brought up to date says what a new one under the same corrections says."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, replace
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.harmony.typed_chords import read_chord
from analysis.marks import Analysis, Corrections, Section
from analysis.pipeline import Worked, analyse, analyse_again, analyse_first
from analysis.pitch import Key
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from analysis.score import Score
from analysis.timebase import Span
from analysis.updates import changed_range
from tests.analysis.tunes import tune

SAMPLES = sorted((Path(__file__).parents[2] / "sample_scores").glob("*.musicxml"))
SYMBOLS = ["C", "A7", "Fm", "Bdim7", "G/B", "N.C.", "F5", "Db7", "Esus4"]
KEYS = ["C major", "A minor", "Eb major", "G dorian", "F# minor"]


@cache
def first(path: Path) -> Worked:
    return analyse_first(read_score(read_source(path)))


def differences(one: Analysis, other: Analysis) -> Iterator[tuple[str, object, object]]:
    for field in fields(Analysis):
        ours, theirs = getattr(one, field.name), getattr(other, field.name)
        if ours != theirs:
            pairs = zip(ours, theirs, strict=False)
            yield next(
                ((field.name, mine, yours) for mine, yours in pairs if mine != yours),
                (field.name, len(ours), len(theirs)),
            )


@st.composite
def corrected(draw: st.DrawFn, score: Score) -> Corrections:
    """A key or a chord set over some measures."""
    start = draw(st.integers(0, len(score.measures) - 1))
    end = min(start + draw(st.sampled_from([1, 1, 2, 4, 8])), len(score.measures))
    span = Span(score.measures[start].onset, score.measures[end - 1].span.end)
    if draw(st.booleans()):
        return Corrections(keys=((span, Key.parse(draw(st.sampled_from(KEYS)))),))
    return Corrections(chords=((span, read_chord(draw(st.sampled_from(SYMBOLS)))),))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
@settings(max_examples=8, deadline=None)
@given(data=st.data())
def test_a_row_of_corrections_on_the_samples(path: Path, data: st.DataObject) -> None:
    worked = first(path)
    score = worked.ground.score
    held = Corrections()
    for _ in range(2):
        more = data.draw(corrected(score))
        held = replace(held, keys=(*held.keys, *more.keys), chords=(*held.chords, *more.chords))
        worked = analyse_again(worked, held)
        assert not list(differences(worked.analysis, analyse(score, corrections=held)))


def test_taking_a_correction_back_gives_the_first_analysis_again() -> None:
    worked = first(SAMPLES[0])
    measure = worked.ground.score.measures[6]
    set_by_hand = Corrections(keys=((measure.span, Key.parse("C minor")),))
    changed = analyse_again(worked, set_by_hand)
    assert changed.analysis != worked.analysis
    assert analyse_again(changed, Corrections()).analysis == worked.analysis


def test_facts_far_from_the_change_are_the_same_objects() -> None:
    score = tune("C5:4 B4:4 A4:4 G4:4 " * 8, "C:4 G:4 Am:4 F:4 " * 8)
    worked = analyse_first(score)
    span = Span(score.measures[16].onset, score.measures[17].onset)
    again = analyse_again(worked, Corrections(chords=((span, read_chord("E7")),)))
    for old, new in ((worked.analysis, again.analysis),):
        assert old.chords[0] is new.chords[0]
        assert old.chords[-1] is new.chords[-1]
        assert old.melody[0] is new.melody[0]
        assert old.chords[16] != new.chords[16]


@pytest.mark.parametrize(
    "corrections",
    [
        Corrections(melody_part="low"),
        Corrections(roles=(("low", "bass"),)),
        Corrections(sections=()),
    ],
)
def test_other_corrections_are_followed_too(corrections: Corrections) -> None:
    score = tune(
        "C5:4 B4:4 A4:4 G4:4 " * 4, "C:4 G:4 Am:4 F:4 " * 4, low="C3:4 G3:4 A3:4 F3:4 " * 4
    )
    if corrections.sections is not None:
        half = Span(score.span.start, score.measures[8].onset)
        rest = Span(half.end, score.span.end)
        named = tuple(Section(span, name, name, False) for span, name in ((half, "A"), (rest, "B")))
        corrections = replace(corrections, sections=named)
    again = analyse_again(analyse_first(score), corrections).analysis
    assert not list(differences(again, analyse(score, corrections=corrections)))


def test_where_two_rows_differ() -> None:
    assert changed_range("abcd", "abXd") == (2, 3, 3)
    assert changed_range("abcd", "abd") == (2, 3, 2)
    assert changed_range("aaa", "aaaa") == (3, 3, 4)
    assert changed_range("abc", "abc") == (3, 3, 3)
