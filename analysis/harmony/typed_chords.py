"""Chord symbols as people type them.

The task is to read what is typed where a chord symbol stands, such as ``Bbmaj7/D``, ``f#m7b5`` or
``N.C.``, in any of the usual spellings, and to say in words what is wrong with anything else, while
it is being typed.

Conventions
-----------
A symbol is a root, a quality, further degrees and a bass. Qualities: none or ``maj`` for a major
triad, ``m min -`` minor, ``dim ° o`` diminished, ``ø`` or ``m7b5`` half-diminished, ``aug +``
augmented, ``5`` without a third, ``sus2 sus4 sus``; then ``6 69 7 9 11 13`` with ``maj M Δ`` before
a major seventh. A plain number is a minor seventh with what is stacked on it; a 13th leaves the
11th out. Degrees follow, in brackets or not, parted by commas or not: ``b5 #5 b9 #9 #11 b13``,
``add9``, ``no3``. A lower-case root is taken as the letter it is; ``m`` alone makes a minor chord.

References
----------
Spellings of lead sheets: common practice, no source. What a number stacks: MusicXML 4.0,
*kind-value*, by `analysis.chords.KIND_DEGREES`.
"""

from __future__ import annotations

import re
from typing import Final

from analysis.chords import KIND_DEGREES, Chord
from analysis.errors import NotationError
from analysis.pitch import PitchName
from analysis.vocabulary.note_names import Naming, read_name_at

#: Ways to write that no chord sounds.
_NONE: Final = frozenset({"n.c.", "nc", "n.c", "no chord", "tacet", "n"})
#: Words of qualities as triad; several spell one.
_TRIADS: Final[dict[str, str]] = {
    "minor": "minor",
    "min": "minor",
    "mi": "minor",
    "dim": "diminished",
    "aug": "augmented",
    "m": "minor",
    "-": "minor",
    "°": "diminished",
    "o": "diminished",
    "ø": "half-diminished",
    "Ø": "half-diminished",
    "+": "augmented",
}
_MAJOR_SEVENTH_SIGNS: Final = ("Δ", "△", "∆")
_NUMBERS: Final = ("13", "11", "69", "6/9", "9", "7", "6", "5")
_STACKS: Final[dict[str, tuple[int, ...]]] = {"7": (), "9": (9,), "11": (9, 11), "13": (9, 13)}
_DEGREE: Final = re.compile(
    r"(?P<word>add|no|omit)?(?P<sign>maj|M|bb|##|[b#♭♯+-])?(?P<number>13|11|10|9|7|6|5|4|3|2|1)"
)


def read_chord(text: str, naming: Naming = "english") -> Chord | None:
    """The chord that a typed symbol means; None where it says that none sounds.

    Parameters
    ----------
    text
        What was typed.
    naming
        How note names are written.

    Raises
    ------
    NotationError
        If it is no chord symbol; the sentence says where it stops making sense.

    Examples
    --------
    >>> chord = read_chord("F#m7b5/A")
    >>> str(chord.root), chord.triad, chord.seventh, str(chord.bass)
    ('F#', 'dim', 'm7', 'A')
    >>> read_chord("N.C.") is None
    True
    """
    text = text.strip()
    if not text:
        raise NotationError("Type a chord symbol, such as Am7 or B♭/D, or N.C. for no chord.")
    if text.casefold() in _NONE:
        return None
    found = read_name_at(text, naming)
    if found is None:
        raise NotationError(f"“{text}” does not begin with the name of a note.")
    root, length = found
    body, bass = _part_bass(text[length:], text, root, naming)
    numbers, kind = read_quality(body, text)
    return Chord(root, tuple(sorted(numbers.items())), bass, kind)


def read_quality(body: str, whole: str) -> tuple[dict[int, int], str]:
    """Degrees by number and the MusicXML kind of what follows a root; ``whole`` is for sentences.

    Raises
    ------
    NotationError
        If it is no quality.
    """
    triad, body = _take_triad(re.sub(r"\s+", "", body))
    sus_first, body = _take_sus(body)
    number, major, body = _take_number(triad, body)
    sus_after, body = _take_sus(body)
    if triad in ("diminished", "half-diminished") and (sus_first or sus_after):
        raise NotationError(f"“{whole}” is both diminished and suspended; it can be only one.")
    if number == "5" and triad != "major":
        raise NotationError(f"“{whole}” has no third; write the root and 5 alone.")
    numbers = dict(KIND_DEGREES["diminished" if triad == "half-diminished" else triad])
    _stack(numbers, triad, number, major)
    for step in sus_first or sus_after:
        numbers.pop(3, None)
        numbers[step] = 0
    _add_degrees(numbers, body, whole)
    return numbers, _kind_of(numbers)


