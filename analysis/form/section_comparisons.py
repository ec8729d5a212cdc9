"""What is new when a section comes back.

The task: hold each section against the first one with its letter and say how they differ: length,
key, chords, melody, words, and which parts sound.

Conventions. Sections are laid side by side from their first measures on; a pickup is left out. What
is said of chords and melody is what the comparison of returns found, so a symbol that came early or
was left out makes no difference. Common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, TypeVar

import numpy as np

from analysis.marks import KeyRegion, Repeat, Section
from analysis.pitch import Key
from analysis.score import Measure, Note, Score
from analysis.timebase import Fraction, Span
from analysis.vocabulary.voices import HeldNote, sung_words

#: From this share of words in common on they are the same words.
_SAME_WORDS: Final = 0.6
#: From this share of its length on a melody is the same.
_SAME_MELODY: Final = 0.85
_Timed = TypeVar("_Timed", HeldNote, Measure, Note)


@dataclass(frozen=True, slots=True)
class SectionPair:
    """A section and the first one of its letter.

    Parameters
    ----------
    first, later
        The two sections.
    passage
        Both as a passage and its return, as long as the shorter is, moved with the key; its
        differences tell the chords apart.
    keys
        The keys in which they begin.
    measures
        How many measures each has.
    melody
        Share of the later one's sung time that holds the melody of the first, in [0, 1].
    same_words
        Whether the words are the same; None where either has none.
    joining, resting
        Names of the parts that sound in one only.
    """

    first: Section
    later: Section
    passage: Repeat
    keys: tuple[Key, Key]
    measures: tuple[int, int]
    melody: float
    same_words: bool | None
    joining: tuple[str, ...]
    resting: tuple[str, ...]

    @property
    def half_steps(self) -> int:
        """From the first section's tonic to the later one's, the shorter way."""
        return (self.keys[1].tonic.pc - self.keys[0].tonic.pc + 5) % 12 - 5

    @property
    def same_melody(self) -> bool:
        """Whether nearly all of the later section is the melody of the first."""
        return self.melody >= _SAME_MELODY


def pair_sections(
    score: Score,
    sections: Sequence[Section],
    line: Sequence[HeldNote],
    regions: Sequence[KeyRegion],
    repeats: Sequence[Repeat],
) -> tuple[SectionPair, ...]:
    """Each section that comes back, with the first of its letter, in order.

    The passages say nothing of the chords yet.
    """
    firsts: dict[str, Section] = {}
    returns = _Returns(repeats)
    pairs = []
    for section in sections:
        first = firsts.setdefault(section.label, section)
        if first is not section:
            pairs.append(_pair(score, first, section, line, regions, returns))
    return tuple(pairs)


def in_keys(score: Score, pair: SectionPair, regions: Sequence[KeyRegion]) -> SectionPair:
    """A pair under other keys: nothing else of it depends on them."""
    one, two = (_without_pickup(score, section.span) for section in (pair.first, pair.later))
    keys = (_key_at(regions, one), _key_at(regions, two))
    if keys == pair.keys:
        return pair
    moved = keys[1].tonic.pc - keys[0].tonic.pc
    return replace(pair, keys=keys, passage=replace(pair.passage, transposition=moved))


class _Returns:
    """The returns of a piece, to be asked quickly for those between two spans."""

    def __init__(self, repeats: Sequence[Repeat]) -> None:
        self._repeats = repeats
        spans = [span for one in repeats for span in (one.first, one.later)]
        borders = [float(at) for span in spans for at in (span.start, span.end)]
        self._borders = np.array(borders).reshape(-1, 4).T

    def between(self, first: Span, later: Span) -> Iterator[Repeat]:
        """Returns from somewhere in the one span to somewhere in the other."""
        since, until, back, over = self._borders
        touching = (since < float(first.end)) & (until > float(first.start))
        touching &= (back < float(later.end)) & (over > float(later.start))
        return (self._repeats[at] for at in np.flatnonzero(touching).tolist())


def _pair(
    score: Score,
    first: Section,
    later: Section,
    line: Sequence[HeldNote],
    regions: Sequence[KeyRegion],
    returns: _Returns,
) -> SectionPair:
    spans = [_without_pickup(score, section.span) for section in (first, later)]
    length = min(span.duration for span in spans)
    keys = (_key_at(regions, spans[0]), _key_at(regions, spans[1]))
    counts = [len(_begun_in(score.measures, span)) for span in spans]
    passage = Repeat(
        first=Span(spans[0].start, spans[0].start + length),
        later=Span(spans[1].start, spans[1].start + length),
        part=line[0].part if line else "",
        transposition=keys[1].tonic.pc - keys[0].tonic.pc,
        similarity=0.0,
        reharmonised=False,
        later_notes=tuple(head for note in _begun_in(line, spans[1]) for head in note.heads),
    )
    share = _shared_melody(line, spans[0], spans[1], returns)
    here, there = (_parts_in(score, span) for span in spans)
    return SectionPair(
        first=first,
        later=later,
        passage=replace(passage, similarity=share),
        keys=keys,
        measures=(counts[0], counts[1]),
        melody=share,
        same_words=_same_words(line, spans[0], spans[1]),
        joining=tuple(part.name for part in score.parts if part.id in there - here and part.name),
        resting=tuple(part.name for part in score.parts if part.id in here - there and part.name),
    )


def _without_pickup(score: Score, span: Span) -> Span:
    first = score.measures[0]
    pickup = first.pickup or first.length < first.meter.length
    if pickup and span.start == first.onset and first.span.end < span.end:
        return Span(first.span.end, span.end)
    return span


def _key_at(regions: Sequence[KeyRegion], span: Span) -> Key:
    """The key of the region that holds most of a span."""
    return max(
        regions,
        key=lambda region: min(region.span.end, span.end) - max(region.span.start, span.start),
    ).key


def _begun_in(row: Sequence[_Timed], span: Span) -> Sequence[_Timed]:
    """Those of a row in order of time that begin in a span."""
    low, high = (bisect_left(row, at, key=lambda one: one.onset) for at in (span.start, span.end))
    return row[low:high]


def _shared_melody(line: Sequence[HeldNote], first: Span, later: Span, returns: _Returns) -> float:
    """Share of the notes of one span that return from the other."""
    returned = {head for repeat in returns.between(first, later) for head in repeat.later_notes}
    notes = _begun_in(line, later)
    total = sum((note.span.duration for note in notes), Fraction(0))
    same = sum((note.span.duration for note in notes if note.id in returned), Fraction(0))
    return float(same / total) if total else 1.0


def _same_words(line: Sequence[HeldNote], first: Span, later: Span) -> bool | None:
    texts = []
    for span in (first, later):
        words = {
            word.text.lower().strip(".,;:!?") for word in sung_words(_begun_in(line, span)) if word
        }
        texts.append(words)
    if not all(texts):
        return None
    return len(texts[0] & texts[1]) >= _SAME_WORDS * min(len(texts[0]), len(texts[1]))


def _parts_in(score: Score, span: Span) -> set[str]:
    """Ids of the parts that begin a note in a span."""
    return {part.id for part in score.parts if _begun_in(part.notes, span)}
