"""The printed form of chord symbols: usual lead-sheet spelling (common practice, no source)."""

import pytest
from lxml import etree

from analysis.chords import KIND_DEGREES
from analysis.pitch import PitchName
from analysis.score import Degree
from app.engraving.chord_symbols import QUALITIES, note_name, symbol_text
from app.engraving.copies import harmony_text


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
