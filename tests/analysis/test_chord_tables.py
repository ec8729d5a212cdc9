"""Tables of chords that `test_function_tables` leaves: inversions, minor targets, special chords.

Rows are written in C and moved along the line of fifths. [derived] is arithmetic on that line.
"""

from __future__ import annotations

import pytest

from analysis.pitch import Key
from analysis.vocabulary.numerals import Convention, label_of, name_numeral
from tests.analysis.rows import SHIFTS, chord, facts, moved, numeral

#: Chord, the chord that follows, numeral [derived]; triads, leading-tone triads, inversions.
APPLIED_IN_C = [
    ("A", "Dm", "V/ii"),
    ("B", "Em", "V/iii"),
    ("D", "G", "V/V"),
    ("E", "Am", "V/vi"),
    ("C#dim", "Dm", "viio/ii"),
    ("D#dim", "Em", "viio/iii"),
    ("F#dim", "G", "viio/V"),
    ("G#dim", "Am", "viio/vi"),
    ("Edim7", "F", "viio7/IV"),
    ("F#m7b5", "G", "viiø7/V"),
    ("E7/G#", "Am", "V65/vi"),
    ("A7/E", "Dm", "V43/ii"),
    ("D7/C", "G/B", "V42/V"),
    ("A/C#", "Dm", "V6/ii"),
]
#: In C minor any major or minor triad of the key is a target (Open Music Theory v1,
#: *appliedChords*); the targets' numerals count from natural minor.
APPLIED_IN_C_MINOR = [
    ("Bb7", "Eb", "V7/III"),
    ("C7", "Fm", "V7/iv"),
    ("D7", "Gm", "V7/v"),
    ("D7", "G", "V7/V"),
    ("Eb7", "Ab", "V7/VI"),
    ("F7", "Bb", "V7/VII"),
    ("C", "Fm", "V/iv"),
    ("D", "G", "V/V"),
    ("Edim7", "Fm", "viio7/iv"),
    ("F#dim7", "G", "viio7/V"),
    ("F#dim7", "Gm", "viio7/v"),
    ("C7/E", "Fm", "V65/iv"),
]


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize(("first", "second", "expected"), APPLIED_IN_C)
def test_applied_chords_in_major(first: str, second: str, expected: str, fifths: int) -> None:
    fact = moved(f"C {first} {second} C", "C major", fifths)[1]
    assert (numeral(fact), fact.function, fact.resolution) == (expected, "D", "resolves")
    assert fact.numeral is not None
    assert fact.numeral.applied_root == chord(second, fifths).root


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize(("first", "second", "expected"), APPLIED_IN_C_MINOR)
def test_applied_chords_in_minor(first: str, second: str, expected: str, fifths: int) -> None:
    fact = moved(f"Cm {first} {second} Cm", "C minor", fifths)[1]
    assert (numeral(fact), fact.function, fact.resolution) == (expected, "D", "resolves")


@pytest.mark.parametrize("fifths", SHIFTS)
def test_substitutes_in_the_spelling_of_charts(fifths: int) -> None:
    """In D flat the substitute of I is E double-flat, which charts write D7; it reads the same."""
    for first, second, expected in (("Db7", "C", "subV7"), ("Gb7", "F", "subV7/IV")):
        row = [chord("Dm", fifths), chord(first, fifths + 12), chord(second, fifths)]
        home = Key.parse("C major")
        fact = facts(row, Key(home.tonic + fifths, "major"))[1]
        assert numeral(fact) == expected


@pytest.mark.parametrize("fifths", SHIFTS)
def test_neapolitan_and_augmented_sixths_are_subdominants(fifths: int) -> None:
    """Open Music Theory v1, *alteredSubdominants*."""
    neapolitan = moved("Cm Db/F G7 Cm", "C minor", fifths)[1]
    assert (numeral(neapolitan), neapolitan.function) == ("N6", "S")
    german = moved("Cm Ab7 Cm/G G7", "C minor", fifths)[1]
    assert (numeral(german), german.function) == ("Ger65", "S")


@pytest.mark.parametrize("fifths", SHIFTS)
def test_a_chain_of_dominants(fifths: int) -> None:
    row = moved("C E7 A7 D7 G7 C", "C major", fifths)
    assert [numeral(fact) for fact in row] == ["I", "V7/vi", "V7/ii", "V7/V", "V7", "I"]
    assert all("chain" in fact.tags for fact in row[1:4])
    assert all(fact.function == "D" for fact in row[1:5])


