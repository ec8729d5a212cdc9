"""Start the program with its window."""

from __future__ import annotations

import argparse
import signal
import threading

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QApplication

from app.preferences import Preferences
from app.views.fonts import load_fonts
from app.window import Window
from app.worker.warming import load_letters


def open_window(chosen: argparse.Namespace) -> int:
    """Show the window, with a file open where one is given, until it is closed."""
    application = make_application()
    # The window sets text by the same tables; a thread has them ready before the first page.
    threading.Thread(target=load_letters, daemon=True).start()
    window = Window(Preferences())
    window.show()
    QTimer.singleShot(0, window.recovering.offer)
    if chosen.file is not None:
        # Once the window is on screen, so that it is seen at once.
        QTimer.singleShot(0, lambda: window.filing.open_path(chosen.file))
    return application.exec()


def make_application() -> QApplication:
    """The application, which Ctrl+C in a terminal ends."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    application = QApplication(["overstave"])
    set_up(application)
    return application


def set_up(application: QApplication) -> None:
    """Name, style and fonts; the window adds the colours."""
    application.setApplicationName("Overstave")
    application.setStyle("Fusion")
    # Fonts and colours set on the window reach its widgets, style sheet or not.
    application.setAttribute(Qt.ApplicationAttribute.AA_UseStyleSheetPropagationInWidgetStyles)
    application.setFont(load_fonts())
