"""Edits of the form: borders of sections, their names and colours.

The first such edit takes over the sections that the analysis found; from then on the user's stand.
Sections follow each other without gaps. They are named by index in order of time.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import ClassVar

from analysis.errors import EditError
from analysis.marks import Evidence, Section
from analysis.timebase import Offset, Span
from app.review.correction_edits import with_corrections
from app.review.document import Document

_BY_HAND = (Evidence("Set by hand."),)


@dataclass(frozen=True, slots=True)
class SetSections:
    """Replace all sections; None lets the analysis find them again."""

    sections: tuple[Section, ...] | None

    @property
    def text(self) -> str:
        """Named by what it does."""
        return "Find the sections again" if self.sections is None else "Set the sections"

    def apply(self, document: Document) -> Document:
        """Take them as they are, once they follow each other."""
        for one, following in pairwise(self.sections or ()):
            if one.span.end != following.span.start:
                raise EditError("Sections must follow each other without gaps.")
        if any(one.span.start >= one.span.end for one in self.sections or ()):
            raise EditError("A section must last.")
        return with_corrections(document, sections=self.sections)


@dataclass(frozen=True, slots=True)
class MoveBorder:
    """Move the border before a section, which also ends the one before it."""

    index: int
    to: Offset
    drag: str = ""
    text: ClassVar[str] = "Move the border"

    def apply(self, document: Document) -> Document:
        """Move it; neither section may vanish."""
        sections = list(sections_of(document))
        if not 0 < self.index < len(sections):
            raise EditError("There is no border there.")
        before, after = sections[self.index - 1], sections[self.index]
        if not before.span.start < self.to < after.span.end:
            raise EditError("A border stays between its two sections; join them instead.")
        if self.to == after.span.start:
            return document
        sections[self.index - 1] = _by_hand(before, span=Span(before.span.start, self.to))
        sections[self.index] = _by_hand(after, span=Span(self.to, after.span.end))
        return with_corrections(document, sections=tuple(sections))


@dataclass(frozen=True, slots=True)
class SplitSection:
    """Part the section at an offset in two; the later one gets this label and name."""

    at: Offset
    label: str = ""
    name: str = ""
    text: ClassVar[str] = "Split the section"

    def apply(self, document: Document) -> Document:
        """Split it; without a label the later part takes the next free letter."""
        sections = list(sections_of(document))
        index = next((i for i, one in enumerate(sections) if self.at in one.span), -1)
        if index < 0 or sections[index].span.start == self.at:
            raise EditError("There is nothing to split; choose a place inside a section.")
        held = sections[index]
        label = self.label or _free_letter(sections)
        sections[index : index + 1] = [
            _by_hand(held, span=Span(held.span.start, self.at)),
            Section(Span(self.at, held.span.end), label, self.name, False, _BY_HAND),
        ]
        return with_corrections(document, sections=tuple(sections))


@dataclass(frozen=True, slots=True)
class JoinSections:
    """Make one of a section and the next; it keeps the earlier label and name."""

    index: int
    text: ClassVar[str] = "Join the sections"

    def apply(self, document: Document) -> Document:
        """Join them."""
        sections = list(sections_of(document))
        if not 0 <= self.index < len(sections) - 1:
            raise EditError("There is no section after it to join.")
        held, following = sections[self.index : self.index + 2]
        joined = _by_hand(held, span=Span(held.span.start, following.span.end))
        sections[self.index : self.index + 2] = [joined]
        return with_corrections(document, sections=tuple(sections))


@dataclass(frozen=True, slots=True)
class RenameSection:
    """Give a section another name, or another letter (None: as it is)."""

    index: int
    name: str | None = None
    label: str | None = None
    text: ClassVar[str] = "Rename the section"

    def apply(self, document: Document) -> Document:
        """Rename it; the letter may not be empty, since it tells which sections are alike."""
        sections = list(sections_of(document))
        if not 0 <= self.index < len(sections):
            raise EditError("There is no such section.")
        held = sections[self.index]
        label = held.label if self.label is None else self.label.strip()
        name = held.name if self.name is None else self.name
        if not label:
            raise EditError("A section needs a letter.")
        if (label, name) == (held.label, held.name):
            return document
        sections[self.index] = _by_hand(held, label=label, name=name)
        return with_corrections(document, sections=tuple(sections))


@dataclass(frozen=True, slots=True)
class ColourSection:
    """Give all sections of one letter a colour (``#rrggbb``), or none where it is empty."""

    label: str
    colour: str
    text: ClassVar[str] = "Colour the section"

    def apply(self, document: Document) -> Document:
        """Set or take away the colour."""
        if self.colour and not re.fullmatch(r"#[0-9a-fA-F]{6}", self.colour):
            raise EditError(f"\u201c{self.colour}\u201d is no colour; write one as #0072b2.")
        colours = dict(document.section_colours)
        colours.pop(self.label, None)
        if self.colour:
            colours[self.label] = self.colour.lower()
        return replace(document, section_colours=colours)


def sections_of(document: Document) -> tuple[Section, ...]:
    """The sections as they stand: those set by hand, else those found."""
    return document.corrections.sections or document.analysis.sections


def _by_hand(
    section: Section, span: Span | None = None, label: str | None = None, name: str | None = None
) -> Section:
    """A section as the user changed it."""
    return replace(
        section,
        span=section.span if span is None else span,
        label=section.label if label is None else label,
        name=section.name if name is None else name,
        evidence=_BY_HAND,
        confidence=1.0,
    )


def _free_letter(sections: Sequence[Section]) -> str:
    """The first capital that no section has; after Z, letters with a number."""
    taken = {one.label for one in sections}
    letters = [chr(ord("A") + at) for at in range(26)]
    numbered = (f"{letter}{number}" for number in range(2, len(taken) + 3) for letter in letters)
    return next(one for one in (*letters, *numbered) if one not in taken)
