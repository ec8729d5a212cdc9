"""Jobs for a worker process that behave well, crash, hang and talk nonsense, as libraries do."""

import ctypes
import os
import sys
import time
from collections.abc import Iterator

from analysis.errors import ReadingError
from app.worker.messages import Step


def count(end: int) -> Iterator[int]:
    yield from range(end)


def measure(payload: bytes) -> Iterator[int]:
    yield len(payload)


def steps() -> Iterator[Step]:
    yield Step("half done")


def refuse() -> Iterator[int]:
    yield 1
    raise ReadingError("This is not a score.", "line 7")


def stumble() -> Iterator[int]:
    yield 1 // 0


def die() -> Iterator[int]:
    """Crash as native code does: by reading where nothing is."""
    yield 1
    ctypes.string_at(0)


def leave() -> Iterator[int]:
    sys.stderr.write("a last word\n")
    sys.stderr.flush()
    yield 1
    os._exit(7)


def hang() -> Iterator[int]:
    yield 1
    time.sleep(3600)


def chatter() -> Iterator[int]:
    """Print among the answers, by Python and past it."""
    print("noise")
    os.write(1, b"more noise")
    yield 1


class _Foreign:
    """What cannot be unpickled, such as a value of another version of the program."""

    def __reduce__(self) -> tuple[object, tuple[str]]:
        return eval, ("1 // 0",)


def speak_another_language() -> Iterator[object]:
    yield _Foreign()
    time.sleep(3600)
