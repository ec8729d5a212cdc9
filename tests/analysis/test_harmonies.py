"""Chord symbols: every form in which MusicXML writes them."""

from __future__ import annotations

import pytest

from analysis.pitch import PitchName
from analysis.score import ChordSymbol, Degree
from tests.analysis.snippets import attributes, harmony, note, read

WHOLE = note("C4", 16)
HALF = note("C4", 8)


def symbols(*measures: str) -> tuple[ChordSymbol, ...]:
    return read(list(measures)).chord_symbols


def only(written: str, opening: str = "") -> ChordSymbol:
    (symbol,) = symbols((opening or attributes()) + written + WHOLE)
    return symbol


def places(*found: ChordSymbol) -> list[tuple[str, float, float]]:
    return [(str(chord.root), float(chord.onset), float(chord.duration)) for chord in found]


def name(text: str) -> PitchName:
    return PitchName.parse(text)


def test_root_kind_text_and_place() -> None:
    symbol = only(harmony("Bb", "minor-seventh", text="m7"))
    assert (symbol.id, symbol.part, symbol.measure) == ("p1m1h1", "P1", 0)
    assert (symbol.root, symbol.kind, symbol.text) == (name("Bb"), "minor-seventh", "m7")
    assert places(symbol) == [("Bb", 0, 4)]
    assert symbol.bass is None


def test_degrees_and_bass() -> None:
    degrees = (
        "<degree><degree-value>9</degree-value><degree-alter>-1</degree-alter>"
        "<degree-type>add</degree-type></degree>"
        "<degree><degree-value>5</degree-value><degree-alter>1</degree-alter>"
        "<degree-type>alter</degree-type></degree>"
        "<degree><degree-value>3</degree-value><degree-alter>0</degree-alter>"
        "<degree-type>subtract</degree-type></degree>"
        "<degree><degree-value>99</degree-value><degree-type>add</degree-type></degree>"
        "<degree><degree-value>9</degree-value><degree-type>bend</degree-type></degree>"
    )
    bass = "<bass><bass-step>F</bass-step><bass-alter>1</bass-alter></bass>"
    symbol = only(harmony("D", "dominant", bass + degrees))
    assert symbol.bass == name("F#")
    assert symbol.degrees == (
        Degree(9, -1, "add"),
        Degree(5, 1, "alter"),
        Degree(3, 0, "subtract"),
    )


@pytest.mark.parametrize(
    ("root", "kind", "inversion", "bass"),
    [
        ("C", "major", 1, "E"),
        ("A", "minor", 2, "E"),
        ("B", "half-diminished", 2, "F"),
        ("Eb", "dominant", 3, "Db"),
        ("C#", "diminished-seventh", 3, "Bb"),
    ],
)
def test_an_inversion_names_the_bass(root: str, kind: str, inversion: int, bass: str) -> None:
    symbol = only(harmony(root, kind, f"<inversion>{inversion}</inversion>"))
    assert symbol.bass == name(bass)


@pytest.mark.parametrize(("kind", "inversion"), [("major", 0), ("major", 3), ("power", 1)])
def test_an_inversion_that_the_chord_has_not_says_nothing(kind: str, inversion: int) -> None:
    assert only(harmony("C", kind, f"<inversion>{inversion}</inversion>")).bass is None


@pytest.mark.parametrize(
    "written",
    [
        '<harmony><kind text="N.C.">none</kind></harmony>',
        '<harmony><root><root-step text="">C</root-step></root>'
        '<kind text="N.C.">none</kind></harmony>',
    ],
)
def test_no_chord(written: str) -> None:
    symbol = only(written)
    assert (symbol.root, symbol.kind, symbol.text) == (None, "none", "N.C.")


@pytest.mark.parametrize(
    ("written", "kind"),
    [
        ("dominant-seventh", "dominant"),
        ("minor-major-seventh", "major-minor"),
        ("minor-major", "major-minor"),
        ("neapolitan", "Neapolitan"),
        (" Minor-Seventh ", "minor-seventh"),
        ("no such kind", "other"),
        ("", "major"),
        ("Neapolitan", "Neapolitan"),
    ],
)
def test_kinds_of_other_names(written: str, kind: str) -> None:
    assert only(harmony("C", written)).kind == kind


def test_a_root_that_cannot_be_read_is_none() -> None:
    odd = "<harmony><root><root-step>H</root-step></root><kind>major</kind></harmony>"
    assert only(odd).root is None
    assert only("<harmony/>").kind == "other"


def test_symbols_of_a_transposing_part_sound() -> None:
    down = attributes("<transpose><chromatic>-2</chromatic></transpose>", fifths=2)
    bass = "<bass><bass-step>A</bass-step></bass>"
    symbol = only(harmony("D", "major", bass), down)
    assert (symbol.root, symbol.bass) == (name("C"), name("G"))
    octave = attributes(
        "<transpose><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>"
    )
    assert only(harmony("D"), octave).root == name("D")


