"""The worker processes of one window, and the work as the window asks for it.

Two processes stand ready. Opening a score, one of them engraves at once, so that the first page is
there as soon as verovio has it; then the other reads the notes and analyses while more pages come.
A third process is started for each export and ends with it.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from PySide6.QtCore import QObject, Signal

from analysis.errors import OverstaveError
from analysis.marks import Analysis, Corrections
from analysis.reading.sources import Source
from analysis.score import Score
from app.engraving.layouts import Layout
from app.engraving.pages import Page
from app.export.folders import remove_parts
from app.interface_words import said
from app.review.carrying import Carried
from app.review.document import Document
from app.review.storage import StoredReview
from app.worker.analysis_changes import AnalysisChange, changed
from app.worker.export_wishes import ExportWish
from app.worker.messages import LAST, Answer, Answered, Exported, Failed, Kept, Step
from app.worker.processes import WorkerProcess

ENGRAVE: Final = "app.worker.engraving_jobs"
READ: Final = "app.worker.reading_jobs"
EXPORT: Final = "app.worker.export_jobs"


@dataclass(frozen=True, slots=True)
class _Derivation:
    """A wish to analyse again: the number of its request, and what to follow."""

    request: int
    corrections: Corrections


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
    carried_over
        The review that was handed in, `Carried` over to another transcription.
    analysed
        The `Score` and the `Analysis`.
    pair_line_engraved
        A `PairLine` of the comparison asked for last.
    derived
        The `Corrections` that were followed and the `Analysis` that follows them.
    exported
        An `Exported`: what was written.
    export_progressed
        How many files of how many are done, and the name of the next.
    export_cancelled
        The export was stopped; each file that it wrote is whole.
    progressed
        What is being done now; empty when nothing is.
    failed
        An `OverstaveError`: nothing more comes of opening or engraving.
    pair_failed
        An `OverstaveError`: the passages could not be engraved.
    derivation_failed
        An `OverstaveError`: the open score could not be analysed again.
    derivation_dropped
        Something else was asked for, so the open score is not analysed again.
    export_failed
        An `OverstaveError`: the export has come to nothing.
    """

    source_read = Signal(object)
    page_engraved = Signal(object)
    engraved = Signal()
    carried_over = Signal(object)
    analysed = Signal(object, object)
    pair_line_engraved = Signal(object)
    derived = Signal(object, object)
    exported = Signal(object)
    export_progressed = Signal(int, int, str)
    export_cancelled = Signal()
    progressed = Signal(str)
    failed = Signal(object)
    pair_failed = Signal(object)
    derivation_failed = Signal(object)
    derivation_dropped = Signal()
    export_failed = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._review: StoredReview | None = None
        self._score: Score | None = None
        #: The last analysis that the reader sent, and the process that keeps it too.
        self._last: Analysis | None = None
        self._last_keeper: int | None = None
        self._derivation: _Derivation | None = None
        #: The numbers of all comparisons that are still being engraved; the last one counts.
        self._pairs: list[int] = []
        self._next_wish: tuple[Source, Corrections] | None = None
        self._engraver = WorkerProcess("engraving", (f"{ENGRAVE}:warm",), self)
        self._reader = WorkerProcess("reading and analysing", (f"{READ}:warm",), self)
        self._exporter: WorkerProcess | None = None
        self._exports_into = Path()
        self._exported: Exported | None = None
        self._engraver.answered.connect(self._hear_engraver)
        self._reader.answered.connect(self._hear_reader)

    @property
    def exporting(self) -> bool:
        """Whether files are being written."""
        return self._exporter is not None

    @property
    def busy(self) -> bool:
        """Whether anything is being done."""
        return self._engraver.busy or self._reader.busy or self.exporting

    @property
    def ready(self) -> bool:
        """Whether both processes have loaded what they need."""
        return self._engraver.ready and self._reader.ready

    @property
    def pids(self) -> tuple[int, ...]:
        """The ids of the processes that stand ready."""
        return tuple(p.pid for p in (self._engraver, self._reader) if p.pid is not None)

    def open_score(self, path: Path, layout: Layout, review: StoredReview | None = None) -> None:
        """Read, engrave and analyse a file; another that was being opened is dropped.

        With a review its corrections are followed, and what it decided about an earlier
        transcription is carried over.
        """
        self._stop_opening()
        self._review = review
        self.progressed.emit(said("Opening {file}", file=path.name))
        self._engraver.request(f"{ENGRAVE}:open_and_engrave", path, layout)

    def engrave(self, source: Source, layout: Layout) -> None:
        """Engrave a score anew."""
        self._stop_engraving()
        self.progressed.emit(said("Engraving"))
        self._engraver.request(f"{ENGRAVE}:engrave_pages", source, layout)

    def engrave_pair(
        self,
        source: Source,
        first: tuple[str, int, int],
        later: tuple[str, int, int],
        width: float,
    ) -> None:
        """Engrave two passages, each a part with its first and last measure, for a comparison."""
        self.progressed.emit(said("Engraving"))
        job = f"{ENGRAVE}:engrave_pair"
        self._pairs.append(self._engraver.request(job, source, first, later, width))

    def derive(self, source: Source, corrections: Corrections) -> None:
        """Analyse the open score again; a wish that waits is overtaken by a later one."""
        if self._derivation is not None:
            same = self._derivation.corrections == corrections
            self._next_wish = None if same else (source, corrections)
            return
        self.progressed.emit(said("Analysing again"))
        if self._last is not None and self._last_keeper == self._reader.pid:
            number = self._reader.request(f"{READ}:analyse_again", Kept(LAST), corrections)
        else:
            # The process that knew the score is gone, so the next one reads it anew.
            number = self._reader.request(f"{READ}:read_and_analyse", source, corrections)
        self._derivation = _Derivation(number, corrections)

    def export(self, source: Source, document: Document, wish: ExportWish) -> None:
        """Write files in a process of its own; one export at a time."""
        if self._exporter is None:
            self._exporter = WorkerProcess("export", (), self)
            self._exporter.answered.connect(self._hear_exporter)
            self._exports_into = wish.folder
            self.progressed.emit(said("Exporting"))
            self._exporter.request(f"{EXPORT}:write_exports", source, document, wish, limit=300.0)

    def cancel(self) -> None:
        """Stop everything that is being done."""
        self._stop_opening()
        self.cancel_export()
        self.progressed.emit("")

    def cancel_export(self) -> None:
        """Stop exporting; what is written already stays, each file whole."""
        if self._exporter is not None:
            self._end_export()
            self._tell_if_idle()
            self.export_cancelled.emit()

    def close(self) -> None:
        """End all processes."""
        self._engraver.close()
        self._reader.close()
        self._end_export()

    def _stop_engraving(self) -> None:
        self._engraver.cancel()
        self._pairs.clear()

    def _stop_opening(self) -> None:
        self._stop_engraving()
        self._reader.cancel()
        dropped = self._derivation is not None
        self._derivation = self._next_wish = None
        if dropped:
            self.derivation_dropped.emit()

    def _end_export(self) -> None:
        if self._exporter:
            self._exporter.close()
            self._exporter.deleteLater()
            self._exporter = None
            # A process that was killed while it wrote could not tidy up itself.
            remove_parts(self._exports_into)

    def _hear_engraver(self, message: Answered) -> None:
        if message.request in self._pairs:
            self._hear_pair(message)
        elif isinstance(message, Answer):
            value = message.value
            if isinstance(value, Source):
                corrections = self._review.corrections if self._review else Corrections()
                job = f"{READ}:read_and_analyse"
                self._reader.request(job, value, corrections, self._review)
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

    def _hear_pair(self, message: Answered) -> None:
        wanted = message.request == self._pairs[-1]
        if isinstance(message, Answer):
            if wanted:
                self.pair_line_engraved.emit(message.value)
            return
        self._pairs.remove(message.request)
        self._tell_if_idle()
        if isinstance(message, Failed) and wanted:
            self.pair_failed.emit(message.error)

    def _hear_reader(self, message: Answered) -> None:
        if self._derivation and message.request == self._derivation.request:
            self._hear_derivation(message, self._derivation)
        elif isinstance(message, Answer):
            value = message.value
            if isinstance(value, Score):
                self._score = value
            elif isinstance(value, Carried):
                self.carried_over.emit(value)
            elif isinstance(value, Analysis):
                self._keep(value)
                self.analysed.emit(self._score, value)
            else:
                self._tell(value)
        elif isinstance(message, Failed):
            self._fail(message.error)
        else:
            self._tell_if_idle()

    def _hear_derivation(self, message: Answered, derivation: _Derivation) -> None:
        if isinstance(message, Answer):
            value = message.value
            if isinstance(value, AnalysisChange) and self._last is not None:
                value = changed(self._last, value)
            if isinstance(value, Analysis):
                self._keep(value)
                self.derived.emit(derivation.corrections, value)
            else:
                self._tell(value)
            return
        self._derivation = None
        wish, self._next_wish = self._next_wish, None
        if isinstance(message, Failed):
            self._tell_if_idle()
            self.derivation_failed.emit(message.error)
        elif wish is not None:
            self.derive(*wish)
        else:
            self._tell_if_idle()

    def _keep(self, analysis: Analysis) -> None:
        self._last, self._last_keeper = analysis, self._reader.pid

    def _hear_exporter(self, message: Answered) -> None:
        if isinstance(message, Answer):
            if isinstance(message.value, Step):
                step = message.value
                self.export_progressed.emit(step.done, step.count, step.text)
                self.progressed.emit(f"Exporting {step.done + 1} of {step.count}")
            else:
                self._exported = message.value
        else:
            # Whoever hears of the end may begin the next export at once.
            self._end_export()
            self._tell_if_idle()
            if isinstance(message, Failed):
                self.export_failed.emit(message.error)
            else:
                self.exported.emit(self._exported)

    def _tell(self, step: object) -> None:
        if isinstance(step, Step):
            self.progressed.emit(step.text)

    def _tell_if_idle(self) -> None:
        if not self.busy:
            self.progressed.emit("")

    def _fail(self, error: OverstaveError) -> None:
        """One half of opening has failed, so the other is of no use."""
        if self._derivation is None:
            self._stop_opening()
        else:
            self._stop_engraving()  # anew, of a score that is open and being analysed again
        self._tell_if_idle()
        self.failed.emit(error)
