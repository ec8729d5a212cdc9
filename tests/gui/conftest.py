"""A window with real worker processes on a copy of the sample, and nobody's settings touched."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QSettings, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QMessageBox, QWidget
from pytestqt.qtbot import QtBot

import sample_scores
from analysis.errors import OverstaveError
from app.engraving.labels import Layer
from app.preferences import Preferences
from app.review.document import Document
from app.review.selection import NOTHING
from app.start_window import set_up
from app.views.mark_rows import MarkFilter
from app.window import Window
from tests.gui.spare_workers import spare_workers

#: Not a module of tests: workers load it by its name, which the system may have given as well.
collect_ignore = ["breaking"]

SAMPLES = Path(sample_scores.__path__[0])
#: Milliseconds that a busy machine may take to read, engrave and analyse a sample.
PATIENCE = 60_000
CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
NO_MODIFIER = Qt.KeyboardModifier.NoModifier


@pytest.fixture(scope="session", autouse=True)
def no_spare_workers_in_the_end() -> Iterator[None]:
    yield
    spare_workers().end()


@pytest.fixture
def preferences(tmp_path: Path) -> Preferences:
    return Preferences(QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat))


@pytest.fixture
def window(qtbot: QtBot, qapp: QApplication, preferences: Preferences) -> Iterator[Window]:
    with shown_window(qtbot, qapp, preferences) as window:
        yield window


@pytest.fixture(scope="session")
def warm_window(
    request: pytest.FixtureRequest, qapp: QApplication, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Window]:
    """One window with the pop song for all tests that leave no trace in it."""
    folder = tmp_path_factory.mktemp("warm")
    settings = QSettings(str(folder / "settings.ini"), QSettings.Format.IniFormat)
    with shown_window(QtBot(request), qapp, Preferences(settings)) as window:
        open_and_wait(QtBot(request), window, copy_of_sample(folder))
        yield window


@pytest.fixture
def opened(qtbot: QtBot, warm_window: Window) -> Window:
    """The warm window as it is after opening."""
    window = warm_window
    with qtbot.waitActive(window):
        window.activateWindow()
    while window.session.undo_stack.canUndo():
        window.session.undo_stack.undo()
    window.session.undo_stack.clear()
    window.session.select(NOTHING)
    window.workbench.marks.show_filter(MarkFilter())
    window.workbench.timeline.fit()
    window.workbench.score.fit_width()
    window.workbench.score.verticalScrollBar().setValue(0)
    window.workbench.marks.list.setFocus()
    return window


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
    with spare_workers().lent():
        window = Window(preferences)
    window.show()
    with qtbot.waitActive(window):
        window.activateWindow()
    yield window
    window.session.undo_stack.setClean()
    with spare_workers().lent():
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


def mouse(
    widget: QWidget,
    at: QPoint,
    modifier: Qt.KeyboardModifier = NO_MODIFIER,
    *,
    twice: bool = False,
) -> None:
    """Click, or click twice, at a point of a widget."""
    QTest.mouseClick(widget, Qt.MouseButton.LeftButton, modifier, at)
    if twice:
        QTest.mouseDClick(widget, Qt.MouseButton.LeftButton, modifier, at)


def label_point(window: Window, mark_id: str, layer: Layer = "numerals") -> QPoint:
    """A point of the score's viewport on the label of a mark, which is scrolled into view."""
    score = window.workbench.score
    score.show_place(document(window).mark(mark_id).mark.span)
    for page in score.pages:
        for label in score.marks.overlay(page).labels:
            if label.mark == mark_id and label.layer == layer:
                x, y, width, height = score.column.to_column(page, label.box)
                return QPoint(round(x + width / 2) - score.left, round(y + height / 2) - score.top)
    raise AssertionError(f"{mark_id} has no label")


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
