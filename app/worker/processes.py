"""A worker process seen from the window: started early, watched, killed and replaced.

Nothing here waits. A thread writes requests, a thread reads and unpickles answers, and everything
else happens in the window's own event loop. Whatever becomes of the process, each request ends in
exactly one `Done` or `Failed`, unless it was cancelled.
"""

from __future__ import annotations

import os
import pickle
import queue
import subprocess
import sys
import tempfile
import threading
from pathlib import Path
from typing import Any, Final

from PySide6.QtCore import QObject, QThread, QTimer, Signal

import app
from analysis.errors import OverstaveError
from app.worker.messages import Answer, Done, Failed, Message, Ready, Request

#: Seconds between two answers after which a worker counts as hung.
LIMIT: Final = 120.0
#: How many times a process may die while starting before it is left alone.
STARTS: Final = 3


class WorkerProcess(QObject):
    """One process that runs jobs in the order asked for.

    Parameters
    ----------
    task
        What it does, for sentences: “engraving”.
    warm
        Functions (``"package.module:function"``) to call before the first request.
    """

    answered = Signal(object)

    def __init__(self, task: str, warm: tuple[str, ...], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._task = task
        self._warm = warm
        self._next_id = 0
        self._failed_starts = 0
        self._ready = False
        self._pending: list[Request] = []
        self._timer = QTimer(self, singleShot=True)
        self._timer.timeout.connect(self._give_up)
        self._child: _Child | None = None
        self._start()

    @property
    def pid(self) -> int | None:
        """The process's id; None while there is none."""
        return self._child.process.pid if self._child else None

    @property
    def ready(self) -> bool:
        """Whether the process has imported all it needs."""
        return self._ready

    @property
    def busy(self) -> bool:
        """Whether a request is still to be answered."""
        return bool(self._pending)

    def request(self, job: str, *arguments: Any, limit: float = LIMIT) -> int:
        """Ask for a job and return the number its answers will carry."""
        self._next_id += 1
        request = Request(self._next_id, job, arguments, limit)
        self._pending.append(request)
        if self._child is None:
            self._failed_starts = 0
            self._start()
        else:
            self._child.send(request)
        if len(self._pending) == 1:
            self._watch()
        return request.id

    def cancel(self) -> None:
        """Drop all that is asked for; a busy process is replaced by a fresh one."""
        if self._pending:
            self._pending.clear()
            self._end_child()
            self._start()

    def close(self) -> None:
        """End the process and drop all requests."""
        self._pending.clear()
        self._end_child()

    def _start(self) -> None:
        self._ready = False
        child = _Child(self._warm)
        child.heard.connect(self._hear)
        child.ended.connect(self._mourn)
        self._child = child
        child.start()
        for request in self._pending:
            child.send(request)

    def _end_child(self) -> None:
        self._timer.stop()
        if self._child:
            self._child.end()
            self._child = None

    def _watch(self) -> None:
        """Count from now how long the process may take to say something."""
        if self._pending:
            self._timer.start(int(self._pending[0].limit * 1000))
        else:
            self._timer.stop()

    def _hear(self, child: _Child, message: Message) -> None:
        if child is not self._child:
            return
        if isinstance(message, Ready):
            self._ready = True
            self._failed_starts = 0
        elif isinstance(message, Done | Failed):
            self._pending.pop(0)
        self._watch()
        if isinstance(message, Answer | Done | Failed):
            self.answered.emit(message)

    def _mourn(self, child: _Child) -> None:
        """The process is gone and nobody ended it on purpose."""
        if child is not self._child:
            return
        child.process.kill()  # it may live on, if it was its answer that could not be read
        code = child.process.wait()
        sentence = (
            f"The part of the program that does the {self._task} stopped unexpectedly. "
            "Nothing you had open is lost; try again, or try another file."
        )
        self._replace(sentence, f"exit code {code}\n{child.last_words()}")

    def _give_up(self) -> None:
        """The process has said nothing for too long."""
        if not self._pending or not self._child:
            return
        sentence = (
            f"The {self._task} took too long and was stopped. "
            "Nothing you had open is lost; the score may be too large or damaged."
        )
        details = f"no answer to {self._pending[0].job} in {self._pending[0].limit:g} s"
        self._replace(sentence, f"{details}\n{self._child.last_words()}")

    def _replace(self, sentence: str, details: str) -> None:
        """Put a fresh process in the place of a lost one, then tell who was waiting."""
        lost = [request.id for request in self._pending]
        self._pending.clear()
        self._end_child()
        self._failed_starts += 1
        if self._failed_starts < STARTS:
            self._start()
        for request in lost:
            self.answered.emit(Failed(request, OverstaveError(sentence, details)))


class _Child(QThread):
    """One life of a worker process; the thread reads what it says."""

    heard = Signal(object, object)
    ended = Signal(object)

    def __init__(self, warm: tuple[str, ...]) -> None:
        super().__init__()
        self._errors = tempfile.TemporaryFile()  # noqa: SIM115 - open as long as the process lives
        self._unread = ""
        self._outbox: queue.SimpleQueue[Request | None] = queue.SimpleQueue()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "app.worker.child", *warm],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._errors,
            env=_environment(),
        )
        threading.Thread(target=self._write, daemon=True).start()

    def send(self, request: Request) -> None:
        """Hand a request on, at once and without waiting."""
        self._outbox.put(request)

    def last_words(self) -> str:
        """The end of what the process wrote to standard error."""
        self._errors.seek(0, os.SEEK_END)
        self._errors.seek(max(0, self._errors.tell() - 4000))
        return self._errors.read().decode(errors="replace").strip() + self._unread

    def end(self) -> None:
        """Kill the process and let the threads run out."""
        self._outbox.put(None)
        self.process.kill()
        self.process.wait()
        self.wait()
        self._errors.close()
        assert self.process.stdout
        self.process.stdout.close()

    def run(self) -> None:
        """Read answers until the process is gone."""
        assert self.process.stdout
        while True:
            try:
                message = pickle.load(self.process.stdout)
            except EOFError:
                break
            except Exception as error:
                # An answer cut off by the death of its sender, or of a program newer than this.
                self._unread = f"\nan answer could not be read: {error!r}"
                break
            self.heard.emit(self, message)
        self.ended.emit(self)

    def _write(self) -> None:
        assert self.process.stdin
        try:
            with self.process.stdin as pipe:
                while request := self._outbox.get():
                    pickle.dump(request, pipe, pickle.HIGHEST_PROTOCOL)
                    pipe.flush()
        except (BrokenPipeError, OSError):
            pass  # The reading thread sees the same death and tells of it.


def _environment() -> dict[str, str]:
    """The surroundings of a worker: it finds this program and opens no window."""
    root = str(Path(app.__path__[0]).parent)
    paths = [root, *filter(None, os.environ.get("PYTHONPATH", "").split(os.pathsep))]
    return {
        **os.environ,
        "PYTHONPATH": os.pathsep.join(paths),
        "QT_QPA_PLATFORM": "offscreen",
        # Small arrays: handing them from thread to thread takes longer than the work.
        "OMP_NUM_THREADS": "1",
        "OPENBLAS_NUM_THREADS": "1",
    }
