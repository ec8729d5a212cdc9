"""Measures of two transcriptions aligned in order.

Each measure is a set of signs. The likeness of two is the share of signs that they have in common,
rare ones counting more, and the pairs are chosen so that the likeness of all is largest in sum,
runs of neighbours preferred over scattered pairs. What is the same at both ends is paired at once.

References
----------
S. B. Needleman, C. D. Wunsch, *A general method applicable to the search for similarities in the
amino acid sequence of two proteins*, Journal of Molecular Biology 48, 1970 (from memory).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise
from math import log
from typing import Final

#: What two measures that are the same would share, such as a pitch at a beat.
Sign = tuple[object, ...]
#: The signs of one measure, each by a number, which is faster to compare.
_Signs = frozenset[int]

#: Likeness from which two measures may be the same.
_ALIKE: Final = 0.1
#: Likeness of two measures of rests: the same, but no witness for anything.
_RESTS: Final = 0.3
#: What it is worth that two measures follow a pair that is their neighbours, or are numbered alike.
_NEIGHBOURS: Final = 0.02
_SAME_NUMBER: Final = 0.005


def pair_measures(
    signs: Sequence[frozenset[Sign]],
    other_signs: Sequence[frozenset[Sign]],
    numbers: Sequence[str],
    others: Sequence[str],
) -> tuple[int | None, ...]:
    """For each of our measures the index of the same one among theirs; None where it is gone.

    Parameters
    ----------
    signs, other_signs
        The signs of each measure, ours and theirs.
    numbers, others
        Their printed numbers, which break ties.

    Examples
    --------
    >>> verse, chorus, coda = (frozenset({(word,)}) for word in ("verse", "chorus", "coda"))
    >>> pair_measures([verse, chorus, coda], [coda], "123", "1")
    (None, None, 0)
    """
    known: dict[Sign, int] = {}
    ours, theirs = (
        [frozenset(known.setdefault(sign, len(known)) for sign in row) for row in rows]
        for rows in (signs, other_signs)
    )
    head = _common_head(ours, theirs)
    limit = min(len(ours), len(theirs)) - head
    tail = min(_common_head(ours[::-1], theirs[::-1]), limit)
    end, other_end = len(ours) - tail, len(theirs) - tail
    paired: list[int | None] = [None] * len(ours)
    paired[:head] = range(head)
    paired[end:] = range(other_end, len(theirs))
    middle = _best_pairs(
        ours[head:end], theirs[head:other_end], numbers[head:end], others[head:other_end]
    )
    for at, place in middle:
        paired[head + at] = head + place
    _pair_leftovers(paired, len(theirs))
    return tuple(paired)


def _common_head(ours: Sequence[_Signs], theirs: Sequence[_Signs]) -> int:
    """How many measures are the same from the start."""
    count = 0
    for one, other in zip(ours, theirs, strict=False):
        if one != other:
            break
        count += 1
    return count


def _best_pairs(
    ours: Sequence[_Signs],
    theirs: Sequence[_Signs],
    numbers: Sequence[str],
    others: Sequence[str],
) -> list[tuple[int, int]]:
    """Pairs in order whose likeness is largest in sum."""
    pair, gap = _sums(ours, theirs, numbers, others)
    pairs: list[tuple[int, int]] = []
    at, place = len(ours), len(theirs)
    paired = pair[at][place] + _NEIGHBOURS >= gap[at][place]
    while at > 0 and place > 0:
        if paired:
            at, place = at - 1, place - 1
            pairs.append((at, place))
            paired = pair[at][place] + _NEIGHBOURS >= gap[at][place]
        else:
            above = gap[at][place] in (pair[at - 1][place], gap[at - 1][place])
            at, place = (at - 1, place) if above else (at, place - 1)
            paired = pair[at][place] > gap[at][place]
    return pairs[::-1]


def _sums(
    ours: Sequence[_Signs],
    theirs: Sequence[_Signs],
    numbers: Sequence[str],
    others: Sequence[str],
) -> tuple[list[list[float]], list[list[float]]]:
    """The largest sum up to each two measures, where they are a pair and where there is a gap."""
    likeness = _Likeness([*ours, *theirs])
    never = float("-inf")
    width = len(theirs) + 1
    # What precedes the first measures is the same or nothing, so they have good neighbours.
    pair, gap = [[0.0] + [never] * (width - 1)], [[0.0] * width]
    for number, one in zip(numbers, ours, strict=True):
        pair_above, gap_above = pair[-1], gap[-1]
        pair_row, gap_row = [never] * width, [gap_above[0]] * width
        for place, other in enumerate(theirs, 1):
            worth = likeness.of(one, other)
            if worth >= _ALIKE:
                if number == others[place - 1]:
                    worth += _SAME_NUMBER
                before = max(pair_above[place - 1] + _NEIGHBOURS, gap_above[place - 1])
                pair_row[place] = worth + before
            gap_row[place] = max(
                pair_above[place], gap_above[place], pair_row[place - 1], gap_row[place - 1]
            )
        pair.append(pair_row)
        gap.append(gap_row)
    return pair, gap


class _Likeness:
    """How alike two measures are, from 0 to 1, by the weight of the signs that both have.

    A sign weighs the more the fewer measures have it, so that a rhythm that goes through the whole
    song says next to nothing.
    """

    def __init__(self, measures: Sequence[_Signs]) -> None:
        counts = Counter(sign for signs in measures for sign in signs)
        total = len(measures)
        self._weights = {sign: log((1 + total) / count) for sign, count in counts.items()}
        self._sums = {signs: self._weight(signs) for signs in measures}
        self._known: dict[tuple[_Signs, _Signs], float] = {}

    def of(self, one: _Signs, other: _Signs) -> float:
        """The likeness of two of the measures."""
        known = self._known.get((one, other))
        if known is None:
            known = self._known[one, other] = self._compare(one, other)
        return known

    def _compare(self, one: _Signs, other: _Signs) -> float:
        if not one or not other:
            return _RESTS if one == other else 0.0
        share = self._weight(one & other) / max(self._sums[one], self._sums[other])
        # Squared, so that a few measures that are half alike do not outweigh one that is the same.
        return share**2

    def _weight(self, signs: _Signs) -> float:
        return sum(map(self._weights.__getitem__, signs))


def _pair_leftovers(paired: list[int | None], count: int) -> None:
    """Take measures left over between two pairs for the same where they are as many."""
    anchors = [(-1, -1), *((at, to) for at, to in enumerate(paired) if to is not None)]
    anchors.append((len(paired), count))
    for (at, to), (next_at, next_to) in pairwise(anchors):
        if next_at - at == next_to - to:
            paired[at + 1 : next_at] = range(to + 1, next_to)
