"""What crashes in a story: a window with a score, a few decisions, and then the process is killed.

    python -m tests.gui.crashing SCORE

Writes the review that is then lost to standard output, as its file would hold it.
"""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QDeadlineTimer, QEventLoop, QSettings

from app.preferences import Preferences
from app.review.edits import Reword
from app.review.storage import stored, to_bytes
from app.start_window import make_application
from app.window import Window


def main() -> None:
    """Open, decide, undo, reword, die."""
    application = make_application()
    score = Path(sys.argv[1])
    settings = QSettings(str(score.with_name("crashing.ini")), QSettings.Format.IniFormat)
    window = Window(Preferences(settings))
    window.show()
    window.filing.open_path(score)
    deadline = QDeadlineTimer(60_000)
    while window.workshop.busy or window.session.document is None:
        if deadline.hasExpired():
            sys.exit("the window did not finish in a minute")
        application.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 50)
    for name in ("next_mark", "accept", "accept", "reject", "undo"):
        window.actions_by_name[name].trigger()
    mark = next(iter(window.session.document.marks()))
    window.session.perform(Reword(mark.id, sentence="Said in other words.", comment="slowly"))
    sys.stdout.buffer.write(to_bytes(stored(window.session.document)))
    sys.stdout.flush()
    os.kill(os.getpid(), signal.SIGKILL)


if __name__ == "__main__":
    main()
