"""What runs in a worker process: requests come in on standard input, answers go out.

Started as ``python -m app.worker.child WARM``, where WARM names a function to call first, such as
one that imports the slow libraries. Whatever those print goes to standard error, so that it cannot
get among the answers.
"""

from __future__ import annotations

import faulthandler
import gc
import os
import pickle
import queue
import signal
import sys
import threading
import traceback
from collections.abc import Iterator
from pkgutil import resolve_name
from typing import Any, BinaryIO

from analysis.errors import OverstaveError
from app.worker.messages import Answer, Done, Failed, Keep, Kept, Message, Ready, Request

#: Seconds that the window has to notice a hang before the process ends itself.
GRACE = 30


def main() -> None:
    """Serve requests until standard input ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    faulthandler.enable()
    requests, answers = _private_pipes()
    waiting: queue.SimpleQueue[Request] = queue.SimpleQueue()
    threading.Thread(target=_take_in, args=(requests, waiting), daemon=True).start()
    for warm in sys.argv[1:]:
        resolve_name(warm)()
    # The libraries stay; looking through them for what is unreachable would hold up each page.
    gc.freeze()
    gc.set_threshold(50_000, 20, 100)
    _send(answers, Ready())
    kept: dict[str, Any] = {}
    while True:
        _serve(waiting.get(), kept, answers)


def answers_to(request: Request, kept: dict[str, Any]) -> Iterator[Message]:
    """Run a job; whatever it raises becomes an error in words.

    What the job leaves for later ones is put into ``kept``.

    Examples
    --------
    >>> list(answers_to(Request(1, "builtins:iter", ("ab",), 5.0), {}))
    [Answer(request=1, value='a'), Answer(request=1, value='b'), Done(request=1)]
    """
    try:
        arguments = [kept[one.name] if isinstance(one, Kept) else one for one in request.arguments]
        for value in resolve_name(request.job)(*arguments):
            if isinstance(value, Keep):
                kept[value.name] = value.value
            else:
                yield Answer(request.id, value)
        yield Done(request.id)
    except OverstaveError as error:
        yield Failed(request.id, error)
    except MemoryError:
        yield Failed(request.id, OverstaveError("There is not enough memory for this score."))
    except Exception as error:
        sentence = "Something went wrong that should not; the details say where."
        details = f"{request.job}\n{traceback.format_exc()}"
        yield Failed(request.id, OverstaveError(f"{sentence} ({type(error).__name__})", details))


def _serve(request: Request, kept: dict[str, Any], answers: BinaryIO) -> None:
    for message in answers_to(request, kept):
        _set_alarm(request.limit)
        _send(answers, message)
    _set_alarm(0)


def _set_alarm(limit: float) -> None:
    """Let the system end this process if it hangs and the window is no longer there to do so."""
    if hasattr(signal, "setitimer"):
        signal.setitimer(signal.ITIMER_REAL, limit + GRACE if limit else 0)


def _take_in(requests: BinaryIO, waiting: queue.SimpleQueue[Request]) -> None:
    """Read requests as they come, so that the window never waits for room in the pipe."""
    while True:
        try:
            waiting.put(pickle.load(requests))
        except Exception:
            # The window is gone, perhaps in the middle of a request, which is then no pickle; a
            # job in progress is of no use to anyone.
            os._exit(0)


def _send(answers: BinaryIO, message: Message) -> None:
    try:
        pickle.dump(message, answers, pickle.HIGHEST_PROTOCOL)
        answers.flush()
    except BrokenPipeError:
        os._exit(0)


def _private_pipes() -> tuple[BinaryIO, BinaryIO]:
    """The two pipes under new numbers; 0 and 1 are left for libraries that print or read."""
    requests = os.fdopen(os.dup(0), "rb")
    answers = os.fdopen(os.dup(1), "wb")
    nothing = os.open(os.devnull, os.O_RDONLY)
    os.dup2(nothing, 0)
    os.dup2(2, 1)
    return requests, answers


if __name__ == "__main__":
    main()
