"""The chord symbols that the user has set otherwise than the source prints them.

A typed chord speaks for the page too: what is written over the music is what its numeral names. The
source keeps its own symbols; only what is drawn changes.
"""

from __future__ import annotations

from analysis.chords import chord_of
from analysis.vocabulary.wording import chord_text
from app.review.document import Document

#: Element id of each symbol with its printed text, in order of time.
Symbols = tuple[tuple[str, str], ...]


def corrected_symbols(document: Document) -> Symbols:
    """Symbols at places where a chord was set by hand that is not the one they write.

    A chord set where the source has no symbol has none to change; its numeral stands alone.
    """
    found: list[tuple[str, str]] = []
    set_by_hand = document.corrections.chords
    for symbol in document.score.chord_symbols if set_by_hand else ():
        for span, chord in set_by_hand:
            if symbol.onset in span and chord != chord_of(symbol):
                found.append((symbol.id, chord_text(chord)))
    return tuple(found)
