"""Messages leave nothing behind."""

from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.start_window import set_up
from app.views.dialogs import show_error
from tests.bench.soak import given_out


def test_messages_shown_over_and_over_take_no_more_memory(qtbot: QtBot, qapp: QApplication) -> None:
    """Qt keeps the sign of each; how many it keeps is limited (``app.start_window``)."""
    parent = QWidget()
    qtbot.addWidget(parent)

    def show(times: int) -> float:
        for _ in range(times):
            box = show_error(parent, "No room is left on the disk.")
            with qtbot.waitSignal(box.destroyed):
                box.reject()
        return given_out()

    set_up(qapp)
    before = show(80)
    assert show(120) - before < 0.5, "MB; each sign that is kept takes 12 kB"
