"""Transcriptions laid beside each other, where it is known what was done to the second."""

from dataclasses import replace
from fractions import Fraction
from random import Random
from typing import TypeVar

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.pitch import Pitch
from analysis.timebase import Meter, Span
from app.review.alignments import align
from app.review.skeletons import BoneMeasure, BoneNote, BonePart, BoneSymbol, Skeleton, skeleton_of
from app.review.transpositions import Interval
from tests.app.reviews import SAMPLES, read_sample

Row = TypeVar("Row")
FOUR = Meter(4, 4)


def song(measures: int = 24, parts: int = 2, seed: int = 1) -> Skeleton:
    """Measures that are all different, each with a chord symbol."""
    draw = Random(seed)
    notes = ["C4", "D4", "Eb4", "F#4", "G4", "A4", "B4"]
    rows = [
        tuple(
            tuple(
                BoneNote(f"{part}m{at}n{beat}", Fraction(beat), Fraction(1),
                         Pitch.parse(draw.choice(notes)))
                for beat in range(4)
            )
            for at in range(measures)
        )
        for part in range(parts)
    ]  # fmt: skip
    return Skeleton(
        tuple(BonePart(f"P{at}", f"Part {at}", row) for at, row in enumerate(rows)),
        tuple(BoneMeasure(str(at + 1), Fraction(4), FOUR) for at in range(measures)),
        tuple(
            BoneSymbol(f"h{at}", at, Fraction(0), f"{draw.choice('CDEFG')} major")
            for at in range(measures)
        ),
    )


def changed(skeleton: Skeleton, order: list[int]) -> Skeleton:
    """The song with its measures in this order, renumbered, with other ids; -1 is a new one."""

    def pick(row: tuple[Row, ...], new: Row) -> tuple[Row, ...]:
        return tuple(new if at < 0 else row[at] for at in order)

    other = song(1, len(skeleton.parts), seed=99)
    parts = tuple(
        replace(part, measures=tuple(
            tuple(replace(note, id=f"{part.id}x{at}y{number}") for number, note in enumerate(row))
            for at, row in enumerate(pick(part.measures, new.measures[0]))
        ))
        for part, new in zip(skeleton.parts, other.parts, strict=True)
    )  # fmt: skip
    measures = tuple(
        replace(measure, number=str(at + 1))
        for at, measure in enumerate(pick(skeleton.measures, other.measures[0]))
    )
    symbols = tuple(
        replace(symbol, id=f"s{at}", measure=at)
        for at, was in enumerate(order)
        for symbol in skeleton.symbols
        if symbol.measure == was
    )
    return Skeleton(parts, measures, symbols)


@given(st.data())
def test_inserted_and_deleted_measures_are_followed(data: st.DataObject) -> None:
    before = song()
    gone = data.draw(st.sets(st.integers(0, 23), max_size=12))
    order = [at for at in range(24) if at not in gone]
    # New measures where none is deleted, so that they cannot be the same measure rewritten.
    places = [
        at for at in range(len(order) + 1)
        if (at == 0 or order[at - 1] + 1 not in gone)
        and (at == len(order) or order[at] - 1 not in gone)
    ]  # fmt: skip
    for place in sorted(data.draw(st.sets(st.sampled_from(places), max_size=3)), reverse=True):
        order[place:place] = [-1] * data.draw(st.integers(1, 3))
    found = align(before, changed(before, order))
    wanted: dict[int, int] = {was: at for at, was in enumerate(order) if was >= 0}
    assert found.measures == tuple(wanted.get(at) for at in range(24))
    for at, now in wanted.items():
        assert found.elements[f"1m{at}n2"].id == f"P1x{now}y2"
        assert found.elements[f"h{at}"].id == f"s{now}"
        assert found.span(Span(Fraction(4 * at + 1), Fraction(4 * at + 4))) is not None
    assert {change for one in found.elements.values() if (change := one.change)} == set()


def test_a_block_that_was_deleted_is_one_block_though_the_music_repeats() -> None:
    before = changed(song(8), [*range(8), *range(8), *range(8)])
    after = changed(song(8), [*range(8), *range(8)])
    gone = [at for at, now in enumerate(align(before, after).measures) if now is None]
    assert gone == list(range(gone[0], gone[0] + 8))
    assert gone[0] % 8 == 0


def test_a_measure_rewritten_from_end_to_end_is_still_the_same_measure() -> None:
    before = song()
    other = song(seed=5)
    parts = tuple(
        replace(part, measures=(*part.measures[:7], new.measures[7], *part.measures[8:]))
        for part, new in zip(before.parts, other.parts, strict=True)
    )
    found = align(before, Skeleton(parts, before.measures, ()))
    assert found.measures == tuple(range(24))


