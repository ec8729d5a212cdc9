"""What the window and a worker process say to each other, as picklable values."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from analysis.errors import OverstaveError
from app.export.folders import Outcome


@dataclass(frozen=True, slots=True)
class Request:
    """A wish for work.

    ``job`` names a generator function as ``"package.module:function"``; only the worker process
    imports it. A `Kept` among the arguments stands for what an earlier job left in the process.
    ``limit`` is how many seconds may pass between two answers.
    """

    id: int
    job: str
    arguments: tuple[Any, ...]
    limit: float


@dataclass(frozen=True, slots=True)
class Step:
    """What a job is doing now, in words; a job yields it among its results.

    Where it is known how much there is to do, ``done`` of ``count`` things are done.
    """

    text: str
    done: int = 0
    count: int = 0


@dataclass(frozen=True, slots=True)
class Keep:
    """What a job leaves in its process for later ones, so that it need not be sent again."""

    name: str
    value: Any


#: The name under which the reading process keeps a score and its last analysis.
LAST: Final = "last analysis"


@dataclass(frozen=True, slots=True)
class Kept:
    """What was left under that name."""

    name: str


@dataclass(frozen=True, slots=True)
class Exported:
    """What an export has made: its folder, all files in it, and what became of them."""

    folder: Path
    paths: tuple[Path, ...]
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of a picture once it is laid out.

    Parameters
    ----------
    measures
        Printed numbers of the first and last measure of each passage.
    text_share
        Height of the smallest capitals against the frame's; 0 where there is no text.
    warnings
        What would be hard to read, in sentences.
    reading
        Seconds that fast and slow readers need; None for pictures without a sentence.
    lines
        Lines of a card's sentence.
    steps
        Names of the steps of a reveal, or numbers of the pictures where there are several.
    """

    measures: tuple[tuple[str, str], ...]
    text_share: float
    warnings: tuple[str, ...]
    reading: tuple[float, float] | None = None
    lines: int = 0
    steps: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Painted:
    """A picture: premultiplied 32-bit pixels as Qt has them, row by row, and its facts."""

    width: int
    height: int
    pixels: bytes
    facts: Facts


@dataclass(frozen=True, slots=True)
class Ready:
    """The process has imported what it needs."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One thing that a job yielded."""

    request: int
    value: Any


@dataclass(frozen=True, slots=True)
class Done:
    """The job is through; nothing more comes for this request."""

    request: int


@dataclass(frozen=True, slots=True)
class Failed:
    """The job ended with an error in words; nothing more comes for this request."""

    request: int
    error: OverstaveError


#: What is said about a request.
Answered = Answer | Done | Failed
Message = Ready | Answered
