"""How surely chords are read: order and bounds alone, since the shares have no source."""

from __future__ import annotations

import pytest

from analysis.harmony.chord_facts import find_chord_facts
from analysis.inference.symbol_queries import SymbolQuery, doubted
from analysis.marks import ChordFact, KeyRegion, PlacedChord
from analysis.pitch import Key
from analysis.timebase import Fraction, Span
from tests.analysis.rows import chord, facts

ROWS = [
    "C Dm7 G7 C", "C A7 Dm G7 Am", "C E7 F Fm C", "C F#dim7 C/G G7 C", "C Bb7 C", "C Db7 C",
    "C Em7 F G11 C", "C D7 F G", "C5 Csus4 C F/G C", "C Ab7 C/G G", "C G/B Am C/G F",
]  # fmt: skip


def _sure(row: str, at: int) -> float:
    return facts(row, "C major")[at].confidence


def _in_key(row: str, belief: float) -> tuple[ChordFact, ...]:
    placed = [
        PlacedChord(Span(Fraction(4 * at), Fraction(4 * at + 4)), chord(one), f"h{at}", (f"h{at}",))
        for at, one in enumerate(row.split())
    ]
    whole = Span(Fraction(0), placed[-1].span.end)
    return find_chord_facts(placed, (KeyRegion(whole, Key.parse("C major"), belief),))


@pytest.mark.parametrize("row", ROWS)
@pytest.mark.parametrize("belief", [0.3, 0.7, 1.0])
def test_no_chord_is_surer_than_its_key(row: str, belief: float) -> None:
    found, sure = _in_key(row, belief), _in_key(row, 1.0)
    for fact, other in zip(found, sure, strict=True):
        assert 0 < fact.confidence <= belief
        assert fact.confidence == pytest.approx(belief * other.confidence)


@pytest.mark.parametrize(
    ("surer", "less"),
    [
        (("C F G", 1), ("C Fm G", 1)),  # of the key, borrowed
        (("C Fm Am", 1), ("C C#m Am", 1)),  # borrowed, from nowhere
        (("C G7 C", 1), ("C G7 Am", 1)),  # home, elsewhere
        (("C G7 Am", 1), ("C G7 F C", 1)),  # deceptive, late
        (("C A7 Dm", 1), ("C A7 G", 1)),  # an applied dominant that arrives, one that does not
        (("C G7 C", 1), ("C Db7 C", 1)),  # V, its substitute
        (("C F G", 1), ("C F/A G", 1)),  # root position, inversion
        (("C C/E F", 1), ("F C/G F", 1)),  # inversion, six-four
        (("C Dm G", 1), ("C Em7 Am", 1)),  # plain, with a rival
    ],
)  # fmt: skip
def test_what_is_plainer_is_surer(surer: tuple[str, int], less: tuple[str, int]) -> None:
    assert _sure(*surer) > _sure(*less)


@pytest.mark.parametrize("row", ROWS)
def test_a_sure_key_leaves_every_reading_in_sight(row: str) -> None:
    """Marks are shown from one half on."""
    assert all(fact.confidence >= 0.5 for fact in facts(row, "C major"))


def test_a_contradicted_symbol_is_less_believed() -> None:
    row = [
        PlacedChord(Span(Fraction(4 * at), Fraction(4 * at + 4)), chord("C"), f"h{at}")
        for at in range(2)
    ]
    query = SymbolQuery(row[0].span, "h0", ("h0",), "It sounds otherwise.", chord("F"), (), 0.9)
    first, second = doubted(row, [query])
    assert 0 < first.confidence < second.confidence == 1.0