@pytest.mark.parametrize(
    ("pitch", "onset", "duration", "change"),
    [
        ("C4", 1, 1, "pitch"),
        ("C#4", 1, 1, "spelling"),
        ("Db4", 3, 1, "place"),
        ("Db4", 1, 2, "duration"),
        ("A4", 2, 1, "pitch"),
    ],
)
def test_a_corrected_note_is_found_by_what_stayed(
    pitch: str, onset: int, duration: int, change: str
) -> None:
    before = song()
    kept = BoneNote("kept", Fraction(0), Fraction(1), Pitch.parse("F4"))
    was = BoneNote("was", Fraction(1), Fraction(1), Pitch.parse("Db4"))
    now = BoneNote("now", Fraction(onset), Fraction(duration), Pitch.parse(pitch))
    then, after = (
        replace(before, parts=(replace(before.parts[0], measures=(
            *before.parts[0].measures[:5], (kept, note), *before.parts[0].measures[6:]
        )), before.parts[1]))
        for note in (was, now)
    )  # fmt: skip
    found = align(then, after).elements
    assert (found["was"].id, found["was"].change) == ("now", change)
    assert (found["kept"].id, found["kept"].change) == ("kept", "")


def test_a_note_that_is_gone_is_nobodys_counterpart() -> None:
    before = song()
    first, *rest = before.parts[0].measures[5]
    shorter = (*before.parts[0].measures[:5], tuple(rest), *before.parts[0].measures[6:])
    after = replace(before, parts=(replace(before.parts[0], measures=shorter), before.parts[1]))
    found = align(before, after).elements
    assert first.id not in found
    assert all(found[note.id].id == note.id for note in rest)


def test_parts_are_known_by_what_they_play() -> None:
    before = song(parts=3)
    one, two, three = before.parts
    after = replace(
        before,
        parts=(replace(three, id="P0", name="Part 0"), replace(one, id="P1", name="Lead"), two),
    )
    assert align(before, after).parts == {"P2": "P0", "P0": "P1", "P1": "P1"} | {"P1": two.id}


def test_a_part_that_is_gone_has_no_counterpart_though_another_took_its_id() -> None:
    before = song(parts=2)
    new = replace(song(parts=1, seed=7).parts[0], id="P1", name="Triangle")
    found = align(before, replace(before, parts=(before.parts[0], new)))
    assert found.parts == {"P0": "P0"}
    assert "1m0n0" not in found.elements


@pytest.mark.parametrize(
    "interval", [Interval(2, 1), Interval(-5, 1), Interval(7, 0), Interval(0, 7)]
)
def test_a_transposed_song_is_the_same_song(interval: Interval) -> None:
    before = song()
    parts = tuple(
        replace(part, measures=tuple(
            tuple(replace(note, pitch=interval.of(note.pitch)) for note in row if note.pitch)
            for row in part.measures
        ))
        for part in before.parts
    )  # fmt: skip
    found = align(before, replace(before, parts=parts, symbols=()))
    assert found.measures == tuple(range(24))
    assert {one.change for one in found.elements.values()} == {""}
    assert found.interval == (interval if interval.fifths else Interval())


def test_one_part_an_octave_lower_is_no_transposed_song() -> None:
    before = song(parts=3)
    down = Interval(0, -7)
    lower = tuple(
        tuple(replace(note, pitch=down.of(note.pitch)) for note in row if note.pitch)
        for row in before.parts[2].measures
    )
    after = replace(before, parts=(*before.parts[:2], replace(before.parts[2], measures=lower)))
    found = align(before, after)
    assert found.interval == Interval()
    assert found.elements["2m3n1"].change == ""


@pytest.mark.parametrize("name", SAMPLES)
def test_a_sample_is_like_itself(name: str) -> None:
    skeleton = skeleton_of(read_sample(name)[1].score)
    found = align(skeleton, skeleton)
    assert found.measures == tuple(range(len(skeleton.measures)))
    assert found.elements
    assert all((one.id, one.change) == (old, "") for old, one in found.elements.items())
    assert found.elements.keys() == found.things_then.keys()
    span = Span(Fraction(2), Fraction(21, 2))
    moved = found.span(span)
    assert moved is not None
    assert (moved.span, moved.whole) == (span, True)


def test_spans_follow_what_is_left_of_them() -> None:
    before = song(8)
    found = align(before, changed(before, [0, 1, 4, 5, -1, 6, 7]))
    span = found.span(Span(Fraction(5), Fraction(18)))
    assert span is not None
    assert (span.span, span.whole) == (Span(Fraction(5), Fraction(10)), False)
    assert found.span(Span(Fraction(8), Fraction(16))) is None
    assert found.near(Fraction(9)) == 8
    assert found.has_new_measures(Span(Fraction(12), Fraction(24)))
    assert not found.has_new_measures(Span(Fraction(0), Fraction(16)))
    assert found.number_now("5") == "3"
