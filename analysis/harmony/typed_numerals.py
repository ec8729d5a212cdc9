"""Roman numerals as people type them.

The task is to read ``bVII7``, ``V65/vi`` or ``viio7``, typed in a key, as the chord that it means,
and to say in words what is wrong with anything else.

Conventions
-----------
Those of `analysis.vocabulary.numerals`, read backwards: the case gives the third, ``o ø +`` the
fifth, ``7`` a minor seventh (diminished after ``o``) and ``maj7`` a major one, figures the
inversion. After a slash stands the target of an applied chord, or the scale degree in the bass.
Both ASCII and the signs of the page are understood, stacked figures too. ``N`` is the Neapolitan,
``It6 Fr43 Ger65`` the augmented sixths, ``Cad64`` the tonic in second inversion, ``subV7`` the
dominant seventh a half step above what it leads to.

References
----------
Augmented sixths and Neapolitan: Open Music Theory v1, *alteredSubdominants*.
"""

from __future__ import annotations

import re
from typing import Final

from analysis.chords import KIND_DEGREES, Chord, degree_tone
from analysis.errors import NotationError
from analysis.harmony.typed_chords import read_quality
from analysis.pitch import MAJOR_SCALE_FIFTHS, MODE_SHIFT, Key, Mode, PitchName
from analysis.vocabulary.numerals import OWN, ROMAN, Convention, counting_mode

_PLAIN: Final = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹₀₁₂₃₄₅₆₇₈₉♭♯⁺°△∆", "01234567890123456789b#+oΔΔ")
_NUMERAL: Final = re.compile(r"(?P<signs>[b#]*)(?P<roman>[IiVv]+)(?P<rest>.*)")
_SPECIAL: Final = re.compile(r"(?P<name>N|It|Fr|Ger|Cad)\+?(?P<figures>6|64|65|43)?")
_SUBSTITUTE: Final = re.compile(r"subV(?P<rest>.*)")
_BASS: Final = re.compile(r"(?P<signs>[b#]*)(?P<degree>[1-7])")
_FIGURES: Final[dict[str, tuple[bool, int]]] = {
    "64": (False, 2), "6": (False, 1), "65": (True, 1), "43": (True, 2), "42": (True, 3),
    "2": (True, 3),
}  # fmt: skip
#: The standard's chords of that name, on the lowered sixth of the key, which is the bass.
_SIXTHS: Final = {"It": "Italian", "Fr": "French", "Ger": "German"}


def read_numeral(text: str, key: Key, convention: Convention = OWN) -> Chord:
    """The chord that a typed numeral means in a key.

    Raises
    ------
    NotationError
        If it is no numeral.

    Examples
    --------
    >>> chord = read_numeral("V65/vi", Key.parse("C major"))
    >>> str(chord.root), chord.seventh, str(chord.bass)
    ('E', 'm7', 'G#')
    """
    plain = re.sub(r"\s+", "", text.translate(_PLAIN))
    if not plain:
        raise NotationError("Type a numeral, such as IV, V7/vi or ♭VII.")
    head, *targets = plain.split("/")
    bass = None
    if targets and (match := _BASS.fullmatch(targets[-1])):
        degree = int(match["degree"])
        bass = _degree(degree, _alter(match["signs"]), key, counting_mode(key, convention))
        targets.pop()
    for target in reversed(targets):
        key = _key_of(target, text, key, convention)
    chord = _read_head(head, text, key, convention)
    if bass is None:
        return chord
    if chord.bass != chord.root:
        raise NotationError(f"“{text}” has its inversion both in figures and after the slash.")
    return Chord(chord.root, chord.degrees, bass, chord.kind)


def _key_of(target: str, whole: str, key: Key, convention: Convention) -> Key:
    """The key that a chord applied to a target is read in."""
    match = _NUMERAL.fullmatch(target)
    if match is None or match["rest"] or match["roman"] not in _DEGREES:
        raise NotationError(
            f"“{target}” in “{whole}” is not a chord to aim at; write a plain numeral, as in V7/vi."
            if target
            else f"After the slash in “{whole}” the chord that it leads to is missing."
        )
    roman = match["roman"]
    root = _degree(_DEGREES[roman], _alter(match["signs"]), key, counting_mode(key, convention))
    return Key(root, "minor" if roman.islower() else "major")


