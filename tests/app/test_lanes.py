"""Labels in a row: no overlap, nearest to their places; spans in rows; readable palettes."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.engraving.lanes import pack, stack
from app.engraving.palettes import (
    DARK,
    GRAPHICS_CONTRAST,
    LIGHT,
    TEXT_CONTRAST,
    TEXT_TONES,
    Palette,
    Tone,
    contrast,
)
from app.export.frames import Frame
from app.export.themes import BARLINE

LABELS = st.lists(st.tuples(st.integers(0, 200), st.integers(1, 30)), min_size=1, max_size=8)


def _cost(edges: list[float], wanted: list[int]) -> float:
    return sum((edge - want) ** 2 for edge, want in zip(edges, wanted, strict=True))


def _feasible(edges: list[float], widths: list[int], gap: float) -> bool:
    ends = [edge + width + gap for edge, width in zip(edges, widths, strict=True)]
    return all(end <= after + 1e-9 for end, after in zip(ends, edges[1:], strict=False))


@given(LABELS, st.floats(0, 5))
def test_no_overlap_and_no_better_place(labels: list[tuple[int, int]], gap: float) -> None:
    labels.sort()
    wanted, widths = [x for x, _ in labels], [w for _, w in labels]
    edges = pack(wanted, widths, gap, -1e6, 1e6)
    assert _feasible(edges, widths, gap)
    best = _cost(edges, wanted)
    # The problem is convex: if no group of neighbours gains by a small move, none is better.
    for start in range(len(edges)):
        for end in range(start + 1, len(edges) + 1):
            for move in (-0.01, 0.01):
                moved = [e + move if start <= i < end else e for i, e in enumerate(edges)]
                assert not _feasible(moved, widths, gap) or _cost(moved, wanted) >= best - 1e-9


@given(LABELS)
def test_limits_hold_where_all_fit(labels: list[tuple[int, int]]) -> None:
    labels.sort()
    wanted, widths = [x for x, _ in labels], [w for _, w in labels]
    right = 10 + sum(widths) + 2 * len(widths)
    edges = pack(wanted, widths, 1, 10, right)
    assert edges[0] >= 10
    assert edges[-1] + widths[-1] <= right + 1e-9
    assert _feasible(edges, widths, 1)


def test_what_has_room_stays() -> None:
    assert pack([5, 50, 90], [10, 10, 10], 2, 0, 200) == [5, 50, 90]
    assert pack([], [], 2, 0, 200) == []


SPANS = st.lists(st.tuples(st.integers(0, 40), st.integers(1, 10)), max_size=12)


@given(SPANS)
def test_spans_in_one_row_do_not_overlap(spans: list[tuple[int, int]]) -> None:
    ends = [(float(start), float(start + length)) for start, length in sorted(spans)]
    rows = stack(ends)
    for row in set(rows):
        own = sorted(span for span, other in zip(ends, rows, strict=True) if other == row)
        assert all(left[1] <= right[0] for left, right in pairwise(own))
    # In order of start, as few rows as spans ever lie over one point.
    deepest = max((sum(s <= at < e for s, e in ends) for at, _ in ends), default=0)
    assert len(set(rows)) == deepest


# WCAG 2.2's own examples of contrast on white, to three places.
@pytest.mark.parametrize(
    ("colour", "ratio"),
    [("#767676", 4.542), ("#777777", 4.478), ("#949494", 3.033), ("#595959", 7.005)],
)
def test_contrast_as_wcag_counts_it(colour: str, ratio: float) -> None:
    assert contrast(colour, "#ffffff") == pytest.approx(ratio, abs=5e-4)


def _over(colour: str, alpha: float, under: int) -> str:
    channels = [int(colour[at : at + 2], 16) for at in (1, 3, 5)]
    return "#" + "".join(f"{round(alpha * c + (1 - alpha) * under):02x}" for c in channels)


TONES: tuple[Tone, ...] = ("ink", "soft", "accent", "foreign", "line")


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("tone", TONES)
@pytest.mark.parametrize("footage", [0, 128, 255])
def test_every_tone_can_be_read_on_its_plate(palette: Palette, tone: Tone, footage: int) -> None:
    least = TEXT_CONTRAST if tone in TEXT_TONES else GRAPHICS_CONTRAST
    assert contrast(palette.colour(tone), palette.ground) >= least
    assert contrast(palette.colour(tone), _over(palette.ground, BARLINE.opacity, footage)) >= least


def test_frames_take_the_palette_of_their_ink() -> None:
    assert Frame(ink="dark").palette == LIGHT
    assert Frame(ink="light").palette == DARK
