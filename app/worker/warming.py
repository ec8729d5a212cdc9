"""What is loaded before anyone waits for it: a tiny score to try everything on, and font tables."""

from __future__ import annotations

from string import ascii_letters
from typing import Final

from app.engraving.metrics import Face, kerning, letter

_FACES: Final[tuple[Face, ...]] = ("regular", "italic", "medium", "semibold", "bold")

_LETTERS: Final = "The quick brown fox jumps over the lazy dog, m. 1–2"

#: One measure with a title, words, chord symbols and a rehearsal mark: all that loads fonts.
WARM_SCORE: Final = f"""<score-partwise version="4.0">
<work><work-title>{_LETTERS}</work-title></work>
<part-list><score-part id="P1"><part-name>Voice</part-name></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>1</divisions><key><fifths>-2</fifths></key>
<time><beats>4</beats><beat-type>4</beat-type></time></attributes>
<direction><direction-type><rehearsal>Verse 1</rehearsal></direction-type></direction>
<direction><direction-type><words>{_LETTERS}</words></direction-type></direction>
<harmony><root><root-step>B</root-step><root-alter>-1</root-alter></root>
<kind>dominant-ninth</kind></harmony>
<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration><type>whole</type>
<lyric><text>{_LETTERS}</text></lyric></note></measure></part></score-partwise>""".encode()


def load_letters() -> None:
    """Unpack outlines and kerning of the letters, which is slow the first time only."""
    for face in _FACES:
        for character in ascii_letters:
            letter(character, face)
            kerning(character, "a", face)
