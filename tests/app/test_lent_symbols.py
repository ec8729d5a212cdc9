"""Chord symbols of parts that are left out stay on the page."""

from __future__ import annotations

from lxml import etree

from analysis.reading.sources import source_of
from app.engraving.engraver import engrave
from app.engraving.layouts import Layout
from app.engraving.lent_symbols import lend_symbols
from tests.analysis.snippets import attributes, document, harmony, note


def _tree(*parts: list[str]) -> etree._Element:
    return etree.fromstring(document(*parts))


def _children(root: etree._Element, part: int, measure: int) -> list[str]:
    nodes = root.findall("part")[part].findall("measure")[measure]
    return [str(node.tag) for node in nodes if node.tag in ("note", "harmony")]


VOICE = [
    attributes() + harmony("C") + note("C5", 8) + harmony("G") + note("D5", 8),
    harmony("F") + note("E5", 16),
]


def test_symbols_move_before_the_notes_that_begin_with_them() -> None:
    root = _tree(VOICE, [attributes() + note("C3", 8) + note("G3", 8), note("F3", 16)])
    lend_symbols(root, ("P2",))
    assert _children(root, 0, 0) == ["note", "note"]
    assert _children(root, 1, 0) == ["harmony", "note", "harmony", "note"]
    assert _children(root, 1, 1) == ["harmony", "note"]


def test_a_symbol_between_two_notes_keeps_its_time() -> None:
    bass = attributes(divisions=2) + note("C3", 8)
    root = _tree(VOICE, [bass, note("F3", 8)])
    lend_symbols(root, ("P2",))
    offsets = [node.findtext("offset") for node in root.findall("part")[1].iter("harmony")]
    # Half a measure of four quarters, counted in half quarters.
    assert offsets == [None, "4", None]


def test_a_part_with_symbols_of_its_own_borrows_none() -> None:
    own = [attributes() + harmony("A") + note("C3", 16), note("F3", 16)]
    root = _tree(VOICE, own)
    lend_symbols(root, ("P2",))
    assert _children(root, 1, 0) == ["harmony", "note"]
    assert _children(root, 1, 1) == ["harmony", "note"]


def test_of_two_lenders_one_is_taken() -> None:
    root = _tree(VOICE, VOICE, [attributes() + note("C3", 16), note("F3", 16)])
    lend_symbols(root, ("P3",))
    assert _children(root, 2, 0).count("harmony") == 2


def test_all_parts_or_only_the_lender_change_nothing() -> None:
    for wanted in (None, ("P1",), ("P1", "P2")):
        root = _tree(VOICE, [attributes() + note("C3", 16), note("F3", 16)])
        before = etree.tostring(root)
        lend_symbols(root, wanted)
        assert etree.tostring(root) == before


def test_lent_symbols_are_engraved_at_their_times() -> None:
    bass = [attributes() + note("C3", 8) + note("G3", 8), note("F3", 16)]
    source = source_of(document(VOICE, bass), "snippet.musicxml")
    whole = next(engrave(source, Layout(one_system=True)))
    alone = next(engrave(source, Layout(one_system=True, parts=("P2",))))
    symbols = {shape.element for shape in whole.shapes if shape.role == "harm"}
    assert len(symbols) == 3
    assert {shape.element for shape in alone.shapes if shape.role == "harm"} == symbols
    lefts = [alone.boxes[symbol][0] for symbol in sorted(symbols)]
    assert lefts == sorted(lefts)
