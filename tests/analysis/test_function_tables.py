"""The published tables of functions, applied chords and mixture, in all twelve keys and both modes.

Each row is written in C and moved through the keys by name, so that spelling is tested too. Sources
stand beside the rows: OMT is Open Music Theory v1 (openmusictheory.github.io), the page in italics.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from analysis.chords import Chord
from analysis.harmony.chord_facts import find_chord_facts
from analysis.harmony.typed_chords import read_chord
from analysis.marks import ChordFact, KeyRegion, PlacedChord
from analysis.pitch import Key, PitchName
from analysis.timebase import Span
from analysis.vocabulary.wording import chord_sentence

#: Tonics from D flat to F sharp on the line of fifths, so that no key needs double sharps.
MAJOR_TONICS = range(-5, 7)
MINOR_TONICS = range(-3, 9)


def _facts(mode: str, tonic: int, symbols: str) -> tuple[ChordFact, ...]:
    """Chords written in C, four quarters each, moved to a tonic and analysed in its key."""
    placed = []
    names = symbols.split()
    for at, symbol in enumerate(names):
        chord = read_chord(symbol)
        assert chord is not None
        moved = Chord(chord.root + tonic, chord.degrees, chord.bass + tonic, chord.kind)
        span = Span(Fraction(4 * at), Fraction(4 * at + 4))
        placed.append(PlacedChord(span, moved, f"h{at}", (f"h{at}",)))
    key = Key.parse(f"{PitchName(tonic)} {mode}")
    region = KeyRegion(Span(Fraction(0), Fraction(4 * len(names))), key, 1.0)
    return find_chord_facts(placed, [region])


def _numeral(fact: ChordFact) -> str:
    assert fact.numeral is not None
    return fact.numeral.text


# Applied dominants, row "Ready values in C major": arithmetic from OMT *appliedChords* (any major
# or minor triad of the key can be the target).
APPLIED = [
    ("A7", "Dm", "V7/ii"),
    ("B7", "Em", "V7/iii"),
    ("C7", "F", "V7/IV"),
    ("D7", "G", "V7/V"),
    ("E7", "Am", "V7/vi"),
    ("C#dim7", "Dm", "viio7/ii"),
    ("D#dim7", "Em", "viio7/iii"),
    ("F#dim7", "G", "viio7/V"),
    ("G#dim7", "Am", "viio7/vi"),
    ("A/C#", "Dm", "V6/ii"),
    ("D7/F#", "G", "V65/V"),
]


@pytest.mark.parametrize("tonic", MAJOR_TONICS)
@pytest.mark.parametrize(("symbol", "target", "numeral"), APPLIED)
def test_applied_dominants(tonic: int, symbol: str, target: str, numeral: str) -> None:
    facts = _facts("major", tonic, f"C C G7 {symbol} {target} G7 C")
    fact = facts[3]
    wanted = read_chord(target)
    assert wanted is not None
    assert _numeral(fact) == numeral
    assert (fact.function, fact.resolution) == ("D", "resolves")
    assert fact.numeral
    assert fact.numeral.applied_root == wanted.root + tonic


# Substitute dominants, same row: a tritone from the expected dominant, down a half step. Common
# practice in jazz and pop teaching, no source.
SUBSTITUTES = [
    ("Db7", "C", "subV7"),
    ("Eb7", "Dm", "subV7/ii"),
    ("F7", "Em", "subV7/iii"),
    ("Gb7", "F", "subV7/IV"),
    ("Ab7", "G", "subV7/V"),
    ("Bb7", "Am", "subV7/vi"),
]


@pytest.mark.parametrize("tonic", MAJOR_TONICS)
@pytest.mark.parametrize(("symbol", "target", "numeral"), SUBSTITUTES)
def test_substitute_dominants(tonic: int, symbol: str, target: str, numeral: str) -> None:
    fact = _facts("major", tonic, f"C C Am {symbol} {target}")[3]
    assert _numeral(fact) == numeral
    assert fact.function == "D"
    assert "subV" in fact.tags


# Chords of C minor in C major: OMT *modalMixture* (a root on a lowered degree takes a flat);
# functions by OMT *harmonicFunctions* read through the degree.
MIXTURE = [
    ("Cm", "i", "T"),
    ("Eb", "bIII", "T"),
    ("Fm", "iv", "S"),
    ("Gm", "v", "D"),
    ("Ab", "bVI", "S"),
    ("Bb", "bVII", "S"),
    ("Ddim", "iio", "S"),
    ("Dm7b5", "iiø7", "S"),
    ("Ebmaj7", "bIIImaj7", "T"),
    ("Fm7", "iv7", "S"),
    ("Abmaj7", "bVImaj7", "S"),
    ("Bb7", "bVII7", "S"),
]


@pytest.mark.parametrize("tonic", MAJOR_TONICS)
@pytest.mark.parametrize(("symbol", "numeral", "function"), MIXTURE)
def test_chords_borrowed_from_minor(tonic: int, symbol: str, numeral: str, function: str) -> None:
    fact = _facts("major", tonic, f"C F C {symbol} Dm")[3]
    assert (_numeral(fact), fact.function) == (numeral, function)
    assert fact.outside_key


# OMT *harmonicFunctions*: roughly I iii vi = T, ii IV = S, V vii = D; iii7 fits none.
DIATONIC_MAJOR = [
    ("C", "I", "T"),
    ("Dm", "ii", "S"),
    ("Em", "iii", "T"),
    ("F", "IV", "S"),
    ("G", "V", "D"),
    ("Am", "vi", "T"),
    ("Bdim", "viio", "D"),
    ("G7", "V7", "D"),
    ("Dm7", "ii7", "S"),
    ("Em7", "iii7", ""),
    ("Bm7b5", "viiø7", "D"),
]
# The same in minor, degrees counted from natural minor as in RomanText; VI's two functions are both
# offered and not tested here.
DIATONIC_MINOR = [
    ("Cm", "i", "T"),
    ("Ddim", "iio", "S"),
    ("Eb", "III", "T"),
    ("Fm", "iv", "S"),
    ("G", "V", "D"),
    ("G7", "V7", "D"),
    ("Bdim7", "viio7", "D"),
    ("Dm7b5", "iiø7", "S"),
]


@pytest.mark.parametrize("tonic", MAJOR_TONICS)
@pytest.mark.parametrize(("symbol", "numeral", "function"), DIATONIC_MAJOR)
def test_the_chords_of_a_major_key(tonic: int, symbol: str, numeral: str, function: str) -> None:
    fact = _facts("major", tonic, f"C Am F {symbol} C")[3]
    assert (_numeral(fact), fact.function) == (numeral, function)
    assert not fact.outside_key


@pytest.mark.parametrize("tonic", MINOR_TONICS)
@pytest.mark.parametrize(("symbol", "numeral", "function"), DIATONIC_MINOR)
def test_the_chords_of_a_minor_key(tonic: int, symbol: str, numeral: str, function: str) -> None:
    fact = _facts("minor", tonic, f"Cm Ab Fm {symbol} Cm")[3]
    assert (_numeral(fact), fact.function) == (numeral, function)
    assert not fact.outside_key


# Pairs that only the continuation decides, with the other reading kept: common practice, no source.
PAIRS = [
    ("Bb7 C", "bVII7", "backdoor", "subV⁷/vi"),
    ("Bb7 Am", "subV7/vi", "subV", "♭VII⁷"),
    ("F7 Em", "subV7/iii", "subV", "IV⁷"),
    ("Ab7 G", "subV7/V", "subV", "Ger⁶₅"),
    ("C7 F", "V7/IV", "applied", "I⁷"),
]


@pytest.mark.parametrize("tonic", MAJOR_TONICS)
@pytest.mark.parametrize(("pair", "numeral", "tag", "other"), PAIRS)
def test_what_follows_decides_and_the_other_reading_is_kept(
    tonic: int, pair: str, numeral: str, tag: str, other: str
) -> None:
    fact = _facts("major", tonic, f"C G C {pair}")[3]
    assert _numeral(fact) == numeral
    assert tag in fact.tags
    assert other in [reading.label for reading in fact.alternatives]
    assert fact.reasons


@pytest.mark.parametrize("tonic", MAJOR_TONICS)
def test_sevenths_of_a_blues_are_its_colour(tonic: int) -> None:
    # OMT *popRockHarmony*: the twelve-measure blues, I/// IV/I/ V IV I/.
    blues = _facts("major", tonic, "C7 C7 C7 C7 F7 F7 C7 C7 G7 F7 C7 C7")
    assert [_numeral(fact) for fact in blues[::4]] == ["I7", "IV7", "V7"]
    assert [fact.function for fact in blues] == list("TTTTSSTTDSTT")
    assert all(fact.resolution != "deceptive" for fact in blues)


# Deceptive resolutions: V–vi and V–bVI (OMT *cadenceTypes*, from memory), V7/vi–IV (common practice
# in pop teaching, no source).
@pytest.mark.parametrize("tonic", MAJOR_TONICS)
@pytest.mark.parametrize(
    ("symbols", "at", "expected", "came"),
    [("C F G7 Am", 2, "C", "Am"), ("C F G7 Ab", 2, "C", "Ab"), ("C G E7 F", 2, "Am", "F")],
)
def test_deceptive_resolutions_name_both_chords(
    tonic: int, symbols: str, at: int, expected: str, came: str
) -> None:
    fact = _facts("major", tonic, symbols)[at]
    wanted, arrived = read_chord(expected), read_chord(came)
    assert wanted is not None
    assert arrived is not None
    assert fact.resolution == "deceptive"
    assert fact.expected.startswith(str(wanted.root + tonic))
    assert fact.came.replace("♭", "b").replace("♯", "#").startswith(str(arrived.root + tonic))


@pytest.mark.parametrize("tonic", MAJOR_TONICS)
@pytest.mark.parametrize(
    ("symbols", "at"),
    [("C F G7 C/E", 2), ("C E7 A7 Dm", 1), ("C F G7 F C", 2), ("C G7 Dm7 G7 C", 1)],
    ids=["inversion of the tonic", "chain of dominants", "rock's V–IV", "delay"],
)
def test_what_is_not_deceptive(tonic: int, symbols: str, at: int) -> None:
    assert _facts("major", tonic, symbols)[at].resolution != "deceptive"


@pytest.mark.parametrize("tonic", MINOR_TONICS)
def test_predominants_of_minor(tonic: int) -> None:
    # OMT *alteredSubdominants*: the Neapolitan and the augmented sixths are S.
    neapolitan = _facts("minor", tonic, "Cm Fm Db/F G7 Cm")[2]
    assert (_numeral(neapolitan), neapolitan.function) == ("N6", "S")
    german = _facts("minor", tonic, "Cm Fm Ab7 Cm/G G7 Cm")
    assert (_numeral(german[2]), german[2].function) == ("Ger65", "S")
    assert german[3].function == "D"


@pytest.mark.parametrize("tonic", MAJOR_TONICS)
def test_double_plagal_and_the_climb_to_minor_tonic(tonic: int) -> None:
    # OMT *popRockHarmony*: bVII–IV–I is a double plagal progression (Everett 2004), and
    # bVI–bVII–i in minor is S–D–T.
    flat_seven, four, _ = _facts("major", tonic, "C Bb F C")[1:]
    assert (flat_seven.function, four.function) == ("S", "S")
    assert "plagal" in " ".join(flat_seven.reasons)
    climb = _facts("minor", tonic, "Cm Ab Bb Cm")[1:]
    assert "".join(fact.function for fact in climb) == "SDT"


@pytest.mark.parametrize("tonic", MAJOR_TONICS)
def test_a_pedal_six_four_is_offered_as_tonic_too(tonic: int) -> None:
    # IV over 1 in the bass: 3–4–3 with 5–6–5; that some hear it as suspending I: common practice.
    fact = _facts("major", tonic, "C F/C C G C")[1]
    assert _numeral(fact) == "IV64"
    assert "pedal" in fact.tags
    assert [reading.function for reading in fact.alternatives] == ["T"]


@pytest.mark.parametrize("tonic", MAJOR_TONICS)
def test_the_related_ii_is_no_dominant(tonic: int) -> None:
    # The ii of an applied dominant is itself a subdominant of the target: common practice.
    facts = _facts("major", tonic, "C G Gm7 C7 F")
    assert _numeral(facts[2]) == "ii7/IV"
    assert facts[2].function == "S"


@pytest.mark.parametrize("tonic", MAJOR_TONICS)
def test_a_sentence_is_short_and_ends(tonic: int) -> None:
    for fact in _facts("major", tonic, "C E7 F Fm7 Bb7 C F/C C Db7 C Gm7 C7 F D7 Dm7 G7sus4 G7 Am"):
        sentence = chord_sentence(fact)
        assert len(sentence.split()) < 30
        assert sentence.endswith(".")
