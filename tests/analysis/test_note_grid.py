"""The grid of steps and the counts of notes on it."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.inference.inferred_chords import infer_chords
from analysis.inference.note_segments import LONGEST, GridSegments
from analysis.pitch import Pitch, PitchName
from analysis.score import KeySignature, Measure, Note, Part, Score
from analysis.timebase import Meter
from analysis.vocabulary.note_grid import CHANNELS, column_of, grid_times, read_grid


def measures(meter: Meter, count: int, pickup: Fraction | None = None) -> tuple[Measure, ...]:
    rows, onset = [], Fraction(0)
    for index in range(count):
        short = index == 0 and pickup is not None
        length = pickup if short and pickup is not None else meter.length
        rows.append(Measure(index, str(index), onset, length, meter, f"m{index}", pickup=short))
        onset += length
    return tuple(rows)


def score(rows: tuple[Measure, ...], *notes: Note) -> Score:
    return Score("", "", (Part("P", "", "", notes),), rows)


def note(number: int, pitch: str, onset: Fraction, length: Fraction, voice: str = "1") -> Note:
    return Note(f"n{number}", "P", 0, onset, length, Pitch.parse(pitch), voice)


@pytest.mark.parametrize(
    ("beats", "beat_type", "levels"),
    [
        (4, 4, [0, 3, 2, 3, 1, 3, 2, 3]),
        (3, 4, [0, 3, 2, 3, 2, 3]),
        (2, 4, [0, 3, 2, 3]),
        (6, 8, [0, 3, 3, 2, 3, 3]),
        (12, 8, [0, 3, 3, 2, 3, 3, 1, 3, 3, 2, 3, 3]),
        (2, 2, [0, 3, 2, 3]),
    ],
)
def test_steps_are_half_beats_or_thirds_of_them(
    beats: int, beat_type: int, levels: list[int]
) -> None:
    times, found, _ = grid_times(score(measures(Meter(beats, beat_type), 2)))
    assert found == levels * 2
    assert times[-1] == 2 * Meter(beats, beat_type).length
    assert len(times) == len(found) + 1


def test_a_pickup_is_counted_from_its_barline() -> None:
    times, levels, _ = grid_times(score(measures(Meter(4, 4), 2, Fraction(1))))
    assert times[:4] == [0, Fraction(1, 2), 1, Fraction(3, 2)]
    assert levels[:4] == [2, 3, 0, 3]
    times, levels, _ = grid_times(score(measures(Meter(4, 4), 2, Fraction(3, 4))))
    assert times[:3] == [0, Fraction(1, 4), Fraction(3, 4)]


def test_every_quarter_note_is_counted_once() -> None:
    notes = (
        note(0, "C3", Fraction(0), Fraction(4)),
        note(1, "E4", Fraction(1, 3), Fraction(2, 3), "2"),
        note(2, "F4", Fraction(1), Fraction(1), "2"),
        note(3, "G4", Fraction(2), Fraction(2), "2"),
    )
    grid = read_grid(score(measures(Meter(4, 4), 1), *notes))
    sounding = grid.channels[:, 0].sum(axis=0)
    for one in notes:
        assert one.pitch is not None
        expected = float(one.duration)
        assert sounding[column_of(one.pitch.name.fifths)] == pytest.approx(expected, abs=1e-4)
    assert grid.onsets.sum() == 4
    stepwise = grid.channels[:, CHANNELS.index("stepwise")].sum(axis=0)
    assert stepwise[column_of(PitchName.parse("F").fifths)] == pytest.approx(1)
    assert stepwise.sum() == pytest.approx(1)
    assert set(grid.bass) == {column_of(0)}


def test_ties_strike_once_and_grace_notes_never() -> None:
    first = Note("a", "P", 0, Fraction(0), Fraction(2), Pitch.parse("C4"), tie_start=True)
    second = Note("b", "P", 0, Fraction(2), Fraction(2), Pitch.parse("C4"), tie_stop=True)
    grace = Note("c", "P", 0, Fraction(1), Fraction(0), Pitch.parse("B3"), grace=True)
    grid = read_grid(score(measures(Meter(4, 4), 1), first, grace, second))
    assert grid.onsets.tolist() == [1, 0, 0, 0, 0, 0, 0, 0]
    assert grid.channels[:, 0].sum() == pytest.approx(4)


def test_the_signature_is_left_out_when_it_may_not_be_used() -> None:
    rows = measures(Meter(4, 4), 1)
    written = Score("", "", (), rows, key_signatures=(KeySignature(Fraction(0), 3),))
    assert set(read_grid(written).signature) == {3}
    assert set(read_grid(written, use_key_signature=False).signature) == {0}
    assert not read_grid(written, use_key_signature=False).has_signature


meters = st.builds(Meter, st.integers(1, 13), st.sampled_from([2, 4, 8, 16]))
times = st.fractions(0, 20, max_denominator=12)
drawn = st.lists(
    st.builds(
        Note,
        st.uuids().map(str),
        st.just("P"),
        st.just(0),
        times,
        st.fractions(0, 8, max_denominator=12),
        st.none() | st.builds(Pitch, st.integers(-20, 25).map(PitchName), st.integers(-1, 9)),
        st.sampled_from("123"),
        st.integers(1, 2),
        st.booleans(),
        st.booleans(),
        st.booleans(),
    ),
    max_size=12,
)


@given(meters, st.integers(0, 3), st.none() | st.fractions("1/8", 1, max_denominator=8), drawn)
def test_any_notes_in_any_meter_can_be_read(
    meter: Meter, count: int, pickup: Fraction | None, notes: list[Note]
) -> None:
    whole = score(measures(meter, count, pickup), *notes)
    grid = read_grid(whole)
    if grid.steps:
        measured = GridSegments(grid).measure(0, min(grid.steps, 8))
        assert measured.beats.shape[1] == LONGEST
        assert np.isfinite(measured.notes).all()
    regions, placed = infer_chords(whole)
    assert all(0 <= one.confidence <= 1 for one in placed)
    if regions:
        assert (regions[0].span.start, regions[-1].span.end) == (grid.times[0], whole.end)
