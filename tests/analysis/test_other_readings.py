"""What else a chord may be, and why it is what it is: readings, reasons and tags beside the table.

Sources stand beside the rows: OMT is Open Music Theory v1 (openmusictheory.github.io), the page in
italics. Chords are in C; `tests.analysis.test_function_tables` moves the tables through the keys.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from analysis.harmony.chord_facts import find_chord_facts
from analysis.harmony.typed_chords import read_chord
from analysis.marks import ChordFact, KeyRegion, PlacedChord
from analysis.pitch import Key
from analysis.timebase import Span

_ROOTS = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


def _fact(symbols: str, at: int, mode: str = "major", tonic: str = "C") -> ChordFact:
    """One of a row of chords, four quarters each."""
    placed = []
    for index, symbol in enumerate(symbols.split()):
        chord = read_chord(symbol)
        span, name = Span(Fraction(4 * index), Fraction(4 * index + 4)), f"h{index}"
        placed.append(PlacedChord(span, chord, name, (name,)))
    region = KeyRegion(
        Span(Fraction(0), Fraction(4 * len(placed))), Key.parse(f"{tonic} {mode}"), 1.0
    )
    return find_chord_facts(placed, [region])[at]


def _readings(fact: ChordFact) -> list[tuple[str, str]]:
    return [(one.label, one.function) for one in fact.alternatives]


# The three augmented sixths of C hold A flat, C and F sharp; the French adds D, the German E flat
# (OMT *alteredSubdominants*). On the keyboard they are A flat 7 without or with its fifth, or with
# that lowered; the French is also D7 with its fifth lowered. All are S, as preparing V.
@pytest.mark.parametrize(
    ("symbol", "label", "word"),
    [
        ("Ab7", "Ger⁶₅", "a German sixth"),
        ("Ab7no5", "It⁶", "an Italian sixth"),
        ("Ab7b5", "Fr⁴₃", "a French sixth"),
        ("D7b5", "Fr⁴₃", "a French sixth"),
    ],
)
def test_augmented_sixths_are_offered_beside_dominants(symbol: str, label: str, word: str) -> None:
    fact = _fact(f"C F {symbol} G C", 2)
    assert fact.function == "D"
    assert (label, "S") in _readings(fact)
    assert any(word in one.reason for one in fact.alternatives)


# A seventh on bVII may fall to vi as its substitute dominant, or rise to I as the backdoor: either
# is D. On bII it holds the tritone F–B of G7, so over G it is that chord with its fifth lowered.
# Common practice in jazz teaching, no source.
@pytest.mark.parametrize(
    ("symbols", "reading"),
    [
        ("C Bb7 Am", ("♭VII⁷", "D")),
        ("C Bb7 C", ("subV⁷/vi", "D")),
        ("C Db7 C", ("V⁷(♭⁵)", "D")),
        ("C F7 Em", ("IV⁷", "S")),
        ("C F/G C", ("IV/5", "S")),
        ("C C7 F", ("I⁷", "T")),
        ("C D7 G", ("II⁷", "S")),
    ],
)
def test_the_other_readings_of_dominants(symbols: str, reading: tuple[str, str]) -> None:
    fact = _fact(symbols, 1)
    assert fact.function == "D"
    assert reading in _readings(fact)


@pytest.mark.parametrize("symbol", ["G", "G7", "Bdim", "Bdim7"])
def test_the_keys_own_dominants_have_no_second_reading(symbol: str) -> None:
    assert _readings(_fact(f"C {symbol} C", 1)) == []


# OMT *harmonicFunctions*: iii7 fits none, its triad shares E and G with I; vi stands between T and
# what prepares V. In minor VI shares C and E flat with i, A flat and C with iv.
@pytest.mark.parametrize(
    ("symbols", "mode", "function", "reading"),
    [
        ("C Em7 F C", "major", "", ("iii⁷", "T")),
        ("C Am Dm G C", "major", "T", ("vi", "S")),
        ("C Am F G C", "major", "T", ("vi", "S")),
        ("C Am G C", "major", "T", ("vi", "S")),
        ("Cm Ab Fm Cm", "minor", "T", ("VI", "S")),
        ("Cm Ab Bb Cm", "minor", "S", ("VI", "T")),
    ],
)
def test_degrees_between_two_functions(
    symbols: str, mode: str, function: str, reading: tuple[str, str]
) -> None:
    fact = _fact(symbols, 1, mode)
    assert fact.function == function
    assert _readings(fact) == [reading]


# Shared tones by arithmetic: Em and Am have E G and C E of C E G, Dm has F A of F A C, in minor Eb
# has E flat and G of C E flat G. A flat major and F A C share C alone.
@pytest.mark.parametrize(
    ("symbols", "mode", "reason"),
    [
        ("C Em F C", "major", "It shares two tones with the tonic."),
        ("C Am F C", "major", "It shares two tones with the tonic."),
        ("C Dm F C", "major", "It shares two tones with the subdominant."),
        ("Cm Eb Fm Cm", "minor", "It shares two tones with the tonic."),
        ("C Ab F C", "major", "By its degree it counts with the subdominants."),
        ("C F Dm C", "major", "By its degree it is the key's subdominant."),
        ("C G7 C", "major", "It stands on the key's fifth degree."),
        ("C Bdim C", "major", "It stands on the leading tone."),
        ("C F/G C", "major", "Over G, the fifth degree, it is a suspended dominant."),
        ("C F#dim7 G C", "major", "Its root is the leading tone of G."),
    ],
)
def test_the_first_reason(symbols: str, mode: str, reason: str) -> None:
    assert _fact(symbols, 1, mode).reasons[0] == reason


def test_a_bass_held_on_the_tonic_is_a_pedal_and_no_other_is() -> None:
    # A pedal is a held bass under changing chords: common practice. Its own tonic is no pedal.
    held = _fact("C Dm/C C", 1)
    assert "pedal" in held.tags
    assert "The bass holds C under it." in held.reasons
    assert "pedal" not in _fact("C Dm/F C", 1).tags
    assert "pedal" not in _fact("C G Dm/C C", 2).tags
    assert "pedal" not in _fact("F F/C C", 2).tags
    assert "pedal" not in _fact("C Dm F/D C", 2).tags


# The ii of an applied dominant: common practice in jazz teaching, no source. Where the chord is in
# the key, its own degree speaks first; where it is not, the target's does. The iv
# before a backdoor bVII7 makes a pair with it.
def test_what_prepares_an_applied_dominant() -> None:
    foreign = _fact("C Gm7 C7 F", 1)
    assert (foreign.function, foreign.alternatives) == ("S", ())
    assert "related ii" in foreign.tags
    assert "mixture" not in foreign.tags
    at_home = _fact("C Am7 D7 G", 1)
    assert ("ii⁷/V", "S") in _readings(at_home)
    assert at_home.function == "T"
    half = _fact("C Bm7b5 E7 Am", 1)
    assert (half.function, half.resolution) == ("S", "")
    assert _readings(half) == [("iiø⁷/vi", "S")]
    assert "It prepares the dominant of A♭, as ii prepares V." in _fact("C Bbm7 Eb7 Ab", 1).reasons
    sharp = _fact("E G#m7 C#7 F#m", 1, tonic="E")
    assert "related ii" in sharp.tags
    assert any("dominant of F♯m" in one.reason for one in sharp.alternatives)
    assert "backdoor pair" in _fact("C Fm7 Bb7 C", 1).tags
    assert "backdoor pair" not in _fact("C F Bb7 C", 1).tags
    # The key's own leading-tone chord stays a dominant where its tonic comes.
    assert _fact("C Bm7b5 C", 1).function == "D"


# A minor seventh on I and a dominant one on IV are ii7 and V7 of bVII where that comes; the first
# reading stays mixture and the IV7 of rock. Common practice in jazz teaching, no source.
@pytest.mark.parametrize("symbols", ["C Cm7 F7 Bb C", "C Cm7 F7 F7/C Bb", "C Cm7 F7 Bbmaj7 C"])
def test_ii_and_v_of_the_lowered_seventh_degree_are_offered(symbols: str) -> None:
    minor, seventh = _fact(symbols, 1), _fact(symbols, 2)
    assert (minor.function, seventh.function) == ("T", "S")
    assert ("ii⁷/♭VII", "S") in _readings(minor)
    assert _readings(seventh)[0] == ("V⁷/♭VII", "D")
    for fact in (minor, seventh):
        assert all(one.confidence < fact.confidence for one in fact.alternatives)


@pytest.mark.parametrize(
    ("symbols", "mode"),
    [
        ("C Cm7 F7 C Bb", "major"),
        ("C Cm F7 Bb", "major"),
        ("C Cm7 F Bb", "major"),
        ("C C7 F7 Bb", "major"),
        ("Cm Cm7 F7 Bb", "minor"),
        ("C Cm7 F7", "major"),
    ],
)
def test_it_takes_the_whole_row_to_offer_them(symbols: str, mode: str) -> None:
    for at in (1, 2):
        assert not any("♭VII" in label for label, _ in _readings(_fact(symbols, at, mode)))


# Names of what a chord does in its place: backdoor, common practice; mixture, OMT *modalMixture*;
# IV on its way to I (plagal) or to V, OMT *harmonicFunctions*; bVI–bVII–i, OMT *popRockHarmony*.
@pytest.mark.parametrize(
    ("symbols", "mode", "function", "tag"),
    [
        ("C Bb7 C", "major", "D", "backdoor"),
        ("C Fm G C", "major", "S", "mixture"),
        ("Cm F G Cm", "minor", "S", "mixture"),
        ("C F C", "major", "S", "plagal"),
        ("C F G C", "major", "S", "to the dominant"),
    ],
)
def test_what_a_chord_does_has_a_name(symbols: str, mode: str, function: str, tag: str) -> None:
    fact = _fact(symbols, 1, mode)
    assert fact.function == function
    assert tag in fact.tags


def test_a_reading_that_was_refused_says_what_decided() -> None:
    (reading,) = _fact("C Bb7 Am", 1).alternatives
    assert reading.reason.endswith("Am decided otherwise.")
    assert "mixture" not in _fact("C F G C", 1).tags


# What is said of a dominant's fate: what it wanted, by its own name, and what came.
@pytest.mark.parametrize(
    ("symbols", "mode", "said"),
    [
        ("C A7 G C", "major", "It wants Dm; G comes, so it stays unresolved."),
        ("C A7 Bm C", "major", "It wants Dm; Bm takes its place."),
        ("C D7 F G7 C", "major", "F holds G back."),
        ("C A7 N.C. Dm", "major", "Silence comes between it and Dm."),
        ("C Eb7 N.C. Ab", "major", "Silence comes between it and A♭."),
        ("C A7 Dm", "major", ""),
        ("C A7", "major", ""),
        ("C G7 F", "major", ""),
    ],
)
def test_what_became_of_it_is_said(symbols: str, mode: str, said: str) -> None:
    told = ("It wants", "holds", "Silence")
    reasons = [one for one in _fact(symbols, 1, mode).reasons if any(word in one for word in told)]
    assert reasons == ([said] if said else [])


def test_a_dominant_that_goes_home_is_surer_than_one_that_does_not() -> None:
    """What follows is all that tells an applied dominant from a coloured chord of its degree."""
    home, away = _fact("C A7 Dm", 1), _fact("C A7 G", 1)
    assert 0 < away.confidence < home.confidence <= 1
    # The key's own dominant is told by its degree, whatever follows.
    own, idle = _fact("C G7 C", 1), _fact("C G7 F", 1)
    assert away.confidence < home.confidence <= own.confidence
    assert away.confidence < idle.confidence < own.confidence


# I7 before IV is V7/IV, or in a blues the tonic in its colour; the plain major tonic of a minor key
# before iv is V/iv, or the tonic with a tone that moves on. Common practice, no source.
@pytest.mark.parametrize(
    ("symbols", "mode", "word"), [("C C7 F", "major", "blues"), ("Cm C Fm", "minor", "moves on")]
)
def test_a_tonic_that_leads_on_keeps_its_reading_as_tonic(
    symbols: str, mode: str, word: str
) -> None:
    (reading,) = _fact(symbols, 1, mode).alternatives
    assert reading.function == "T"
    assert word in reading.reason


# Degrees by table (OMT *harmonicFunctions*), and where their neighbours decide: bVII up to I and
# double plagal after OMT *popRockHarmony*; the rest is common practice, no source.
@pytest.mark.parametrize(
    ("symbols", "mode", "function", "reason"),
    [
        ("C Bb C", "major", "D", "C decides: it steps up to the tonic."),
        ("C Bb F C", "major", "S", "double plagal"),
        ("C Bb F G", "major", "S", "By its degree it counts with the subdominants."),
        ("C Bb Dm", "major", "S", "By its degree it counts with the subdominants."),
        ("Cm Ab Bb", "minor", "S", "With ♭VII it climbs to the tonic."),
        ("C Ab Bb C", "major", "S", "With ♭VII it climbs to the tonic."),
        ("Cm Ab Eb", "minor", "T", "It shares two tones with the tonic."),
        ("Cm Ab G", "minor", "S", "G decides: it leads to the dominant."),
        ("Cm Ab Gm", "minor", "S", "It shares two tones with the subdominant."),
        ("C F C", "major", "S", "C decides: it falls back to the tonic, plagal motion."),
        ("C F G", "major", "S", "G decides: it leads to the dominant."),
        ("C F Am", "major", "S", "By its degree it is the key's subdominant."),
        ("C Ebdim Am", "major", "", "leads to none of its neighbours"),
        ("C Ddim Am", "major", "S", "By its degree it counts with the subdominants."),
        ("C Em7 Am", "major", "", "leans to tonic and dominant alike"),
        ("C Em Am", "major", "T", "It shares two tones with the tonic."),
        ("Cm Em7 Ab", "minor", "T", "counts with the tonics"),
        ("C Gm F", "major", "D", "By its degree it is the key's dominant."),
        ("C Bm C", "major", "D", "It shares two tones with the dominant."),
    ],
)
def test_the_function_and_what_decides_it(
    symbols: str, mode: str, function: str, reason: str
) -> None:
    fact = _fact(symbols, 1, mode)
    assert fact.function == function
    assert reason in fact.reasons[0]


@pytest.mark.parametrize("mode", ["major", "minor"])
@pytest.mark.parametrize("kind", ["", "m", "dim", "sus4", "5"])
def test_a_borrowed_chord_has_its_tones_from_the_parallel_key_alone(mode: str, kind: str) -> None:
    """By arithmetic on the two scales, minor with its raised seventh (OMT *modalMixture*)."""
    scales = {"major": {0, 2, 4, 5, 7, 9, 11}, "minor": {0, 2, 3, 5, 7, 8, 10, 11}}
    tones = {"": (0, 4, 7), "m": (0, 3, 7), "dim": (0, 3, 6), "sus4": (0, 7), "5": (0, 7)}[kind]
    own, other = scales.pop(mode), scales.popitem()[1]
    for root, name in enumerate(_ROOTS):
        fact = _fact(f"{name}{kind}", 0, mode)
        heard = {(root + tone) % 12 for tone in tones}
        named = fact.function == "D" and fact.numeral is not None and fact.resolution
        if named or {"Neapolitan", "applied"} & set(fact.tags):
            continue
        assert ("mixture" in fact.tags) == (heard <= other and not heard <= own), name + kind


@pytest.mark.parametrize(("symbol", "lacks"), [("F5", True), ("Fsus4", False), ("Fsus2", False)])
def test_a_suspension_lacks_no_third(symbol: str, lacks: bool) -> None:
    """It stands in its place (common practice, no source)."""
    assert ("no third" in _fact(f"C {symbol} C", 1).tags) == lacks


# A seventh chord on a major triad keeps what it would be with another continuation.
@pytest.mark.parametrize(
    ("symbols", "mode", "readings"),
    [
        ("C Bb7 F", "major", [("♭VII⁷", "D"), ("subV⁷/vi", "D")]),
        ("C F7 C", "major", [("subV⁷/iii", "D")]),
        ("C Ab7 C", "major", [("subV⁷/V", "D")]),
        ("C Db7 F", "major", [("subV⁷", "D")]),
        ("C D F", "major", [("V/V", "D")]),
        ("C E Dm", "major", [("V/vi", "D")]),
        ("C A F#", "major", [("V/ii", "D")]),
        ("C B F", "major", []),
        ("C F C", "major", []),
        ("C Am Em", "major", []),
        ("Cm Ab Fm", "minor", [("VI", "S")]),
    ],
)
def test_what_else_a_chord_outside_the_dominants_may_be(
    symbols: str, mode: str, readings: list[tuple[str, str]]
) -> None:
    fact = _fact(symbols, 1, mode)
    assert _readings(fact) == readings
    assert all(0 < one.confidence < fact.confidence for one in fact.alternatives)


# While the root stays, the bass may step or a sixth or seventh above it move (line clichés as jazz
# teaching has them, no source); a leap to another inversion and an added ninth are neither.
@pytest.mark.parametrize(
    ("symbols", "what"),
    [
        ("C C/B Am", "bass"),
        ("C/B C F", "bass"),
        ("C C/Bb Am", "bass"),
        ("C/D C F", "bass"),
        ("C C/E F", ""),
        ("C/E C/G F", ""),
        ("Am Am(maj7) D", "voice"),
        ("Am7 Am6 D", "voice"),
        ("C6 C F", "voice"),
        ("C Cadd9 F", ""),
        ("C C C", ""),
        ("C Cm F", ""),
        ("C Am7 F", ""),
    ],
)
def test_what_moves_while_the_root_stays(symbols: str, what: str) -> None:
    moving = [tag for tag in _fact(symbols, 1).tags if tag.startswith("moving")]
    assert moving == ([f"moving {what}"] if what else [])


def test_a_pedal_is_told_once_and_bvii7_of_biii_may_go_home() -> None:
    """The pedal six-four is one (textbook practice); the backdoor is jazz teaching, no source."""
    assert _fact("C F/C C", 1).tags.count("pedal") == 1
    assert ("♭VII⁷", "D") in _readings(_fact("C Bb7 Eb", 1))
