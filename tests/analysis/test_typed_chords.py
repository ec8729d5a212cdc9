"""Typed chord symbols: every spelling of every kind, and sentences for what is none.

What each symbol means is checked against the degrees that MusicXML 4.0 gives for its kind
(`KIND_DEGREES`); the spellings are common practice, no source.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.chords import KIND_DEGREES, Chord
from analysis.errors import NotationError
from analysis.harmony.typed_chords import read_chord
from analysis.pitch import PitchName
from analysis.vocabulary.chord_names import QUALITIES, symbol_text
from analysis.vocabulary.note_names import Naming, read_name_at, written_name

SPELLINGS = {
    "major": ("", "maj", "M", "major"),
    "minor": ("m", "min", "mi", "-", "minor"),
    "augmented": ("+", "aug", "(#5)"),
    "diminished": ("dim", "°", "o"),
    "dominant": ("7",),
    "major-seventh": ("maj7", "M7", "ma7", "Δ", "Δ7", "△", "∆7", "major7", "maj 7", "7(M7)"),
    "minor-seventh": ("m7", "min7", "mi7", "minor7", "-7"),
    "diminished-seventh": ("dim7", "°7", "o7"),
    "augmented-seventh": ("+7", "aug7", "7#5", "7(#5)"),
    "half-diminished": ("ø", "Ø7", "ø7", "m7b5", "m7(b5)", "m7(♭5)", "min7b5", "-7b5"),
    "major-minor": ("m(maj7)", "mM7", "mmaj7", "mΔ"),
    "major-sixth": ("6",),
    "minor-sixth": ("m6", "-6"),
    "dominant-ninth": ("9",),
    "major-ninth": ("maj9", "M9"),
    "minor-ninth": ("m9", "-9"),
    "dominant-11th": ("11",),
    "major-11th": ("maj11",),
    "minor-11th": ("m11",),
    "dominant-13th": ("13",),
    "major-13th": ("maj13",),
    "minor-13th": ("m13",),
    "suspended-second": ("sus2",),
    "suspended-fourth": ("sus4", "sus"),
    "power": ("5",),
}


@pytest.mark.parametrize(
    ("kind", "spelling"), [(kind, one) for kind, them in SPELLINGS.items() for one in them]
)
@pytest.mark.parametrize("root", ["C", "F#", "Bb", "e♭"])
def test_every_spelling_has_the_degrees_of_its_kind(root: str, kind: str, spelling: str) -> None:
    chord = read_chord(root + spelling)
    assert chord is not None
    assert chord.root == PitchName.parse(root)
    assert chord.degrees == tuple(sorted(KIND_DEGREES[kind]))
    assert chord.kind == kind
    assert chord.bass == chord.root


@pytest.mark.parametrize(
    ("typed", "degrees"),
    [
        ("C7b9", [(1, 0), (3, 0), (5, 0), (7, -1), (9, -1)]),
        ("C7(b9,#11)", [(1, 0), (3, 0), (5, 0), (7, -1), (9, -1), (11, 1)]),
        ("C7b5", [(1, 0), (3, 0), (5, -1), (7, -1)]),
        ("Cadd9", [(1, 0), (3, 0), (5, 0), (9, 0)]),
        ("Cm(add9)", [(1, 0), (3, -1), (5, 0), (9, 0)]),
        ("Cmadd9", [(1, 0), (3, -1), (5, 0), (9, 0)]),
        ("Cmadd11", [(1, 0), (3, -1), (5, 0), (11, 0)]),
        ("Cmin(add9)", [(1, 0), (3, -1), (5, 0), (9, 0)]),
        ("C7(bb13)", [(1, 0), (3, 0), (5, 0), (7, -1), (13, -2)]),
        ("C7(##11)", [(1, 0), (3, 0), (5, 0), (7, -1), (11, 2)]),
        ("C7-9", [(1, 0), (3, 0), (5, 0), (7, -1), (9, -1)]),
        ("C7+9", [(1, 0), (3, 0), (5, 0), (7, -1), (9, 1)]),
        ("C7♭9", [(1, 0), (3, 0), (5, 0), (7, -1), (9, -1)]),
        ("C7♯9", [(1, 0), (3, 0), (5, 0), (7, -1), (9, 1)]),
        ("C6/9", [(1, 0), (3, 0), (5, 0), (6, 0), (9, 0)]),
        ("C69", [(1, 0), (3, 0), (5, 0), (6, 0), (9, 0)]),
        ("C6sus4", [(1, 0), (4, 0), (5, 0), (6, 0)]),
        ("C69sus4", [(1, 0), (4, 0), (5, 0), (6, 0), (9, 0)]),
        ("C7sus4", [(1, 0), (4, 0), (5, 0), (7, -1)]),
        ("C9sus4", [(1, 0), (4, 0), (5, 0), (7, -1), (9, 0)]),
        ("Csus2/4", [(1, 0), (2, 0), (4, 0), (5, 0)]),
        ("C7(no3)", [(1, 0), (5, 0), (7, -1)]),
        ("C(b5)", [(1, 0), (3, 0), (5, -1)]),
        ("Cm7(b5,b9)", [(1, 0), (3, -1), (5, -1), (7, -1), (9, -1)]),
    ],
)
def test_further_degrees(typed: str, degrees: list[tuple[int, int]]) -> None:
    chord = read_chord(typed)
    assert chord is not None
    assert list(chord.degrees) == degrees


@pytest.mark.parametrize(
    ("typed", "kind"),
    [
        ("C7b9", "dominant"), ("C9#11", "dominant-ninth"), ("Cm7b9", "minor-seventh"),
        ("C6/9", "major-sixth"), ("Cadd9", "major"), ("C7sus4", "suspended-fourth"),
        ("C(b5)", "other"), ("C7b5", "other"), ("Db", "major"), ("C(add#4)", "major"),
    ],
)  # fmt: skip
def test_the_kind_is_the_largest_that_the_chord_holds(typed: str, kind: str) -> None:
    chord = read_chord(typed)
    assert chord is not None
    assert chord.kind == kind


def test_a_bass_follows_a_slash() -> None:
    chord = read_chord("Am7/G")
    assert chord is not None
    assert str(chord.bass) == "G"
    over = read_chord("C6/9/E")
    assert over is not None
    assert (str(over.bass), len(over.degrees)) == ("E", 5)


@pytest.mark.parametrize("typed", ["N.C.", "N.C", "nc", "n", "no chord", "Tacet"])
def test_no_chord(typed: str) -> None:
    assert read_chord(typed) is None


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "Type a chord symbol"),
        ("Xm", "does not begin with the name of a note"),
        ("Cmq", "“q”"),
        ("C/", "a bass note is missing"),
        ("C/H", "“H” after the slash"),
        ("Cm5", "has no third"),
        ("C(no7)", "leaves out a degree"),
        ("Cdimsus4", "both diminished and suspended"),
        ("C7(b3)", "“b3”"),
    ],
)
def test_what_is_wrong_is_said_in_words(typed: str, said: str) -> None:
    with pytest.raises(NotationError, match=said.replace("(", r"\(")):
        read_chord(typed)


@given(st.text(alphabet="ABCDEFGHabm#♭7913564sujdi()+-/ o°øΔn.,", max_size=12))
def test_anything_typed_is_a_chord_or_one_named_error(typed: str) -> None:
    said, chord = ".", None
    try:
        chord = read_chord(typed)
    except NotationError as error:
        said = str(error)
    assert said.endswith(".")
    assert chord is None or isinstance(chord, Chord)


@pytest.mark.parametrize("kind", [k for k in SPELLINGS if k in QUALITIES])
def test_what_is_printed_can_be_typed_again(kind: str) -> None:
    root, bass = PitchName.parse("Bb"), PitchName.parse("F")
    chord = read_chord(symbol_text(root, kind, (), bass))
    assert chord is not None
    assert (chord.root, chord.bass, chord.kind) == (root, bass, kind)


NAMINGS: list[Naming] = ["english", "german", "fixed do"]


@given(st.integers(-13, 15), st.sampled_from(NAMINGS))
def test_a_written_name_is_read_as_itself(fifths: int, naming: Naming) -> None:
    name = PitchName(fifths)
    written = written_name(name, naming)
    assert read_name_at(written, naming) == (name, len(written))


def test_german_names() -> None:
    chord = read_chord("H7/D#", "german")
    assert chord is not None
    assert str(chord.root) == "B"
    flat = read_chord("B7", "german")
    assert flat is not None
    assert str(flat.root) == "Bb"


# A 7 that is added without a sign is the minor seventh, as in the quality (common practice).
@pytest.mark.parametrize("text", ["C(7)", "C(add7)", "C6(7)", "Cm(7)", "C9(no7)(7)"])
def test_an_added_seventh_is_minor(text: str) -> None:
    chord = read_chord(text)
    assert chord is not None
    assert (7, -1) in chord.degrees


# MusicXML's kinds of augmented sixths are functions, not qualities: no symbol is typed for them.
@pytest.mark.parametrize("text", ["C(no5)(#6)", "C(no5)(#4)(#6)", "C(#6)"])
def test_no_typed_symbol_is_an_augmented_sixth(text: str) -> None:
    chord = read_chord(text)
    assert chord is not None
    assert chord.kind not in ("Italian", "French", "German")
    assert (6, 1) in chord.degrees
