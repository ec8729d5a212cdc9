"""Undo, redo, what is modified, what is selected: over any edits."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtWidgets import QApplication

from analysis.errors import NotationError
from app.review.document import Document
from app.review.selection import NOTHING, Selection
from app.session import Session
from tests import strategies
from tests.app.reviews import read_sample


class Impossible:
    """An edit that cannot be applied."""

    text = "Do the impossible"

    def apply(self, document: Document) -> Document:
        raise NotationError("That is no chord.")


@given(st.data())
def test_undoing_all_restores_the_start_and_redoing_all_the_end(
    qapp: QApplication, data: Any
) -> None:
    session = Session()
    start = data.draw(strategies.documents())
    session.open(start)
    seen = [start]
    for edit in data.draw(st.lists(strategies.edits_of(start), max_size=12)):
        session.perform(edit)
        assert session.document is not None
        if session.document is not seen[-1]:
            seen.append(session.document)
    assert session.undo_stack.count() == len(seen) - 1
    for document in reversed(seen):
        assert session.document == document
        session.undo_stack.undo()
    assert session.document == start
    assert not session.modified
    for document in seen:
        assert session.document == document
        session.undo_stack.redo()
    assert session.modified == (len(seen) > 1)


@pytest.fixture
def session(qapp: QApplication) -> Session:
    session = Session()
    session.open(read_sample("slow-to-warm")[1])
    return session


def test_an_edit_that_fails_says_why_and_changes_nothing(session: Session) -> None:
    told: list[str] = []
    session.failed.connect(lambda sentence, _: told.append(sentence))
    before = session.document
    session.perform(Impossible())
    assert told == ["That is no chord."]
    assert session.document is before
    assert not session.modified


def test_a_selected_mark_that_is_no_more_is_let_go(session: Session) -> None:
    session.select(Selection(mark="gone"))
    session._show(session.document, session.selection)
    assert session.selection == NOTHING
