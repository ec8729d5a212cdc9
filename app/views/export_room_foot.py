"""The foot of the export room: where to, how far it is, what became of it, and whose songs."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.interface_words import said, said_phrase
from app.views.export_room_words import RIGHTS_WORDS, outcome_text, stopped_text
from app.worker.messages import Exported


class ExportFoot(QWidget):
    """Asks to export, to stop, and to show the folder."""

    export_requested = Signal()
    cancel_requested = Signal()
    #: A folder.
    folder_requested = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._done = (0, 0)
        self._made: Path | None = None
        self.folder = QLineEdit()
        self.folder.setAccessibleName(said("Folder to export into"))
        self.choose_button = QPushButton(said("C&hoose…"), autoDefault=False)
        self.show_button = QPushButton(said("Sho&w the Folder"), autoDefault=False)
        self.bar = QProgressBar(textVisible=False)
        self.bar.setAccessibleName(said("Progress of the export"))
        self.bar.setMaximumHeight(self.fontMetrics().height())
        self.message = QLabel(wordWrap=True)
        self.message.setAccessibleName(said("What became of the export"))
        self.cancel_button = QPushButton(said("&Cancel"), autoDefault=False)
        self.export_button = QPushButton(said("&Export"), autoDefault=False)
        self.export_button.setToolTip(
            QKeySequence("Ctrl+Return").toString(QKeySequence.SequenceFormat.NativeText)
        )
        self._lay_out()
        self.choose_button.clicked.connect(self._choose)
        self.show_button.clicked.connect(lambda: self.folder_requested.emit(self._made))
        self.cancel_button.clicked.connect(self.cancel_requested)
        self.export_button.clicked.connect(self.export_requested)
        self.show_idle("")

    @property
    def path(self) -> Path:
        """The folder that is named."""
        return Path(self.folder.text().strip()).expanduser()

    @property
    def running(self) -> bool:
        """Whether files are being written."""
        return not self.export_button.isEnabled()

    def forget(self) -> None:
        """Another song: nothing of it has been made."""
        self._made, self._done = None, (0, 0)
        self.show_idle("")

    def begin(self, count: int) -> None:
        """So many files are about to be written."""
        self._set_running(running=True)
        self.show_progress(0, count, "")

    def show_progress(self, done: int, count: int, name: str) -> None:
        """How far the export is."""
        self._done = (done, count)
        self.bar.setRange(0, count)
        self.bar.setValue(done)
        self._say(
            said("{at} of {count}  {name}", at=min(done + 1, count), count=count, name=name),
            warning=False,
        )

    def show_exported(self, exported: Exported) -> None:
        """What was made."""
        self._made = exported.folder
        self.show_idle(outcome_text(exported.outcome))

    def show_stopped(self, why: str, *, warning: bool) -> None:
        """The export has not come to its end."""
        self.show_idle(stopped_text(why, *self._done), warning=warning)

    def show_idle(self, text: str, *, warning: bool = False) -> None:
        """Nothing is being exported."""
        self._set_running(running=False)
        self._say(text, warning=warning)

    def _say(self, text: str, *, warning: bool) -> None:
        self.message.setText(text)
        self.message.setVisible(bool(text))
        if self.message.property("warning") != warning:
            self.message.setProperty("warning", warning)
            self.message.style().polish(self.message)

    def _set_running(self, *, running: bool) -> None:
        self.bar.setVisible(running)
        self.cancel_button.setVisible(running)
        self.export_button.setEnabled(not running)
        self.folder.setEnabled(not running)
        self.choose_button.setEnabled(not running)
        self.show_button.setVisible(self._made is not None and not running)

    def _choose(self) -> None:
        folder = QFileDialog.getExistingDirectory(self, said("Export Into"), self.folder.text())
        if folder:
            self.folder.setText(folder)

    def _lay_out(self) -> None:
        where = QHBoxLayout()
        into = QLabel(said("I&nto"))
        into.setBuddy(self.folder)
        where.addWidget(into)
        where.addWidget(self.folder, 1)
        where.addWidget(self.choose_button)
        where.addWidget(self.show_button)
        where.addSpacing(16)
        where.addWidget(self.cancel_button)
        where.addWidget(self.export_button)
        told = QHBoxLayout()
        told.addWidget(self.message, 3)
        told.addWidget(self.bar, 2)
        rights = QLabel(said_phrase(RIGHTS_WORDS), wordWrap=True)
        rights.setProperty("quiet", True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 8, 12, 10)
        layout.setSpacing(6)
        layout.addLayout(where)
        layout.addLayout(told)
        layout.addWidget(rights)
