"""One mark moved to a changed transcription: its place there, and what is different about it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from analysis.marks import Mark
from analysis.timebase import Span
from analysis.vocabulary.wording import name_text
from app.review.alignments import Alignment, MovedSpan
from app.review.element_pairs import Counterpart
from app.review.skeletons import BoneNote, BoneSymbol

#: How many changed elements are named; of more only the number is told.
_NAMED: Final = 2


@dataclass(frozen=True, slots=True)
class MovedMark:
    """The mark in its new place, or None and the reason; and what changed under it, in words."""

    mark: Mark | None
    changes: tuple[str, ...] = ()
    reason: str = ""


def move_mark(mark: Mark, alignment: Alignment) -> MovedMark:
    """Move a mark with its music.

    It is nowhere where all its measures, all its elements or all its parts are gone.
    """
    moved = alignment.span(mark.span)
    if moved is None:
        return MovedMark(None, reason=f"Measure {alignment.number_at(mark.span.start)} is gone.")
    parts = tuple(alignment.parts[part] for part in mark.parts if part in alignment.parts)
    if mark.parts and not parts:
        return MovedMark(None, reason="Its part is gone.")
    known = [element for element in mark.elements if element in alignment.things_then]
    found = {one: alignment.elements[one] for one in known if one in alignment.elements}
    if known and not found:
        symbols = all(isinstance(alignment.things_then[one].bone, BoneSymbol) for one in known)
        what = "chord symbol" if symbols else "note"
        gone = f"{what} is gone." if len(known) == 1 else f"{what}s are gone."
        return MovedMark(None, reason=f"Its {gone}")
    changes = [
        *_element_changes(found, alignment),
        *_losses(len(known) - len(found), len(mark.parts) - len(parts)),
        *_span_changes(moved, alignment),
    ]
    evidence = tuple(
        replace(one, elements=_elements(one.elements, alignment)) for one in mark.evidence
    )
    now = replace(
        mark,
        span=_follow_note(mark, moved.span, found, alignment),
        parts=parts,
        elements=_elements(mark.elements, alignment),
        evidence=evidence,
        fact=None,  # it speaks of the music of then
    )
    return MovedMark(now, tuple(changes))


def _elements(elements: tuple[str, ...], alignment: Alignment) -> tuple[str, ...]:
    return tuple(alignment.elements[one].id for one in elements if one in alignment.elements)


def _follow_note(
    mark: Mark, span: Span, found: dict[str, Counterpart], alignment: Alignment
) -> Span:
    """The span of a mark at one note goes where the note went within its measure."""
    if len(mark.elements) != 1 or not found:
        return span
    (one,) = found.values()
    if one.change != "place":
        return span
    start = alignment.things_now[one.id].onset
    return Span(start, start + span.duration)


def _element_changes(found: dict[str, Counterpart], alignment: Alignment) -> Iterator[str]:
    """What is different about the elements, one sentence each, or their number."""
    changed = [(old, one) for old, one in found.items() if one.change]
    if len(changed) > _NAMED:
        yield f"{len(changed)} of its notes have changed."
        return
    for old, one in changed:
        was = _named(alignment.things_then[old].bone)
        now = _named(alignment.things_now[one.id].bone)
        if one.change == "symbol":
            yield f"The chord symbol was {was} and is now {now}."
        elif one.change == "place":
            yield f"{now} now stands elsewhere in its measure."
        elif one.change == "duration":
            yield f"{now} has another duration."
        else:
            yield f"{was} is now {now}."


def _named(bone: BoneNote | BoneSymbol) -> str:
    if isinstance(bone, BoneSymbol):
        return bone.text or "nothing"
    if bone.pitch is None:
        return "An unpitched note"
    return f"{name_text(bone.pitch.name)}{bone.pitch.octave}"


def _losses(elements: int, parts: int) -> Iterator[str]:
    if elements:
        yield "One of its notes is gone." if elements == 1 else f"{elements} of its notes are gone."
    if parts:
        yield "One of its parts is gone." if parts == 1 else f"{parts} of its parts are gone."


def _span_changes(moved: MovedSpan, alignment: Alignment) -> Iterator[str]:
    """Whether measures are missing in its stretch, or new ones stand in it."""
    if not moved.whole:
        yield "Some of its measures are gone."
    if alignment.has_new_measures(moved.span):
        yield "There are new measures in it."
