"""The steps of reveals by name, free of what engraves them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal, cast, get_args

from analysis.errors import ExportError

StepName = Literal["score", "symbols", "numerals", "functions", "keys", "mark", "sentence"]
STEPS: Final[tuple[StepName, ...]] = get_args(StepName)
#: What is shown where nothing else is said.
USUAL: Final[tuple[StepName, ...]] = (
    "score",
    "symbols",
    "numerals",
    "functions",
    "mark",
    "sentence",
)


def check_steps(steps: Sequence[str]) -> tuple[StepName, ...]:
    """The steps, which are known and come once each.

    Raises
    ------
    ExportError
        If there is none, or one is unknown or named twice.
    """
    if not steps:
        raise ExportError(f"A reveal needs a step; there are {', '.join(STEPS)}.")
    for at, step in enumerate(steps):
        if step not in STEPS:
            raise ExportError(f"“{step}” is no step of a reveal; there are {', '.join(STEPS)}.")
        if step in steps[:at]:
            raise ExportError(f"The step “{step}” comes twice; each can come once.")
    return cast("tuple[StepName, ...]", tuple(steps))
