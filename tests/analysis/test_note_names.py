"""Names of notes in English, in German and in fixed do.

German names from memory (B is B flat, H is B natural; printed with signs and not as -is and -es);
fixed do as in French and Italian, from memory.
"""

import pytest

from analysis.pitch import PitchName
from analysis.vocabulary.note_names import Naming, read_name_at, written_name

NAMINGS: tuple[Naming, ...] = ("english", "german", "fixed do")


@pytest.mark.parametrize(
    ("name", "english", "german", "do"),
    [
        ("C", "C", "C", "Do"),
        ("D", "D", "D", "Re"),
        ("E", "E", "E", "Mi"),
        ("F", "F", "F", "Fa"),
        ("G", "G", "G", "Sol"),
        ("A", "A", "A", "La"),
        ("B", "B", "H", "Si"),
        ("Bb", "B♭", "B", "Si♭"),
        ("Bbb", "B𝄫", "B♭", "Si𝄫"),
        ("B#", "B♯", "H♯", "Si♯"),
        ("F#", "F♯", "F♯", "Fa♯"),
        ("Eb", "E♭", "E♭", "Mi♭"),
        ("C##", "C𝄪", "C𝄪", "Do𝄪"),
        ("Abb", "A𝄫", "A𝄫", "La𝄫"),
        ("F###", "F♯♯♯", "F♯♯♯", "Fa♯♯♯"),
        ("Gbbb", "G♭♭♭", "G♭♭♭", "Sol♭♭♭"),
    ],
)
def test_each_way_of_writing(name: str, english: str, german: str, do: str) -> None:
    written = [written_name(PitchName.parse(name), naming) for naming in NAMINGS]
    assert written == [english, german, do]


@pytest.mark.parametrize("naming", NAMINGS)
@pytest.mark.parametrize("fifths", range(-15, 20))
def test_what_is_written_can_be_read_again(naming: Naming, fifths: int) -> None:
    text = written_name(PitchName(fifths), naming)
    assert read_name_at(f"{text}!", naming) == (PitchName(fifths), len(text))


@pytest.mark.parametrize(
    ("text", "naming", "name", "length"),
    [
        ("C#m7", "english", "C#", 2), ("c♯", "english", "C#", 2), ("D##", "english", "D##", 3),
        ("D♯♯", "english", "D##", 3), ("Dx", "english", "D##", 2), ("D𝄪", "english", "D##", 2),
        ("Bbb", "english", "Bbb", 3), ("B♭♭", "english", "Bbb", 3), ("B𝄫", "english", "Bbb", 2),
        ("Ab7", "english", "Ab", 2), ("A♭", "english", "Ab", 2), ("Gsus", "english", "G", 1),
        ("h", "german", "B", 1), ("H7", "german", "B", 1), ("b", "german", "Bb", 1),
        ("Bb", "german", "Bbb", 2), ("B♭", "german", "Bbb", 2), ("H#", "german", "B#", 2),
        ("Fis", "german", "F", 1), ("Eb", "german", "Eb", 2), ("B𝄫", "german", "Bbbb", 2),
        ("Bbb", "german", "Bbbb", 3), ("B♭♭", "german", "Bbbb", 3),
        ("ré", "fixed do", "D", 2), ("Ré#", "fixed do", "D#", 3), ("SOL♭", "fixed do", "Gb", 4),
        ("ti", "fixed do", "B", 2), ("Si", "fixed do", "B", 2), ("La7", "fixed do", "A", 2),
    ],
)  # fmt: skip
def test_names_are_read_at_the_start(text: str, naming: Naming, name: str, length: int) -> None:
    assert read_name_at(text, naming) == (PitchName.parse(name), length)


@pytest.mark.parametrize(
    ("text", "naming"),
    [("H", "english"), ("", "english"), ("7", "german"), ("I", "german"), ("C", "fixed do")],
)
def test_what_is_no_name_is_none(text: str, naming: Naming) -> None:
    assert read_name_at(text, naming) is None
