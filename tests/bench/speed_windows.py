"""What one process measures of the window for the speed bench: opening, deciding, exporting.

The bare side of each figure is what the libraries take for the same work, in turn in one process:
verovio's loading and first page, Qt's painting of a page, both and the packing to PNG for pictures.
The peak of memory is taken before the bare sides begin, of the window's process and of the larger
of its workers.
"""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Callable, Sequence
from itertools import islice
from pathlib import Path
from statistics import median
from typing import Final

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import verovio
from PySide6.QtCore import QEvent, QEventLoop, QSettings, Qt, QTimer
from PySide6.QtGui import QPainter, QPixmap
from PySide6.QtWidgets import QApplication

from analysis.reading.sources import Source, read_source
from app.engraving.pages import Page
from app.engraving.painting import LIGHT, PagePainter
from app.export.passages import Contents
from app.export.talking_points import talking_points
from app.preferences import Preferences
from app.review.document import Document
from app.review.edits import Decide
from app.review.safekeeping import Safekeeping
from app.start_window import make_application
from app.window import Window
from app.worker.export_jobs import write_exports
from app.worker.export_wishes import ExportWish, Sort
from tests.bench.large_scores import large_score
from tests.bench.pictures import FrameClock
from tests.bench.speed_measures import PARTS, Seconds, peak, rounds_of

OPTIONS: Final = {"scale": 100, "pageWidth": 2100, "pageHeight": 2970, "footer": "none"}
#: All that an export makes beside pictures.
TEXTS: Final[frozenset[Sort]] = frozenset({"score", "tables", "script", "timeline"})
#: Marks that are decided, and talking points of which pictures are made.
DECISIONS: Final = 20
POINTS: Final = 10


def measure_window(measures: int) -> Seconds:
    """Seconds of the window on a score of so many measures, and of the bare libraries."""
    application = QApplication.instance() or make_application()
    assert isinstance(application, QApplication)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = folder / "large.musicxml"
        path.write_bytes(large_score(measures, PARTS))
        settings = QSettings(str(folder / "settings.ini"), QSettings.Format.IniFormat)
        window = Window(Preferences(settings), Safekeeping(folder / "state"))
        window.show()
        _wait(lambda: window.workshop.ready)
        try:
            seconds = _opening(window, path, rounds_of(measures))
            seconds |= _deciding(application, window)
            document = window.session.document
            assert document is not None
        finally:
            window.session.undo_stack.setClean()
            window.close()
        return {**seconds, **_exporting(read_source(path), document, folder / "out")}


def _opening(window: Window, path: Path, rounds: int) -> Seconds:
    text = path.read_text(encoding="utf-8")
    _open(window, path)
    held = {
        "peak of the window": peak(),
        "peak of a worker": max(map(_peak_of, window.workshop.pids)),
    }
    bare, first, marks = [], [], []
    for _ in range(rounds):
        begun = time.perf_counter()
        toolkit = verovio.toolkit()
        toolkit.setOptions(OPTIONS)
        toolkit.loadData(text)
        toolkit.renderToSVG(1)
        bare.append(time.perf_counter() - begun)
        one, other = _open(window, path)
        first.append(one)
        marks.append(other)
    return {
        "bare first page": median(bare),
        "first page": median(first),
        "marks": median(marks),
        **held,
    }


def _open(window: Window, path: Path) -> tuple[float, float]:
    """Seconds from the wish until the first page is painted, and until the marks are."""
    times: dict[str, float] = {}
    begun = time.perf_counter()

    def painted(page: Page) -> None:
        if page.index == 0:
            window.workbench.score.viewport().repaint()
            times["first"] = time.perf_counter() - begun

    def analysed() -> None:
        window.workbench.score.viewport().repaint()
        times["marks"] = time.perf_counter() - begun

    window.workshop.page_engraved.connect(painted)
    window.workshop.analysed.connect(analysed)
    window.filing.open_path(path)
    _wait(lambda: not window.workshop.busy)
    window.workshop.page_engraved.disconnect(painted)
    window.workshop.analysed.disconnect(analysed)
    return times["first"], times["marks"]


