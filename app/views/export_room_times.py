"""When stills and cards stand in the video: a table of timecodes to type into."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QColor
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from analysis.errors import OverstaveError
from analysis.timebase import Fraction
from app.export.timecodes import RATES, frame_at, rate_named
from app.export.timing import USUAL_TIME, VideoTime
from app.interface_words import phrase, said, said_phrase
from app.review.document import Document, Time
from app.review.times import SetTimes
from app.views.looks import LIGHT, Look
from app.views.typed_times import (
    Row,
    all_shifted,
    read_length,
    read_shift,
    read_start,
    retimed,
    retimed_with_later,
    rows_of,
    shifted_from,
    start_text,
    untimed,
)

_COLUMNS: Final = (
    phrase("No."), phrase("Mark"), phrase("Starts"), phrase("Ends"), phrase("Stands for"),
    phrase("To note"),
)  # fmt: skip
NUMBER, MARK, START, END, LENGTH, NOTE = range(len(_COLUMNS))
#: A picture farther from its music than this is worth a note, in seconds.
_FAR: Final = 3
_ID: Final = Qt.ItemDataRole.UserRole


class TimesPanel(QWidget):
    """Shows and takes times; what it cannot read is said in words and changes nothing."""

    #: A `SetTimes`.
    edit_requested = Signal(object)
    #: Frame rate, beginning or first note have changed.
    changed = Signal()
    #: Id of the mark whose row was gone to.
    mark_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._document: Document | None = None
        self._video = USUAL_TIME
        self._look = LIGHT
        self._rows: list[Row] = []
        self._filling = False
        self.rate_box = QComboBox()
        self.rate_box.setAccessibleName(said("Frames a second"))
        for rate in RATES:
            self.rate_box.addItem(rate.name, rate.name)
        self.begin_field = _field(said("Timecode at which the video begins"))
        self.first_field = _field(said("Timecode of the score's first measure"))
        self.follow_box = QCheckBox(said("&Later ones move along"))
        self.table = QTableWidget(0, len(_COLUMNS))
        self.table.setAccessibleName(said("Times of stills and cards"))
        self.table.setHorizontalHeaderLabels([said_phrase(text) for text in _COLUMNS])
        self.table.verticalHeader().hide()
        height = round(self.fontMetrics().height() * 1.6)
        self.table.verticalHeader().setDefaultSectionSize(height)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setTabKeyNavigation(False)
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        for wordy in (MARK, NOTE):
            header.setSectionResizeMode(wordy, QHeaderView.ResizeMode.Stretch)
        self.shift_field = _field(said("By how much to move, with a minus for earlier"))
        self.shift_field.setPlaceholderText("+1:00")
        self.shift_all = QPushButton(said("Shift &All"), autoDefault=False)
        self.shift_later = QPushButton(said("Shift From &Here"), autoDefault=False)
        self.from_score = QPushButton(said("From the &Score"), autoDefault=False)
        self.all_from_score = QPushButton(said("All From the S&core"), autoDefault=False)
        self.problem = QLabel(wordWrap=True)
        self.problem.setProperty("warning", True)
        self._lay_out()
        self._connect()
        self._show_video()

    @property
    def video(self) -> VideoTime:
        """How the score's time becomes the video's."""
        return self._video

    def set_look(self, look: Look) -> None:
        """Take the colour of warnings."""
        self._look = look
        self._fill()

    def show_document(self, document: Document | None) -> None:
        """Show the times of a document."""
        self._document = document
        self._fill()

    def show_mark(self, mark_id: str) -> None:
        """Go to the row of a mark."""
        at = next((at for at, row in enumerate(self._rows) if row.point.mark.id == mark_id), -1)
        if at >= 0 and at != self.table.currentRow():
            self._filling = True
            self.table.setCurrentCell(at, max(self.table.currentColumn(), START))
            self._filling = False

    def stands(self, mark_id: str) -> float | None:
        """How long the pictures of a mark stand, in seconds."""
        for row in self._rows:
            if row.point.mark.id == mark_id:
                return float(row.point.time.length)
        return None

    def state(self) -> dict[str, Any]:
        """What is chosen, for the next start."""
        video = self._video
        return {
            "rate": video.rate.name,
            "start": video.start_frame,
            "first note": str(video.first_note),
        }

    def show_state(self, state: dict[str, Any]) -> None:
        """Choose what was chosen; what makes no sense is as usual."""
        try:
            rate = rate_named(str(state.get("rate", "")))
            start, first = int(state.get("start", 0)), Fraction(state.get("first note", "0"))
            self._video = VideoTime(rate, max(start, 0), max(first, Fraction(0)))
        except (OverstaveError, ValueError, TypeError, ZeroDivisionError):
            self._video = USUAL_TIME
        self._show_video()
        self._fill()
        self.changed.emit()

    # Filling

    def _show_video(self) -> None:
        video = self._video
        self.rate_box.setCurrentIndex(self.rate_box.findData(video.rate.name))
        self.begin_field.setText(start_text(Fraction(0), video))
        self.first_field.setText(start_text(video.first_note, video))

    def _fill(self) -> None:
        self._filling = True
        kept, column = self._current, max(self.table.currentColumn(), START)
        self._rows = rows_of(self._document, self._video) if self._document else []
        self.table.setRowCount(len(self._rows))
        for at, row in enumerate(self._rows):
            mark = row.point.mark
            measure = self._measure(row)
            texts = (
                str(row.point.number),
                said("{mark} · m. {measure}", mark=mark.label or mark.mark.kind, measure=measure),
                row.start, row.end, row.length,
            )  # fmt: skip
            for column, text in enumerate(texts):
                self._set(at, column, text, mark.id)
            note = self._set(at, NOTE, _note(row), mark.id)
            note.setToolTip(note.text())
            note.setForeground(QColor(self._look.warning if row.short else self._look.quiet))
        # A time that was typed may have moved its row.
        for at, row in enumerate(self._rows):
            if row.point.mark.id == kept:
                self.table.setCurrentCell(at, column)
        self._filling = False

    def _set(self, at: int, column: int, text: str, mark_id: str) -> QTableWidgetItem:
        item = self.table.item(at, column)
        if item is None:
            item = QTableWidgetItem()
            if column not in (START, END, LENGTH):
                item.setFlags(item.flags() & ~Qt.ItemFlag.ItemIsEditable)
            self.table.setItem(at, column, item)
        item.setText(text)
        item.setData(_ID, mark_id)
        return item

    def _measure(self, row: Row) -> str:
        assert self._document
        return self._document.score.measure_at(row.point.mark.mark.span.start).number

    # Typing

    def _take_cell(self, item: QTableWidgetItem) -> None:
        """What was typed into the table."""
        if self._filling or self._document is None:
            return
        time, video = self._rows[item.row()].point.time, self._video
        text, column = item.text(), item.column()

        def edit() -> SetTimes:
            assert self._document
            if column == START:
                wanted = Time(read_start(text, video), time.length)
            elif column == END:
                end = read_start(text, video)
                if end <= time.start:
                    begins = self._rows[item.row()].start
                    raise OverstaveError(
                        said(
                            "It begins at {start}, so it cannot end at {end}.",
                            start=begins,
                            end=text,
                        )
                    )
                wanted = Time(time.start, end - time.start)
            else:
                wanted = Time(time.start, read_length(text, video.rate))
            set_time = retimed_with_later if self.follow_box.isChecked() else retimed
            return set_time(self._document, video, str(item.data(_ID)), wanted)

        self._ask(edit)

    def _ask(self, make: Callable[[], SetTimes]) -> None:
        """Ask for an edit, or say why there is none."""
        try:
            edit = make()
        except OverstaveError as error:
            self._tell(str(error))
        else:
            self._tell("")
            if edit.times:
                self.edit_requested.emit(edit)
        self._fill()

    def _shift(self, *, later_only: bool) -> None:
        document, video = self._document, self._video
        if document is None:
            return

        def edit() -> SetTimes:
            by = read_shift(self.shift_field.text(), video.rate)
            if later_only:
                return shifted_from(document, video, self._current, by)
            return all_shifted(document, video, by)

        self._ask(edit)

    def _forget(self, mark_ids: tuple[str, ...]) -> None:
        if self._document is not None:
            document = self._document
            self._ask(lambda: untimed(document, mark_ids))

    @property
    def _current(self) -> str:
        item = self.table.item(self.table.currentRow(), MARK)
        return str(item.data(_ID)) if item else ""

    @property
    def _selected(self) -> tuple[str, ...]:
        rows = {index.row() for index in self.table.selectedIndexes()}
        return tuple(self._rows[at].point.mark.id for at in sorted(rows))

    def _take_rate(self) -> None:
        video = self._video
        rate = rate_named(str(self.rate_box.currentData()))
        # The video begins at the same time of the clock, as far as there is a frame then.
        start = frame_at(video.start_frame / video.rate.frames_per_second, rate)
        self._video = VideoTime(rate, start, video.first_note)
        self._refresh()

    def _take_fields(self) -> None:
        """What was typed for the beginning and the first note."""
        video = self._video
        try:
            begins = read_start(self.begin_field.text(), VideoTime(video.rate))
            video = VideoTime(video.rate, frame_at(begins, video.rate), video.first_note)
            if self.begin_field.text() == start_text(Fraction(0), self._video):
                first = read_start(self.first_field.text(), video)
                video = VideoTime(video.rate, video.start_frame, first)
        except OverstaveError as error:
            self._tell(str(error))
            self._show_video()
            return
        self._tell("")
        if video != self._video:
            self._video = video
            self._refresh()

    def _refresh(self) -> None:
        self._show_video()
        self._fill()
        self.changed.emit()

    def _tell(self, problem: str) -> None:
        self.problem.setText(problem)
        self.problem.setVisible(bool(problem))

    # Building

    def _connect(self) -> None:
        self.rate_box.activated.connect(self._take_rate)
        self.begin_field.editingFinished.connect(self._take_fields)
        self.first_field.editingFinished.connect(self._take_fields)
        self.table.itemChanged.connect(self._take_cell)
        self.table.currentItemChanged.connect(self._follow)
        self.shift_all.clicked.connect(lambda: self._shift(later_only=False))
        self.shift_later.clicked.connect(lambda: self._shift(later_only=True))
        self.from_score.clicked.connect(lambda: self._forget(self._selected))
        self.all_from_score.clicked.connect(
            lambda: self._forget(tuple(row.point.mark.id for row in self._rows))
        )

    def _follow(self) -> None:
        if not self._filling and self._current:
            self.mark_chosen.emit(self._current)

    def _lay_out(self) -> None:
        grid = QGridLayout()
        grid.setVerticalSpacing(4)
        for at, (text, field) in enumerate(
            (
                (said("Frames a &second"), self.rate_box),
                (said("Video &begins at"), self.begin_field),
                (said("First &note at"), self.first_field),
            )
        ):
            label = QLabel(text)
            label.setBuddy(field)
            grid.addWidget(label, at, 0)
            grid.addWidget(field, at, 1)
        side = QVBoxLayout()
        side.addLayout(grid)
        side.addWidget(self.follow_box)
        shift = QHBoxLayout()
        label = QLabel(said("M&ove by"))
        label.setBuddy(self.shift_field)
        for widget in (label, self.shift_field):
            shift.addWidget(widget)
        side.addLayout(shift)
        for pair in ((self.shift_all, self.shift_later), (self.from_score, self.all_from_score)):
            row = QHBoxLayout()
            for button in pair:
                row.addWidget(button)
            side.addLayout(row)
        side.addStretch(1)
        middle = QVBoxLayout()
        middle.addWidget(self.table, 1)
        middle.addWidget(self.problem)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(14, 10, 14, 8)
        layout.setSpacing(16)
        layout.addLayout(middle, 1)
        layout.addLayout(side)
        self._tell("")


def _note(row: Row) -> str:
    """Where a time comes from, how far it is from its music, and whether it can be read in it."""
    words = said("typed") if row.typed else said("from the score's tempo")
    if abs(row.away) > _FAR:
        seconds = f"{abs(float(row.away)):.1f}"
        if row.away > 0:
            words = said("{origin}, {seconds} s after its music", origin=words, seconds=seconds)
        else:
            words = said("{origin}, {seconds} s before its music", origin=words, seconds=seconds)
    if not row.short:
        return words
    return said("{origin}; read in {seconds} s", origin=words, seconds=f"{row.needed:g}")


def _field(name: str) -> QLineEdit:
    field = QLineEdit()
    field.setAccessibleName(name)
    field.setFixedWidth(field.fontMetrics().horizontalAdvance("00:00:00;00") + 28)
    return field
