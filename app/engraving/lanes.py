"""Lanes: labels in a row without overlap, each as near to its place as the others let it.

The task in one dimension: labels have widths, an order and a wanted left edge each; they may not
overlap, and the sum of the squared distances from the wanted edges shall be least. Taking from each
edge the widths of all labels before it turns "no overlap" into "never falling", so the answer is an
isotonic regression, found exactly by pooling adjacent violators. Limits at both ends only cut the
answer off, because the problem is convex in each pool.

References
----------
R. E. Barlow, D. J. Bartholomew, J. M. Bremner & H. D. Brunk, *Statistical Inference under Order
Restrictions*, Wiley 1972 (pool adjacent violators; from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import accumulate
from typing import TypeVar

from analysis.timebase import Fraction

_Number = TypeVar("_Number", float, Fraction)


def pack(
    wanted: Sequence[_Number],
    widths: Sequence[_Number],
    gap: _Number,
    left: _Number,
    right: _Number,
) -> list[_Number]:
    """Left edges of labels in a row, in the given order.

    Parameters
    ----------
    wanted
        Left edges they would have alone, any unit; fractions are kept exact.
    widths
        Their widths, in the same order.
    gap
        Least space between two.
    left, right
        Limits of the row. Where all do not fit, it begins at ``left`` and juts out on the right.

    Examples
    --------
    >>> pack([0.0, 1.0, 20.0], [4.0, 4.0, 4.0], 1.0, 0.0, 100.0)
    [0.0, 5.0, 20.0]
    >>> pack([10.0, 11.0], [4.0, 4.0], 1.0, 0.0, 100.0)
    [8.0, 13.0]
    """
    if not wanted:
        return []
    before: list[_Number] = list(accumulate((width + gap for width in widths), initial=0 * gap))
    pools: list[tuple[_Number, int]] = []
    for edge, room in zip(wanted, before, strict=False):
        total, count = edge - room, 1
        while pools and pools[-1][0] * count >= total * pools[-1][1]:
            more, others = pools.pop()
            total, count = total + more, count + others
        pools.append((total, count))
    highest = right - (before[-1] - gap)
    levels = [total / count for total, count in pools for _ in range(count)]
    kept = (max(min(level, highest), left) for level in levels)
    return [level + room for level, room in zip(kept, before, strict=False)]


def stack(spans: Iterable[tuple[float, float]]) -> list[int]:
    """The lowest free row of each span, spans taken in the given order; rows count from 0.

    Spans that only touch share a row. Given in order of start this takes as few rows as can be.

    Examples
    --------
    >>> stack([(0, 4), (2, 6), (4, 8)])
    [0, 1, 0]
    """
    rows: list[list[tuple[float, float]]] = []
    found = []
    for start, end in spans:
        free = (
            number
            for number, taken in enumerate(rows)
            if all(end <= other_start or other_end <= start for other_start, other_end in taken)
        )
        row = next(free, len(rows))
        if row == len(rows):
            rows.append([])
        rows[row].append((start, end))
        found.append(row)
    return found
