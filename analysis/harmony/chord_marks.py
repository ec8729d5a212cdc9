"""Marks of keys, of chords and of doubts about chord symbols."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from typing import Final

from analysis.inference.symbol_queries import SymbolQuery
from analysis.marks import ChordFact, Evidence, KeyRegion, Mark, Reading, mark_id
from analysis.vocabulary.numerals import label_of
from analysis.vocabulary.wording import (
    chord_sentence,
    chord_text,
    key_sentence,
    key_text,
    other_key_reason,
)

_SILENCE: Final = "No chord is given here."


def make_key_marks(regions: Sequence[KeyRegion], chords: Sequence[ChordFact]) -> list[Mark]:
    """A mark where each key region begins, at its first chord."""
    marks = []
    for at, region in enumerate(regions):
        index = bisect_left(chords, region.span.start, key=lambda fact: fact.span.start)
        inside = index < len(chords) and chords[index].span.start < region.span.end
        first = chords[index] if inside else None
        marks.append(
            Mark(
                id=mark_id("key", region.span.start, region.key),
                kind="key",
                span=region.span,
                parts=(),
                elements=first.elements[:1] if first is not None else (),
                label=key_text(region.key),
                sentence=key_sentence(region, regions[:at]),
                evidence=region.evidence,
                alternatives=tuple(
                    Reading(key_text(key), other_key_reason(region.key, key), chance, key=key)
                    for key, chance in region.alternatives
                ),
                confidence=region.confidence,
                fact=region,
            )
        )
    return marks


def make_chord_marks(chords: Sequence[ChordFact]) -> list[Mark]:
    """A mark for every chord, N.C. too."""
    return [
        Mark(
            id=mark_id("chord", fact.span.start, fact.symbol, fact.numeral and fact.numeral.text),
            kind="chord",
            span=fact.span,
            parts=(),
            elements=fact.elements,
            label=label_of(fact.numeral.text) if fact.numeral else "N.C.",
            sentence=chord_sentence(fact),
            evidence=tuple(
                Evidence(reason, fact.elements) for reason in fact.reasons or (_SILENCE,)
            ),
            alternatives=fact.alternatives,
            confidence=fact.confidence,
            fact=fact,
        )
        for fact in chords
    ]


def make_query_marks(queries: Sequence[SymbolQuery]) -> list[Mark]:
    """A mark for every doubt whether a symbol says what sounds."""
    return [
        Mark(
            id=mark_id("query", query.span.start, query.symbol, query.statement),
            kind="query",
            span=query.span,
            parts=(),
            elements=query.elements,
            label="?",
            sentence=query.statement,
            evidence=query.evidence,
            alternatives=(Reading(chord_text(query.likelier), "The notes fit it best."),),
            confidence=query.confidence,
        )
        for query in queries
    ]
