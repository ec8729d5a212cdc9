"""The steps of reveals by name, free of what engraves them."""

from __future__ import annotations

from typing import Final, Literal, get_args

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
