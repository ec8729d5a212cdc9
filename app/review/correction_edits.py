"""Edits of what the analysis must follow: keys, chords, and which part is what.

Applying one changes the document's corrections alone; whoever holds the document has it analysed
again (see `app.session`). Keys and chords set by hand never overlap: a later one cuts what it
covers out of the earlier ones.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import ClassVar, TypeVar

from analysis.chords import Chord
from analysis.errors import EditError
from analysis.pitch import Key
from analysis.timebase import Span
from analysis.vocabulary.roles import ROLES
from analysis.vocabulary.wording import chord_text, key_text
from app.review.document import Document

Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class SetKey:
    """Say which key a span is in; the views offer whole measures."""

    span: Span
    key: Key

    @property
    def text(self) -> str:
        """Named by the key."""
        return f"Set {key_text(self.key)}"

    def apply(self, document: Document) -> Document:
        """Lay the key over the span."""
        check_span(document, self.span)
        keys = (*outside(document.corrections.keys, self.span), (self.span, self.key))
        return with_corrections(document, keys=in_order(keys))


@dataclass(frozen=True, slots=True)
class ClearKey:
    """Let the analysis find the key of a span again."""

    span: Span
    text: ClassVar[str] = "Find the key again"

    def apply(self, document: Document) -> Document:
        """Take keys set by hand out of the span."""
        keys = outside(document.corrections.keys, self.span)
        return with_corrections(document, keys=in_order(keys))


@dataclass(frozen=True, slots=True)
class SetChord:
    """Say which chord sounds in a span; None is N.C."""

    span: Span
    chord: Chord | None

    @property
    def text(self) -> str:
        """Named by the chord."""
        return f"Set {chord_text(self.chord)}"

    def apply(self, document: Document) -> Document:
        """Lay the chord over the span; what was decided about the chord there is open again."""
        check_span(document, self.span)
        chords = (*outside(document.corrections.chords, self.span), (self.span, self.chord))
        changed = with_corrections(document, chords=in_order(chords))
        return document if changed is document else _chords_reopened(changed, self.span)


@dataclass(frozen=True, slots=True)
class ClearChord:
    """Go back to the chord that the score writes, or that the notes make, in a span."""

    span: Span
    text: ClassVar[str] = "Go back to the score\u2019s chord"

    def apply(self, document: Document) -> Document:
        """Take chords set by hand out of the span; the chord there is open again."""
        chords = outside(document.corrections.chords, self.span)
        changed = with_corrections(document, chords=in_order(chords))
        return document if changed is document else _chords_reopened(changed, self.span)


@dataclass(frozen=True, slots=True)
class SetMelodyPart:
    """Say which part carries the melody; empty lets the analysis find it."""

    part: str
    text: ClassVar[str] = "Choose the melody"

    def apply(self, document: Document) -> Document:
        """Set the part, and take another role from it that was set before."""
        _check_part(document, self.part)
        roles = tuple(one for one in document.corrections.roles if one[0] != self.part)
        return with_corrections(document, melody_part=self.part, roles=roles)


@dataclass(frozen=True, slots=True)
class SetRole:
    """Say what a part does; the empty role lets the analysis find it."""

    part: str
    role: str

    @property
    def text(self) -> str:
        """Named by the role."""
        return f"Make it {self.role}" if self.role else "Find the role again"

    def apply(self, document: Document) -> Document:
        """Set the role; a part that is the melody by hand is so no more."""
        _check_part(document, self.part)
        if self.role not in ROLES:
            raise EditError(f"\u201c{self.role}\u201d is no role of a part.")
        roles = [one for one in document.corrections.roles if one[0] != self.part]
        if self.role:
            roles.append((self.part, self.role))
        melody = document.corrections.melody_part
        return with_corrections(
            document,
            roles=tuple(sorted(roles)),
            melody_part="" if melody == self.part else melody,
        )


def with_corrections(document: Document, **changes: object) -> Document:
    """The document with some of its corrections changed; itself where none is."""
    corrections = replace(document.corrections, **changes)  # type: ignore[arg-type]
    if corrections == document.corrections:
        return document
    return replace(document, corrections=corrections)


def _chords_reopened(document: Document, span: Span) -> Document:
    """The document without decisions on the chords that begin in a span.

    Whoever sets a chord decides anew: an accepted mark of the old chord would stand in its way.
    """
    known = map(document.mark, filter(document.has_mark, document.decisions))
    changes = {
        one.id: None for one in known if one.mark.kind == "chord" and one.mark.span.start in span
    }
    return document.with_decisions(changes) if changes else document


def check_span(document: Document, span: Span) -> None:
    """Raise EditError where a span holds nothing of the piece."""
    if span.start >= span.end or not span.overlaps(document.score.span):
        raise EditError("That is no stretch of the piece; select at least a beat.")


def outside(pairs: Iterable[tuple[Span, Value]], span: Span) -> list[tuple[Span, Value]]:
    """What is left of spans with values once one span is cut out."""
    left: list[tuple[Span, Value]] = []
    for held, value in pairs:
        if not held.overlaps(span):
            left.append((held, value))
            continue
        if held.start < span.start:
            left.append((Span(held.start, span.start), value))
        if held.end > span.end:
            left.append((Span(span.end, held.end), value))
    return left


def in_order(pairs: Iterable[tuple[Span, Value]]) -> tuple[tuple[Span, Value], ...]:
    """Spans with values in order of time."""
    return tuple(sorted(pairs, key=lambda pair: pair[0]))


def _check_part(document: Document, part: str) -> None:
    if part and all(one.id != part for one in document.score.parts):
        raise EditError("There is no such part in this score.")