def _part_bass(rest: str, whole: str, root: PitchName, naming: Naming) -> tuple[str, PitchName]:
    """What follows the root without the bass, and the bass."""
    body, slash, typed = rest.rpartition("/")
    in_quality = (typed == "9" and body.endswith("6")) or (typed in ("2", "4") and "sus" in body)
    if not slash or in_quality:
        return rest, root
    found = read_name_at(typed, naming)
    if found is None or found[1] != len(typed):
        raise NotationError(
            f"“{typed}” after the slash in “{whole}” is not the name of a note."
            if typed
            else f"After the slash in “{whole}” a bass note is missing."
        )
    return body, found[0]


def _take_triad(body: str) -> tuple[str, str]:
    if re.match(r"ma(?!dd)", body):
        # “maj7” is a seventh and not a quality; the word is taken with its number. In “madd9” a
        # tone is added to the minor triad.
        return "major", body
    for word in sorted(_TRIADS, key=len, reverse=True):
        if body.startswith(word):
            return _TRIADS[word], body[len(word) :]
    return "major", body


def _take_sus(body: str) -> tuple[tuple[int, ...], str]:
    """Steps that replace the third, and what follows."""
    match = re.match(r"\(?sus(24|42|2/4|4/2|2|4)?\)?", body)
    if match is None:
        return (), body
    steps = {"2": (2,), "4": (4,), None: (4,)}.get(match[1], (2, 4))
    return steps, body[match.end() :]


def _take_number(triad: str, body: str) -> tuple[str, bool, str]:
    """The stacked number (empty for none), whether its seventh is major, and what follows."""
    bracket = re.match(r"\((maj|M|Δ)(7|9|11|13)\)", body)
    if bracket:
        return bracket[2], True, body[bracket.end() :]
    match = re.match(r"(?:major|maj|ma|M)\s*", body)
    major = match is not None
    rest = body[match.end() :] if match else body
    if not major and rest.startswith(_MAJOR_SEVENTH_SIGNS):
        major, rest = True, rest[1:]
        if not rest.startswith(_NUMBERS):
            return "7", True, rest  # the sign alone is a major seventh
    for number in _NUMBERS:
        if rest.startswith(number):
            return number.replace("/", ""), major, rest[len(number) :]
    if triad == "half-diminished":
        return "7", False, rest
    return "", False, rest


def _stack(numbers: dict[int, int], triad: str, number: str, major: bool) -> None:
    """Add what a number stacks on a triad."""
    if number == "5":
        numbers.pop(3, None)
    elif number in ("6", "69"):
        numbers[6] = 0
        if number == "69":
            numbers[9] = 0
    elif number:
        diminished = triad == "diminished" and not major
        numbers[7] = 0 if major else -2 if diminished else -1
        for above in _STACKS[number]:
            numbers[above] = 0


def _add_degrees(numbers: dict[int, int], body: str, whole: str) -> None:
    """Change the degrees by what stands after the quality."""
    rest = re.sub(r"[(),\s]", ",", body)
    while rest := rest.lstrip(","):
        match = _DEGREE.match(rest)
        if match is None:
            wrong = rest.split(",")[0]
            raise NotationError(f"In “{whole}” it is not clear what “{wrong}” means.")
        rest = rest[match.end() :]
        _change(numbers, match, whole)


def _change(numbers: dict[int, int], match: re.Match[str], whole: str) -> None:
    word, sign, number = match["word"], match["sign"] or "", int(match["number"])
    if word in ("no", "omit"):
        if number not in numbers:
            raise NotationError(f"“{whole}” leaves out a degree that the chord does not have.")
        del numbers[number]
        return
    if number in (1, 3, 10) or (number == 2 and sign):
        raise NotationError(f"“{match[0]}” in “{whole}” is not a degree that can be added.")
    if sign in ("maj", "M"):
        if number != 7:
            raise NotationError(f"“{match[0]}” in “{whole}” is not a degree that can be added.")
        numbers[7] = 0
        return
    alter = {"": 0, "b": -1, "♭": -1, "-": -1, "#": 1, "♯": 1, "+": 1, "bb": -2, "##": 2}[sign]
    # A seventh without a sign is the minor one, as it is in the quality.
    numbers[number] = -1 if number == 7 and not sign else alter


def _kind_of(numbers: dict[int, int]) -> str:
    """The MusicXML kind with just these degrees, or the nearest one below it."""
    wanted = set(numbers.items())
    best, missing = "other", len(wanted) + 1
    for kind, degrees in KIND_DEGREES.items():
        if kind in ("Neapolitan", "Italian", "French", "German", "Tristan", "pedal"):
            continue
        own = set(degrees)
        if own <= wanted and len(wanted - own) < missing:
            best, missing = kind, len(wanted - own)
    return best
