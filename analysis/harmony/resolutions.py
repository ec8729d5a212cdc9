"""What became of a dominant later than at the next root.

The task is to look further on from dominants whose tonic did not come at once. A resolution is
*delayed* where one other chord, or the minor triad on the dominant's own root, comes first, or
where the dominant is struck again after one; *interrupted* where silence comes between. A dominant
that hands on to another of the same target fares as that one does.

References
----------
Common practice in pop and jazz teaching, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from analysis.vocabulary.dominants import ChordInKey, Dominant, Resolution, next_root


def find_resolutions(
    row: Sequence[ChordInKey], dominants: Sequence[Dominant | None]
) -> tuple[Dominant | None, ...]:
    """The dominants of a row of chords, each with what became of it in the end."""
    return tuple(
        _in_the_end(row, at, one, dominants) if one is not None else None
        for at, one in enumerate(dominants)
    )


def _in_the_end(
    row: Sequence[ChordInKey], at: int, one: Dominant, dominants: Sequence[Dominant | None]
) -> Dominant:
    heir = dominants[one.arrival] if one.arrival >= 0 else None
    if one.resolution == "unresolved" and heir is not None and _same_aim(one, heir):
        if heir.resolution != "unresolved":
            return replace(one, resolution=heir.resolution, arrival=heir.arrival)
    elif one.resolution == "deceptive" and heir is not None and heir.applied:
        return replace(one, resolution="unresolved")
    return _in_time(row, at, one)


def _same_aim(one: Dominant, other: Dominant) -> bool:
    """Whether two dominants, on different roots, lead to the same root by a fifth or half step."""
    return (
        one.target.root.pc == other.target.root.pc
        and one.applied == other.applied
        and {one.kind, other.kind} == {"V", "vii"}
    )


def _in_time(row: Sequence[ChordInKey], at: int, dominant: Dominant) -> Dominant:
    """The dominant with what became of it later than at the next root."""
    wanted = dominant.target.root.pc
    turned = _turned_minor(row, at) if dominant.kind == "V" else -1
    if turned >= 0 and dominant.resolution in ("resolves", "deceptive"):
        late: Resolution = "delayed" if dominant.resolution == "resolves" else "unresolved"
        return replace(dominant, resolution=late, arrival=turned, chain=False)
    if dominant.resolution != "unresolved":
        return dominant
    if dominant.arrival < 0:
        later = _after_silence(row, at)
        if _root_at(row, later) == wanted:
            return replace(dominant, resolution="interrupted", arrival=later)
        return dominant
    later = next_root(row, dominant.arrival)
    here = row[at].chord
    assert here is not None
    if _root_at(row, later) == here.root.pc:
        later = next_root(row, later)
    came = row[later].chord if later >= 0 else None
    if came is None or came.root.pc != wanted or came.triad == "dim":
        return dominant
    return replace(dominant, resolution="delayed")


def _turned_minor(row: Sequence[ChordInKey], at: int) -> int:
    """Index of a minor chord right behind a dominant on its own root, -1 where there is none."""
    here = row[at].chord
    for index in range(at + 1, len(row)):
        chord = row[index].chord
        if chord is None or here is None or chord.root.pc != here.root.pc:
            return -1
        if chord.triad in ("min", "dim"):
            return index
    return -1


def _root_at(row: Sequence[ChordInKey], at: int) -> int:
    chord = row[at].chord if at >= 0 else None
    return chord.root.pc if chord is not None else -1


def _after_silence(row: Sequence[ChordInKey], at: int) -> int:
    """Index of the chord that comes after a silence right behind a chord, -1 where none does."""
    here = row[at].chord
    silent = False
    for index in range(at + 1, len(row)):
        chord = row[index].chord
        if chord is None:
            silent = True
        elif silent:
            return index
        elif here is None or chord.root.pc != here.root.pc:
            return -1
    return -1
