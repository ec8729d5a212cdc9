"""The printed form of chord symbols: usual lead-sheet spelling (common practice, no source)."""

from itertools import product

import pytest
from lxml import etree

from analysis.chords import KIND_DEGREES, chord_of
from analysis.pitch import PitchName
from analysis.score import ChordSymbol, Degree
from analysis.timebase import Fraction
from analysis.vocabulary.chord_names import QUALITIES, note_name, symbol_text
from analysis.vocabulary.wording import chord_text
from app.engraving.copies import harmony_text
from tests.analysis.rows import chord


@pytest.mark.parametrize(
    ("root", "kind", "degrees", "bass", "printed"),
    [
        ("C", "major", [], None, "C"),
        ("Eb", "major-seventh", [], None, "E♭maj7"),
        ("F#", "half-diminished", [], "A", "F♯ø7/A"),
        ("B", "diminished-seventh", [], None, "B°7"),
        ("G", "dominant", [Degree(9, -1, "add")], None, "G7(♭9)"),
        ("G", "dominant", [Degree(13, -1, "add"), Degree(9, 1, "add")], None, "G7(♯9,♭13)"),
        ("D", "minor-seventh", [Degree(5, -1, "alter")], None, "Dm7(♭5)"),
        ("A", "major", [Degree(9, 0, "add")], None, "Aadd9"),
        ("A", "minor", [Degree(9, 0, "add")], None, "Amadd9"),
        ("A", "major-sixth", [Degree(9, 0, "add")], None, "A6/9"),
        ("B", "suspended-fourth", [Degree(7, 0, "add")], None, "B7sus4"),
        ("B", "suspended-fourth", [Degree(7, 0, "add"), Degree(9, 0, "add")], None, "B9sus4"),
        (
            "B",
            "dominant",
            [Degree(3, 0, "subtract"), Degree(4, 0, "add")],
            None,
            "B7sus4",
        ),
        ("C", "major", [Degree(7, 0, "add")], None, "C7"),
        ("C", "minor", [Degree(7, 1, "add")], None, "Cm(maj7)"),
        ("C", "dominant", [Degree(13, 0, "add")], None, "C7(13)"),
        ("C", "major", [Degree(3, 0, "subtract")], None, "C(no3)"),
        ("Bbb", "major", [], "F##", "B𝄫/F𝄪"),
        ("C", "power", [], None, "C5"),
    ],
)
def test_printed_form(
    root: str, kind: str, degrees: list[Degree], bass: str | None, printed: str
) -> None:
    under = PitchName.parse(bass) if bass else None
    assert symbol_text(PitchName.parse(root), kind, degrees, under) == printed


def test_no_chord_and_what_has_no_form_of_its_own() -> None:
    assert symbol_text(None, "none") == "N.C."
    assert symbol_text(PitchName.parse("C"), "other", text="sub b5") == "Csub ♭5"


def test_every_kind_that_is_analysed_can_be_printed() -> None:
    assert set(KIND_DEGREES) <= set(QUALITIES)


def test_note_names_of_all_places_on_the_line() -> None:
    names = {note_name(PitchName(fifths)) for fifths in range(-15, 20)}
    assert len(names) == 35
    assert {"C", "F♯", "B♭", "F𝄪", "B𝄫"} <= names


def test_numerals_and_functions_print_what_the_source_prints() -> None:
    numeral = etree.fromstring(
        '<harmony><numeral><numeral-root text="V">5</numeral-root></numeral>'
        "<kind>dominant</kind></harmony>"
    )
    function = etree.fromstring("<harmony><function>V7/V</function><kind>major</kind></harmony>")
    assert harmony_text(numeral) == "V"
    assert harmony_text(function) == "V7/V"


CHANGES = [
    (),
    (Degree(9, -1, "add"),),
    (Degree(11, 1, "add"), Degree(13, -1, "add")),
    (Degree(5, -1, "alter"),),
    (Degree(3, 0, "subtract"),),
    (Degree(7, 1, "add"),),
]


def can_change(kind: str, degrees: tuple[Degree, ...]) -> bool:
    """Whether the kind lacks what is added and has what is changed."""
    held = {number for number, _ in KIND_DEGREES[kind]}
    return all((one.type == "add") != (one.value in held) for one in degrees)


@pytest.mark.parametrize(
    ("kind", "degrees"), [one for one in product(KIND_DEGREES, CHANGES) if can_change(*one)]
)
def test_a_sentence_names_a_chord_as_the_page_prints_it(
    kind: str, degrees: tuple[Degree, ...]
) -> None:
    root, bass = PitchName.parse("Bb"), PitchName.parse("D")
    symbol = ChordSymbol("h", "p", 0, Fraction(0), Fraction(4), root, kind, degrees, bass)
    assert chord_text(chord_of(symbol)) == symbol_text(root, kind, degrees, bass)


@pytest.mark.parametrize(
    ("typed", "named"),
    [
        ("Em7b5", "Eø7"), ("Am(maj7)", "Am(maj7)"), ("Am6", "Am6"), ("C69", "C6/9"),
        ("F9", "F9"), ("A13", "A13"), ("Dmaj9", "Dmaj9"), ("C7b5", "C7(♭5)"), ("Caug", "C+"),
        ("Bdim7/D", "B°7/D"), ("G7sus4", "G7sus4"), ("Ab7#9", "A♭7(♯9)"),
    ],
)  # fmt: skip
def test_a_typed_chord_keeps_all_its_tones_in_its_name(typed: str, named: str) -> None:
    assert chord_text(chord(typed)) == named
