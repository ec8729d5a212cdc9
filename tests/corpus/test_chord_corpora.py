"""Chords of music21's own corpora, and the arithmetic that the accuracy bench scores them with."""

from __future__ import annotations

import pytest

from analysis.marks import Settings
from tests.bench.accuracy import ours
from tests.bench.agreement import Heard, compare, score_pieces, shares
from tests.bench.fit_inferred import held_out_model
from tests.bench.inferred_pieces import CHORALES
from tests.bench.romantext_corpora import read_chorales
from tests.bench.symbol_tunes import check_ours, read_lead_sheets, read_nottingham, shares_of


def heard(onset: float, end: float, tonic: int, root: int, **more: object) -> Heard:
    triad = str(more.get("triad", "maj"))
    applied = more.get("applied")
    assert applied is None or isinstance(applied, int)
    return Heard(onset, end, tonic, False, root, triad, str(more.get("seventh", "")), 0, applied)


C_G_C = [heard(0, 4, 0, 0), heard(4, 6, 0, 7), heard(6, 8, 0, 0)]


def test_an_analysis_agrees_with_itself() -> None:
    found = shares(compare(C_G_C, C_G_C))
    for name in ("key tonic", "root degree", "numeral", "numeral, inversion, key", "function"):
        assert found[name] == 100


def test_agreement_is_weighted_by_duration() -> None:
    other = [heard(0, 4, 0, 0), heard(4, 8, 0, 7)]
    assert shares(compare(C_G_C, other))["root degree"] == 75


def test_a_wrong_key_with_the_right_degrees_costs_the_key_alone() -> None:
    moved = [one._replace(tonic=7, root=((one.root or 0) + 7) % 12) for one in C_G_C]
    found = shares(compare(C_G_C, moved))
    assert (found["key tonic"], found["numeral"], found["numeral, inversion, key"]) == (0, 100, 0)


def test_what_is_missing_is_wrong() -> None:
    assert shares(compare(C_G_C, C_G_C[:1]))["numeral"] == 50


def test_applied_dominants_are_counted_both_ways() -> None:
    right = [heard(0, 4, 0, 2, seventh="m7", applied=7), heard(4, 8, 0, 7)]
    plain = [heard(0, 4, 0, 2, seventh="m7"), heard(4, 8, 0, 0, seventh="m7", applied=5)]
    assert shares(compare(right, right))["applied recall"] == 100
    found = shares(compare(right, plain))
    assert (found["applied precision"], found["applied recall"]) == (0, 0)


def test_changes_of_key_are_found_within_eight_quarters() -> None:
    right = [heard(0, 32, 0, 0), heard(32, 64, 2, 2)]
    near = [heard(0, 26, 0, 0), heard(26, 64, 2, 2)]
    far = [heard(0, 16, 0, 0), heard(16, 64, 2, 2)]
    assert shares(compare(right, near))["changes found"] == 100
    assert shares(compare(right, far))["changes found"] == 0
    assert shares(compare(right, far))["false changes a song"] == 1


def test_every_chorale_has_weights_that_never_saw_it() -> None:
    for number in CHORALES:
        assert held_out_model(f"bach-{number:03d}") is not None
    assert held_out_model("none such") is None


def test_chorales_by_weights_that_never_saw_them() -> None:
    """Analyses in RomanText of music21's package; the bench asks 80 and 65 of all fifteen."""
    pieces = [piece for piece in read_chorales() if piece.name in ("bach-001", "bach-009")]
    analyst = ours(Settings(use_chord_symbols=False), model=held_out_model)
    found = shares(score_pieces(pieces, analyst))
    assert found["root degree"] >= 80
    assert found["numeral, inversion"] >= 65


@pytest.mark.parametrize("tunes", [read_lead_sheets, read_nottingham])
def test_tunes_with_symbols_keep_their_roots_and_read_back(tunes: object) -> None:
    """Lead sheets and Nottingham tunes of music21's package, read without their signatures."""
    assert callable(tunes)
    found = shares_of([verdict for tune in tunes() for verdict in check_ours(tune)])
    assert found["roots kept"] == 100
    assert found["numerals read back"] == 100
    assert found["inside the key"] >= 85
    assert found.get("tonic as written", 100) == 100