@pytest.mark.parametrize("fifths", SHIFTS)
def test_mixture_leads_nowhere(fifths: int) -> None:
    """bVII–bIII and bIII–bVI are colour from the parallel minor, no dominants (rock corpus)."""
    row = moved("C Bb Eb Ab C", "C major", fifths)
    assert [numeral(fact) for fact in row] == ["I", "bVII", "bIII", "bVI", "I"]


@pytest.mark.parametrize("fifths", SHIFTS)
def test_viiø7_before_the_dominant_of_vi_is_its_related_ii(fifths: int) -> None:
    fact = moved("C Bm7b5 E7 Am", "C major", fifths)[1]
    assert (numeral(fact), fact.function) == ("viiø7", "S")
    assert "iiø⁷/vi" in {one.label for one in fact.alternatives}


@pytest.mark.parametrize("mode", ["mixolydian", "dorian", "lydian", "phrygian"])
def test_modes_count_from_major_or_from_natural_minor(mode: str) -> None:
    """Flat seven in mixolydian, IV in dorian, as in RomanText (theory notes, last chapter)."""
    key = Key.parse(f"C {mode}")
    assert numeral(facts("Bb", key)[0]) == ("VII" if key.is_minor_like else "bVII")


#: Symbol, key, numeral, label on the page, and the numeral counted from major and from the mode.
WRITTEN = [
    ("Cmaj7/E", "C major", "Imaj65", "Imaj⁶₅", "Imaj65", "Imaj65"),
    ("G13", "C major", "V13", "V¹³", "V13", "V13"),
    ("G7b9", "C major", "V7(b9)", "V⁷(♭⁹)", "V7(b9)", "V7(b9)"),
    ("G9/B", "C major", "V65(9)", "V⁶₅(⁹)", "V65(9)", "V65(9)"),
    ("Gsus4", "C major", "Vsus4", "Vsus⁴", "Vsus4", "Vsus4"),
    ("G7sus4", "C major", "V7sus4", "V⁷sus⁴", "V7sus4", "V7sus4"),
    ("Dsus2", "C major", "iisus2", "iisus²", "iisus2", "iisus2"),
    ("C6", "C major", "I(add6)", "I(add⁶)", "I(add6)", "I(add6)"),
    ("Cadd9", "C major", "I(add9)", "I(add⁹)", "I(add9)", "I(add9)"),
    ("C5", "C major", "I5", "I⁵", "I5", "I5"),
    ("D5", "C major", "ii5", "ii⁵", "ii5", "ii5"),
    ("Cno5", "C major", "I(no5)", "I(no⁵)", "I(no5)", "I(no5)"),
    ("F/G", "C major", "IV/5", "IV/5", "IV/5", "IV/5"),
    ("C/Bb", "C major", "I/b7", "I/♭7", "I/b7", "I/b7"),
    ("Baug", "C major", "VII+", "VII+", "VII+", "VII+"),
    ("Bb", "C minor", "VII", "VII", "bVII", "VII"),
    ("Bdim7", "C minor", "viio7", "vii°⁷", "viio7", "viio7"),
    ("Adim", "C minor", "#vio", "♯vi°", "vio", "#vio"),
    ("Bb", "C mixolydian", "bVII", "♭VII", "bVII", "VII"),
    ("F", "C dorian", "IV", "IV", "IV", "IV"),
    ("Am7b5", "C dorian", "#viø7", "♯viø⁷", "viø7", "viø7"),
    # Symbols whose spelling contradicts the key are put right.
    ("A#", "F major", "IV", "IV", "IV", "IV"),
    ("D#7", "Db major", "II7", "II⁷", "II7", "II7"),
    ("G#m", "Db major", "v", "v", "v", "v"),
]


@pytest.mark.parametrize(("symbol", "key", "text", "label", "major", "mode"), WRITTEN)
def test_numerals_as_written(
    symbol: str, key: str, text: str, label: str, major: str, mode: str
) -> None:
    """The forms of `analysis.vocabulary.numerals` in its own convention and the two others."""
    held = Key.parse(key)
    assert name_numeral(chord(symbol), held).text == text
    assert label_of(text) == label
    counted = name_numeral(chord(symbol), held, convention=Convention("major")).text
    assert counted == major
    assert name_numeral(chord(symbol), held, convention=Convention("mode")).text == mode


def test_inversions_as_a_slash() -> None:
    key = Key.parse("C major")
    slash = Convention(inversions="slash")
    for symbol, text in (("C/E", "I/3"), ("G7/F", "V7/4"), ("F/C", "IV/1")):
        assert name_numeral(chord(symbol), key, convention=slash).text == text
