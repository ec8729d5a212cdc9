"""What is killed: processes that edit a document as fast as they can, and say how far they are.

    python -m tests.app.edited_until_killed

Reads lines ``FOLDER SEED`` from standard input. Each makes a process of its own, which first writes
its id, then the number of each edit once it is done. It journals and saves as a session does. The
same seed does the same edits, so that whoever kills it knows what must come back.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path
from random import Random

from app.review.document import Document
from app.review.safekeeping import Safekeeping
from tests.app.random_edits import busy_document, random_edit

#: More than any of them lives to do.
EDITS = 5_000


def states(seed: int) -> Iterator[tuple[str, Document]]:
    """What is done and the document after it: edits, with some undone, redone, and saved."""
    draw = Random(seed)
    row, at = [busy_document()], 0
    while True:
        what = draw.choices(("edit", "undo", "redo", "save"), (12, 4, 2, 1))[0]
        if what == "undo" and at > 0:
            at -= 1
        elif what == "redo" and at < len(row) - 1:
            at += 1
        elif what == "edit":
            after = random_edit(draw, row[at]).apply(row[at])
            row[at + 1 :] = [after]
            at += 1
        yield what, row[at]


def live(folder: Path, seed: int) -> None:
    """Edit until the end."""
    out = os.open(folder / "progress", os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    keeper = Safekeeping(folder / "state")
    keeper.begin(busy_document())
    os.write(out, f"{os.getpid()}\n".encode())
    for number, (what, document) in zip(range(1, EDITS), states(seed), strict=False):
        if what == "save":
            keeper.save(document, folder / "song.review.json")
        else:
            keeper.record(document, what)
        os.write(out, f"{number}\n".encode())


def main() -> None:
    """Make a process for each line."""
    for line in sys.stdin:
        folder, seed = line.split()
        child = os.fork()
        if child == 0:
            live(Path(folder), int(seed))
            os._exit(0)
        os.waitpid(child, 0)
        print("gone", flush=True)


if __name__ == "__main__":
    main()
