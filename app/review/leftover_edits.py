"""Edits of what found no place when its transcription came back changed.

A leftover decision is named by the digest of the transcription that it belongs to and the id of its
mark there.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import ClassVar

from analysis.errors import EditError
from analysis.marks import Corrections
from app.review.document import Decision, Document, Leftover
from app.review.edits import with_decision


@dataclass(frozen=True, slots=True)
class PlaceLeftover:
    """Let a leftover decision be about another mark: its state, words and comment go there."""

    digest: str
    left_id: str
    mark_id: str
    text: ClassVar[str] = "Place a decision"

    def apply(self, document: Document) -> Document:
        """Decide about the mark; what it says is the mark's own unless the user had reworded it."""
        left = _decision(document, self.digest, self.left_id)
        if not document.has_mark(self.mark_id):
            raise EditError("Select the mark that the decision is to be about.")
        if self.mark_id in document.decisions:
            raise EditError("There is a decision about that mark; reopen it first.")
        decision = replace(left, reading="", function="", mark=document.mark(self.mark_id).mark)
        document = with_decision(document, self.mark_id, decision)
        return DropLeftover(self.digest, self.left_id).apply(document)


@dataclass(frozen=True, slots=True)
class DropLeftover:
    """Take a leftover decision, or hand-made mark, out of the review."""

    digest: str
    left_id: str
    text: ClassVar[str] = "Remove a leftover"

    def apply(self, document: Document) -> Document:
        """Drop it."""
        known = any(
            self.left_id in left.decisions or any(m.id == self.left_id for m in left.own_marks)
            for left in document.leftovers
            if left.source.digest == self.digest
        )
        if not known:
            raise EditError("That is no longer left over.")
        return _changed(document, self.digest, self._without)

    def _without(self, left: Leftover) -> Leftover:
        decisions = {one: held for one, held in left.decisions.items() if one != self.left_id}
        own = tuple(mark for mark in left.own_marks if mark.id != self.left_id)
        return replace(left, decisions=decisions, own_marks=own)


@dataclass(frozen=True, slots=True)
class DropLeftovers:
    """Take all that is left over from one transcription, or from all (empty), out of the review."""

    digest: str = ""
    text: ClassVar[str] = "Remove all leftovers"

    def apply(self, document: Document) -> Document:
        """Drop them."""
        kept = tuple(
            left for left in document.leftovers if self.digest and left.source.digest != self.digest
        )
        return replace(document, leftovers=kept)


def _decision(document: Document, digest: str, left_id: str) -> Decision:
    for left in document.leftovers:
        if left.source.digest == digest and left_id in left.decisions:
            return left.decisions[left_id]
    raise EditError("That is no longer left over.")


def _changed(document: Document, digest: str, change: Callable[[Leftover], Leftover]) -> Document:
    """The document with what is left over from one transcription changed; nothing if empty."""
    rows = [change(left) if left.source.digest == digest else left for left in document.leftovers]
    kept = tuple(
        left
        for left in rows
        if left.decisions or left.own_marks or left.corrections != Corrections()
    )
    return replace(document, leftovers=kept)
