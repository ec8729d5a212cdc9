"""Roman numerals: the degree a chord stands on, its quality and its figures.

The task is to write a chord against a key, in the forms that textbooks and charts share, and to
say the same thing in either of two conventions: all degrees counted from the major scale of the
tonic, or from the scale of the mode.

Conventions
-----------
Upper case has a major third, lower case a minor one; ``o`` diminished, ``ø`` half-diminished,
``+`` augmented. A chord without a third takes the case of the degree's own triad in the key and
says what it is (``5``, ``sus4``). A minor seventh is ``7``, a major one ``maj7``; added notes
stand in brackets. Inversions are figures (``6 64 65 43 42``), or on request a slash and the scale
degree in the bass; a bass foreign to the chord is always such a slash (``IV/1``). An applied
chord is written against its target, ``V7/vi``, a slash for its bass after that. Text is ASCII but
for ``ø``; `label_of` turns it into what stands on a page.

The convention ``"own"`` counts from the major scale in major-like modes and from natural minor
in minor-like ones, with the leading tone's ``viio`` left without a sign, as RomanText does.

References
----------
D. Tymoczko, M. Gotham, M. S. Cuthbert & C. Ariza, "The RomanText format", ISMIR 2019 (from
memory). Open Music Theory v1, *modalMixture*, *appliedChords* (a root on a lowered degree takes a
flat).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

from analysis.chords import Chord
from analysis.marks import Numeral
from analysis.pitch import MAJOR_SCALE_FIFTHS, MODE_SHIFT, STEPS, Key, Mode, PitchName

ROMAN: Final = ("", "I", "II", "III", "IV", "V", "VI", "VII")
_TRIAD_FIGURES: Final = ("", "6", "64")
_SEVENTH_FIGURES: Final = ("7", "65", "43", "42")
_SUPERSCRIPT: Final = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")
_SUBSCRIPT: Final = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
#: Places of a root on the line of fifths from the tonic that need no respelling: bV to #IV.
_ROOT_RANGE: Final = (-6, 6)
#: Diminished chords also stand on #i, #v and #ii, a half step below a degree of the scale.
_DIMINISHED_RANGE: Final = (-3, 9)


@dataclass(frozen=True, slots=True)
class Convention:
    """How numerals are written: what degrees are counted from, and how inversions show."""

    degrees: Literal["own", "major", "mode"] = "own"
    inversions: Literal["figures", "slash"] = "figures"


OWN: Final = Convention()


@dataclass(frozen=True, slots=True)
class Target:
    """The chord an applied chord leads to: its root and whether its third is minor."""

    root: PitchName
    minor: bool


def degree_of(name: PitchName, tonic: PitchName, mode: Mode = "major") -> tuple[int, int]:
    """Degree 1 to 7 of a name above a tonic and its alteration in half steps against the mode.

    Examples
    --------
    >>> degree_of(PitchName.parse("Bb"), PitchName.parse("C"))
    (7, -1)
    >>> degree_of(PitchName.parse("Bb"), PitchName.parse("C"), "minor")
    (7, 0)
    """
    steps = (STEPS.index(name.step) - STEPS.index(tonic.step)) % 7
    own = MAJOR_SCALE_FIFTHS[steps]
    if mode != "major":
        shift = MODE_SHIFT[mode]
        while own > 5 + shift:
            own -= 7
        while own < -1 + shift:
            own += 7
    return steps + 1, (name.fifths - tonic.fifths - own) // 7


def degree_text(degree: int, alter: int) -> str:
    """A degree with its signs, such as ``b7`` or ``#4``."""
    return ("#" * alter if alter > 0 else "b" * -alter) + str(degree)


def respelled_root(chord: Chord, tonic: PitchName) -> PitchName:
    """The chord's root, respelled where its spelling contradicts the key (A sharp in F is B flat).

    Roots from the lowered fifth to the raised fourth degree stay as written, diminished ones up to
    the raised second; anything further off is taken for its enharmonic neighbour.
    """
    low, high = _DIMINISHED_RANGE if chord.triad == "dim" else _ROOT_RANGE
    root = chord.root
    while root - tonic > high:
        root += -12
    while root - tonic < low:
        root += 12
    return root


