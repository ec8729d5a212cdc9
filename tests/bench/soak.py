"""Hundreds of rounds of work in one process: does anything grow, does anything stay behind.

    python -m tests.bench.soak --rounds 500 --json soak.json

A round opens one of the samples, reviews it, edits it with a correction that is analysed again,
undoes and redoes, saves, exports, and closes; every tenth export is cancelled half-way. After each
round are measured: the resident memory of the window and of the two workers, how much of the
window's the C library has given out (the rest of a growth is free and only scattered; nan where
there is no glibc), Python's blocks, open files and threads of the window, the processes that
descend from it (known by a word in their environment, so that an orphan counts too), and what lies
in the folder for temporary files.

Memory counts as flat where the median of the last twenty-four rounds is at most 5 % above that of
the twenty-four that follow the first fifty; whole numbers of samples, since these differ in size.
Linux alone tells all this (in /proc).
"""

from __future__ import annotations

import argparse
import ctypes
import json
import os
import shutil
import sys
import tempfile
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from statistics import median
from typing import Any, Final

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QDeadlineTimer, QEventLoop, QSettings, QTimer
from PySide6.QtWidgets import QApplication, QMessageBox

import sample_scores
from analysis.pitch import Key
from analysis.timebase import Span
from app.export.frames import Frame
from app.preferences import Preferences
from app.review.correction_edits import SetKey
from app.review.edits import Reword
from app.review.safekeeping import Safekeeping
from app.start_window import make_application
from app.window import Window
from app.worker.export_wishes import ExportWish, Sort

#: Rounds in which caches fill.
FIRST: Final = 50
#: Rounds whose median is compared; a multiple of the number of samples.
SPAN: Final = 24
LIMIT: Final = 1.05
#: Milliseconds that one step may take on a busy machine.
PATIENCE: Final = 120_000
MARKER: Final = "OVERSTAVE_SOAK"


@dataclass(frozen=True, slots=True)
class Reading:
    """What was measured after a round; memory in megabytes."""

    seconds: float
    window: float
    given_out: float
    blocks: int
    engraver: float
    reader: float
    files: int
    threads: int
    processes: int
    temporary: int
    left_in_songs: int


def measure(rounds: int, tell: Callable[[str], object] = print) -> list[Reading]:
    """A reading after each round, in a window of its own; see the module's docstring."""
    application = QApplication.instance() or make_application()
    readings = []
    with _marked() as (scratch, token):
        settings = QSettings(str(scratch / "settings.ini"), QSettings.Format.IniFormat)
        window = Window(Preferences(settings), Safekeeping(scratch / "state"))
        window.show()
        work = _Work(window, scratch / "songs")
        work.wait(lambda: window.workshop.ready)
        begun = time.perf_counter()
        for number in range(rounds):
            work.round(number)
            readings.append(_read(window, scratch, token, time.perf_counter() - begun))
            if number % 10 == 9 or number < 3:
                tell(f"{number + 1} {readings[-1]}")
        window.close()
        work.wait(lambda: _descendants(token) == 0)
        window.deleteLater()
        application.sendPostedEvents()
    return readings


def figures(readings: list[Reading]) -> list[dict[str, Any]]:
    """Growth of each measure, as ratios or counts."""
    found = []
    start, end = readings[FIRST:][:SPAN], readings[-SPAN:]
    for name in ("window", "engraver", "reader"):
        before, after = (median(getattr(one, name) for one in part) for part in (start, end))
        found.append(_figure(f"memory of the {name}", after / before, LIMIT, before, after))
    for name in ("files", "threads", "processes", "temporary", "left_in_songs"):
        before, after = (max(getattr(one, name) for one in part) for part in (start, end))
        found.append(_figure(f"more {name}", after - before, 0, before, after))
    return found


def _figure(name: str, value: float, limit: float, before: float, after: float) -> dict[str, Any]:
    return {
        "name": name, "value": value, "limit": limit, "holds": value <= limit,
        "before": before, "after": after,
    }  # fmt: skip


