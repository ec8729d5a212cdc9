"""Worker processes that outlive their window and serve the next one.

A worker takes seconds to import what it needs, far longer than most stories take; a story that
does not break its workers hands them on. Only a process that is ready and idle is kept, and only
for a worker that would be started in the same way, in the same surroundings.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache

import pytest

from app.worker.processes import WorkerProcess, _Child

#: How a worker is started: what it loads, and its environment.
_Way = tuple[tuple[str, ...], tuple[tuple[str, str], ...]]
#: Processes of one kind that are kept.
MOST = 2
#: Variables that differ from story to story and mean nothing to a worker.
_BESIDE = ("PYTEST_CURRENT_TEST", "XDG_STATE_HOME")


class SpareWorkers:
    """Idle processes, by how they were started."""

    def __init__(self) -> None:
        self._kept: dict[_Way, list[_Child]] = {}
        self._ways: dict[_Child, _Way] = {}

    @contextmanager
    def lent(self) -> Iterator[None]:
        """While this lasts, workers begin with a spare process and leave theirs behind.

        A process is left only where it was also begun so; one that replaced a lost one never is.
        """
        start, close = WorkerProcess._start, WorkerProcess.close

        def start_or_take(worker: WorkerProcess) -> None:
            way = _way(worker)
            while kept := self._kept.get(way):
                child = kept.pop()
                if child.process.poll() is None:
                    worker._child, worker._ready = child, True
                    child.heard.connect(worker._hear)
                    child.ended.connect(worker._mourn)
                    for request in worker._pending:
                        child.send(request)
                    return
                child.end()
            start(worker)
            if worker._child is not None:
                self._ways[worker._child] = way

        def close_or_keep(worker: WorkerProcess) -> None:
            child = worker._child
            way = self._ways.get(child) if child is not None else None
            if child is None or way is None or not worker.ready or worker.busy:
                close(worker)
                return
            kept = self._kept.setdefault(way, [])
            if len(kept) == MOST or child.process.poll() is not None:
                close(worker)
                return
            worker._child = None
            child.heard.disconnect(worker._hear)
            child.ended.disconnect(worker._mourn)
            kept.append(child)

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(WorkerProcess, "_start", start_or_take)
            patch.setattr(WorkerProcess, "close", close_or_keep)
            yield

    def end(self) -> None:
        """End them all."""
        for kept in self._kept.values():
            for child in kept:
                child.end()
        self._kept.clear()
        self._ways.clear()


@cache
def spare_workers() -> SpareWorkers:
    """Those of this run."""
    return SpareWorkers()


def _way(worker: WorkerProcess) -> _Way:
    surroundings = ((name, value) for name, value in os.environ.items() if name not in _BESIDE)
    return worker._warm, tuple(sorted(surroundings))
