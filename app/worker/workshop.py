"""The worker processes of one window, and the work as the window asks for it.

Two processes stand ready. Opening a score, one of them engraves at once, so that the first page is
there as soon as verovio has it; then the other reads the notes and analyses while more pages come.
A third process is started for each export and ends with it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from PySide6.QtCore import QObject, Signal

from analysis.errors import OverstaveError
from analysis.marks import Analysis, Corrections
from analysis.score import Score
from analysis.sources import Source
from app.engraving.layouts import Layout
from app.engraving.pages import Page
from app.review.document import Document
from app.worker.messages import Answer, ExportWish, Failed, Message, Step
from app.worker.processes import WorkerProcess

ENGRAVE: Final = "app.worker.engraving_jobs"
READ: Final = "app.worker.reading_jobs"
EXPORT: Final = "app.worker.export_jobs"


class Workshop(QObject):
    """What the window asks to be done elsewhere.

    Signals
    -------
    source_read
        The `Source`, after the first page of what `open_score` was asked for.
    page_engraved
        A `Page`, in order.
    engraved
        No more pages come.
    analysed
        The `Score` and the `Analysis`.
    exported
        A list of the paths written.
    progressed
        What is being done now; empty when nothing is.
    failed
        An `OverstaveError`: nothing more comes of opening or engraving.
    export_failed
        An `OverstaveError`: the export has come to nothing.
    """

    source_read = Signal(object)
    page_engraved = Signal(object)
    engraved = Signal()
    analysed = Signal(object, object)
    exported = Signal(object)
    progressed = Signal(str)
    failed = Signal(object)
    export_failed = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._corrections = Corrections()
        self._score: Score | None = None
        self._engraver = WorkerProcess("engraving", (f"{ENGRAVE}:warm",), self)
        self._reader = WorkerProcess("reading and analysing", (f"{READ}:warm",), self)
        self._exporter: WorkerProcess | None = None
        self._engraver.answered.connect(self._hear_engraver)
        self._reader.answered.connect(self._hear_reader)

    @property
    def busy(self) -> bool:
        """Whether anything is being done."""
        exporting = self._exporter is not None
        return self._engraver.busy or self._reader.busy or exporting

    @property
    def ready(self) -> bool:
        """Whether both processes have loaded what they need."""
        return self._engraver.ready and self._reader.ready

    @property
    def pids(self) -> tuple[int, ...]:
        """The ids of the processes that stand ready."""
        return tuple(p.pid for p in (self._engraver, self._reader) if p.pid is not None)

    def open_score(self, path: Path, layout: Layout, corrections: Corrections) -> None:
        """Read, engrave and analyse a file; another that was being opened is dropped."""
        self._stop_opening()
        self._corrections = corrections
        self.progressed.emit(f"Opening {path.name}")
        self._engraver.request(f"{ENGRAVE}:open_and_engrave", path, layout)

    def engrave(self, source: Source, layout: Layout) -> None:
        """Engrave a score anew."""
        self._engraver.cancel()
        self.progressed.emit("Engraving")
        self._engraver.request(f"{ENGRAVE}:engrave_pages", source, layout)

    def export(self, source: Source, document: Document, wish: ExportWish) -> None:
        """Write files in a process of its own; one export at a time."""
        if self._exporter is None:
            self._exporter = WorkerProcess("export", (), self)
            self._exporter.answered.connect(self._hear_exporter)
            self.progressed.emit("Exporting")
            self._exporter.request(f"{EXPORT}:write_exports", source, document, wish, limit=300.0)

    def cancel(self) -> None:
        """Stop everything that is being done."""
        self._stop_opening()
        self._end_export()
        self.progressed.emit("")

    def close(self) -> None:
        """End all processes."""
        self._engraver.close()
        self._reader.close()
        self._end_export()

    def _stop_opening(self) -> None:
        self._engraver.cancel()
        self._reader.cancel()

    def _end_export(self) -> None:
        if self._exporter:
            self._exporter.close()
            self._exporter.deleteLater()
            self._exporter = None

    def _hear_engraver(self, message: Message) -> None:
        if isinstance(message, Answer):
            value = message.value
            if isinstance(value, Source):
                self._reader.request(f"{READ}:read_and_analyse", value, self._corrections)
                self.source_read.emit(value)
            elif isinstance(value, Page):
                self.page_engraved.emit(value)
            else:
                self._tell(value)
        elif isinstance(message, Failed):
            self._fail(message.error)
        else:
            self.engraved.emit()
            self._tell_if_idle()

    def _hear_reader(self, message: Message) -> None:
        if isinstance(message, Answer):
            value = message.value
            if isinstance(value, Score):
                self._score = value
            elif isinstance(value, Analysis):
                self.analysed.emit(self._score, value)
            else:
                self._tell(value)
        elif isinstance(message, Failed):
            self._fail(message.error)
        else:
            self._tell_if_idle()

    def _hear_exporter(self, message: Message) -> None:
        if isinstance(message, Answer):
            if isinstance(message.value, Step):
                self._tell(message.value)
            else:
                self.exported.emit(message.value)
        else:
            self._end_export()
            self._tell_if_idle()
            if isinstance(message, Failed):
                self.export_failed.emit(message.error)

    def _tell(self, step: object) -> None:
        if isinstance(step, Step):
            self.progressed.emit(step.text)

    def _tell_if_idle(self) -> None:
        if not self.busy:
            self.progressed.emit("")

    def _fail(self, error: OverstaveError) -> None:
        """One half of opening has failed, so the other is of no use."""
        self._stop_opening()
        self._tell_if_idle()
        self.failed.emit(error)
