"""A process that opens broken files as the program does, with nothing to hold on to.

    python -m tests.faults.watched FOLDER SECRET

Reads lines of JSON, ``[number, whole]``, from standard input; a negative number is that of a case
with a name. Answers each with lines of JSON: ``phase`` when a new one begins, at the end
``outcome``: ``opened``, ``refused`` with the sentence, or ``uncaught`` with where.

Memory is limited by the system. Each phase may take so many seconds of processor time, whereupon
the system ends the process, as the window does with a worker that hangs. Whatever Python opens,
lists, renames, removes or connects to outside the folder is written down by an audit hook and
answered as ``strayed``; reading what the program itself consists of is no straying.
"""

from __future__ import annotations

import json
import os
import resource
import signal
import sys
import sysconfig
import traceback
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, BinaryIO

from PySide6.QtCore import QSettings

import analysis
import app
from analysis.errors import OverstaveError
from analysis.marks import Analysis, Settings
from analysis.pipeline import analyse
from analysis.reading.scores import read_score
from analysis.reading.sources import Source, read_source, source_of
from analysis.score import Score
from app.export.annotated import annotate, strip
from app.export.frames import FULL_HD
from app.export.marks_json import to_json
from app.export.still_layouts import lay_out_still
from app.export.talking_points import talking_points
from app.export.themes import read_theme_file
from app.preferences import Preferences
from app.review.carrying import carry_over, plan_carrying
from app.review.document import SourceInfo
from app.review.journals import read_journal
from app.review.storage import StoredReview, document_of, from_bytes, read_review, to_bytes
from app.review.writing import Writing, written
from app.worker.engraving_jobs import warm as warm_engraving
from app.worker.reading_jobs import warm as warm_reading
from tests.corpus.paths import canonical, pass_through
from tests.faults.cases import Case, bases, case, named_cases, reviewed

#: Bytes that a case may take beyond what the process has at the start.
MEMORY = 2 * 1024**3
#: Seconds of processor time for each phase.
SECONDS = 30.0
#: What is told about files; the second half of each name says what is done with them.
_EVENTS = (
    "open",
    "os.",
    "shutil.",
    "tempfile.",
    "socket.",
    "subprocess.",
    "glob.",
    "ctypes.dlopen",
)
_HARMLESS = ("os.putenv", "os.unsetenv", "os.fork", "os.getxattr", "os.listxattr")
Tell = Callable[..., None]


class Watch:
    """Writes down what happens outside a folder while it is armed."""

    def __init__(self, folder: Path) -> None:
        paths = sysconfig.get_paths()
        program = (analysis.__path__[0], app.__path__[0], paths["stdlib"], paths["purelib"])
        self._inside = str(folder.resolve())
        self._program = tuple(str(Path(path).resolve()) for path in program)
        self.armed = False
        self.strayed: list[str] = []
        sys.addaudithook(self._hear)

    def _hear(self, event: str, arguments: tuple[Any, ...]) -> None:
        if not self.armed or not event.startswith(_EVENTS) or event in _HARMLESS:
            return
        paths = [os.fsdecode(one) for one in arguments if isinstance(one, str | bytes | Path)]
        reading = event == "open" and isinstance(arguments[2], int) and not arguments[2] & _WRITING
        if event == "open":
            paths = paths[:1]
        for path in paths:
            full = os.path.abspath(path)
            allowed = (self._inside, *(self._program if reading else ()), *_ALWAYS)
            if not full.startswith(allowed):
                self.strayed.append(f"{event} {path}")
        if event.startswith(("socket.", "subprocess.")):
            self.strayed.append(event)


_WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_ALWAYS = (os.devnull,)


def main() -> None:
    """Take cases until standard input ends."""
    folder, secret = Path(sys.argv[1]), sys.argv[2]
    answers = os.fdopen(os.dup(1), "wb", buffering=0)
    os.dup2(2, 1)
    warm_reading()
    warm_engraving()
    known = {one.number: one for one in named_cases(secret)}
    bases(), reviewed(), corrected_base()
    watch = Watch(folder)
    _limit_memory()
    for line in sys.stdin:
        number, whole = json.loads(line)
        one = known[number] if number < 0 else case(number, secret)
        _answer(answers, _run(one, folder, whole, watch, answers))


