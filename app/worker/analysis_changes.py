"""What one analysis has that another has not, so that only this crosses between processes.

After a correction most facts and marks are as before. A change names those by their place in the
analysis before and carries the rest. Applied to that analysis it gives the new one, with all that
stayed being the same objects, so that whoever compares the two is quick as well.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

from analysis.marks import Analysis

#: A run of values as before, ``(first, past the last)``, or new values.
_Piece = tuple[int, int] | list[Any]


@dataclass(frozen=True, slots=True)
class AnalysisChange:
    """For each field of an analysis, in order, the pieces that its sequence is put together of."""

    pieces: tuple[tuple[_Piece, ...], ...]


def change_between(before: Analysis, after: Analysis) -> AnalysisChange:
    """What makes the one analysis of the other."""
    return AnalysisChange(
        tuple(
            tuple(_pieces(getattr(before, field.name), getattr(after, field.name)))
            for field in fields(Analysis)
        )
    )


def changed(before: Analysis, change: AnalysisChange) -> Analysis:
    """The analysis after a change."""
    sequences: dict[str, Any] = {}
    for field, pieces in zip(fields(Analysis), change.pieces, strict=True):
        old = getattr(before, field.name)
        new: list[Any] = []
        for piece in pieces:
            new += old[piece[0] : piece[1]] if isinstance(piece, tuple) else piece
        sequences[field.name] = tuple(new)
    return Analysis(**sequences)


def _pieces(before: tuple[Any, ...], after: tuple[Any, ...]) -> list[_Piece]:
    places = {id(value): at for at, value in enumerate(before)}
    equals = {_name(value): at for at, value in enumerate(before)}
    pieces: list[_Piece] = []
    for value in after:
        at = places.get(id(value), -1)
        if at < 0:
            at = equals.get(_name(value), -1)
            at = at if at >= 0 and before[at] == value else -1
        last = pieces[-1] if pieces else None
        if at < 0:
            if isinstance(last, list):
                last.append(value)
            else:
                pieces.append([value])
        elif isinstance(last, tuple) and last[1] == at:
            pieces[-1] = (last[0], at + 1)
        else:
            pieces.append((at, at + 1))
    return pieces


def _name(value: Any) -> tuple[Any, ...]:
    """What tells values of one kind apart quickly; equal values have equal names."""
    own = getattr(value, "id", "") or getattr(value, "note", "") or getattr(value, "part", "")
    span = getattr(value, "span", None) or value.first
    later = getattr(value, "later", None)
    return (own, getattr(value, "kind", ""), span.start, span.end, later and later.start)