# --- place -----------------------------------------------------------------------------------


def test_a_symbol_lasts_until_the_next_one_across_measures() -> None:
    found = symbols(attributes() + harmony("C") + WHOLE, HALF + harmony("F") + HALF, WHOLE)
    assert places(*found) == [("C", 0, 6), ("F", 6, 6)]


def test_offsets_place_symbols_within_a_long_note() -> None:
    later = harmony("F", more="<offset>8</offset>")
    early = harmony("G", more="<offset>-4</offset>")
    found = symbols(attributes() + harmony("C") + later + WHOLE + early)
    assert places(*found) == [("C", 0, 2), ("F", 2, 1), ("G", 3, 1)]


def test_offsets_lead_neither_before_the_measure_nor_past_the_end() -> None:
    before = harmony("F", more="<offset>-80</offset>")
    after = harmony("G", more="<offset>80</offset>")
    found = symbols(attributes() + WHOLE, WHOLE + before + after)
    assert places(*found) == [("F", 4, 4), ("G", 8, 0)]


def test_a_symbol_that_lies_past_its_barline_belongs_to_the_next_measure() -> None:
    late = harmony("G", more="<offset>24</offset>")
    (symbol,) = symbols(attributes() + late + WHOLE, WHOLE)
    assert symbol.measure == 1
    assert places(symbol) == [("G", 6, 2)]


def test_symbols_placed_by_moving_the_cursor() -> None:
    moved = "<forward><duration>8</duration></forward>"
    found = symbols(
        attributes()
        + harmony("C")
        + moved
        + harmony("F")
        + "<backup><duration>8</duration></backup>"
        + WHOLE
    )
    assert places(*found) == [("C", 0, 2), ("F", 2, 2)]


def test_symbols_of_several_parts_share_their_span() -> None:
    score = read(
        [attributes() + harmony("C") + WHOLE, WHOLE],
        [attributes() + harmony("C") + HALF + harmony("G") + HALF, WHOLE],
    )
    assert places(*score.chord_symbols) == [("C", 0, 2), ("C", 0, 2), ("G", 2, 6)]
    assert [symbol.part for symbol in score.chord_symbols] == ["P1", "P2", "P2"]


def test_a_score_may_have_chord_symbols_alone() -> None:
    (symbol,) = symbols(attributes() + harmony("C") + note("rest", 16))
    assert places(symbol) == [("C", 0, 4)]


# --- numerals and functions ------------------------------------------------------------------


def numeral(*stack: tuple[int, str], key: str = "", more: str = "") -> str:
    chords = "".join(
        f"<numeral><numeral-root>{degree}</numeral-root>{more}{key}</numeral><kind>{kind}</kind>"
        for degree, kind in stack
    )
    return f"<harmony>{chords}</harmony>"


def numeral_key(fifths: int, mode: str) -> str:
    return (
        f"<numeral-key><numeral-fifths>{fifths}</numeral-fifths>"
        f"<numeral-mode>{mode}</numeral-mode></numeral-key>"
    )


@pytest.mark.parametrize(
    ("written", "root"),
    [
        (numeral((5, "dominant")), "A"),
        (numeral((7, "major"), more="<numeral-alter>-1</numeral-alter>"), "C"),
        (numeral((5, "dominant"), key=numeral_key(0, "major")), "G"),
        (numeral((6, "major"), key=numeral_key(0, "minor")), "F"),
        (numeral((7, "major"), key=numeral_key(0, "natural minor")), "G"),
        (numeral((7, "diminished"), key=numeral_key(0, "harmonic minor")), "G#"),
        # V of II in D major is B: II is E minor, and its dominant lies a fifth above it.
        (numeral((5, "dominant"), (2, "minor")), "B"),
        # vii of V: a half step below A.
        (numeral((7, "diminished"), (5, "major")), "G#"),
        # vii of ii: a half step below E minor, not its natural seventh degree.
        (numeral((7, "diminished"), (2, "minor")), "D#"),
    ],
)
def test_numerals_are_worked_out_against_their_key(written: str, root: str) -> None:
    assert only(written, attributes(fifths=2)).root == name(root)


@pytest.mark.parametrize("degree", ["0", "8", "x", ""])
def test_numerals_without_sense_have_no_root(degree: str) -> None:
    odd = f"<numeral><numeral-root>{degree}</numeral-root></numeral><kind>major</kind>"
    assert only(f"<harmony>{odd}</harmony>").root is None


def test_a_numeral_keeps_its_printed_text() -> None:
    written = (
        '<harmony><numeral><numeral-root text="V">5</numeral-root></numeral>'
        "<kind>major</kind></harmony>"
    )
    assert only(written).text == "V"


def test_a_bare_function_keeps_its_text_and_has_no_root() -> None:
    symbol = only("<harmony><function>V7/V</function><kind>dominant</kind></harmony>")
    assert (symbol.root, symbol.kind, symbol.text) == (None, "dominant", "V7/V")
