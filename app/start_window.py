"""Start the program with its window."""

from __future__ import annotations

import argparse
import gc
import signal
import threading
from typing import Final

from PySide6.QtCore import QLocale, Qt, QTimer
from PySide6.QtGui import QPixmapCache
from PySide6.QtWidgets import QApplication

from analysis.errors import OverstaveError
from app.displays import missing_display
from app.interface_words import install_translation
from app.preferences import Preferences
from app.views.fonts import load_fonts
from app.window import Window
from app.worker.warming import load_letters

#: How much of the pictures that Qt makes for itself stays, in KB.
_SIGNS_KEPT: Final = 512


def open_window(chosen: argparse.Namespace) -> int:
    """Show the window, with a file open where one is given, until it is closed.

    Raises
    ------
    OverstaveError
        If there is no display, or none that answers.
    """
    missing = missing_display()
    if missing:
        raise OverstaveError(f"{missing}; “overstave --help” lists what works without one.")
    application = make_application()
    # The window sets text by the same tables; a thread has them ready before the first page.
    threading.Thread(target=load_letters, daemon=True).start()
    preferences = Preferences()
    windows = Windows(preferences)
    window = windows.open()
    # Once the window is on screen, so that it is seen at once.
    QTimer.singleShot(0, window.recovering.offer)
    if chosen.file is not None:
        QTimer.singleShot(0, lambda: window.filing.open_path(chosen.file))
    elif not preferences.guided:
        QTimer.singleShot(0, window.show_guide)
    return application.exec()


class Windows:
    """All windows of the program, each kept as long as it is open."""

    def __init__(self, preferences: Preferences) -> None:
        self._preferences = preferences
        self._windows: list[Window] = []

    def has(self, window: Window) -> bool:
        """Whether it is one of them."""
        return window in self._windows

    def open(self) -> Window:
        """Show a further window."""
        self._windows = [window for window in self._windows if window.isVisible()]
        window = Window(self._preferences)
        self._windows.append(window)
        window.window_requested.connect(self.open)
        window.show()
        return window


def make_application() -> QApplication:
    """The application, which Ctrl+C in a terminal ends."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    # Scores and documents are large and hold no cycles; looking for some would hold up the window.
    gc.set_threshold(50_000, 20, 100)
    application = QApplication(["overstave"])
    install_translation(application, QLocale.system())
    set_up(application)
    return application


def set_up(application: QApplication) -> None:
    """Name, style and fonts; the window adds the colours."""
    application.setApplicationName("Overstave")
    application.setStyle("Fusion")
    # Fonts and colours set on the window reach its widgets, style sheet or not.
    application.setAttribute(Qt.ApplicationAttribute.AA_UseStyleSheetPropagationInWidgetStyles)
    application.setFont(load_fonts())
    # Qt keeps the sign of every message ever shown, up to 10 MB; ours are kept by who paints them.
    QPixmapCache.setCacheLimit(_SIGNS_KEPT)
