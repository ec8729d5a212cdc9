"""What can be compared: a melody with its return, a section with a later one of the same letter.

No window needed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from analysis.marks import ChordDifference, Repeat, Section
from analysis.returns.reharmonisations import compare_harmony
from analysis.timebase import Fraction, Span
from analysis.vocabulary.wording import key_text
from app.engraving.aligned_lines import Side
from app.interface_words import said
from app.review.document import Document
from app.review.section_edits import sections_of
from app.review.selection import Selection
from app.views.places import section_name, span_text
from app.views.typed_corrections import key_at


@dataclass(frozen=True, slots=True)
class Pair:
    """Two passages; ``repeat`` where the analysis says that one is a return of the other."""

    first: Side
    later: Side
    repeat: Repeat | None = None

    @property
    def name(self) -> str:
        """Both names, for a list."""
        return said("{first}  with  {later}", first=self.first.name, later=self.later.name)


class Measures(NamedTuple):
    """The measures of a passage by index, both ends counted in."""

    first: int
    last: int


def pairs_of(document: Document) -> tuple[Pair, ...]:
    """All pairs: returns over other chords first, then sections, then the other returns."""
    returns = [one for one in document.analysis.repeats if _is_shown(document, one)]
    new = [_of_repeat(document, one) for one in returns if one.reharmonised]
    same = [_of_repeat(document, one) for one in returns if not one.reharmonised]
    return (*new, *_of_sections(document), *same)


def pair_for(document: Document, selection: Selection, pairs: tuple[Pair, ...]) -> int:
    """Index of the pair that a selection is about; the first where it is about none."""
    if selection.mark:
        fact = document.mark(selection.mark).mark.fact
        for at, pair in enumerate(pairs):
            spans = (pair.first.span, pair.later.span)
            if pair.repeat and isinstance(fact, Repeat) and spans == (fact.first, fact.later):
                return at
            if pair.repeat is None and isinstance(fact, Section) and fact.span in spans:
                return at
    if selection.span is not None:
        for at, pair in enumerate(pairs):
            if any(selection.span.overlaps(side.span) for side in (pair.first, pair.later)):
                return at
    return 0


def differences_of(document: Document, pair: Pair) -> tuple[ChordDifference, ...]:
    """Where the chords of a pair differ."""
    if pair.repeat is not None:
        return pair.repeat.differences
    keys = [key_at(document, side.span.start) for side in (pair.first, pair.later)]
    steps = (keys[1].tonic.pc - keys[0].tonic.pc + 6) % 12 - 6
    asked = Repeat(pair.first.span, pair.later.span, pair.first.part, steps, 1.0, False)
    (found,) = compare_harmony(document.score, [asked], document.analysis.chords)
    return found.differences


def measures_of(document: Document, side: Side) -> Measures:
    """The measures that a passage lies in."""
    score, span = document.score, side.span
    first = score.measure_at(span.start).index
    last = score.measure_at(max(span.start, span.end - Fraction(1, 1024))).index
    return Measures(first, last)


def _of_repeat(document: Document, repeat: Repeat) -> Pair:
    parts = (repeat.part, repeat.later_part or repeat.part)
    return Pair(*_sides(document, (repeat.first, repeat.later), parts), repeat)


def _of_sections(document: Document) -> Iterator[Pair]:
    part = _melody_part(document)
    seen: dict[str, Section] = {}
    for section in sections_of(document):
        before = seen.setdefault(section.label, section)
        if before is not section and part:
            yield Pair(*_sides(document, (before.span, section.span), (part, part)))


def _sides(
    document: Document, spans: tuple[Span, Span], parts: tuple[str, str]
) -> tuple[Side, Side]:
    """Both passages, named by section and measures, and by key where the keys differ."""
    keys = [key_at(document, span.start) for span in spans]
    sides = []
    for span, part, key in zip(spans, parts, keys, strict=True):
        words = [section_name(document, span.start), span_text(document.score, span)]
        if keys[0] != keys[1]:
            words.append(key_text(key))
        sides.append(Side(" · ".join(filter(None, words)), span, part))
    return sides[0], sides[1]


def _melody_part(document: Document) -> str:
    counted = Counter(fact.part for fact in document.analysis.melody)
    if counted:
        return counted.most_common(1)[0][0]
    return next((part.id for part in document.score.parts if part.notes), "")


def _is_shown(document: Document, repeat: Repeat) -> bool:
    """Whether no mark about the return has been rejected."""
    return not any(
        reviewed.state == "rejected" and reviewed.mark.fact == repeat
        for reviewed in document.marks()
        if reviewed.mark.kind == "repeat"
    )
