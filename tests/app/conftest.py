"""What holds for all tests without a window."""

import pytest
from PySide6.QtCore import QThread


@pytest.fixture(scope="session", autouse=True)
def _main_thread() -> None:
    """Tell Qt which thread is the main one.

    Else it is the first that paints, in some tests a writer's, and no window can come after it.
    """
    QThread.currentThread()