def _run(one: Case, folder: Path, whole: bool, watch: Watch, answers: BinaryIO) -> dict[str, Any]:
    """Open a case; the answer about it."""
    path = folder / one.name
    path.write_bytes(one.data)
    said: dict[str, Any] = {"case": one.number, "kind": one.kind, "what": one.what}

    def tell(phase: str) -> None:
        signal.setitimer(signal.ITIMER_PROF, SECONDS)
        _answer(answers, {"case": one.number, "phase": phase, "what": one.what})

    tell("open")
    watch.strayed.clear()
    watch.armed = True
    try:
        said["passed"] = _OPENINGS[one.kind](path, whole, tell)
        said["outcome"] = "opened"
    except OverstaveError as error:
        said.update(outcome="refused", error=type(error).__name__, sentence=str(error))
    except MemoryError:
        # The worker says so in words.
        said.update(outcome="refused", error="MemoryError", sentence="Not enough memory.")
    except Exception as error:
        watch.armed = False
        trace = traceback.format_exc(limit=-6)
        said.update(outcome="uncaught", error=type(error).__name__, trace=trace)
    watch.armed = False
    signal.setitimer(signal.ITIMER_PROF, 0)
    said["strayed"] = watch.strayed[:5]
    left = sorted(other.name for other in folder.iterdir() if other != path)
    if left:
        said["strayed"] += [f"left behind {name}" for name in left]
    path.unlink()
    return said


# --- the program's own way with each kind of file --------------------------------------------


def open_score(path: Path, whole: bool, tell: Tell) -> str:
    source = read_source(path)
    tell("read")
    if not whole:
        read_score(source)
        return "read"
    tell("whole")
    pass_through(source, tell)
    return "whole"


def open_review(path: Path, whole: bool, tell: Tell) -> str:
    review = read_review(path)
    assert from_bytes(to_bytes(review)) == review
    tell("review")
    _use_review(review, whole)
    return "reviewed"


def open_journal(path: Path, whole: bool, tell: Tell) -> str:
    remains = read_journal(path)
    tell("journal")
    _use_review(remains.review, whole)
    return "recovered"


def open_theme(path: Path, whole: bool, tell: Tell) -> str:
    theme = read_theme_file(path)
    tell("theme")
    assert 0 < theme.body < 1
    return "read"


def open_preferences(path: Path, whole: bool, tell: Tell) -> str:
    preferences = Preferences(QSettings(str(path), QSettings.Format.IniFormat))
    assert all(isinstance(one, Path) for one in preferences.recent)
    assert isinstance(preferences.folder, str)
    assert preferences.look in ("system", "light", "dark")
    assert isinstance(preferences.guided, bool)
    assert 0.7 <= preferences.text_scale <= 2.5
    assert all(isinstance(one, str) for one in preferences.hidden_layers)
    written(reviewed()[0], preferences.writing)
    for name in ("columns", "window"):
        preferences.state(name)
    return "read"


_OPENINGS: dict[str, Callable[[Path, bool, Tell], str]] = {
    "score": open_score,
    "review": open_review,
    "journal": open_journal,
    "theme": open_theme,
    "preferences": open_preferences,
}


def _use_review(review: StoredReview, whole: bool) -> None:
    """Lay a review over its score, or carry it over where it says that it has another."""
    source, score, _ = corrected_base()
    info = SourceInfo(source.name, "", source.digest)
    if review.source.digest == source.digest:
        document = document_of(review, info, score, analyse(score, Settings(), review.corrections))
    else:
        plan = plan_carrying(review, score)
        analysis = analyse(score, Settings(), plan.corrections)
        carried = carry_over(plan, info, score, analysis)
        assert carried.report.summary
        document = document_of(carried.review, info, score, analysis)
    points = talking_points(document)
    written(document, Writing())
    to_json(document.analysis, score)
    assert canonical(strip(annotate(source, document))) == canonical(source.original)
    if whole and points:
        lay_out_still(document, source, points[0], FULL_HD)


@cache
def corrected_base() -> tuple[Source, Score, Analysis]:
    """The score that reviews are about."""
    source = source_of(bases()[0], "base.musicxml")
    score = read_score(source)
    return source, score, analyse(score)


def _limit_memory() -> None:
    pages = int(Path("/proc/self/statm").read_text().split()[0])
    most = pages * resource.getpagesize() + MEMORY
    resource.setrlimit(resource.RLIMIT_AS, (most, most))


def _answer(answers: BinaryIO, said: dict[str, Any]) -> None:
    answers.write(json.dumps(said).encode() + b"\n")


if __name__ == "__main__":
    main()
