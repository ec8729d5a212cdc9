"""Names of notes as different people write and say them.

English letters; German ones, in which H is B natural and B is B flat; and fixed do, in which the
syllables stand for letters. Names are read in the convention that they are written in, so that what
is shown can be typed again.

References
----------
Common practice, no source.
"""

from __future__ import annotations

import re
from typing import Final, Literal

from analysis.pitch import PitchName

Naming = Literal["english", "german", "fixed do"]

_SIGNS: Final = r"(?:##|#|♯♯|♯|𝄪|x|bb|b|♭♭|♭|𝄫)?"
_ALTER: Final[dict[str, int]] = {
    "": 0, "#": 1, "♯": 1, "##": 2, "♯♯": 2, "𝄪": 2, "x": 2,
    "b": -1, "♭": -1, "bb": -2, "♭♭": -2, "𝄫": -2,
}  # fmt: skip
_PRINTED: Final = {-2: "𝄫", -1: "♭", 0: "", 1: "♯", 2: "𝄪"}
_DO: Final[dict[str, str]] = {
    "C": "Do", "D": "Re", "E": "Mi", "F": "Fa", "G": "Sol", "A": "La", "B": "Si",
}  # fmt: skip
_LETTER: Final = re.compile(rf"([A-Ga-g])({_SIGNS})")
#: In German a single B is B flat already, so a flat sign is never written on it.
_GERMAN: Final = re.compile(rf"(H|h|[AC-Gac-g])({_SIGNS})|(B|b)(bb|♭♭|b|♭|𝄫)?")
_SYLLABLE: Final = re.compile(rf"(Do|Re|Ré|Mi|Fa|Sol|La|Si|Ti)({_SIGNS})", re.IGNORECASE)


def written_name(name: PitchName, naming: Naming = "english") -> str:
    """A note name with music signs.

    Examples
    --------
    >>> [written_name(PitchName.parse(one), "german") for one in ("Bb", "B", "F#", "Bbb")]
    ['B', 'H', 'F♯', 'B♭']
    >>> written_name(PitchName.parse("Eb"), "fixed do")
    'Mi♭'
    """
    letter, alter = name.step, name.alter
    if naming == "german" and letter == "B":
        letter, alter = ("H", alter) if alter >= 0 else ("B", alter + 1)
    elif naming == "fixed do":
        letter = _DO[letter]
    sign = _PRINTED.get(alter) or ("♯" * alter if alter > 0 else "♭" * -alter)
    return letter + sign


def read_name_at(text: str, naming: Naming = "english") -> tuple[PitchName, int] | None:
    """The name at the beginning of a text and its length; None where none is.

    Examples
    --------
    >>> name, length = read_name_at("Bbmaj7")
    >>> str(name), length
    ('Bb', 2)
    >>> str(read_name_at("B7", "german")[0])
    'Bb'
    """
    if naming == "german":
        return _read_german(text)
    pattern = _LETTER if naming == "english" else _SYLLABLE
    match = pattern.match(text)
    if match is None:
        return None
    if naming == "english":
        step = match[1].upper()
    else:
        said = match[1].capitalize().replace("é", "e").replace("Ti", "Si")
        step = next(letter for letter, syllable in _DO.items() if syllable == said)
    return PitchName.of(step, _ALTER[match[2]]), match.end()


def _read_german(text: str) -> tuple[PitchName, int] | None:
    match = _GERMAN.match(text)
    if match is None:
        return None
    if match[3]:
        return PitchName.of("B", -1 + _ALTER[match[4] or ""]), match.end()
    step = match[1].upper()
    return PitchName.of("B" if step == "H" else step, _ALTER[match[2]]), match.end()