def _read_head(head: str, whole: str, key: Key, convention: Convention) -> Chord:
    special = _SPECIAL.fullmatch(head)
    if special:
        return _special(special["name"], special["figures"] or "", key)
    substitute = _SUBSTITUTE.fullmatch(head)
    if substitute:
        return _with_figures(key.tonic + _fifths(2, -1), False, substitute["rest"], whole)
    match = _NUMERAL.fullmatch(head)
    if match is None or match["roman"] not in _DEGREES:
        raise NotationError(
            f"“{whole}” is not a numeral; write I to VII or i to vii, with ♭ or ♯ before it."
        )
    roman, rest = match["roman"], match["rest"]
    degree, alter = _DEGREES[roman], _alter(match["signs"])
    mode = counting_mode(key, convention)
    diminished = rest[:1] in ("o", "ø", "%")
    if mode == "minor" and degree == 7 and not match["signs"] and diminished:
        alter = 1  # the leading tone's own chord needs no sign
    root = _degree(degree, alter, key, mode)
    return _with_figures(root, roman.islower(), rest.replace("%", "ø"), whole)


def _with_figures(root: PitchName, minor: bool, rest: str, whole: str) -> Chord:
    """The chord on a root, from case, quality, figures and what stands in brackets."""
    sign = rest[:1] if rest[:1] in ("o", "ø", "+") else ""
    if sign == "+" and minor:
        raise NotationError(f"“{whole}” is both minor and augmented; it can be only one.")
    rest = rest[len(sign) :]
    prefix = re.match(r"maj|M|Δ", rest)
    major = prefix[0] if prefix else ""
    rest = rest[len(major) :]
    figures = next((one for one in ("64", "65", "43", "42") if rest.startswith(one)), "")
    if not figures and re.match(r"[62](?![0-9])", rest):
        figures = rest[0]
    inversion = 0
    if figures:
        seventh, inversion = _FIGURES[figures]
        rest = ("7" if seventh else "") + rest[len(figures) :]
        if seventh is False and major:
            raise NotationError(f"“{whole}” has a major seventh, so its figures are 65, 43 or 42.")
    if rest == "5" and not sign and not major:
        minor = False  # the case tells which third is heard; the chord has none
    triad = sign if sign in ("o", "ø") else "m" if minor else sign
    numbers, kind = read_quality(f"{triad}{major}{rest}", whole)
    degrees = tuple(sorted(numbers.items()))
    return Chord(root, degrees, _inverted(root, numbers, inversion, whole), kind)


def _inverted(root: PitchName, numbers: dict[int, int], inversion: int, whole: str) -> PitchName:
    if not inversion:
        return root
    number = 2 * inversion + 1
    if number not in numbers:
        raise NotationError(f"“{whole}” has in its bass a degree that the chord does not have.")
    return degree_tone(root, (number, numbers[number]))


def _special(name: str, figures: str, key: Key) -> Chord:
    tonic = key.tonic
    if name == "Cad":
        minor = key.is_minor_like
        kind = "minor" if minor else "major"
        return Chord(tonic, KIND_DEGREES[kind], tonic + 1, kind)
    if name == "N":
        root = tonic + _fifths(2, -1)
        bass = {"": 0, "6": 4, "64": 1}.get(figures, 0)
        return Chord(root, KIND_DEGREES["major"], root + bass, "major")
    kind = _SIXTHS[name]
    root = tonic + _fifths(6, -1)
    return Chord(root, KIND_DEGREES[kind], root, kind)


def _degree(degree: int, alter: int, key: Key, mode: Mode) -> PitchName:
    """The tone on a degree, counted in a mode and altered against it."""
    own = MAJOR_SCALE_FIFTHS[degree - 1]
    shift = MODE_SHIFT[mode]
    while own > 5 + shift:
        own -= 7
    while own < -1 + shift:
        own += 7
    return key.tonic + own + 7 * alter


def _fifths(degree: int, alter: int) -> int:
    return MAJOR_SCALE_FIFTHS[degree - 1] + 7 * alter


def _alter(signs: str) -> int:
    return signs.count("#") - signs.count("b")


_DEGREES: Final = {
    form: degree for degree, roman in enumerate(ROMAN[1:], 1) for form in (roman, roman.lower())
}