def respelled(chord: Chord, tonic: PitchName) -> Chord:
    """The chord with root and bass moved together into the spelling of the key."""
    shift = respelled_root(chord, tonic) - chord.root
    if not shift:
        return chord
    return Chord(chord.root + shift, chord.degrees, chord.bass + shift, chord.kind)


@lru_cache(maxsize=1024)
def name_numeral(
    chord: Chord,
    key: Key,
    target: Target | None = None,
    *,
    special: str = "",
    minor: bool | None = None,
    convention: Convention = OWN,
) -> Numeral:
    """The numeral of a chord in a key, against its target where it is applied.

    Parameters
    ----------
    chord
        As written; its spelling is put right against the key first.
    target
        The chord it leads to, None where it is not applied.
    special
        ``N``, ``It``, ``Fr``, ``Ger``, ``CT`` or ``subV`` in place of the degree, else empty.
    minor
        Which third is heard in a chord without one; None leaves it to the key.

    Returns
    -------
    Numeral
        ``degree`` and ``alter`` are those of the root in the home key by the convention.
    """
    chord = respelled(chord, key.tonic)
    mode = counting_mode(key, convention)
    degree, alter = degree_of(chord.root, key.tonic, mode)
    slash = _slash(chord, key, convention)
    if target is None:
        text = _chord_text(chord, key, special, minor, convention)
        return Numeral(text + slash, degree, alter)
    local = Key(target.root, "minor" if target.minor else "major")
    aimed = _aim_text(target, key, convention)
    there = respelled(chord, target.root)
    text = f"{_chord_text(there, local, special, minor, convention)}/{aimed}{slash}"
    return Numeral(text, degree, alter, aimed, target.root)


def target_text(target: Target, key: Key, convention: Convention = OWN) -> str:
    """The numeral of a bare target triad, such as ``vi``."""
    return _aim_text(target, key, convention)


@lru_cache(maxsize=1024)
def label_of(text: str) -> str:
    """A numeral as it stands on a page: music signs, raised and lowered figures.

    Examples
    --------
    >>> label_of("bVII7"), label_of("V65/vi"), label_of("viio7/V"), label_of("iiø7")
    ('♭VII⁷', 'V⁶₅/vi', 'vii°⁷/V', 'iiø⁷')
    """
    return "/".join(
        part.replace("b", "♭").replace("#", "♯") if part.lstrip("b#").isdigit() else _shown(part)
        for part in text.split("/")
    )


def _shown(part: str) -> str:
    """One numeral without what stands after a slash."""
    out = ""
    digits = ""
    inside = False
    for sign in [*part, ""]:
        if sign.isdigit():
            digits += sign
            continue
        out += _raised(digits, stacked=not inside)
        digits = ""
        inside = sign == "(" or (inside and sign != ")")
        out += _page_sign(sign, out)
    return out


def _page_sign(sign: str, before: str) -> str:
    if sign == "b" and not before[-1:].isalpha():
        return "♭"
    if sign == "#":
        return "♯"
    return "°" if sign == "o" and before[-1:] in "iIvVT" and before else sign


def _raised(digits: str, stacked: bool) -> str:
    """Figures: two of an inversion stand one above the other, anything else is raised."""
    if stacked and digits in ("64", "65", "43", "42"):
        return digits[0].translate(_SUPERSCRIPT) + digits[1].translate(_SUBSCRIPT)
    return digits.translate(_SUPERSCRIPT)


def counting_mode(key: Key, convention: Convention) -> Mode:
    """The mode whose scale degrees are counted from."""
    if convention.degrees == "major":
        return "major"
    if convention.degrees == "mode":
        return key.mode
    return "minor" if key.is_minor_like else "major"


def _aim_text(target: Target, key: Key, convention: Convention) -> str:
    degree, alter = degree_of(target.root, key.tonic, counting_mode(key, convention))
    roman = ROMAN[degree].lower() if target.minor else ROMAN[degree]
    return _signs(alter) + roman


def _signs(alter: int) -> str:
    return "#" * alter if alter > 0 else "b" * -alter


