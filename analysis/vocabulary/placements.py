"""Chords in their places, from the written symbols and from what the user set by hand.

The task is to turn symbols, which stand above one or several parts and hold until the next one,
into one row of chords that follow each other. A symbol written in several parts at one place
counts once. Chords set by hand are laid over the row and cut what they cover. Nothing is merged:
a symbol that repeats the chord before it keeps its own place, because it is a thing on the page
to point at.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from analysis.chords import Chord, chord_of
from analysis.marks import PlacedChord
from analysis.score import ChordSymbol, Score
from analysis.timebase import Span


def place_symbols(score: Score) -> tuple[PlacedChord, ...]:
    """The written chord symbols as a row of chords without overlap, in order of time.

    Returns
    -------
    tuple of PlacedChord
        Each reaches to the next symbol or to the end of the piece. N.C. has no chord; a symbol
        that names neither a root nor N.C. (a bare numeral or function) is left out.
    """
    kept: list[ChordSymbol] = []
    for symbol in sorted(score.chord_symbols, key=lambda symbol: symbol.onset):
        if symbol.root is None and symbol.kind != "none":
            continue
        if kept and kept[-1].onset == symbol.onset:
            continue
        kept.append(symbol)
    ends = [*(symbol.onset for symbol in kept[1:]), score.end][: len(kept)]
    return tuple(
        PlacedChord(Span(symbol.onset, end), chord_of(symbol), symbol.id, (symbol.id,))
        for symbol, end in zip(kept, ends, strict=True)
        if end > symbol.onset
    )


def lay_over(
    placed: Sequence[PlacedChord], corrections: Iterable[tuple[Span, Chord | None]]
) -> tuple[PlacedChord, ...]:
    """The row with chords set by hand in place of what they cover, in order of time.

    A correction of exactly one chord's span, or of one that begins where it begins, keeps that
    chord's symbol, so that its mark still points at something on the page.
    """
    row = list(placed)
    for span, chord in corrections:
        held = next((one for one in row if one.span.start == span.start), None)
        laid = PlacedChord(
            span, chord, held.symbol if held else "", held.elements if held else (), 1.0
        )
        row = [part for one in row for part in _outside(one, span)]
        row.append(laid)
        row.sort(key=lambda one: one.span)
    return tuple(row)


def _outside(placed: PlacedChord, span: Span) -> list[PlacedChord]:
    """What is left of a chord outside a span: nothing, one piece or two."""
    if not placed.span.overlaps(span):
        return [placed]
    pieces = []
    if placed.span.start < span.start:
        pieces.append(replace(placed, span=Span(placed.span.start, span.start)))
    if placed.span.end > span.end:
        pieces.append(replace(placed, span=Span(span.end, placed.span.end)))
    return pieces
