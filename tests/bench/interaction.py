"""How quickly the window answers on a large score: 400 measures in six parts.

The real window with its real processes, off screen. Ratios are to *painting one page plain*: the
notes of one page at the zoom of the view, painted anew without marks, in turn with the steps, so
that both meet the same machine. Each step is measured from the key or the wheel until everything
that changed is on the screen. Medians count. Time that the window's thread waits for a processor is
left out (`own_clock`): on a busy machine it tells how much others worked. Milliseconds are by the
clock on the wall.

- *scroll*, *zoom*: a step of the wheel, over pages seen before and pages never seen. Limit 1.
- *selection*: ``J`` until the next mark is lit in score, timeline, list and detail. Limit 2.
- *decision*: ``A`` or ``R`` until the decided mark and the next one are shown. Limit 3.
- *edit*: a chord is set until the marks that follow it are shown, as the work of the window and of
  the process that analyses, one after the other. Limit: a tenth of the work of the first analysis
  and three pages' painting.
- *freezes*: the longest stretch in which the event loop did not turn, while opening, reviewing,
  correcting and exporting. Limit 200 ms.
"""

from __future__ import annotations

import os
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from statistics import median, quantiles
from typing import Any, Final

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QEvent, QEventLoop, QPoint, QPointF, QSettings, Qt, QTimer
from PySide6.QtGui import QPainter, QPixmap, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from analysis.chords import KIND_DEGREES, Chord
from analysis.marks import Corrections, Settings
from analysis.pipeline import analyse_first
from analysis.pitch import PitchName
from analysis.reading.scores import read_score
from analysis.reading.sources import source_of
from app.engraving.painting import LIGHT, PagePainter
from app.preferences import Preferences
from app.review.correction_edits import SetChord
from app.review.safekeeping import Safekeeping
from app.review.selection import NOTHING
from app.start_window import make_application
from app.window import Window
from app.worker.export_wishes import ExportWish
from app.worker.messages import Exported
from app.worker.warming import load_letters
from tests.bench.large_scores import large_score
from tests.event_loop_watchdogs import EventLoopWatchdog, own_clock, work_done

#: Seconds in which the event loop may stand still.
FREEZE: Final = 0.2
STEPS: Final = 40
NO_MODIFIER: Final = Qt.KeyboardModifier.NoModifier
CTRL: Final = Qt.KeyboardModifier.ControlModifier


def measure() -> list[dict[str, Any]]:
    """Figures of one window, opened, reviewed, corrected and exported from once."""
    application = QApplication.instance() or make_application()
    assert isinstance(application, QApplication)
    content = large_score()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "large.musicxml"
        path.write_bytes(content)
        settings = QSettings(str(Path(folder) / "settings.ini"), QSettings.Format.IniFormat)
        # As the program does at its start (`app.start_window`).
        threading.Thread(target=load_letters, daemon=True).start()
        window = Window(Preferences(settings), Safekeeping(Path(folder) / "state"))
        window.show()
        window.activateWindow()
        wait(lambda: window.workshop.ready)
        try:
            return _Bench(application, window).run(path, _first_analysis(content))
        finally:
            window.session.undo_stack.setClean()
            window.close()


