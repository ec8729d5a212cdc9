"""Mixed thirds: the natural and the lowered third of a key alternating in one voice.

The task is to fold what a listener hears as one wavering third into one group: the lowered thirds
sung against a major chord or key and the natural ones close by, each with what it goes to. Lowered
thirds without a natural one near them stay single.

Method
------
All thirds of the melody are walked in order of time. Two belong together where at most a measure
lies between them and the key is the same; a run with both forms in it is a group, cut down to one
natural third before the first lowered one and one after the last.

References
----------
D. Temperley, I. Ren & Z. Duan, "Mediant mixture and ‘blue notes’ in rock", *Music Theory Online*
23.1, 2017.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from analysis.marks import MelodyFact
from analysis.timebase import Span

#: Quarter notes of silence or other notes that may lie between two thirds of one group.
_NEAR: Final = Fraction(4)


@dataclass(frozen=True, slots=True)
class MixedThird:
    """One group: indexes into the melody of all its thirds, and which of them are lowered."""

    span: Span
    at: tuple[int, ...]
    lowered: tuple[bool, ...]


def find_mixed_thirds(facts: Sequence[MelodyFact]) -> tuple[MixedThird, ...]:
    """Groups of natural and lowered thirds, in order of time, no note in two of them.

    Parameters
    ----------
    facts
        The melody in order of time.
    """
    runs: list[list[int]] = []
    for at, fact in enumerate(facts):
        if not _is_third(fact):
            continue
        if runs and fact.span.start - facts[runs[-1][-1]].span.end <= _NEAR:
            runs[-1].append(at)
        else:
            runs.append([at])
    groups = (_trimmed(facts, run) for run in runs)
    return tuple(group for group in groups if group is not None)


def _is_third(fact: MelodyFact) -> bool:
    return fact.blue == "3" or fact.degree == "3"


def _trimmed(facts: Sequence[MelodyFact], run: Sequence[int]) -> MixedThird | None:
    """The run from the natural third before its first lowered one to that after its last."""
    lowered = [facts[at].blue == "3" for at in run]
    if all(lowered) or not any(lowered):
        return None
    first = max(lowered.index(True) - 1, 0)
    last = min(len(run) - lowered[::-1].index(True) + 1, len(run))
    at, low = tuple(run[first:last]), tuple(lowered[first:last])
    return MixedThird(Span(facts[at[0]].span.start, facts[at[-1]].span.end), at, low)
