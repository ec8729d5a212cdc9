"""Breaks one step of a worker process, as a native library may: Python loads this at its start.

It does so where this folder is on ``PYTHONPATH``. Each step is wrapped when its module is loaded;
nothing happens until the file that ``OVERSTAVE_BREAKING`` names says ``STEP HOW``, and then that
step is broken once. The program itself knows nothing of this.
"""

import ctypes
import importlib.abc
import importlib.machinery
import os
import signal
import sys
from collections.abc import Callable, Sequence
from functools import wraps
from pathlib import Path
from types import ModuleType
from typing import Any

#: Where each step is done.
STEPS = {
    "reading": "app.worker.reading_jobs:read_score",
    "analysing": "app.worker.reading_jobs:analyse_first",
    "analysing again": "analysis.pipeline:analyse_again",
    "loading": "verovio:toolkit.loadData",
    "drawing": "verovio:toolkit.renderToSVG",
    "annotating": "app.export.annotated:annotate",
    "picture": "app.export.pictures:picture_png",
    "list": "app.export.manifests:manifest_bytes",
}


def _abort() -> None:
    """What an assertion in native code does."""
    os.abort()


def _crash() -> None:
    """Read where nothing is."""
    ctypes.string_at(0)


def _kill() -> None:
    """What a system does that has no memory left."""
    os.kill(os.getpid(), signal.SIGKILL)


def _hang() -> None:
    """An endless loop in native code, which lets no thread of Python's run."""
    ctypes.PyDLL(None).sleep(3600)


def _exhaust() -> None:
    raise MemoryError


WAYS: dict[str, Callable[[], None]] = {
    "abort": _abort, "crash": _crash, "kill": _kill, "hang": _hang, "exhaust": _exhaust,
}  # fmt: skip


def break_here(step: str, arguments: tuple[Any, ...]) -> None:
    """Do to a step what is wished for; ``drawing 2`` is the step with 2 as its last argument."""
    wish = Path(os.environ["OVERSTAVE_BREAKING"])
    try:
        wanted, _, how = wish.read_text().rpartition(" ")
    except OSError:
        return
    if wanted in (step, f"{step} {arguments[-1]}" if arguments else step):
        wish.unlink()
        WAYS[how]()


def _wrap(module: ModuleType, path: str, step: str) -> None:
    *owners, name = path.split(".")
    owner: Any = module
    for part in owners:
        owner = getattr(owner, part)
    work = getattr(owner, name)

    @wraps(work)
    def broken(*arguments: Any, **named: Any) -> Any:
        break_here(step, arguments)
        return work(*arguments, **named)

    setattr(owner, name, broken)


class _Loader(importlib.machinery.SourceFileLoader):
    """Wraps the steps of a module once it is loaded as usual."""

    def exec_module(self, module: ModuleType) -> None:
        super().exec_module(module)
        for step, place in STEPS.items():
            name, _, path = place.partition(":")
            if name == module.__name__:
                _wrap(module, path, step)


class _Finder(importlib.abc.MetaPathFinder):
    """Finds the modules that have steps."""

    def find_spec(
        self, name: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> importlib.machinery.ModuleSpec | None:
        if name not in {place.partition(":")[0] for place in STEPS.values()}:
            return None
        spec = importlib.machinery.PathFinder.find_spec(name, path, target)
        if spec is not None and spec.origin is not None:
            spec.loader = _Loader(name, spec.origin)
        return spec


if "OVERSTAVE_BREAKING" in os.environ:
    sys.meta_path.insert(0, _Finder())
