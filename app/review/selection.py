"""What is selected: the one thing all views show at the same time."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.timebase import Span


@dataclass(frozen=True, slots=True)
class Selection:
    """A mark, elements of the score, or a stretch of time; nothing where all are empty.

    Parameters
    ----------
    mark
        Id of the selected mark, empty where none is.
    elements
        Ids of notes and chord symbols to light, in score order.
    span
        The place to show; None where there is none.
    """

    mark: str = ""
    elements: tuple[str, ...] = ()
    span: Span | None = None


NOTHING = Selection()
