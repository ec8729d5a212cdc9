"""Edits: the one thing that flows back from the views.

Each edit is a frozen value with a ``text`` for the undo list and ``apply``, which makes a new
document. No inverse is written: undo keeps the document before. Here are what all edits share and
the decisions about marks; hand-made marks are in `app.review.mark_edits`, keys, chords and parts in
`app.review.correction_edits`, sections in `app.review.section_edits`, and what was left over from
an earlier transcription in `app.review.leftover_edits`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol, runtime_checkable

from analysis.errors import EditError
from analysis.marks import Function
from app.review.document import Decision, Document, State


class Edit(Protocol):
    """A wish to change the document."""

    @property
    def text(self) -> str:
        """What the undo list calls it, such as “Reject V7/vi”."""

    def apply(self, document: Document) -> Document:
        """The document after the edit; the given one is left as it is. May raise OverstaveError."""


@runtime_checkable
class Dragged(Protocol):
    """An edit that may be one of many steps of a drag.

    Edits that follow each other with the same name of a drag, not empty, are one step to undo.
    """

    @property
    def drag(self) -> str:
        """Which drag it belongs to; empty for an edit by itself."""


def with_decision(document: Document, mark_id: str, decision: Decision | None) -> Document:
    """The document with one decision set, or taken back where it is None."""
    return document.with_decisions({mark_id: decision})


_VERBS: dict[State, str] = {
    "accepted": "Accept",
    "rejected": "Reject",
    "open": "Reopen",
    "edited": "Edit",
}


@dataclass(frozen=True, slots=True)
class Decide:
    """Set the state of marks (one step for one or many)."""

    mark_ids: tuple[str, ...]
    state: State
    name: str = ""

    @property
    def text(self) -> str:
        """Verb and what it is about."""
        what = self.name or (f"{len(self.mark_ids)} marks" if len(self.mark_ids) > 1 else "mark")
        return f"{_VERBS[self.state]} {what}"

    def apply(self, document: Document) -> Document:
        """Keep words and comments that were set before; only the state changes."""
        changes: dict[str, Decision | None] = {}
        for mark_id in filter(document.has_mark, self.mark_ids):
            before = document.mark(mark_id)
            kept = before.decision or Decision(self.state)
            decision = replace(kept, state=self.state, mark=before.mark)
            bare = Decision(self.state, mark=before.mark)
            nothing_left = self.state == "open" and decision == bare
            changes[mark_id] = None if nothing_left else decision
        return document.with_decisions(changes)


@dataclass(frozen=True, slots=True)
class Reword:
    """Change what a mark says: its label, sentence, chosen reading or comment (None: as it is).

    ``function`` is that of the chosen reading. ``name`` is what the undo list calls the mark.
    """

    mark_id: str
    label: str | None = None
    sentence: str | None = None
    reading: str | None = None
    comment: str | None = None
    function: Function = ""
    name: str = ""

    @property
    def text(self) -> str:
        """Named by what it changes and of which mark."""
        if self.reading is not None:
            return f"Another reading of {self.name}" if self.name else "Choose another reading"
        if self.label is None and self.sentence is None:
            return f"Comment on {self.name}" if self.name else "Comment"
        return f"Edit {self.name or 'mark'}"

    def apply(self, document: Document) -> Document:
        """A comment alone leaves the state; anything else makes the mark an edited one.

        A chosen reading takes the place of a label that was typed before.
        """
        try:
            before = document.mark(self.mark_id)
        except KeyError:
            raise EditError("That mark is no longer there.") from None
        decision = before.decision or Decision("open")
        words = {
            name: value
            for name in ("label", "sentence", "reading", "comment")
            if (value := getattr(self, name)) is not None
        }
        state: State = decision.state if set(words) <= {"comment"} else "edited"
        if self.reading is not None:
            decision = replace(decision, label=None, function=self.function)
        changed = replace(decision, **words, state=state, mark=before.mark)
        return with_decision(document, self.mark_id, changed)
