"""Chord symbols as they are printed: one spelling for whatever the source's program wrote.

A symbol is its root, its quality and its bass: ``B♭maj7``, ``C♯m7``, ``F♯ø7``, ``A♭7(♭9)/C``,
``N.C.``. Qualities are the plain ones of lead sheets (common practice, no source): m, maj7, 7, ø7,
°7, +, sus4, 6, 9; further degrees follow in brackets, in order; one that the source takes away is
written no3. What the source prints for a kind that it calls "other" is kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from analysis.pitch import PitchName
from analysis.score import Degree

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
        In the order of the source.
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
        quality = text.replace("b", "♭").replace("#", "♯") if kind == "other" else text
    name = note_name(root) if root is not None else ""
    quality, rest = _folded(quality, degrees)
    added = ", ".join(_degree_text(degree) for degree in rest)
    return (
        name + quality + (f"({added})" if added else "") + (f"/{note_name(bass)}" if bass else "")
    )


def note_name(name: PitchName) -> str:
    """A note name with printed accidentals."""
    return name.step + _SIGNS.get(
        name.alter, "♯" * name.alter if name.alter > 0 else "♭" * -name.alter
    )


def _folded(quality: str, degrees: Sequence[Degree]) -> tuple[str, list[Degree]]:
    """Degrees that have a short form of their own, taken into the quality."""
    rest = sorted(
        degrees, key=lambda degree: (degree.type == "subtract", degree.value, degree.alter)
    )
    plain = [(d.value, d.alter, d.type) for d in rest]
    if plain == [(9, 0, "add")] and quality in {"", "m"}:
        return quality + "add9", []
    if plain == [(9, 0, "add")] and quality in {"6", "m6"}:
        return quality + "/9", []
    if plain in ([(4, 0, "add"), (3, 0, "subtract")], [(11, 0, "add"), (3, 0, "subtract")]):
        return quality + "sus4", []
    return quality, rest


def _degree_text(degree: Degree) -> str:
    number = f"{_SIGNS.get(degree.alter, '')}{degree.value}"
    if degree.type == "subtract":
        return f"no{degree.value}"
    if degree.type == "add" and degree.alter == 0:
        return f"add{number}"
    return number
