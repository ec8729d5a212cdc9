"""A window with real worker processes on a copy of the sample, and nobody's settings touched."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QMessageBox, QWidget
from pytestqt.qtbot import QtBot

import sample_scores
from analysis.errors import OverstaveError
from app.preferences import Preferences
from app.review.document import Document
from app.start_window import set_up
from app.window import Window

SAMPLES = Path(sample_scores.__path__[0])
#: Milliseconds that a busy machine may take to read, engrave and analyse a sample.
PATIENCE = 60_000
CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
NO_MODIFIER = Qt.KeyboardModifier.NoModifier


@pytest.fixture
def preferences(tmp_path: Path) -> Preferences:
    return Preferences(QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat))


@pytest.fixture
def window(qtbot: QtBot, qapp: QApplication, preferences: Preferences) -> Iterator[Window]:
    with shown_window(qtbot, qapp, preferences) as window:
        yield window


@pytest.fixture
def sample(tmp_path: Path) -> Path:
    """A copy of the pop song in a folder of its own."""
    folder = tmp_path / "songs"
    folder.mkdir()
    return copy_of_sample(folder)


@contextmanager
def shown_window(
    qtbot: QtBot, application: QApplication, preferences: Preferences
) -> Iterator[Window]:
    """A window on screen, closed in the end whatever is open in it."""
    set_up(application)
    window = Window(preferences)
    window.show()
    with qtbot.waitActive(window):
        window.activateWindow()
    yield window
    window.session.undo_stack.setClean()
    window.close()
    window.deleteLater()


def copy_of_sample(folder: Path) -> Path:
    return Path(shutil.copy(SAMPLES / "wednesday-table.musicxml", folder))


def open_and_wait(qtbot: QtBot, window: Window, path: Path) -> Document:
    """Open a score and wait until it is engraved and analysed."""
    failures: list[OverstaveError] = []
    window.workshop.failed.connect(failures.append)
    window.filing.open_path(path)
    qtbot.waitUntil(lambda: not window.workshop.busy, timeout=PATIENCE)
    window.workshop.failed.disconnect(failures.append)
    assert not failures, failures[0].details or str(failures[0])
    return document(window)


def document(window: Window) -> Document:
    """The open document, which there must be."""
    assert window.session.document is not None
    return window.session.document


def press(key: Qt.Key, modifier: Qt.KeyboardModifier = NO_MODIFIER) -> None:
    """Press a key where the keyboard is."""
    focused = QApplication.focusWidget()
    assert focused is not None
    QTest.keyClick(focused, key, modifier)


def typed(text: str) -> None:
    """Type where the keyboard is."""
    focused = QApplication.focusWidget()
    assert focused is not None
    QTest.keyClicks(focused, text)


def click(parent: QWidget, text: str) -> None:
    """Click the button that says so."""
    buttons = parent.findChildren(QAbstractButton)
    found = [button for button in buttons if button.text().replace("&", "") == text]
    assert found, [button.text() for button in buttons]
    QTest.mouseClick(found[0], Qt.MouseButton.LeftButton)


def message(qtbot: QtBot, window: Window) -> QMessageBox:
    """The message that is, or comes, on screen."""

    def boxes() -> list[QMessageBox]:
        return [box for box in window.findChildren(QMessageBox) if box.isVisible()]

    qtbot.waitUntil(lambda: bool(boxes()), timeout=PATIENCE)
    return boxes()[0]
