"""Typed numerals: `analysis.vocabulary.numerals` read backwards, checked against music21."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21 import roman

from analysis.errors import NotationError
from analysis.harmony.typed_numerals import read_numeral
from analysis.pitch import Key, PitchName
from analysis.vocabulary.numerals import label_of, name_numeral

MAJOR = ["C major", "G major", "Bb major", "F# major", "Db major"]
MINOR = ["A minor", "C minor", "F# minor", "Eb minor"]


def words(text: str) -> list[str]:
    return text.split()


def pitch_classes(text: str, key: str) -> tuple[list[int], int]:
    chord = read_numeral(text, Key.parse(key))
    return sorted({tone.pc for tone in chord.tones}), chord.bass.pc


@pytest.mark.parametrize("key", MAJOR)
@pytest.mark.parametrize(
    "text",
    words(
        "I ii iii IV V vi viio I6 ii6 IV64 I64 V7 V65 V43 V42 ii7 ii65 viio7 bVII bVI bIII iv "
        "V7/V V65/vi V42/IV viio7/V V/ii viio6/vi #ivo7"
    ),
)
def test_plain_numerals_sound_as_music21_has_them_in_major(key: str, text: str) -> None:
    # music21 reads ii7 and V7 from the scale, which here is what the figures mean as well.
    tonic = key.split()[0].replace("b", "-")
    theirs = roman.RomanNumeral(text, tonic)
    pcs, bass = pitch_classes(text, key)
    assert pcs == sorted({pitch.pitchClass for pitch in theirs.pitches})
    assert bass == theirs.bass().pitchClass


@pytest.mark.parametrize("key", MINOR)
@pytest.mark.parametrize("text", words("i iio III iv V VI VII viio viio7 V7 V65 iiø7 iv6 i64 N6"))
def test_plain_numerals_sound_as_music21_has_them_in_minor(key: str, text: str) -> None:
    tonic = key.split()[0].replace("b", "-").lower()
    theirs = roman.RomanNumeral(text, tonic)
    pcs, bass = pitch_classes(text, key)
    assert pcs == sorted({pitch.pitchClass for pitch in theirs.pitches})
    assert bass == theirs.bass().pitchClass


@pytest.mark.parametrize(
    ("text", "name", "tones"),
    [
        # Open Music Theory v1, alteredSubdominants: in C, the sixths stand on A flat.
        ("It6", "Ab", ["Ab", "C", "F#"]),
        ("Fr43", "Ab", ["Ab", "C", "D", "F#"]),
        ("Ger65", "Ab", ["Ab", "C", "Eb", "F#"]),
        ("N6", "Db", ["Db", "F", "Ab"]),
    ],
)
def test_altered_subdominants(text: str, name: str, tones: list[str]) -> None:
    chord = read_numeral(text, Key.parse("C major"))
    assert str(chord.root) == name
    assert {str(tone) for tone in chord.tones} == set(tones)


@pytest.mark.parametrize(
    ("text", "key", "tones", "bass"),
    [
        # The cadential six-four is the tonic over the fifth degree: common practice, no source.
        ("Cad64", "C major", "C E G", "G"),
        ("Cad64", "A minor", "A C E", "E"),
        ("Cad64", "D dorian", "D F A", "A"),
        ("N", "C major", "Db F Ab", "Db"),
        ("N6", "E minor", "F A C", "A"),
        ("N64", "C major", "Db F Ab", "Ab"),
        ("V2", "G major", "D F# A C", "C"),
        ("V42", "G major", "D F# A C", "C"),
        ("V64", "G major", "D F# A", "A"),
        ("Imaj7", "C major", "C E G B", "C"),
        ("IM7", "C major", "C E G B", "C"),
        ("IΔ", "C major", "C E G B", "C"),
        ("I△7", "C major", "C E G B", "C"),
        ("IM65", "C major", "C E G B", "E"),
        ("subV7", "C major", "Db F Ab Cb", "Db"),
        # An augmented triad may stand in inversion and carry a seventh.
        ("III+", "A minor", "C E G#", "C"),
        ("III+6", "A minor", "C E G#", "E"),
        ("V+7", "C major", "G B D# F", "G"),
        ("V+65", "C major", "G B D# F", "B"),
        # A half-diminished chord is written % in corpora: Neuwirth et al., Frontiers in Digital
        # Humanities 5, 2018 (from memory).
        ("vii%7", "C major", "B D F A", "B"),
        ("vii%65", "A minor", "G# B D F#", "B"),
    ],
)
def test_tones_and_bass(text: str, key: str, tones: str, bass: str) -> None:
    chord = read_numeral(text, Key.parse(key))
    assert [str(tone) for tone in chord.tones] == tones.split()
    assert str(chord.bass) == bass


NUMERALS = st.builds(
    lambda sign, roman_, rest, aim: sign + roman_ + rest + aim,
    st.sampled_from(["", "b", "#"]),
    st.sampled_from(words("I II III IV V VI VII i ii iii iv v vi vii")),
    st.sampled_from(["", "7", "maj7", "6", "64", "65", "43", "42", "9", "sus4", "7(b9)", "(add9)"]),
    st.sampled_from(["", "/V", "/vi", "/bII", "/3"]),
)


@given(NUMERALS, st.sampled_from([*MAJOR, *MINOR]))
def test_what_is_read_is_written_as_the_same_chord(text: str, key_name: str) -> None:
    key = Key.parse(key_name)
    try:
        chord = read_numeral(text, key)
    except NotationError:
        return
    written = name_numeral(chord, key).text
    again = read_numeral(label_of(written), key)
    assert [tone.pc for tone in again.tones] == [tone.pc for tone in chord.tones]
    assert again.bass.pc == chord.bass.pc


@pytest.mark.parametrize("text", ["♭VII⁷", "bVII7"])
def test_signs_of_the_page_and_ascii_are_the_same(text: str) -> None:
    assert str(read_numeral(text, Key.parse("G major")).root) == "F"
    assert read_numeral("V⁶₅/vi", Key.parse("C major")) == read_numeral("V65/vi", Key.parse("C"))


def test_a_bass_degree_follows_a_slash() -> None:
    chord = read_numeral("IV/1", Key.parse("D major"))
    assert (str(chord.root), str(chord.bass)) == ("G", "D")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "Type a numeral"),
        ("IIII", "is not a numeral"),
        ("Am", "is not a numeral"),
        ("V7/", "is missing"),
        ("V7/V7", "is not a chord to aim at"),
        ("V42x", "“x”"),
        ("I65/3", "both in figures and after the slash"),
        ("Imaj6", "its figures are 65, 43 or 42"),
        ("v+", "both minor and augmented"),
    ],
)
def test_what_is_wrong_is_said_in_words(text: str, said: str) -> None:
    with pytest.raises(NotationError, match=said):
        read_numeral(text, Key.parse("C major"))


@given(st.text(alphabet="IViv#b♭7654320os+ø/()maj9N", max_size=10))
def test_anything_typed_is_a_numeral_or_one_named_error(text: str) -> None:
    said = "."
    try:
        read_numeral(text, Key(PitchName(2)))
    except NotationError as error:
        said = str(error)
    assert said.endswith(".")
