"""Runs of alike measures, found in arrays, against the plain way of finding them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from analysis.returns.alike_runs import Hits, MeasuredLine, Run, find_runs
from analysis.returns.measure_contents import ContentKinds, measure_contents
from analysis.vocabulary.voices import lead_line
from tests.analysis.tunes import tune

Hit = tuple[int, int, float]
MEASURES = ("C4:1 E4:1 G4:1 A4:1", "D4:2 F4:2", "G4:4", "r:4")


def measured(text: str) -> MeasuredLine:
    score = tune(text)
    line = lead_line(score.parts[0])
    held = measure_contents(score.measures, line)
    kinds = ContentKinds([held]).rows[0]
    starts, ends = zip(*((one.onset, one.span.end) for one in score.measures), strict=True)
    return MeasuredLine(line, starts, ends, held, [one.row for one in held], kinds)


def plain_runs(line: MeasuredLine, hits: list[Hit], half_steps: int) -> Iterator[Run]:
    """What `find_runs` finds, without the rests around it."""
    hits = sorted(hits, key=lambda hit: (hit[1] - hit[0], hit[0]))
    for distance, one_distance in groupby(hits, key=lambda hit: hit[1] - hit[0]):
        stretch: list[Hit] = []
        for hit in (*one_distance, None):
            if stretch and (hit is None or not follows(line, stretch[-1], hit)):
                for piece in pieces(stretch, distance):
                    yield from run(line, piece, half_steps)
                stretch = []
            if hit is not None:
                stretch.append(hit)


def follows(line: MeasuredLine, last: Hit, hit: Hit) -> bool:
    between = range(1, hit[0] - last[0])
    silent = all(not line.rows[at + step] for at in last[:2] for step in between)
    return len(between) <= 2 and silent


def pieces(stretch: list[Hit], most: int) -> Iterator[list[Hit]]:
    begin, end = stretch[0][0], stretch[-1][0] + 1
    for start in range(begin, end, most) if most >= 2 else ():
        yield [hit for hit in stretch if start <= hit[0] < start + most]
        if begin < start:
            yield [hit for hit in stretch if start - 1 <= hit[0] <= start]


def run(line: MeasuredLine, piece: list[Hit], half_steps: int) -> Iterator[Run]:
    clear = [at for at, hit in enumerate(piece) if hit[2] >= 0.72]
    kept = piece[clear[0] : clear[-1] + 1] if clear else []
    if not kept or kept[-1][0] == kept[0][0]:
        return
    weights = [len(line.rows[hit[0]]) for hit in kept]
    alike = sum(w * hit[2] for w, hit in zip(weights, kept, strict=True)) / sum(weights)
    first, later, length = kept[0][0], kept[0][1], kept[-1][0] - kept[0][0] + 1
    enough = len(line.notes(first, length)) >= (4 if alike == 1 else 6)
    if enough and alike >= (0.85 if half_steps else 0.72):
        yield Run(first, later, length, half_steps, alike)


@st.composite
def lines_with_hits(draw: st.DrawFn) -> tuple[MeasuredLine, list[Hit]]:
    line = measured(" ".join(draw(st.lists(st.sampled_from(MEASURES), min_size=4, max_size=24))))
    sounding = [at for at, row in enumerate(line.rows) if row]
    pairs = [(one, two) for one in sounding for two in sounding if one < two]
    likeness = st.sampled_from([0.5, 0.625, 0.75, 0.875, 1.0, 1.0, 1.0])
    return line, [(*pair, draw(likeness)) for pair in pairs if draw(st.integers(0, 5))]


def in_arrays(half_steps: int, hits: list[Hit]) -> Hits:
    pairs = np.array([hit[:2] for hit in hits], dtype=np.intp).reshape(-1, 2)
    likeness = np.array([hit[2] for hit in hits], dtype=np.float32)
    return Hits(half_steps, pairs[:, 0], pairs[:, 1], likeness)


def core(line: MeasuredLine, one: Run) -> Run:
    """A run without silent measures at its ends."""
    sung = [at for at in range(one.length) if line.rows[one.first + at]]
    length = sung[-1] + 1 - sung[0]
    return Run(one.first + sung[0], one.later + sung[0], length, one.half_steps, one.similarity)


@given(lines_with_hits(), lines_with_hits())
def test_runs_are_those_of_the_plain_way_at_any_transposition(
    drawn: tuple[MeasuredLine, list[Hit]], others: tuple[MeasuredLine, list[Hit]]
) -> None:
    line, hits = drawn
    moved = [hit for hit in others[1] if hit[1] < len(line.rows)]
    moved = [hit for hit in moved if line.rows[hit[0]] and line.rows[hit[1]]]
    found = find_runs(line, line, [in_arrays(0, hits), in_arrays(2, moved)])
    expected = [*plain_runs(line, hits, 0), *plain_runs(line, moved, 2)]
    assert [core(line, one) for one in found] == expected


def found_runs(silent: int, likeness: float, half_steps: int) -> list[tuple[int, int, int]]:
    """Runs where a passage of two measures comes back, with so many silent ones between the two."""
    passage = " ".join([MEASURES[0], *["r:4"] * silent, MEASURES[0]])
    line, length = measured(f"{passage} {passage}"), silent + 2
    hits = in_arrays(half_steps, [(0, length, likeness), (length - 1, 2 * length - 1, likeness)])
    return [(one.first, one.later, one.length) for one in find_runs(line, line, [hits])]


def test_two_silent_measures_belong_to_a_passage_and_three_part_it() -> None:
    assert found_runs(2, 1.0, 0) == [(0, 4, 4)]
    assert found_runs(3, 1.0, 0) == []


def test_a_transposed_passage_must_be_closer() -> None:
    assert found_runs(0, 0.8125, 0) == [(0, 2, 2)]
    assert found_runs(0, 0.8125, 3) == []
    assert found_runs(0, 0.875, 3) == [(0, 2, 2)]
