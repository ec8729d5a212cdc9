"""Which marks a list shows and in what order; no window needed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from analysis.marks import DEFAULT_CONFIDENCE, MarkKind
from app.interface_words import phrase, said, said_phrase
from app.review.document import Document, ReviewedMark, State
from app.review.section_edits import sections_of

Order = Literal["place", "talking points"]

#: Words for confidence, from the surest down: at least so confident, in words.
CONFIDENCE_WORDS: Final = (
    (0.9, phrase("very sure")),
    (0.75, phrase("fairly sure")),
    (0.5, phrase("likely")),
    (0.0, phrase("a guess")),
)


@dataclass(frozen=True, slots=True)
class MarkFilter:
    """What to show; an empty or None field lets everything through.

    Parameters
    ----------
    section
        Index among the document's sections.
    text
        Words that label or sentence must hold, in any case.
    least
        Open marks must be at least so confident; decided ones are always shown.
    """

    kind: MarkKind | None = None
    state: State | None = None
    section: int | None = None
    text: str = ""
    least: float = DEFAULT_CONFIDENCE
    order: Order = "place"


def rows(document: Document, wanted: MarkFilter) -> tuple[ReviewedMark, ...]:
    """The marks that pass the filter, in order."""
    words = wanted.text.casefold().split()
    sections = sections_of(document)
    span = None
    if wanted.section is not None and wanted.section < len(sections):
        span = sections[wanted.section].span
    found = []
    # Asked for after each decision, so what is not wanted goes first and cheaply.
    for reviewed in document.marks():
        mark, decision = reviewed.mark, reviewed.decision
        if (wanted.kind is not None and mark.kind != wanted.kind) or (
            mark.confidence < wanted.least and (decision is None or decision.state == "open")
        ):
            continue
        if (wanted.state is None or reviewed.state == wanted.state) and (
            span is None or mark.span.start in span
        ):
            text = f"{reviewed.label} {reviewed.sentence}".casefold() if words else ""
            if all(word in text for word in words):
                found.append(reviewed)
    if wanted.order == "talking points":
        places = {mark_id: at for at, mark_id in enumerate(document.order)}
        last = len(places) + len(found)
        found.sort(
            key=lambda reviewed: (places.get(reviewed.id, last), reviewed.mark.rank or 10**6)
        )
    return tuple(found)


def kinds_present(document: Document) -> tuple[MarkKind, ...]:
    """The kinds of which there are marks, in order of first appearance."""
    return tuple(dict.fromkeys(reviewed.mark.kind for reviewed in document.marks()))


def decided(document: Document, least: float = DEFAULT_CONFIDENCE) -> tuple[int, int]:
    """How many marks are decided, and how many there are to decide in all."""
    done = left = 0
    for reviewed in document.marks():
        if reviewed.decision is not None and reviewed.decision.state != "open":
            done += 1
        elif reviewed.mark.confidence >= least:
            left += 1
    return done, done + left


def confidence_text(confidence: float) -> str:
    """Confidence in words and number: ``fairly sure (78 %)``."""
    word = next(word for least, word in CONFIDENCE_WORDS if confidence >= least)
    percent = f"{confidence * 100:.0f}"
    return said("{word} ({percent} %)", word=said_phrase(word), percent=percent)
