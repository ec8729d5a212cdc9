"""Functions of chords: by table, then by what stands around them.

The task is to say of every chord whether it works as tonic, subdominant or dominant, why, and
what else it could be. The table is the usual one of textbooks and pop teaching; the context then
decides what the table leaves open (bVII, bVI, IV, vi, iii, a tonic in second inversion).

References
----------
Open Music Theory v1, *harmonicFunctions* (roughly I iii vi = T, ii IV = S, V vii = D),
*alteredSubdominants*, *popRockHarmony* (bVI–bVII–i = S–D–T; bVII–IV–I double plagal, after W.
Everett 2004). Functions in pop teaching (T = I vi iii, S = IV ii, D = V vii° and any applied
dominant): common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from analysis.chords import Chord
from analysis.dominants import ChordInKey, Dominant, is_outside, next_root
from analysis.marks import Function, Reading
from analysis.numerals import Target

#: Function by half steps above the tonic, for any quality unless `_QUALITY` says otherwise.
_TABLE: Final[dict[int, Function]] = {
    0: "T",
    1: "S",
    2: "S",
    3: "T",
    4: "T",
    5: "S",
    6: "S",
    7: "D",
    8: "S",
    9: "T",
    10: "S",
    11: "D",
}


@dataclass(frozen=True, slots=True)
class ChordRole:
    """What a chord does: function, target where applied, special name, reasons, other readings.

    ``expected`` is the chord a dominant wanted, None where it came or there is no dominant.
    """

    function: Function
    dominant: Dominant | None = None
    special: str = ""
    outside: bool = False
    reasons: tuple[str, ...] = ()
    alternatives: tuple[Reading, ...] = ()
    tags: tuple[str, ...] = ()
    confidence: float = 0.9

    @property
    def target(self) -> Target | None:
        """The chord it is applied to, as its numeral shows it."""
        shown = self.dominant is not None and self.dominant.applied
        return self.dominant.target if shown and self.dominant else None


def find_functions(
    row: Sequence[ChordInKey], dominants: Sequence[Dominant | None]
) -> tuple[ChordRole | None, ...]:
    """The role of every chord of a row, one entry a chord, None for N.C."""
    roles: list[ChordRole | None] = []
    for at, (one, dominant) in enumerate(zip(row, dominants, strict=True)):
        roles.append(_role(row, at, one.chord, dominant) if one.chord is not None else None)
    return tuple(roles)


def _role(row: Sequence[ChordInKey], at: int, chord: Chord, dominant: Dominant | None) -> ChordRole:
    one = row[at]
    outside = is_outside(chord, one.key)
    if dominant is not None:
        tags: tuple[str, ...] = (dominant.kind,) if dominant.kind in ("subV", "backdoor") else ()
        if dominant.chain:
            tags += ("chain",)
        if dominant.applied:
            tags += ("applied",)
        return ChordRole("D", dominant, outside=outside, tags=tags)
    arrival = next_root(row, at)
    step = row[arrival].interval if arrival >= 0 else -1
    function, reason = _in_context(one, chord, step)
    mixed = ("mixture",) if outside and one.interval in (0, 3, 5, 7, 8, 10) else ()
    return ChordRole(function, outside=outside, reasons=(reason,) if reason else (), tags=mixed)


def _in_context(one: ChordInKey, chord: Chord, step: int) -> tuple[Function, str]:
    """Function by table and by the interval of the next root above the tonic (-1: none)."""
    interval = one.interval
    if interval == 0 and chord.inversion == 2 and step == 7:
        return "D", "The tonic stands on the dominant's bass and gives way to it."
    if interval == 10:
        if step == 0:
            return "D", "It steps up to the tonic."
        return "S", "It leads to IV, as IV of IV does." if step == 5 else ""
    if interval == 8 and one.key.is_minor_like and step not in (7, 10):
        return "T", "It shares two tones with the tonic."
    return _TABLE[interval], ""
