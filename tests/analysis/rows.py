"""Rows of chords written as symbols, analysed in a key that is set; no score needed."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from analysis.chords import Chord
from analysis.harmony.chord_facts import find_chord_facts
from analysis.harmony.typed_chords import read_chord
from analysis.marks import ChordFact, KeyRegion, PlacedChord
from analysis.pitch import Key
from analysis.timebase import Span

#: The twelve usual signatures, as the tonics' distances from C and from A on the line of fifths.
SHIFTS = range(-6, 6)


def chord(symbol: str, fifths: int = 0) -> Chord:
    """The chord of a symbol, moved so many fifths along the line."""
    written = read_chord(symbol)
    assert written is not None
    return Chord(written.root + fifths, written.degrees, written.bass + fifths, written.kind)


def facts(symbols: str | Sequence[Chord | None], key: Key | str) -> tuple[ChordFact, ...]:
    """Facts of chords of a measure each; ``N.C.`` parts them."""
    held = Key.parse(key) if isinstance(key, str) else key
    row = (
        [None if one == "N.C." else chord(one) for one in symbols.split()]
        if isinstance(symbols, str)
        else list(symbols)
    )
    spans = [Span(Fraction(4 * at), Fraction(4 * at + 4)) for at in range(len(row))]
    placed = [
        PlacedChord(span, one, f"h{at}", (f"h{at}",))
        for at, (span, one) in enumerate(zip(spans, row, strict=True))
    ]
    region = KeyRegion(Span(Fraction(0), Fraction(4 * len(row))), held, 1.0)
    return find_chord_facts(placed, (region,))


def moved(symbols: str, key: str, fifths: int) -> tuple[ChordFact, ...]:
    """The facts of the same row and key so many fifths along the line."""
    home = Key.parse(key)
    row = [None if one == "N.C." else chord(one, fifths) for one in symbols.split()]
    return facts(row, Key(home.tonic + fifths, home.mode))


def numeral(fact: ChordFact) -> str:
    """The text of a fact's numeral."""
    assert fact.numeral is not None
    return fact.numeral.text
