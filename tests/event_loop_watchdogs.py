"""A watchdog over Qt's event loop: how long it stood still, and what was done then.

A timer of the loop ticks every few milliseconds. The longest time between two ticks is what a user
would feel as a freeze: nothing is painted, no key is heard.

On a busy machine a thread may stand still because others have the processor. That is no fault of
the program, so it is left out where the system tells it (Linux does, in ``schedstat``); waiting for
a lock, for the disk or for another process counts.
"""

from __future__ import annotations

import signal
import time
import traceback
from collections.abc import Iterable
from pathlib import Path
from types import FrameType, TracebackType
from typing import Final, Self

from PySide6.QtCore import Qt, QTimer

#: Milliseconds between two ticks of the loop.
TICK: Final = 5
#: Seconds after which the stack is kept.
OVERDUE: Final = 0.1
_SCHEDULER: Final = Path("/proc/thread-self/schedstat")


def own_clock() -> float:
    """Seconds on a clock that stands still while this thread waits for a processor."""
    return time.perf_counter() - _scheduled(_SCHEDULER)[1]


def work_done(processes: Iterable[int]) -> float:
    """Seconds that this thread and the main threads of other processes have worked."""
    others = (Path(f"/proc/{process}/schedstat") for process in processes)
    return time.thread_time() + sum(_scheduled(path)[0] for path in others)


def _scheduled(path: Path) -> tuple[float, float]:
    """Seconds that a thread has run and waited for a processor; zeros where nobody says."""
    try:
        run, waited, *_ = path.read_text().split()
        return int(run) / 1e9, int(waited) / 1e9
    except (OSError, ValueError):
        return 0.0, 0.0


class EventLoopWatchdog:
    """Watches the event loop of the thread that enters it, until it is left.

    Parameters
    ----------
    stacks
        Whether to keep the stack where a tick is overdue, to find what a freeze comes from. It is
        taken by an alarm of the system, and in the middle of native code only when that returns.

    Attributes
    ----------
    longest
        Seconds of the longest stretch in which the loop did not turn, by `own_clock`.
    by_the_clock
        The same by the clock on the wall.
    stack
        What was being done in that stretch, as text.
    """

    def __init__(self, *, stacks: bool = False) -> None:
        self.longest = 0.0
        self.by_the_clock = 0.0
        self.stack = ""
        self._stacks = stacks
        self._seen = ""
        self._timer = QTimer(interval=TICK, timerType=Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self._tick)
        self._begin_stretch()

    def __enter__(self) -> Self:
        """Begin to watch."""
        if self._stacks:
            signal.signal(signal.SIGALRM, self._look)
        self._begin_stretch()
        self._timer.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, _: BaseException | None, __: TracebackType | None
    ) -> None:
        """Stop watching; a stretch that has not ended counts as well."""
        self._tick()
        self._timer.stop()
        if self._stacks:
            signal.setitimer(signal.ITIMER_REAL, 0)

    def __str__(self) -> str:
        """The longest stretch in words."""
        words = f"{self.longest * 1000:.0f} ms, by the clock {self.by_the_clock * 1000:.0f} ms"
        return f"{words}\n{self.stack}".rstrip()

    def _begin_stretch(self) -> None:
        self._last, self._last_clock = own_clock(), time.perf_counter()
        self._seen = ""
        if self._stacks:
            signal.setitimer(signal.ITIMER_REAL, OVERDUE)

    def _tick(self) -> None:
        stretch = own_clock() - self._last - TICK / 1000
        if stretch > self.longest:
            self.longest = stretch
            self.by_the_clock = time.perf_counter() - self._last_clock
            self.stack = self._seen
        self._begin_stretch()

    def _look(self, _: int, frame: FrameType | None) -> None:
        self._seen = "".join(traceback.format_stack(frame)[-14:])
