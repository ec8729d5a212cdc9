"""A window with real worker processes on a copy of the sample, and nobody's settings touched."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

import sample_scores
from analysis.errors import OverstaveError
from app.preferences import Preferences
from app.start_window import set_up
from app.window import Window

SAMPLES = Path(sample_scores.__path__[0])
#: Milliseconds that a busy machine may take to read, engrave and analyse a sample.
PATIENCE = 60_000


@pytest.fixture
def preferences(tmp_path: Path) -> Preferences:
    return Preferences(QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat))


@pytest.fixture
def window(qtbot: QtBot, qapp: QApplication, preferences: Preferences) -> Iterator[Window]:
    set_up(qapp)
    window = Window(preferences)
    window.show()
    with qtbot.waitActive(window):
        window.activateWindow()
    yield window
    window.session.undo_stack.setClean()
    window.close()


@pytest.fixture
def sample(tmp_path: Path) -> Path:
    """A copy of the pop song in a folder of its own."""
    folder = tmp_path / "songs"
    folder.mkdir()
    return Path(shutil.copy(SAMPLES / "wednesday-table.musicxml", folder))


def open_and_wait(qtbot: QtBot, window: Window, path: Path) -> None:
    """Open a score and wait until it is engraved and analysed."""
    failures: list[OverstaveError] = []
    window.workshop.failed.connect(failures.append)
    window.filing.open_path(path)
    qtbot.waitUntil(lambda: not window.workshop.busy, timeout=PATIENCE)
    window.workshop.failed.disconnect(failures.append)
    assert not failures, failures[0].details or str(failures[0])
