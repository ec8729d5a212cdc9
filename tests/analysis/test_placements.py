"""Chords in their places: several parts, N.C., chords set by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from analysis.chords import Chord
from analysis.harmony.typed_chords import read_chord
from analysis.timebase import Span
from analysis.vocabulary.placements import lay_over, place_symbols
from tests.analysis.tunes import tune


def span(start: int, end: int) -> Span:
    return Span(Fraction(start), Fraction(end))


def typed(symbol: str) -> Chord:
    chord = read_chord(symbol)
    assert chord is not None
    return chord


def test_each_symbol_reaches_to_the_next() -> None:
    placed = place_symbols(tune("r:16", "C:4 N.C.:4 F:8"))
    assert [one.span for one in placed] == [span(0, 4), span(4, 8), span(8, 16)]
    assert placed[1].chord is None
    assert placed[1].symbol


def test_the_same_symbol_over_two_parts_counts_once() -> None:
    score = tune("r:8", "C:4 F:4")
    doubled = [replace(one, id=one.id + "x", part="other") for one in score.chord_symbols]
    both = tuple(sorted((*score.chord_symbols, *doubled), key=lambda one: one.onset))
    assert place_symbols(replace(score, chord_symbols=both)) == place_symbols(score)


def test_a_symbol_that_names_no_root_is_left_out() -> None:
    score = tune("r:8", "C:4 F:4")
    bare = replace(score.chord_symbols[1], root=None, kind="major")
    placed = place_symbols(replace(score, chord_symbols=(score.chord_symbols[0], bare)))
    assert [one.span for one in placed] == [span(0, 8)]


def test_a_chord_set_by_hand_cuts_what_it_covers() -> None:
    placed = place_symbols(tune("r:16", "C:8 F:8"))
    laid = lay_over(placed, [(span(4, 12), typed("Am"))])
    assert [one.span for one in laid] == [span(0, 4), span(4, 12), span(12, 16)]
    assert laid[1].chord == typed("Am")
    assert laid[1].symbol == ""


def test_a_chord_set_by_hand_in_place_of_a_symbol_keeps_it() -> None:
    placed = place_symbols(tune("r:16", "C:8 F:8"))
    laid = lay_over(placed, [(span(8, 16), None)])
    assert laid[1].chord is None
    assert laid[1].symbol == placed[1].symbol
