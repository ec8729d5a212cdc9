"""Going through the marks: each step of the keyboard, in terms of session and views."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QInputDialog, QWidget

from app.interface_words import counted, said, said_phrase
from app.review.document import ReviewedMark, State
from app.review.edits import Decide
from app.review.mark_edits import Reorder
from app.review.section_edits import sections_of
from app.review.selection import NOTHING, Selection
from app.session import Session
from app.views.mark_rows import MarkFilter, rows
from app.views.selections import selection_of_mark
from app.views.signs import KIND_NAMES
from app.views.workbench import Workbench


class Reviewing(QObject):
    """The review commands of one window."""

    #: A line for the status bar.
    told = Signal(str)

    def __init__(self, window: QWidget, session: Session, workbench: Workbench) -> None:
        super().__init__(window)
        self._window = window
        self._session = session
        self._workbench = workbench
        workbench.detail.left.connect(self.return_to_list)
        workbench.detail.next_requested.connect(self.next_open_mark)

    @property
    def mark(self) -> ReviewedMark | None:
        """The selected mark."""
        document, mark = self._session.document, self._session.selection.mark
        return document.mark(mark) if document and mark else None

    def next_mark(self) -> None:
        """Go to the next mark of the list."""
        self._go(1)

    def previous_mark(self) -> None:
        """Go to the mark before."""
        self._go(-1)

    def next_open_mark(self) -> None:
        """Go to the next mark that is not decided."""
        self._go(1, only_open=True)

    def accept(self) -> None:
        """Accept the mark and go on to the next open one."""
        self._decide("accepted", go_on=True)

    def reject(self) -> None:
        """Reject the mark and go on to the next open one."""
        self._decide("rejected", go_on=True)

    def reopen(self) -> None:
        """Take the decision back."""
        self._decide("open", go_on=False)

    def edit_mark(self) -> None:
        """Let the user say it in other words."""
        self._workbench.detail.edit()

    def comment_mark(self) -> None:
        """Let the user write a note."""
        self._workbench.detail.comment()

    def another_reading(self) -> None:
        """Choose the next of the mark's readings."""
        self._workbench.detail.readings.choose_next()

    def take_reading(self, number: str) -> None:
        """Take a reading by its number in the detail view, the found one is 1, and go on."""
        self._workbench.detail.commit()
        readings = self._workbench.detail.readings
        if not 1 <= int(number) <= readings.count:
            return
        if readings.choose(int(number) - 1):
            self._go(1, only_open=True)
        else:
            self._decide("accepted", go_on=True)

    def select_nothing(self) -> None:
        """Leave the comparison, or let go of the selection."""
        if self._workbench.comparing:
            self._workbench.comparison.close_requested.emit()
        else:
            self._session.select(NOTHING)

    def fit_section(self) -> None:
        """Show the section of the selection as large as the view."""
        document, span = self._session.document, self._session.selection.span
        if document is None or span is None:
            return
        section = next((one for one in sections_of(document) if span.start in one.span), None)
        self._workbench.score.fit_span(section.span if section else span)

    def find_marks(self) -> None:
        """Search in the marks."""
        self._workbench.marks.focus_search()

    def undo(self) -> None:
        """Take the last edit back."""
        self._workbench.detail.commit()
        self._session.undo_stack.undo()

    def redo(self) -> None:
        """Do again what was undone."""
        self._session.undo_stack.redo()

    def return_to_list(self) -> None:
        """Put the keyboard back on the list."""
        self._workbench.marks.list.setFocus()

    def accept_sure(self) -> None:
        """Ask from which confidence on to accept all open marks."""
        dialog = QInputDialog(self._window)
        dialog.setWindowTitle(said("Accept All Sure Marks"))
        dialog.setLabelText(said("Accept all open marks that are at least so sure, in per cent:"))
        dialog.setInputMode(QInputDialog.InputMode.IntInput)
        dialog.setIntRange(50, 100)
        dialog.setIntValue(90)
        dialog.intValueSelected.connect(self.accept_above)
        dialog.open()

    def accept_above(self, percent: int) -> None:
        """Accept all open marks of at least that confidence as one step."""
        if self._session.document is None:
            return
        sure = tuple(
            reviewed.id
            for reviewed in self._session.document.marks()
            if reviewed.state == "open" and reviewed.mark.confidence * 100 >= percent
        )
        if sure:
            self._session.perform(Decide(sure, "accepted"))
        self.told.emit(counted("One mark accepted", "{count} marks accepted", len(sure)))

    def talk_earlier(self) -> None:
        """Move the mark up among the talking points."""
        self._talk(-1)

    def talk_later(self) -> None:
        """Move the mark down among the talking points."""
        self._talk(1)

    def _talk(self, step: int) -> None:
        """Move the mark past its neighbour in the list, which is put into that order."""
        document, mark = self._session.document, self._session.selection.mark
        if document is None or not mark:
            return
        self._workbench.marks.show_talking_points()
        order = [reviewed.id for reviewed in rows(document, MarkFilter(order="talking points"))]
        shown = [row.id for row in self._workbench.marks.model.rows]
        if mark not in shown or not 0 <= shown.index(mark) + step < len(shown):
            return
        neighbour = shown[shown.index(mark) + step]
        order.remove(mark)
        at = order.index(neighbour)
        order.insert(at if step < 0 else at + 1, mark)
        self._session.perform(Reorder(tuple(order), drag=f"talk {mark}"))

    def _go(self, step: int, *, only_open: bool = False) -> None:
        following = self._following(step, only_open=only_open)
        if following is not None:
            self._session.select(following)
        elif self._session.document is not None:
            self.told.emit(said("No open mark below") if only_open else said("No mark further on"))

    def _following(self, step: int, *, only_open: bool) -> Selection | None:
        """The mark after the selected one in the list, or before it; None where none is."""
        document = self._session.document
        if document is None:
            return None
        current = self._session.selection.mark
        target = self._workbench.marks.mark_after(current, step, only_open=only_open)
        return selection_of_mark(document.mark(target)) if target else None

    def _decide(self, state: State, *, go_on: bool) -> None:
        self._workbench.detail.commit()
        mark = self.mark
        if mark is None:
            return
        # Deciding an open mark brings and takes no other, so what follows is known before.
        then = self._following(1, only_open=True) if go_on and mark.state == "open" else None
        if mark.state != state and not (state == "accepted" and mark.state == "edited"):
            # Marks of some kinds have no words on the score.
            name = mark.label or said_phrase(KIND_NAMES[mark.mark.kind])
            self._session.perform(Decide((mark.id,), state, name), then)
        if go_on and then is None:
            self._go(1, only_open=True)