def _chord_text(
    chord: Chord, key: Key, special: str, minor: bool | None, convention: Convention
) -> str:
    mode = counting_mode(key, convention)
    degree, alter = degree_of(chord.root, key.tonic, mode)
    if special in ("It", "Fr", "Ger"):
        # The written root is the lowered sixth degree, which is the bass of these chords.
        return {"It": "It6", "Fr": "Fr43", "Ger": "Ger65"}[special]
    if special:
        head = special
    else:
        leading = mode == "minor" and degree == 7 and alter == 1 and chord.triad == "dim"
        roman = ROMAN[degree]
        roman = roman.lower() if _is_lower(chord, key, minor) else roman
        head = ("" if leading else _signs(alter)) + roman
    triad_mark = {"dim": "o", "aug": "+"}.get(chord.triad, "")
    if chord.triad == "dim" and chord.seventh == "m7":
        triad_mark = "ø"
    return head + triad_mark + _figures(chord, convention)


def _is_lower(chord: Chord, key: Key, minor: bool | None) -> bool:
    if chord.triad:
        return chord.triad in ("min", "dim")
    if minor is not None:
        return minor
    if chord.has(3, -1):
        return True
    if chord.has(4, 0) and chord.seventh == "m7":
        return False  # a suspended dominant resolves to its major third
    # No third: the degree's own triad in the key decides the case.
    third = {name.step: name for name in key.scale}[STEPS[(STEPS.index(chord.root.step) + 2) % 7]]
    return third - chord.root < 0


def _slash(chord: Chord, key: Key, convention: Convention) -> str:
    """A bass that figures do not tell: a slash and its degree in the home key, else empty."""
    if chord.bass.pc == chord.root.pc or _has_figures(chord, convention):
        return ""
    return "/" + degree_text(*degree_of(chord.bass, key.tonic, counting_mode(key, convention)))


def _has_figures(chord: Chord, convention: Convention) -> bool:
    """Whether figures tell the bass: an inversion of a chord with a third."""
    thirded = any(number == 3 for number, _ in chord.degrees)
    return chord.inversion > 0 and thirded and convention.inversions == "figures"


def _figures(chord: Chord, convention: Convention) -> str:
    """Everything after the degree and its quality: seventh, inversion, suspensions, added notes."""
    numbers = dict(chord.degrees)
    stack, extras = _stack(numbers)
    third = 3 in numbers
    suspended = "" if third else "".join(f"sus{n}" for n in (4, 2) if numbers.get(n) == 0)
    inversion = chord.inversion if _has_figures(chord, convention) else 0
    figures = stack
    if inversion and not stack:
        figures = _TRIAD_FIGURES[inversion] if inversion < 3 else ""
    elif inversion:
        figures = stack.rstrip("0123456789") + _SEVENTH_FIGURES[inversion]
        if not stack.endswith("7"):
            extras.insert(0, stack.lstrip("maj"))
    if not third and not suspended:
        if set(numbers) == {1, 5}:
            return "5"
        extras.append("no3")
    if 5 not in numbers and third and chord.kind not in ("Italian",):
        extras.append("no5")
    if 1 not in numbers:
        extras.append("no1")
    return figures + suspended + (f"({','.join(extras)})" if extras else "")


def _stack(numbers: dict[int, int]) -> tuple[str, list[str]]:
    """The seventh with what is stacked on it (``7``, ``maj9``, ``13``), and the notes left over."""
    extras: list[str] = []
    third = numbers.get(3)
    if numbers.get(5) == -1 and third == 0:
        extras.append("b5")
    if numbers.get(5) == 1 and third == -1:
        extras.append("#5")
    above = [n for n in (9, 11, 13) if n in numbers]
    if third is not None:
        extras += [degree_text(n, numbers[n]) for n in (2, 4) if n in numbers]
    if 7 not in numbers:
        added = [degree_text(n, numbers[n]) for n in (6, *above) if n in numbers]
        if added:
            extras.append("add" + added[0])
            extras += added[1:]
        return "", extras
    if 6 in numbers:
        extras.append("add" + degree_text(6, numbers[6]))
    prefix = "maj" if numbers[7] == 0 else ""
    top = 7
    for number in above:
        # A 13th is stacked on the ninth alone: the 11th is left out of it.
        if numbers[number] == 0 and (number == 9 or numbers.get(9) == 0):
            top = number
        else:
            extras.append(degree_text(number, numbers[number]))
    return f"{prefix}{top}", extras
