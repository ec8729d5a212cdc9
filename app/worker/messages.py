"""What the window and a worker process say to each other, as picklable values."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from analysis.errors import OverstaveError


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
    """What a job is doing now, in words; a job yields it among its results."""

    text: str


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
class ExportWish:
    """What to write into which folder; size in pixels."""

    folder: Path
    annotated: bool
    stills: bool
    cards: bool
    size: tuple[int, int]


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
