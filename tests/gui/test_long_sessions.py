"""Fifty edits of all kinds in a session: undone and redone all the way, and all in the journal.

A thousand such sessions with ``--full``; the gate runs the first twenty.
"""

from pathlib import Path
from random import Random

import pytest
from PySide6.QtWidgets import QApplication

from app.review.document import Document
from app.review.journals import read_journal
from app.review.safekeeping import Safekeeping
from app.review.storage import from_bytes, stored, to_bytes
from app.session import Session
from tests.app.random_edits import busy_document, random_edit

EDITS = 50


@pytest.mark.parametrize("seed", range(20))
def test_undone_and_redone_all_the_way(qapp: QApplication, tmp_path: Path, seed: int) -> None:
    undo_and_redo(tmp_path, seed)


@pytest.mark.full
@pytest.mark.parametrize("first", range(20, 1000, 98))
def test_a_thousand_times(qapp: QApplication, tmp_path: Path, first: int) -> None:
    for seed in range(first, first + 98):
        undo_and_redo(tmp_path, seed)


def undo_and_redo(folder: Path, seed: int) -> None:
    draw = Random(seed)
    keeper = Safekeeping(folder / str(seed))
    session = Session(keeper=keeper)
    start = busy_document(40)
    session.open(start)
    row = [start]
    for _ in range(EDITS):
        assert session.document is not None
        session.perform(random_edit(draw, session.document))
        if session.undo_stack.count() > len(row) - 1:
            row.append(session.document)
        else:
            row[-1] = session.document  # nothing changed, or a further step of one drag
    assert session.undo_stack.count() == len(row) - 1 > EDITS / 2
    check_journal(keeper, row[-1])
    for document in reversed(row[:-1]):
        session.undo_stack.undo()
        assert session.document == document
    assert not session.modified
    check_journal(keeper, start)
    for document in row[1:]:
        session.undo_stack.redo()
        assert session.document == document
    check_journal(keeper, row[-1])
    session.close()
    assert list(keeper.folder.iterdir()) == []


def check_journal(keeper: Safekeeping, document: Document) -> None:
    (path,) = keeper.folder.iterdir()
    assert read_journal(path).review == from_bytes(to_bytes(stored(document)))
