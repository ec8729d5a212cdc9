"""Pauses of Python's collector of unreachable objects.

Reading and analysing make hundreds of thousands of values that all stay in use, and hold no circles
that a collector would have to find. Looking through them again and again costs a fifth of an
analysis and half of a reading, the more the longer the piece.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_held() -> Iterator[None]:
    """Hold the collector while something runs; it goes on as before afterwards.

    Examples
    --------
    >>> with collector_held():
    ...     gc.isenabled()
    False
    """
    was_running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_running:
            gc.enable()
