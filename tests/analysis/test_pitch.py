"""Spelled pitch against music21's: letters, alterations, key numbers, signatures, scales."""

import pytest
from music21 import key as keys
from music21 import pitch as pitches
from music21 import scale as scales

from analysis.errors import NotationError
from analysis.pitch import MAJOR_SCALE_FIFTHS, MODE_SHIFT, STEPS, Key, Mode, Pitch, PitchName

#: From F double flat to B double sharp.
FIFTHS = range(-15, 20)


def theirs(name: PitchName, octave: int = 4) -> pitches.Pitch:
    return pitches.Pitch(str(name).replace("b", "-"), octave=octave)


@pytest.mark.parametrize("fifths", FIFTHS)
def test_a_place_on_the_line_of_fifths_is_a_name_as_music21_has_it(fifths: int) -> None:
    name = PitchName(fifths)
    other = theirs(name)
    assert (name.step, name.alter, name.pc) == (other.step, other.alter, other.pitchClass)
    assert PitchName.of(name.step, name.alter) == PitchName.parse(str(name)) == name
    fifth_up = other.transpose("p5")
    assert str(name + 1) == fifth_up.name.replace("-", "b")
    assert (name + 1) - name == 1


@pytest.mark.parametrize("fifths", FIFTHS)
@pytest.mark.parametrize("octave", [-1, 0, 4, 9])
def test_key_numbers_and_staff_places_are_music21s(fifths: int, octave: int) -> None:
    pitch = Pitch(PitchName(fifths), octave)
    other = theirs(pitch.name, octave)
    # B sharp 3 sounds as C4 and C flat 4 as B3: the octave belongs to the letter.
    assert pitch.midi == other.ps
    assert pitch.diatonic == other.diatonicNoteNum - 1
    assert Pitch.parse(str(pitch)) == pitch


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Bb", "Bb"), ("b♭", "Bb"), ("F#", "F#"), ("f♯", "F#"), ("C##", "C##"), ("Cx", "C##"),
        ("C𝄪", "C##"), ("E𝄫", "Ebb"), ("Ebb", "Ebb"), ("E♭♭", "Ebb"), (" G ", "G"), ("A♯♯", "A##"),
    ],
)  # fmt: skip
def test_names_are_read_in_all_their_signs(text: str, name: str) -> None:
    assert str(PitchName.parse(text)) == name


@pytest.mark.parametrize("text", ["", "H", "Bx#", "C#b", "7", "Do", "C 4"])
def test_what_is_no_name_is_said_in_words(text: str) -> None:
    with pytest.raises(NotationError, match="not a note name"):
        PitchName.parse(text)


@pytest.mark.parametrize("text", ["", "C", "4", "Cb", "C4.5x"])
def test_what_is_no_pitch_is_said_in_words(text: str) -> None:
    with pytest.raises(NotationError):
        Pitch.parse(text)


MODES: list[tuple[Mode, type[scales.DiatonicScale]]] = [
    ("major", scales.MajorScale),
    ("minor", scales.MinorScale),
    ("mixolydian", scales.MixolydianScale),
    ("dorian", scales.DorianScale),
    ("lydian", scales.LydianScale),
    ("phrygian", scales.PhrygianScale),
    ("locrian", scales.LocrianScale),
]


@pytest.mark.parametrize("tonic", ["C", "F#", "Bb", "Eb", "E", "Ab"])
@pytest.mark.parametrize(("mode", "scale"), MODES)
def test_scales_and_signatures_are_music21s(
    tonic: str, mode: Mode, scale: type[scales.DiatonicScale]
) -> None:
    key = Key(PitchName.parse(tonic), mode)
    names = scale(tonic.replace("b", "-")).getPitches()[:7]
    assert [str(name) for name in key.scale] == [one.name.replace("-", "b") for one in names]
    assert key.signature == keys.Key(tonic.replace("b", "-"), mode).sharps
    third = (names[2].pitchClass - names[0].pitchClass) % 12
    assert key.is_minor_like is (third == 3)


def test_all_modes_are_tried_and_the_major_scale_is_the_table() -> None:
    assert {mode for mode, _ in MODES} == set(MODE_SHIFT)
    assert STEPS == "CDEFGAB"
    assert tuple(name.fifths for name in Key.parse("C").scale) == MAJOR_SCALE_FIFTHS


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("Bb major", "Bb major"), ("f# minor", "F# minor"), ("G mixolydian", "G mixolydian"),
        ("Am", "A minor"), ("Eb", "Eb major"), ("a", "A minor"), ("bb", "Bb minor"),
        ("Bm", "B minor"), ("C min", "C minor"), ("C maj", "C major"), ("C ionian", "C major"),
        ("d aeolian", "D minor"), ("C-Major", "C major"), ("  E♭  Dorian ", "Eb dorian"),
        ("F♯ locrian", "F# locrian"), ("D phrygian", "D phrygian"), ("C lydian", "C lydian"),
    ],
)  # fmt: skip
def test_keys_are_read_as_people_write_them(text: str, key: str) -> None:
    tonic, mode = key.split()
    read = Key.parse(text)
    assert (str(read.tonic), read.mode) == (tonic, mode)


@pytest.mark.parametrize("text", ["", "H major", "C blues", "major", "7"])
def test_what_is_no_key_is_said_in_words(text: str) -> None:
    with pytest.raises(NotationError, match=r"is not a (key|mode)"):
        Key.parse(text)
