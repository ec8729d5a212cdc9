"""An analysis brought up to date says what a new one under the same corrections says."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import fields, replace
from functools import cache
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.chords import Chord
from analysis.harmony.typed_chords import read_chord
from analysis.marks import Analysis, Corrections, Section
from analysis.pipeline import analyse, analyse_again, analyse_first
from analysis.pitch import Key
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from analysis.score import Score
from analysis.timebase import Offset, Span
from analysis.updates import changed_range
from analysis.workings import Worked
from tests.analysis.tunes import tune
from tests.bench.songs import draw_song, to_score

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


@cache
def first_of_song(number: int) -> Worked:
    """A song that nobody wrote, accompanied or not; its sections are found, not written.

    One in three has a first and a second ending.
    """
    song = draw_song(Random(number), 6, accompanied=number % 2 == 1)
    score = to_score(song, Random(number))
    count = len(score.measures)
    if number % 3 == 0:
        again = range(count // 2 - 2)
        score = replace(score, played=(*range(count // 2), *again, *range(count // 2, count)))
    return analyse_first(score)


@cache
def first_of_blues() -> Worked:
    """Chords without thirds, a blues and lowered thirds, which the whole piece decides."""
    score = tune(
        "C5:2=one Eb5:1 C5:1 Eb5:2 E5:2=two G4:1 Bb4:1 C5:2 Eb5:2 F5:1=three Eb5:1 " * 3,
        "C7:4 F7:4 C5:4 G5:2 F7:2 " * 3,
        low="C3:4 F3:4 C3:4 G3:2 F3:2 " * 3,
    )
    return analyse_first(score)


Correction = tuple[Span, Key] | tuple[Span, Chord | None]


def together(held: Sequence[Correction]) -> Corrections:
    return Corrections(
        keys=tuple((span, one) for span, one in held if isinstance(one, Key)),
        chords=tuple((span, one) for span, one in held if not isinstance(one, Key)),
    )


@st.composite
def corrected(draw: st.DrawFn, score: Score) -> Correction:
    """A key or a chord set over some measures, or from the middle of a measure on."""
    start = draw(st.integers(0, len(score.measures) - 1))
    end = min(start + draw(st.sampled_from([1, 1, 2, 4, 8])), len(score.measures))
    begins = score.measures[start]
    onset = begins.onset + begins.length * draw(st.sampled_from([Offset(0), Offset(1, 2)]))
    span = Span(onset, score.measures[end - 1].span.end)
    if draw(st.booleans()):
        return span, Key.parse(draw(st.sampled_from(KEYS)))
    return span, read_chord(draw(st.sampled_from(SYMBOLS)))


def follow(worked: Worked, data: st.DataObject, steps: int) -> None:
    """Set keys and chords, change them and take them back; each time all is as found anew."""
    score = worked.ground.score
    held: list[Correction] = []
    for _ in range(steps):
        if held and data.draw(st.sampled_from([False, False, True]), "taken back"):
            held.pop(data.draw(st.integers(0, len(held) - 1)))
        else:
            held.append(data.draw(corrected(score)))
        worked = analyse_again(worked, together(held))
        assert not list(differences(worked.analysis, analyse(score, corrections=together(held))))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
@settings(max_examples=8, deadline=None)
@given(data=st.data())
def test_a_row_of_corrections_on_the_samples(path: Path, data: st.DataObject) -> None:
    follow(first(path), data, 2)


@given(data=st.data())
def test_a_row_of_corrections_on_songs(data: st.DataObject) -> None:
    number = data.draw(st.integers(0, 9))
    follow(first_of_song(number), data, 3)


@given(data=st.data())
def test_a_row_of_corrections_where_the_whole_piece_decides(data: st.DataObject) -> None:
    follow(first_of_blues(), data, 3)


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
