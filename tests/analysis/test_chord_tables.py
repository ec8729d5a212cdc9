"""The published and derived tables of chords and functions, in all twelve keys of each mode.

Beside each table stands its source. [derived] is arithmetic on the line of fifths.
"""

from __future__ import annotations

import pytest

from analysis.pitch import Key, PitchName
from tests.analysis.rows import SHIFTS, chord, facts, moved, numeral

#: What leads where in C major: chord, the chord that follows, numeral, spelled root [derived].
APPLIED_IN_C = [
    ("A7", "Dm", "V7/ii"),
    ("B7", "Em", "V7/iii"),
    ("C7", "F", "V7/IV"),
    ("D7", "G", "V7/V"),
    ("E7", "Am", "V7/vi"),
    ("A", "Dm", "V/ii"),
    ("B", "Em", "V/iii"),
    ("D", "G", "V/V"),
    ("E", "Am", "V/vi"),
    ("C#dim", "Dm", "viio/ii"),
    ("D#dim", "Em", "viio/iii"),
    ("F#dim", "G", "viio/V"),
    ("G#dim", "Am", "viio/vi"),
    ("C#dim7", "Dm", "viio7/ii"),
    ("D#dim7", "Em", "viio7/iii"),
    ("F#dim7", "G", "viio7/V"),
    ("G#dim7", "Am", "viio7/vi"),
    ("Edim7", "F", "viio7/IV"),
    ("F#m7b5", "G", "viiø7/V"),
    ("E7/G#", "Am", "V65/vi"),
    ("A7/E", "Dm", "V43/ii"),
    ("D7/C", "G/B", "V42/V"),
    ("A/C#", "Dm", "V6/ii"),
]
#: In C minor: any major or minor triad of the key is a target (Open Music Theory v1,
#: *appliedChords*); the numerals of the targets count from natural minor.
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
#: Substitute dominants, a half step above what they lead to [derived].
SUBSTITUTES_IN_C = [
    ("Db7", "C", "subV7"),
    ("Eb7", "Dm", "subV7/ii"),
    ("F7", "Em", "subV7/iii"),
    ("Gb7", "F", "subV7/IV"),
    ("Ab7", "G", "subV7/V"),
    ("Bb7", "Am", "subV7/vi"),
]
#: Chords of C minor in C major [derived]; their functions by the table of pop teaching with the
#: functions of the degrees they alter, and bVI–bVII–I as S–D–T (Open Music Theory v1,
#: *popRockHarmony*).
MIXTURE_IN_C = [
    ("Cm", "i", "T"),
    ("Eb", "bIII", "T"),
    ("Fm", "iv", "S"),
    ("Gm", "v", "D"),
    ("Ab", "bVI", "S"),
    ("Bb", "bVII", "D"),
    ("Ddim", "iio", "S"),
    ("Dm7b5", "iiø7", "S"),
    ("Ebmaj7", "bIIImaj7", "T"),
    ("Fm7", "iv7", "S"),
    ("Abmaj7", "bVImaj7", "S"),
    ("Bb7", "bVII7", "D"),
    ("Bdim7", "viio7", "D"),
]
#: The usual practice in pop teaching; Open Music Theory v1, *harmonicFunctions*, agrees but for
#: iii7, which it leaves open.
FUNCTIONS_IN_C = [
    ("C", "I", "T"),
    ("Am", "vi", "T"),
    ("Em", "iii", "T"),
    ("F", "IV", "S"),
    ("Dm", "ii", "S"),
    ("G", "V", "D"),
    ("G7", "V7", "D"),
    ("Bdim", "viio", "D"),
    ("Bm7b5", "viiø7", "D"),
    ("Em7", "iii7", ""),
    ("Cmaj7", "Imaj7", "T"),
    ("Fmaj7", "IVmaj7", "S"),
    ("Dm7", "ii7", "S"),
    ("Am7", "vi7", "T"),
]
FUNCTIONS_IN_C_MINOR = [
    ("Cm", "i", "T"),
    ("Eb", "III", "T"),
    ("Fm", "iv", "S"),
    ("Ddim", "iio", "S"),
    ("Dm7b5", "iiø7", "S"),
    ("G", "V", "D"),
    ("G7", "V7", "D"),
    ("Bdim", "viio", "D"),
    ("Bdim7", "viio7", "D"),
    ("Cm7", "i7", "T"),
    ("Fm7", "iv7", "S"),
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
@pytest.mark.parametrize(("first", "second", "expected"), SUBSTITUTES_IN_C)
def test_substitute_dominants(first: str, second: str, expected: str, fifths: int) -> None:
    fact = moved(f"Dm {first} {second}", "C major", fifths)[1]
    assert (numeral(fact), fact.function, fact.resolution) == (expected, "D", "resolves")
    assert "subV" in fact.tags


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize(("first", "second", "expected"), SUBSTITUTES_IN_C)
def test_substitutes_in_the_spelling_of_charts(
    first: str, second: str, expected: str, fifths: int
) -> None:
    """In D flat the substitute of I is E double-flat, which charts write D7; it reads the same."""
    far = moved(f"Dm {first} {second}", "C major", fifths)
    written = [one.chord for one in far]
    substitute = written[1]
    assert substitute is not None
    simple = type(substitute)(
        substitute.root + 12, substitute.degrees, substitute.bass + 12, substitute.kind
    )
    again = facts([written[0], simple, written[2]], far[0].key)[1]
    assert numeral(again) == expected


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize(("symbol", "expected", "function"), MIXTURE_IN_C)
def test_mixture(symbol: str, expected: str, function: str, fifths: int) -> None:
    fact = moved(f"C {symbol} C", "C major", fifths)[1]
    assert (numeral(fact), fact.function) == (expected, function)
    inside = symbol in ("Bdim7",)
    assert fact.outside_key is not inside
    if symbol not in ("Bb7", "Bdim7"):
        assert "mixture" in fact.tags


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize(("symbol", "expected", "function"), FUNCTIONS_IN_C)
def test_functions_in_major(symbol: str, expected: str, function: str, fifths: int) -> None:
    fact = moved(f"C {symbol} C", "C major", fifths)[1]
    assert (numeral(fact), fact.function) == (expected, function)
    assert not fact.outside_key


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize(("symbol", "expected", "function"), FUNCTIONS_IN_C_MINOR)
def test_functions_in_minor(symbol: str, expected: str, function: str, fifths: int) -> None:
    fact = moved(f"Cm {symbol} Cm", "C minor", fifths)[1]
    assert (numeral(fact), fact.function) == (expected, function)
    assert not fact.outside_key
    assert "mixture" not in fact.tags  # a leading tone is none: OMT v1, modalMixture


@pytest.mark.parametrize("fifths", SHIFTS)
def test_related_ii_of_an_applied_dominant(fifths: int) -> None:
    """iiø or ii before a minor target, ii before a major one; it is a subdominant [practice]."""
    for symbols, expected in (
        ("Bm7b5 E7 Am", "iiø7/vi"),
        ("Em7b5 A7 Dm", "iiø7/ii"),
        ("F#m7b5 B7 Em", "iiø7/iii"),
        ("Gm7 C7 F", "ii7/IV"),
    ):
        fact = moved(f"C {symbols}", "C major", fifths)[1]
        offered = {one.label for one in fact.alternatives}
        assert expected == numeral(fact) or expected.replace("7", "⁷") in offered, symbols
        if numeral(fact) == expected:
            assert fact.function == "S"


#: Pairs that only the continuation decides [derived]: chord, next, first reading, other reading.
DECIDED = [
    ("Bb7", "C", "bVII7", "subV⁷/vi"),
    ("Bb7", "Am", "subV7/vi", "♭VII⁷"),
    ("F7", "C", "IV7", "subV⁷/iii"),
    ("F7", "Em", "subV7/iii", "IV⁷"),
    ("Ab7", "G", "subV7/V", "Ger⁶₅"),
    ("C7", "F", "V7/IV", "I⁷"),
]


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize(("first", "second", "expected", "other"), DECIDED)
def test_the_continuation_decides_and_the_other_reading_is_offered(
    first: str, second: str, expected: str, other: str, fifths: int
) -> None:
    fact = moved(f"C {first} {second}", "C major", fifths)[1]
    assert numeral(fact) == expected
    assert other in {one.label for one in fact.alternatives}
    assert all(one.reason for one in fact.alternatives)


@pytest.mark.parametrize("fifths", SHIFTS)
def test_blues_sevenths_are_colour(fifths: int) -> None:
    """I7 and IV7 of a blues are not applied [practice]."""
    row = moved("C7 C7 C7 C7 F7 F7 C7 C7 G7 F7 C7 C7", "C major", fifths)
    assert {numeral(fact) for fact in row} == {"I7", "IV7", "V7"}
    assert [fact.function for fact in row] == list("TTTTSSTTDSTT")


@pytest.mark.parametrize("fifths", SHIFTS)
def test_double_plagal_motion(fifths: int) -> None:
    """bVII–IV–I (Everett 2004, in Open Music Theory v1)."""
    row = moved("C Bb F C", "C major", fifths)
    assert [numeral(fact) for fact in row] == ["I", "bVII", "IV", "I"]
    assert any("double plagal" in reason for reason in row[1].reasons)


@pytest.mark.parametrize("fifths", SHIFTS)
def test_neapolitan_and_augmented_sixths_are_subdominants(fifths: int) -> None:
    """Open Music Theory v1, *alteredSubdominants*."""
    neapolitan = moved("Cm Db/F G7 Cm", "C minor", fifths)[1]
    assert (numeral(neapolitan), neapolitan.function) == ("N6", "S")
    german = moved("Cm Ab7 Cm/G G7", "C minor", fifths)[1]
    assert (numeral(german), german.function) == ("Ger65", "S")


@pytest.mark.parametrize("fifths", SHIFTS)
def test_deceptive_resolutions_name_both_chords(fifths: int) -> None:
    """V–vi, V–bVI and V7/vi–IV [practice]."""
    for symbols, wanted, came in (
        ("C G7 Am", "C", "Am"),
        ("C G7 Ab", "C", "Ab"),
        ("C E7 F", "Am", "F"),
    ):
        fact = moved(symbols, "C major", fifths)[1]
        assert fact.resolution == "deceptive", symbols
        assert PitchName.parse(fact.expected.rstrip("m")) == chord(wanted, fifths).root
        arrived = chord(came, fifths).root
        assert fact.came.startswith(str(arrived).replace("b", "♭").replace("#", "♯"))


def test_blues_v_to_iv_is_no_deception() -> None:
    """The twelve-measure form itself goes V IV I (Open Music Theory v1, *popRockHarmony*)."""
    assert facts("C G F C", "C major")[1].resolution != "deceptive"


def test_a_chain_of_dominants() -> None:
    row = facts("C E7 A7 D7 G7 C", "C major")
    assert [numeral(fact) for fact in row] == ["I", "V7/vi", "V7/ii", "V7/V", "V7", "I"]
    assert all("chain" in fact.tags for fact in row[1:4])
    assert all(fact.function == "D" for fact in row[1:5])


@pytest.mark.parametrize("mode", ["mixolydian", "dorian", "lydian", "phrygian"])
def test_modes_count_from_major_or_from_natural_minor(mode: str) -> None:
    """Count bVII in mixolydian, IV in dorian, as in RomanText (theory notes, last chapter)."""
    key = Key.parse(f"C {mode}")
    seventh = numeral(facts("Bb", key)[0])
    assert seventh == ("VII" if key.is_minor_like else "bVII")
