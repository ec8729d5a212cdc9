"""Chord symbols as written: a ``harmony`` element read straight from the document.

The task: root, kind, degrees and bass of each chord symbol, as the transcriber wrote them. They are
read here and not by music21, which rewrites figures, loses degrees, and recurs without end on a
harmony that has only a numeral or a function.

Conventions: roots are sounding (a symbol in a transposing part is moved as its notes are). An
``inversion`` without a bass gives the bass that it names. A numeral is worked out against the key
that it names, or the key signature in force; a stack of numerals (V of II is 5, then 2) from its
end. A bare function keeps its text and has no root.

References
----------
MusicXML 4.0, elements *harmony*, *kind*, *degree*, *numeral*, *inversion* (W3C Music Notation
Community Group).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, NamedTuple
from xml.etree.ElementTree import Element

from analysis.chords import KIND_DEGREES, chord_of, degree_tone
from analysis.pitch import MODE_SHIFT, Key, PitchName
from analysis.score import ChordSymbol, Degree, DegreeType
from analysis.timebase import Offset

#: Other names of kinds, found in files of older exporters, and what the standard calls them.
_OTHER_NAMES: Final = {
    "dominant-seventh": "dominant",
    "dominant-eleventh": "dominant-11th",
    "dominant-thirteenth": "dominant-13th",
    "major-eleventh": "major-11th",
    "major-thirteenth": "major-13th",
    "minor-eleventh": "minor-11th",
    "minor-thirteenth": "minor-13th",
    "minor-major": "major-minor",
    "minor-major-seventh": "major-minor",
    "half-diminished-seventh": "half-diminished",
}
#: The standard's kinds by their names in small letters, since some exporters write them so.
_KINDS: Final = {kind.lower(): kind for kind in (*KIND_DEGREES, "none")}
_DEGREE_TYPES: Final[dict[str, DegreeType]] = {
    "add": "add",
    "alter": "alter",
    "subtract": "subtract",
}
#: Raised degrees of the forms of minor, in half steps.
_RAISED: Final = {"harmonic minor": {7: 1}, "melodic minor": {6: 1, 7: 1}}
_MINOR_KINDS: Final = frozenset(
    kind for kind, degrees in KIND_DEGREES.items() if (3, -1) in degrees
)


class Harmony(NamedTuple):
    """What a chord symbol says, without its place."""

    root: PitchName | None
    kind: str
    degrees: tuple[Degree, ...] = ()
    bass: PitchName | None = None
    text: str = ""


def read_harmony(element: Element, shift: int, key: Key) -> Harmony:
    """Read one chord symbol.

    Parameters
    ----------
    element
        A ``harmony`` element. Of several chords in it the first one counts, numerals apart.
    shift
        Transposition of its part, in fifths from written to sounding.
    key
        The sounding key in force, for numerals that name no key of their own.

    Returns
    -------
    Harmony
        The root is None for N.C., for a function, and where the source gives none that can be read.
    """
    kind_element = element.find("kind")
    kind, text = _kind(kind_element)
    if kind == "none":
        return Harmony(None, "none", text=text)
    degrees = tuple(_degrees(element))
    root = _name(element.find("root"), "root", shift)
    if root is None:
        numerals = element.findall("numeral")
        if numerals:
            root = _numeral_root(numerals, element.findall("kind"), key)
            numeral = numerals[0].find("numeral-root")
            text = text or ("" if numeral is None else numeral.get("text") or numeral.text or "")
        else:
            text = text or element.findtext("function") or ""
    bass = _name(element.find("bass"), "bass", shift)
    if bass is None and root is not None:
        bass = _inverted(element.findtext("inversion"), Harmony(root, kind, degrees))
    return Harmony(root, kind, degrees, bass, text.strip())


def _kind(element: Element | None) -> tuple[str, str]:
    """The kind-value and the text printed for it."""
    if element is None:
        return "other", ""
    said = (element.text or "major").strip().lower()
    kind = _KINDS.get(_OTHER_NAMES.get(said, said), "other")
    return kind, (element.get("text") or "").strip()


def _name(element: Element | None, tag: str, shift: int) -> PitchName | None:
    """The root or bass of a chord symbol, sounding."""
    if element is None:
        return None
    step = (element.findtext(f"{tag}-step") or "").strip().upper()
    alter = _number(element.findtext(f"{tag}-alter"))
    if len(step) != 1 or step not in "ABCDEFG" or abs(alter) > 3:
        return None
    return PitchName.of(step, alter) + shift


def _degrees(element: Element) -> Iterable[Degree]:
    for degree in element.iterfind("degree"):
        value = _number(degree.findtext("degree-value"))
        alter = _number(degree.findtext("degree-alter"))
        kind = _DEGREE_TYPES.get((degree.findtext("degree-type") or "").strip())
        if 1 <= value <= 13 and abs(alter) <= 3 and kind is not None:
            yield Degree(value, alter, kind)


def _inverted(inversion: str | None, harmony: Harmony) -> PitchName | None:
    """The bass that an inversion names: 1 the third, 2 the fifth, 3 the seventh."""
    number = _number(inversion)
    symbol = ChordSymbol("", "", 0, Offset(0), Offset(0), *harmony)
    chord = chord_of(symbol)
    if chord is None or not 1 <= number <= 3:
        return None
    for degree in chord.degrees:
        if degree[0] == 2 * number + 1:
            return degree_tone(chord.root, degree)
    return None


def _numeral_root(numerals: list[Element], kinds: list[Element], key: Key) -> PitchName | None:
    """The root that a numeral, or a stack of numerals from its end, has in the key."""
    raised: dict[int, int] = {}
    own = numerals[0].find("numeral-key")
    if own is not None:
        mode = (own.findtext("numeral-mode") or "major").strip()
        raised = _RAISED.get(mode, {})
        is_minor = mode.endswith("minor")
        fifths = _number(own.findtext("numeral-fifths"))
        key = key_of_signature(fifths, "minor" if is_minor else "major")
    root: PitchName | None = None
    for place in range(len(numerals) - 1, -1, -1):
        numeral = numerals[place]
        degree = _number(numeral.findtext("numeral-root"))
        alter = _number(numeral.findtext("numeral-alter"))
        if not 1 <= degree <= 7 or abs(alter) > 3:
            return None
        root = key.scale[degree - 1] + 7 * (alter + raised.get(degree, 0))
        minor = place < len(kinds) and _kind(kinds[place])[0] in _MINOR_KINDS
        # A fifth below is the tonic of a dominant, so the leading tone belongs to either mode.
        raised = {7: 1} if minor else {}
        key = Key(root, "minor" if minor else "major")
    return root


def key_of_signature(fifths: int, mode: str) -> Key:
    """The key that a signature and a mode name; major where the mode is none of the known ones."""
    for known, shift in MODE_SHIFT.items():
        if mode == known:
            return Key(PitchName(fifths - shift), known)
    return Key(PitchName(fifths))


def _number(text: str | None) -> int:
    try:
        return round(float(text or 0))
    except (ValueError, OverflowError):
        return 0
