"""Chord symbols as they are printed: one spelling for whatever the source's program wrote.

A symbol is its root, its quality and its bass: ``B♭maj7``, ``C♯m7``, ``F♯ø7``, ``A♭7(♭9)/C``,
``N.C.``. Qualities are the plain ones of lead sheets (common practice, no source): m, maj7, 7, ø7,
°7, +, sus4, 6, 9; further degrees follow in brackets, in order; one that the source takes away is
written no3. What the source prints for a kind that it calls "other" is kept.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from analysis.pitch import PitchName
from analysis.score import Degree, DegreeType

#: What is printed for each MusicXML kind-value.
QUALITIES: Final[dict[str, str]] = {
    "major": "",
    "minor": "m",
    "augmented": "+",
    "diminished": "°",
    "dominant": "7",
    "major-seventh": "maj7",
    "minor-seventh": "m7",
    "diminished-seventh": "°7",
    "augmented-seventh": "+7",
    "half-diminished": "ø7",
    "major-minor": "m(maj7)",
    "major-sixth": "6",
    "minor-sixth": "m6",
    "dominant-ninth": "9",
    "major-ninth": "maj9",
    "minor-ninth": "m9",
    "dominant-11th": "11",
    "major-11th": "maj11",
    "minor-11th": "m11",
    "dominant-13th": "13",
    "major-13th": "maj13",
    "minor-13th": "m13",
    "suspended-second": "sus2",
    "suspended-fourth": "sus4",
    "Neapolitan": "N6",
    "Italian": "It+6",
    "French": "Fr+6",
    "German": "Ger+6",
    "pedal": "ped.",
    "power": "5",
    "Tristan": "Tristan",
}
_SUSPENDED: Final = frozenset({"suspended-second", "suspended-fourth"})
_SIGNS: Final = {-2: "𝄫", -1: "♭", 0: "", 1: "♯", 2: "𝄪"}


def symbol_text(
    root: PitchName | None,
    kind: str,
    degrees: Sequence[Degree] = (),
    bass: PitchName | None = None,
    text: str = "",
) -> str:
    """The printed form of a chord symbol.

    Parameters
    ----------
    root, bass
        None where the source gives none.
    kind
        A MusicXML kind-value; ``none`` gives N.C.
    degrees
        As in the source, each alteration as MusicXML counts it.
    text
        What the source prints for the kind; used for kinds that have no form of their own.

    Examples
    --------
    >>> symbol_text(PitchName.parse("Bb"), "half-diminished", (), PitchName.parse("Db"))
    'B♭ø7/D♭'
    """
    if kind == "none":
        return "N.C."
    quality = QUALITIES.get(kind)
    if quality is None:
        quality = re.sub(r"b(?=\d)", "♭", text).replace("#", "♯")
    name = note_name(root) if root is not None else ""
    quality, rest = _folded(kind, quality, degrees)
    added = ",".join(rest)
    return (
        name + quality + (f"({added})" if added else "") + (f"/{note_name(bass)}" if bass else "")
    )


def note_name(name: PitchName) -> str:
    """A note name with printed accidentals."""
    return name.step + _SIGNS.get(
        name.alter, "♯" * name.alter if name.alter > 0 else "♭" * -name.alter
    )


def _folded(kind: str, quality: str, degrees: Sequence[Degree]) -> tuple[str, list[str]]:
    """The quality with what has a short form taken into it, and the rest for the brackets."""
    rest: dict[tuple[int, DegreeType], int] = {
        (d.value, d.type): d.alter
        for d in sorted(degrees, key=lambda d: (d.type == "subtract", d.value))
    }
    if kind in _SUSPENDED:
        quality = _suspended(quality, rest)
    elif (3, "subtract") in rest and quality in {"", "7", "9", "13"}:
        for fourth in ((4, "add"), (11, "add")):
            if rest.get(fourth) == 0:
                del rest[fourth], rest[3, "subtract"]
                quality += "sus4"
                break
    # A seventh added to a triad is a minor one unless it says otherwise, as in the standard.
    if kind in {"major", "minor", "augmented"} and (7, "add") in rest:
        major = "(maj7)" if quality else "maj7"
        quality += {0: "7", 1: major}.get(rest.pop((7, "add")), "°7")
    if quality in {"6", "m6"} and rest.get((9, "add")) == 0:
        del rest[9, "add"]
        quality += "/9"
    if quality in {"", "m"} and list(rest.items()) == [((9, "add"), 0)]:
        return quality + "add9", []
    seventh = any(number in quality for number in ("7", "9", "11", "13"))
    return quality, [_degree_text(*key, alter, seventh) for key, alter in rest.items()]


def _suspended(quality: str, rest: dict[tuple[int, DegreeType], int]) -> str:
    """A suspended chord's seventh, ninth and thirteenth go before the word: 9sus4."""
    if rest.get((7, "add")) != 0:
        return quality
    del rest[7, "add"]
    number = "7"
    for extension in (9, 13):
        if rest.get((extension, "add")) == 0:
            del rest[extension, "add"]
            number = str(extension)
    return number + quality


def _degree_text(value: int, kind: DegreeType, alter: int, seventh: bool) -> str:
    if kind == "subtract":
        return f"no{value}"
    if kind == "add" and value == 7:
        return {0: "7", 1: "maj7"}.get(alter, "°7")
    word = "add" if kind == "add" and not alter and not seventh else ""
    return f"{word}{_SIGNS.get(alter, '')}{value}"
