"""Chords as spelled values: root, degrees, bass; and what a written chord symbol says.

A chord is a root and a set of degrees, each a number of the root's major scale (1 to 13) with an
alteration in half steps: a minor seventh chord is 1, b3, 5, b7. Nothing is said about a key here.

References
----------
Degrees of each kind: MusicXML 4.0, *kind-value* (W3C Music Notation Community Group).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal

from analysis.pitch import MAJOR_SCALE_FIFTHS, PitchName
from analysis.score import ChordSymbol

Triad = Literal["maj", "min", "dim", "aug", ""]
Seventh = Literal["", "m7", "M7", "d7"]
#: A degree of a chord: number 1 to 13 and alteration in half steps against the major scale.
ChordDegree = tuple[int, int]

_MAJ: Final = ((1, 0), (3, 0), (5, 0))
_MIN: Final = ((1, 0), (3, -1), (5, 0))
_DIM: Final = ((1, 0), (3, -1), (5, -1))
_AUG: Final = ((1, 0), (3, 0), (5, 1))
_M7: Final = ((7, 0),)
_m7: Final = ((7, -1),)
_9: Final = ((9, 0),)
_11: Final = ((9, 0), (11, 0))
_13: Final = ((9, 0), (13, 0))
#: Degrees of each MusicXML kind. A dominant 13th leaves out the 11th (common practice, no source).
KIND_DEGREES: Final[dict[str, tuple[ChordDegree, ...]]] = {
    "major": _MAJ,
    "minor": _MIN,
    "augmented": _AUG,
    "diminished": _DIM,
    "dominant": _MAJ + _m7,
    "major-seventh": _MAJ + _M7,
    "minor-seventh": _MIN + _m7,
    "diminished-seventh": (*_DIM, (7, -2)),
    "augmented-seventh": _AUG + _m7,
    "half-diminished": _DIM + _m7,
    "major-minor": _MIN + _M7,
    "major-sixth": (*_MAJ, (6, 0)),
    "minor-sixth": (*_MIN, (6, 0)),
    "dominant-ninth": _MAJ + _m7 + _9,
    "major-ninth": _MAJ + _M7 + _9,
    "minor-ninth": _MIN + _m7 + _9,
    "dominant-11th": _MAJ + _m7 + _11,
    "major-11th": _MAJ + _M7 + _11,
    "minor-11th": _MIN + _m7 + _11,
    "dominant-13th": _MAJ + _m7 + _13,
    "major-13th": _MAJ + _M7 + _13,
    "minor-13th": _MIN + _m7 + _13,
    "suspended-second": ((1, 0), (2, 0), (5, 0)),
    "suspended-fourth": ((1, 0), (4, 0), (5, 0)),
    "power": ((1, 0), (5, 0)),
    "pedal": ((1, 0),),
    # The root of these four is the written one: Neapolitan and augmented sixths name a function,
    # and the root stands for the chord's lowest altered tone.
    "Neapolitan": _MAJ,
    "Italian": ((1, 0), (3, 0), (6, 1)),
    "French": ((1, 0), (3, 0), (4, 1), (6, 1)),
    "German": ((1, 0), (3, 0), (5, 0), (6, 1)),
    "Tristan": ((1, 0), (4, 1), (6, 1), (9, 1)),
}


@dataclass(frozen=True)
class Chord:
    """A chord without a key.

    Parameters
    ----------
    root
        Its root as spelled.
    degrees
        Sorted degrees, the root's ``(1, 0)`` among them unless it is left out.
    bass
        The lowest tone; the root where nothing else is written.
    kind
        The MusicXML kind-value it came from, or the nearest one.

    Examples
    --------
    >>> chord = Chord(PitchName.parse("A"), KIND_DEGREES["dominant"], PitchName.parse("C#"))
    >>> chord.triad, chord.seventh, chord.inversion, [str(tone) for tone in chord.tones]
    ('maj', 'm7', 1, ['A', 'C#', 'E', 'G'])
    """

    root: PitchName
    degrees: tuple[ChordDegree, ...]
    bass: PitchName
    kind: str = "other"

    def has(self, number: int, alter: int) -> bool:
        """Whether the degree is in the chord."""
        return (number, alter) in self.degrees

    @cached_property
    def triad(self) -> Triad:
        """Quality of the triad; empty where there is no third (power chords, suspensions)."""
        if self.has(3, 0):
            return "aug" if self.has(5, 1) and not self.has(5, 0) else "maj"
        if self.has(3, -1):
            return "dim" if self.has(5, -1) and not self.has(5, 0) else "min"
        return ""

    @cached_property
    def seventh(self) -> Seventh:
        """Kind of seventh above the root, counted by sound and spelling; empty without one."""
        for alter, name in ((-1, "m7"), (0, "M7"), (-2, "d7")):
            if self.has(7, alter):
                return name  # type: ignore[return-value]
        return ""

    @cached_property
    def tones(self) -> tuple[PitchName, ...]:
        """Spelled tones in order of degree; a bass foreign to the chord is not among them."""
        return tuple(degree_tone(self.root, degree) for degree in self.degrees)

    @cached_property
    def pitch_classes(self) -> frozenset[int]:
        """How its tones sound, 0 to 11; a foreign bass is not among them."""
        return frozenset(tone.pc for tone in self.tones)

    @cached_property
    def inversion(self) -> int:
        """0 root position, 1 third, 2 fifth, 3 seventh in the bass; 0 for any other bass."""
        for number, alter in self.degrees:
            if number in (3, 5, 7) and degree_tone(self.root, (number, alter)).pc == self.bass.pc:
                return (number - 1) // 2
        return 0

    @cached_property
    def foreign_bass(self) -> bool:
        """Whether the bass is none of the chord's own tones (a slash chord, not an inversion)."""
        return self.bass.pc not in self.pitch_classes


def degree_tone(root: PitchName, degree: ChordDegree) -> PitchName:
    """The tone of a degree above a root: ``degree_tone(C, (7, -1))`` is B flat."""
    number, alter = degree
    return root + MAJOR_SCALE_FIFTHS[(number - 1) % 7] + 7 * alter


def chord_of(symbol: ChordSymbol) -> Chord | None:
    """What a written chord symbol says; None for N.C. and for symbols without a root."""
    if symbol.root is None or symbol.kind == "none":
        return None
    degrees = dict(KIND_DEGREES.get(symbol.kind, _MAJ))
    for degree in symbol.degrees:
        if degree.type == "subtract":
            degrees.pop(degree.value, None)
        elif degree.type == "alter":
            # MusicXML counts an alteration against the kind's own degree.
            degrees[degree.value] = degrees.get(degree.value, 0) + degree.alter
        else:
            # A seventh added to a triad is a minor one unless it says otherwise (dominant default).
            degrees[degree.value] = degree.alter - (1 if degree.value == 7 else 0)
    return Chord(
        root=symbol.root,
        degrees=tuple(sorted(degrees.items())),
        bass=symbol.bass or symbol.root,
        kind=symbol.kind,
    )
