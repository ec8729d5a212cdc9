"""How long a user waits for the first page, against verovio alone on the same file.

Both sides are measured in turn in one run, with the processes warm: *bare* is verovio's own load
and the rendering of its first page, here in the window's process; *first page* is from the wish to
open the file until the page is painted in the window, through the worker process and all. Medians
are compared, since a busy machine makes single figures worthless. The time until the marks are
there and the start of the program are told without a limit.
"""

from __future__ import annotations

import os
import tempfile
import threading
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from statistics import median
from typing import Any, Final

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import verovio
from PySide6.QtCore import QEventLoop, QSettings, QTimer
from PySide6.QtWidgets import QApplication

import sample_scores
from analysis.reading.sources import read_source
from app.engraving.pages import Page
from app.preferences import Preferences
from app.start_window import make_application
from app.window import Window
from app.worker.warming import load_letters

LIMIT: Final = 2.0
ROUNDS: Final = 7
OPTIONS: Final = {"scale": 100, "pageWidth": 2100, "pageHeight": 2970, "footer": "none"}


def measure(scores: Iterable[Path] = ()) -> list[dict[str, Any]]:
    """One figure a score (the samples where none are given), and the start of the program."""
    paths = list(scores) or sorted(Path(sample_scores.__path__[0]).glob("*.musicxml"))
    begun = time.perf_counter()
    application = QApplication.instance() or make_application()
    threading.Thread(target=load_letters, daemon=True).start()
    with tempfile.TemporaryDirectory() as folder:
        settings = QSettings(str(Path(folder) / "settings.ini"), QSettings.Format.IniFormat)
        window = Window(Preferences(settings))
        window.show()
        application.processEvents()
        shown = time.perf_counter() - begun
        _wait(lambda: window.workshop.ready)
        ready = time.perf_counter() - begun
        figures = [_figure(window, path) for path in paths]
        window.close()
    start = {"name": "start", "value": shown, "limit": None, "holds": True, "ready": ready}
    return [start, *figures]


def _figure(window: Window, path: Path) -> dict[str, Any]:
    text = read_source(path).musicxml.decode()
    bare, first, marks = [], [], []
    for _ in range(ROUNDS):
        bare.append(_bare(text))
        one, other = _open(window, path)
        first.append(one)
        marks.append(other)
    ratio = median(first) / median(bare)
    return {
        "name": f"first page of {path.name}",
        "value": ratio,
        "limit": LIMIT,
        "holds": ratio <= LIMIT,
        "bare_seconds": median(bare),
        "first_page_seconds": median(first),
        "marks_seconds": median(marks),
    }


def _bare(text: str) -> float:
    begun = time.perf_counter()
    toolkit = verovio.toolkit()
    toolkit.setOptions(OPTIONS)
    toolkit.loadData(text)
    toolkit.renderToSVG(1)
    return time.perf_counter() - begun


def _open(window: Window, path: Path) -> tuple[float, float]:
    """Seconds from the wish until the first page is painted, and until the marks are there."""
    times: dict[str, float] = {}
    begun = time.perf_counter()

    def painted(page: Page) -> None:
        if page.index == 0:
            window.workbench.score.viewport().repaint()
            times["first"] = time.perf_counter() - begun

    def analysed() -> None:
        times["marks"] = time.perf_counter() - begun

    window.workshop.page_engraved.connect(painted)
    window.workshop.analysed.connect(analysed)
    window.filing.open_path(path)
    _wait(lambda: not window.workshop.busy)
    window.workshop.page_engraved.disconnect(painted)
    window.workshop.analysed.disconnect(analysed)
    return times["first"], times["marks"]


def _wait(done: Callable[[], bool]) -> None:
    """Run the event loop until something is done, without asking so often as to be in the way."""
    loop = QEventLoop()
    timer = QTimer(interval=5)

    def look() -> None:
        if done():
            loop.quit()

    timer.timeout.connect(look)
    timer.start()
    loop.exec()


def main() -> None:
    """Print the figures."""
    for figure in measure():
        print(*(f"{name}={value}" for name, value in figure.items()))


if __name__ == "__main__":
    main()
