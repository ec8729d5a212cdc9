"""Tables of chords that `test_function_tables` leaves: inversions, minor targets, special chords.

Rows are written in C and moved along the line of fifths. [derived] is arithmetic on that line.
"""

from __future__ import annotations

import pytest

from analysis.pitch import Key
from analysis.vocabulary.numerals import (
    Convention,
    Target,
    label_of,
    name_numeral,
    respelled,
    target_text,
)
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
    # Altered fifths, what is stacked and what is added, a third or fifth left out.
    ("Am7#5", "C major", "vi7(#5)", "vi⁷(♯⁵)", "vi7(#5)", "vi7(#5)"),
    ("C7b5", "C major", "I7(b5)", "I⁷(♭⁵)", "I7(b5)", "I7(b5)"),
    ("Bm7b5", "C major", "viiø7", "viiø⁷", "viiø7", "viiø7"),
    ("C6/9", "C major", "I(add6,9)", "I(add⁶,⁹)", "I(add6,9)", "I(add6,9)"),
    ("Cmaj7#11", "C major", "Imaj7(#11)", "Imaj⁷(♯¹¹)", "Imaj7(#11)", "Imaj7(#11)"),
    ("Cmaj9", "C major", "Imaj9", "Imaj⁹", "Imaj9", "Imaj9"),
    ("Dm11", "C major", "ii11", "ii¹¹", "ii11", "ii11"),
    ("G13b9", "C major", "V7(b9,13)", "V⁷(♭⁹,¹³)", "V7(b9,13)", "V7(b9,13)"),
    ("E7#9b13", "A minor", "V7(#9,b13)", "V⁷(♯⁹,♭¹³)", "V7(#9,b13)", "V7(#9,b13)"),
    ("Csus2/4", "C major", "Isus4sus2", "Isus⁴sus²", "Isus4sus2", "Isus4sus2"),
    ("C7no3", "F major", "V7(no3)", "V⁷(no³)", "V7(no3)", "V7(no3)"),
    ("Gm7no5", "C major", "v7(no5)", "v⁷(no⁵)", "v7(no5)", "v7(no5)"),
    ("Cm(maj7)", "C minor", "imaj7", "imaj⁷", "imaj7", "imaj7"),
    # Without a third the degree's own triad gives the case; a suspended dominant is major.
    ("D5", "A minor", "iv5", "iv⁵", "iv5", "iv5"),
    ("E5", "A minor", "v5", "v⁵", "v5", "v5"),
    ("E7sus4", "A minor", "V7sus4", "V⁷sus⁴", "V7sus4", "V7sus4"),
    ("B5", "C major", "vii5", "vii⁵", "vii5", "vii5"),
    # Inversions of triads and sevenths; a bass that figures cannot tell.
    ("G/D", "C major", "V64", "V⁶₄", "V64", "V64"),
    ("C6/E", "C major", "I6(add6)", "I⁶(add⁶)", "I6(add6)", "I6(add6)"),
    ("Bm7b5/D", "C major", "viiø65", "viiø⁶₅", "viiø65", "viiø65"),
    ("Bdim7/F", "A minor", "iio43", "ii°⁴₃", "iio43", "iio43"),
    ("E7/D", "A minor", "V42", "V⁴₂", "V42", "V42"),
    ("Caug/E", "A minor", "III+6", "III+⁶", "bIII+6", "III+6"),
    ("Csus4/G", "C major", "Isus4/5", "Isus⁴/5", "Isus4/5", "Isus4/5"),
    ("C/F#", "C major", "I/#4", "I/♯4", "I/#4", "I/#4"),
    ("Abmaj7/C", "C minor", "VImaj65", "VImaj⁶₅", "bVImaj65", "VImaj65"),
    # Symbols whose spelling contradicts the key are put right.
    ("F#m", "F major", "bii", "♭ii", "bii", "bii"),
    ("Cb", "F major", "bV", "♭V", "bV", "bV"),
    ("D#dim7", "C major", "#iio7", "♯ii°⁷", "#iio7", "#iio7"),
    ("G#m/B", "Db major", "v6", "v⁶", "v6", "v6"),
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
    for symbol, text in (
        ("C/E", "I/3"),
        ("G7/F", "V7/4"),
        ("F/C", "IV/1"),
        ("Cmaj9/E", "Imaj9/3"),
        ("C6/E", "I(add6)/3"),
        ("C/D", "I/2"),
        ("C", "I"),
    ):
        assert name_numeral(chord(symbol), key, convention=slash).text == text


#: Chord, what it leads to, numeral as figures and as a slash, and counted from the major scale.
AIMED = [
    ("D7/C", "G", "V42/V", "V7/V/1", "V42/V"),
    ("D7/F#", "G", "V65/V", "V7/V/#4", "V65/V"),
    ("Bb7/D", "Eb", "V65/III", "V7/III/2", "V65/bIII"),
    ("G#dim7", "Am", "viio7/#vi", "viio7/#vi", "viio7/vi"),
    ("Fm7b5", "Ebm", "iiø7/iii", "iiø7/iii", "iiø7/biii"),
]


@pytest.mark.parametrize(("symbol", "aim", "figures", "slash", "major"), AIMED)
def test_an_applied_chord_names_its_target_and_the_basss_degree_at_home(
    symbol: str, aim: str, figures: str, slash: str, major: str
) -> None:
    """The forms of `analysis.vocabulary.numerals`, in C minor."""
    key, led = Key.parse("C minor"), chord(aim)
    target = Target(led.root, led.triad == "min")
    found = name_numeral(chord(symbol), key, target)
    assert found.text == figures
    assert (found.applied_to, found.applied_root) == (figures.split("/")[1], led.root)
    assert (
        name_numeral(chord(symbol), key, target, convention=Convention(inversions="slash")).text
        == slash
    )
    assert name_numeral(chord(symbol), key, target, convention=Convention("major")).text == major
    assert target_text(target, key) == figures.split("/")[1]


@pytest.mark.parametrize("fifths", range(-7, 8))
def test_a_chord_respelled_sounds_as_before_and_lies_near_the_key(fifths: int) -> None:
    """Twelve fifths are an octave; from the lowered fifth to the raised fourth are twelve roots."""
    tonic = Key.parse("C major").tonic + fifths
    for symbol in ("C", "F#m7b5/A", "Db7/Cb", "G#dim7", "Ebm/Gb"):
        for turns in (-12, 0, 12):
            one = chord(symbol, turns)
            near = respelled(one, tonic)
            assert {tone.pc for tone in near.tones} == {tone.pc for tone in one.tones}
            assert near.bass.pc == one.bass.pc
            assert near.bass - near.root == one.bass - one.root
            reach = (-3, 9) if one.triad == "dim" else (-6, 6)
            assert reach[0] <= near.root - tonic <= reach[1]
