"""Edits of marks made by hand, and of the order in which marks are talked about."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import ClassVar

from analysis.errors import EditError
from analysis.marks import Mark, MarkKind, mark_id
from analysis.timebase import Span
from app.review.document import Document


def own_mark(
    kind: MarkKind,
    span: Span,
    label: str,
    sentence: str,
    parts: Iterable[str] = (),
    elements: Iterable[str] = (),
) -> Mark:
    """A mark made by hand: certain, since its maker says so, and with an id of its own."""
    made = mark_id(f"own {kind}", uuid.uuid4())
    return Mark(made, kind, span, tuple(parts), tuple(elements), label, sentence)


@dataclass(frozen=True, slots=True)
class AddMark:
    """Add a mark made by hand (see `own_mark`)."""

    mark: Mark

    @property
    def text(self) -> str:
        """Named by the mark."""
        return f"Add {self.mark.label}".rstrip()

    def apply(self, document: Document) -> Document:
        """Add it; its id must be free."""
        if self.mark.span.start >= self.mark.span.end:
            raise EditError("A mark needs a place; select notes or a stretch of the score first.")
        if any(reviewed.id == self.mark.id for reviewed in document.marks()):
            raise EditError("That mark is there already.")
        return replace(document, own_marks=(*document.own_marks, self.mark))


@dataclass(frozen=True, slots=True)
class ChangeMark:
    """Put another value in the place of a mark made by hand; the id tells which."""

    mark: Mark

    @property
    def text(self) -> str:
        """Named by the mark."""
        return f"Change {self.mark.label}".rstrip()

    def apply(self, document: Document) -> Document:
        """Replace it; marks that were found are edited by decisions instead."""
        if all(mark.id != self.mark.id for mark in document.own_marks):
            raise EditError("Only marks made by hand can be changed so; edit this one instead.")
        if self.mark.span.start >= self.mark.span.end:
            raise EditError("A mark needs a place.")
        own = tuple(self.mark if mark.id == self.mark.id else mark for mark in document.own_marks)
        decisions = {
            mark_id: replace(held, mark=self.mark) if mark_id == self.mark.id else held
            for mark_id, held in document.decisions.items()
        }
        return replace(document, own_marks=own, decisions=decisions)


@dataclass(frozen=True, slots=True)
class RemoveMarks:
    """Take away marks made by hand, with what was decided about them."""

    mark_ids: tuple[str, ...]

    @property
    def text(self) -> str:
        """Named by how many."""
        count = len(self.mark_ids)
        return "Remove the mark" if count == 1 else f"Remove {count} marks"

    def apply(self, document: Document) -> Document:
        """Remove them; marks that were found can only be rejected."""
        gone = set(self.mark_ids)
        if not gone <= {mark.id for mark in document.own_marks}:
            raise EditError("Only marks made by hand can be removed; reject this one instead.")
        return replace(
            document,
            own_marks=tuple(mark for mark in document.own_marks if mark.id not in gone),
            decisions={
                mark_id: held for mark_id, held in document.decisions.items() if mark_id not in gone
            },
            order=tuple(mark_id for mark_id in document.order if mark_id not in gone),
        )


@dataclass(frozen=True, slots=True)
class Reorder:
    """Set the order of the talking points; marks not in it follow by rank."""

    order: tuple[str, ...]
    drag: str = ""
    text: ClassVar[str] = "Order the talking points"

    def apply(self, document: Document) -> Document:
        """Take the order; a mark that is named twice stands where it is named first."""
        return replace(document, order=tuple(dict.fromkeys(self.order)))