def _deciding(application: QApplication, window: Window) -> Seconds:
    """Accepting marks in view, one by one, beside painting a page at the same zoom."""
    session, view = window.session, window.workbench.score
    document = session.document
    assert document is not None
    shown = sorted(document.shown_marks(), key=lambda reviewed: reviewed.mark.span)
    decided, plain = [], []
    for reviewed, page in zip(shown[:DECISIONS], _round(view.pages[:8]), strict=False):
        begun = time.perf_counter()
        session.perform(Decide((reviewed.id,), "accepted"))
        for kind in (QEvent.Type.LayoutRequest, QEvent.Type.UpdateLater, QEvent.Type.UpdateRequest):
            application.sendPostedEvents(None, kind.value)
        decided.append(time.perf_counter() - begun)
        plain.append(_paint_plainly(page, view.column.zoom * view.devicePixelRatioF()))
    return {"accepting": median(decided), "bare page": median(plain)}


def _round(pages: Sequence[Page]) -> list[Page]:
    """Pages over and over, as many as there are decisions."""
    return [pages[at % len(pages)] for at in range(DECISIONS)]


def _paint_plainly(page: Page, scale: float) -> float:
    """Seconds to paint a page's notes, outlines at hand."""
    painter_of = PagePainter(page)
    seconds = 0.0
    for _ in range(2):
        begun = time.perf_counter()
        picture = QPixmap(round(page.width * scale), round(page.height * scale))
        picture.fill(Qt.GlobalColor.transparent)
        painter = QPainter(picture)
        painter.scale(scale, scale)
        painter_of.paint(painter, LIGHT)
        painter.end()
        seconds = time.perf_counter() - begun
    return seconds


def _exporting(source: Source, document: Document, folder: Path) -> Seconds:
    """Stills, then all that an export makes, with the pictures of a few talking points."""
    stills, others = FrameClock(source), FrameClock(source)
    marks = talking_points(document)[:POINTS]
    stills.time_still(document, marks[0], Contents(), folder / "warm")
    stills.whole = stills.engraving = stills.painting = stills.packing = 0.0
    for at, reviewed in enumerate(marks):
        stills.time_still(document, reviewed, Contents(), folder / f"still-{at}")
        others.time_card(document, reviewed, folder / f"card-{at}")
    for at, reviewed in enumerate(islice(marks, POINTS // 2)):
        others.time_reveal(document, reviewed, folder / f"reveal-{at}")
    begun = time.perf_counter()
    for _ in write_exports(source, document, ExportWish(folder / "texts", TEXTS)):
        pass
    texts = time.perf_counter() - begun
    begun = time.perf_counter()
    toolkit = verovio.toolkit()
    toolkit.setOptions(OPTIONS)
    toolkit.loadData(source.musicxml.decode())
    for page in range(1, toolkit.getPageCount() + 1):
        toolkit.renderToSVG(page)
    pages = time.perf_counter() - begun
    return {
        "stills": stills.whole,
        "bare stills": stills.bare,
        "texts and printed score": texts,
        "export": stills.whole + others.whole + texts,
        "bare export": stills.bare + others.bare + pages,
    }


def _peak_of(process: int) -> float:
    """Most memory that another process has held, in megabytes; 0 where the system does not say."""
    status = Path(f"/proc/{process}/status")
    lines = status.read_text(encoding="utf-8").splitlines() if status.exists() else []
    return max(
        (int(line.split()[1]) / 1024 for line in lines if line.startswith("VmHWM")), default=0
    )


def _wait(done: Callable[[], bool]) -> None:
    """Run the event loop until something is done."""
    loop = QEventLoop()
    timer = QTimer(interval=5)

    def look() -> None:
        if done():
            loop.quit()

    timer.timeout.connect(look)
    timer.start()
    loop.exec()