class _Work:
    """The user of a window."""

    def __init__(self, window: Window, songs: Path) -> None:
        self.window = window
        self.songs = songs
        self.samples = sorted(Path(sample_scores.__path__[0]).glob("*.musicxml"))
        songs.mkdir()

    def wait(self, done: Callable[[], bool]) -> None:
        """Run the event loop until something is done.

        It is a real loop: where events are asked for in turn, nothing is ever deleted later.
        """
        loop, timer, deadline = QEventLoop(), QTimer(interval=5), QDeadlineTimer(PATIENCE)

        def look() -> None:
            if done() or deadline.hasExpired():
                loop.quit()

        timer.timeout.connect(look)
        timer.start()
        loop.exec()
        if not done():
            raise TimeoutError("the window has not finished in two minutes")

    def round(self, number: int) -> None:
        """Open, review, edit, undo, save, export, close."""
        window = self.window
        score = Path(shutil.copy(self.samples[number % len(self.samples)], self.songs))
        window.filing.open_path(score)
        self.wait(lambda: not window.workshop.busy)
        for name in ("next_mark", "accept", "accept", "reject", "next_mark"):
            window.actions_by_name[name].trigger()
        document = window.session.document
        assert document is not None, [box.text() for box in self.boxes()]
        window.session.perform(Reword(next(iter(document.marks())).id, sentence="Said again."))
        span = Span(document.score.measures[2].onset, document.score.measures[4].onset)
        window.session.perform(SetKey(span, Key.parse("F# minor")))
        self.wait(lambda: not window.session.pending)
        while window.session.undo_stack.canUndo():
            window.session.undo_stack.undo()
        for _ in range(3):
            window.session.undo_stack.redo()
        window.filing.saving.save()
        assert not window.session.modified, [box.text() for box in self.boxes()]
        self.export(cancelled=number % 10 == 9)
        window.filing.close_document()
        self.wait(lambda: not window.workshop.busy)
        for path in (*self.songs.glob("*.review.json*"), score):
            path.unlink()
        shutil.rmtree(self.songs / "out")

    def export(self, *, cancelled: bool) -> None:
        """Export small cards and the annotated score."""
        out = self.songs / "out"
        sorts: frozenset[Sort] = frozenset({"score", "cards"})
        self.window.exporting.export(ExportWish(out, sorts=sorts, frame=Frame(640, 360)))
        if cancelled:
            self.wait(lambda: (out / "cards").is_dir())
            self.window.cancel()
            return
        self.wait(lambda: bool(self.boxes()))
        (box,) = self.boxes()
        assert "new" in box.text(), box.text()
        box.reject()
        self.wait(lambda: not self.boxes())

    def boxes(self) -> list[QMessageBox]:
        """Messages on screen."""
        return [box for box in self.window.findChildren(QMessageBox) if box.isVisible()]


@contextmanager
def _marked() -> Iterator[tuple[Path, str]]:
    """A scratch folder, with temporary files in it, and a word that processes inherit."""
    token = uuid.uuid4().hex
    with tempfile.TemporaryDirectory(prefix="overstave-soak-") as folder:
        scratch = Path(folder)
        (scratch / "temporary").mkdir()
        before = tempfile.tempdir
        tempfile.tempdir = str(scratch / "temporary")
        os.environ[MARKER], os.environ["TMPDIR"] = token, tempfile.tempdir
        try:
            yield scratch, token
        finally:
            tempfile.tempdir = before
            del os.environ[MARKER], os.environ["TMPDIR"]


def _read(window: Window, scratch: Path, token: str, seconds: float) -> Reading:
    pids = window.workshop.pids
    assert len(pids) == 2, "both workers stand ready"
    return Reading(
        seconds=round(seconds, 1),
        window=_megabytes(os.getpid()),
        given_out=given_out(),
        blocks=sys.getallocatedblocks(),
        engraver=_megabytes(pids[0]),
        reader=_megabytes(pids[1]),
        files=len(os.listdir("/proc/self/fd")),
        threads=len(os.listdir("/proc/self/task")),
        processes=_descendants(token),
        temporary=len(list((scratch / "temporary").rglob("*"))),
        left_in_songs=len(list((scratch / "songs").rglob("*"))),
    )


def _megabytes(pid: int) -> float:
    """Resident memory of a process."""
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return round(pages * os.sysconf("SC_PAGE_SIZE") / 1e6, 1)


class _Given(ctypes.Structure):
    """What glibc's ``mallinfo2`` answers, in bytes; see its manual page."""

    _fields_ = [
        (name, ctypes.c_size_t)
        for name in (
            "arena", "ordblks", "smblks", "hblks", "hblkhd",
            "usmblks", "fsmblks", "uordblks", "fordblks", "keepcost",
        )
    ]  # fmt: skip


def given_out() -> float:
    """Memory that the C library has given out and not got back."""
    try:
        ask = ctypes.CDLL(None).mallinfo2
    except AttributeError:
        return float("nan")
    ask.restype = _Given
    told = ask()
    return round(float(told.uordblks + told.hblkhd) / 1e6, 2)


def _descendants(token: str) -> int:
    """How many processes were started with the word in their environment."""
    found = 0
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit() and int(entry.name) != os.getpid():
            try:
                found += f"{MARKER}={token}".encode() in (entry / "environ").read_bytes()
            except OSError:
                continue  # it has ended, or is another user's
    return found


def main() -> int:
    """Soak, print and write the figures and the curve."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.soak")
    parser.add_argument("--rounds", type=int, default=500)
    parser.add_argument("--json", type=Path)
    chosen = parser.parse_args()
    readings = measure(chosen.rounds, lambda text: print(text, file=sys.stderr, flush=True))
    found = figures(readings)
    for figure in found:
        print(figure)
    if chosen.json:
        curve = [asdict(one) for one in readings]
        chosen.json.write_text(json.dumps({"figures": found, "curve": curve}, indent=1) + "\n")
    return 0 if all(figure["holds"] for figure in found) else 1


if __name__ == "__main__":
    sys.exit(main())