class _Bench:
    """The steps of a user, each timed until it is on the screen."""

    def __init__(self, application: QApplication, window: Window) -> None:
        self.application, self.window = application, window
        self.painters: list[PagePainter] = []
        self.pages: list[tuple[float, float]] = []
        self.figures: list[dict[str, Any]] = []

    def run(self, path: Path, first_analysis: float) -> list[dict[str, Any]]:
        with self._without_freeze("opening"):
            self.window.filing.open_path(path)
            wait(lambda: not self.window.workshop.busy)
        self._settle()
        assert self.window.session.document
        for _ in range(24):  # outlines that all pages share are made at first
            self._plain_page()
        with self._without_freeze("reviewing"):
            self._scroll_and_zoom()
            self._select_and_decide()
        with self._without_freeze("correcting"):
            self._correct(first_analysis)
        with self._without_freeze("exporting"):
            self._export(path.parent / "exported")
        clock = median(clock for _, clock in self.pages)
        self._tell("painting one page plain, ms", clock * 1000)
        return self.figures

    def _plain_page(self) -> tuple[float, float]:
        """Seconds on both clocks to paint the notes of one page, the next one each time."""
        score = self.window.workbench.score
        self.painters = self.painters or [PagePainter(page) for page in score.pages[1:12]]
        self.painters.append(self.painters.pop(0))
        painter_of = self.painters[0]
        scale = score.column.zoom * score.devicePixelRatioF()

        def paint() -> None:
            page = painter_of.page
            picture = QPixmap(round(page.width * scale), round(page.height * scale))
            picture.fill(Qt.GlobalColor.transparent)
            painter = QPainter(picture)
            painter.scale(scale, scale)
            painter_of.paint(painter, LIGHT)
            painter.end()

        return _timed(paint)

    def _scroll_and_zoom(self) -> None:
        view = self.window.workbench.score
        view.verticalScrollBar().setValue(0)
        self._settle()
        self._ratio("a scroll step", [self._wheel(-120) for _ in range(6 * STEPS)], 1.0)
        zooms = []
        for at in range(STEPS):
            zooms.append(self._wheel(120 if at % 4 < 2 else -120, CTRL))
            if at % 4 == 3:
                self._pause(0.2)  # as a hand does, so that the pages are painted anew
        self._ratio("a zoom step", zooms, 1.0)
        view.fit_width()
        self._settle()

    def _wheel(
        self, angle: int, modifier: Qt.KeyboardModifier = NO_MODIFIER
    ) -> tuple[float, float]:
        viewport = self.window.workbench.score.viewport()
        at = viewport.rect().center()
        event = QWheelEvent(
            QPointF(at), QPointF(viewport.mapToGlobal(at)), QPoint(), QPoint(0, angle),
            Qt.MouseButton.NoButton, modifier, Qt.ScrollPhase.NoScrollPhase, False,
        )  # fmt: skip
        return self._shown(lambda: self.application.sendEvent(viewport, event))

    def _select_and_decide(self) -> None:
        window = self.window
        listed, session = window.workbench.marks.list, window.session
        session.select(NOTHING)
        listed.setFocus()
        self._settle()
        before = session.selection
        times = []
        for _ in range(STEPS):
            times.append(self._shown(lambda: QTest.keyClick(listed, Qt.Key.Key_J)))
            assert session.selection != before, "the next mark is selected"
            before = session.selection
        self._ratio("a selection to its highlight", times, 2.0)
        assert session.document
        times, decided = [], len(session.document.decisions)
        for at in range(STEPS):
            key = Qt.Key.Key_A if at % 3 else Qt.Key.Key_R
            times.append(self._shown(partial(QTest.keyClick, listed, key)))
        assert len(session.document.decisions) == decided + STEPS, "each key decides one mark"
        self._ratio("accepting or rejecting to its repaint", times, 3.0)

    def _correct(self, first_analysis: float) -> None:
        """Set chords in the first, the middle and the last measures."""
        session = self.window.session
        assert session.document
        root = PitchName.parse("E")
        chord = Chord(root, KIND_DEGREES["dominant"], root, "dominant")
        symbols = session.document.score.chord_symbols
        times = []
        for share in (0.02, 0.25, 0.5, 0.75, 0.97):
            span = symbols[int(share * len(symbols))].span
            processes = self.window.workshop.pids
            begun = work_done(processes)
            session.perform(SetChord(span, chord))
            assert session.pending, "the chord is another one"
            wait(lambda: not session.pending, step=1)
            self._show()
            times.append(work_done(processes) - begun)
            self._settle()
        page = median(own for own, _ in self.pages)
        limit = first_analysis / 10 + 3 * page
        self._tell("the first analysis, ms of work", first_analysis * 1000)
        self._tell("an edit until what follows it is shown, ms of work", median(times) * 1000)
        ratio = median(times) / limit
        name = "an edit, against a tenth of an analysis and 3 pages"
        self._add(name, ratio, 1.0, slowest_ms=max(times) * 1000)

    def _export(self, folder: Path) -> None:
        done: list[Exported] = []
        shop = self.window.workshop
        shop.exported.connect(done.append)
        self.window.exporting.export(ExportWish(folder, sorts=frozenset({"score"})))
        wait(lambda: not shop.busy)
        shop.exported.disconnect(done.append)
        assert done
        assert all(written.exists() for written in done[0].paths), "the files are there"

    # Measuring

    def _shown(self, act: Callable[[], object]) -> tuple[float, float]:
        """Seconds on both clocks from an act until all that it changed is painted."""

        def done() -> None:
            act()
            self._show()

        self._pause(0.02)
        seconds = _timed(done)
        self.pages.append(self._plain_page())
        return seconds

    def _show(self) -> None:
        """Let what is due be laid out and painted, without waiting for anything else."""
        for kind in (QEvent.Type.LayoutRequest, QEvent.Type.UpdateLater, QEvent.Type.UpdateRequest):
            self.application.sendPostedEvents(None, kind.value)

    def _settle(self) -> None:
        self._pause(0.5)

    def _pause(self, seconds: float) -> None:
        end = time.perf_counter() + seconds
        wait(lambda: time.perf_counter() > end)

    @contextmanager
    def _without_freeze(self, what: str) -> Iterator[None]:
        with EventLoopWatchdog(stacks=True) as watchdog:
            yield
        self._add(
            f"longest freeze while {what}, s", watchdog.longest, FREEZE,
            by_the_clock=watchdog.by_the_clock, stack=watchdog.stack,
        )  # fmt: skip

    def _ratio(self, name: str, seconds: list[tuple[float, float]], limit: float) -> None:
        """A step as a ratio to the pages painted in turn with it, and in milliseconds."""
        page, page_clock = (median(one) for one in zip(*self.pages[-len(seconds) :], strict=True))
        work, clock = (list(one) for one in zip(*seconds, strict=True))
        self._add(
            f"{name}, in pages", median(work) / page, limit,
            slow=quantiles(work, n=10)[-1] / page, by_the_clock=median(clock) / page_clock,
        )  # fmt: skip
        self._tell(f"{name}, ms", median(clock) * 1000)
        self._tell(f"{name}, ms, one in ten is slower", quantiles(clock, n=10)[-1] * 1000)

    def _add(self, name: str, value: float, limit: float, **more: object) -> None:
        holds = value <= limit
        self.figures.append({"name": name, "value": value, "limit": limit, "holds": holds, **more})

    def _tell(self, name: str, value: float) -> None:
        self.figures.append({"name": name, "value": value, "limit": None, "holds": True})


def _timed(work: Callable[[], object]) -> tuple[float, float]:
    """Seconds on this thread's own clock and on that on the wall."""
    begun, begun_clock = own_clock(), time.perf_counter()
    work()
    return own_clock() - begun, time.perf_counter() - begun_clock


def _first_analysis(content: bytes) -> float:
    """Seconds of the first analysis, everything loaded."""
    small = read_score(source_of(large_score(8), "small"))
    analyse_first(small, Settings(), Corrections())
    score = read_score(source_of(content, "large"))
    begun = time.thread_time()
    analyse_first(score, Settings(), Corrections())
    return time.thread_time() - begun


def wait(done: Callable[[], bool], step: int = 5) -> None:
    """Run the event loop until something is done."""
    loop = QEventLoop()
    timer = QTimer(interval=step)

    def look() -> None:
        if done():
            loop.quit()

    timer.timeout.connect(look)
    timer.start()
    loop.exec()
