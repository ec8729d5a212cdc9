"""Spelled pitch: names on the line of fifths, pitches with octaves, keys.

Spelling matters: D sharp and E flat sound alike and mean different things, so a bare MIDI number
never stands for a pitch here. A name is its place on the line of fifths (… F C G D …, C = 0), which
makes transposition an addition and spelling automatic.

References
----------
The line of fifths as a model of spelling: D. Temperley, *The Cognition of Basic Musical
Structures*, MIT Press 2001, chapter 5 (from memory).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Final, Literal

from analysis.errors import NotationError

Mode = Literal["major", "minor", "mixolydian", "dorian", "lydian", "phrygian", "locrian"]

STEPS: Final = "CDEFGAB"
_FIFTHS_OF_STEP: Final = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
_STEP_OF_FIFTHS: Final = {fifths: step for step, fifths in _FIFTHS_OF_STEP.items()}
_SEMITONES_OF_STEP: Final = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
#: Line-of-fifths distance of the degrees 1…7 of the major scale from its tonic.
MAJOR_SCALE_FIFTHS: Final = (0, 2, 4, -1, 1, 3, 5)
#: How far each mode's scale lies from the major scale of the same tonic, in fifths (signature).
MODE_SHIFT: Final[dict[Mode, int]] = {
    "lydian": 1,
    "major": 0,
    "mixolydian": -1,
    "dorian": -2,
    "minor": -3,
    "phrygian": -4,
    "locrian": -5,
}


@dataclass(frozen=True, slots=True, order=True)
class PitchName:
    """A spelled pitch class, such as B flat.

    Parameters
    ----------
    fifths
        Place on the line of fifths: F -1, C 0, G 1, …, B 5, F sharp 6, B flat -2.

    Examples
    --------
    >>> PitchName.parse("Bb").fifths
    -2
    >>> str(PitchName(6)), PitchName(6).pc
    ('F#', 6)
    """

    fifths: int

    @classmethod
    def of(cls, step: str, alter: int = 0) -> PitchName:
        """Name from a letter and its alteration in half steps."""
        return cls(_FIFTHS_OF_STEP[step] + 7 * alter)

    @classmethod
    def parse(cls, text: str) -> PitchName:
        """Read ``"Bb"``, ``"F#"``, ``"C##"``, ``"E♭"``; raise NotationError otherwise."""
        match = re.fullmatch(r"([A-Ga-g])([#♯]*|[b♭]*|x|𝄪|𝄫)", text.strip())
        if match is None:
            raise NotationError(f"“{text}” is not a note name; write a letter A to G with # or b.")
        sign = match[2].replace("x", "##").replace("𝄪", "##").replace("𝄫", "bb")
        alter = len(sign) * (1 if sign[:1] in {"#", "♯"} else -1)
        return cls.of(match[1].upper(), alter)

    @property
    def step(self) -> str:
        """The letter, A to G."""
        return _STEP_OF_FIFTHS[(self.fifths + 1) % 7 - 1]

    @property
    def alter(self) -> int:
        """Half steps up (sharp) or down (flat) from the letter."""
        return (self.fifths + 1) // 7

    @property
    def pc(self) -> int:
        """Sounding pitch class, 0 to 11, C = 0."""
        return self.fifths * 7 % 12

    def __add__(self, fifths: int) -> PitchName:
        """The name so many fifths further up the line."""
        return PitchName(self.fifths + fifths)

    def __sub__(self, other: PitchName) -> int:
        """Distance in fifths from ``other`` to this name."""
        return self.fifths - other.fifths

    def __str__(self) -> str:
        """Plain text with ``#`` and ``b``."""
        return _name_text(self.fifths)


@cache
def _name_text(fifths: int) -> str:
    name = PitchName(fifths)
    return name.step + ("#" * name.alter if name.alter > 0 else "b" * -name.alter)


@dataclass(frozen=True)
class Pitch:
    """A spelled pitch with its octave; C4 is middle C. Quarter tones are rounded on reading."""

    name: PitchName
    octave: int

    @classmethod
    def parse(cls, text: str) -> Pitch:
        """Read ``"Bb4"``."""
        match = re.fullmatch(r"(.*?)(-?\d+)", text.strip())
        if match is None:
            raise NotationError(f"“{text}” is not a pitch; write a name and an octave, as in Bb4.")
        return cls(PitchName.parse(match[1]), int(match[2]))

    @cached_property
    def midi(self) -> int:
        """Sounding key number, 60 = middle C."""
        return 12 * (self.octave + 1) + _SEMITONES_OF_STEP[self.name.step] + self.name.alter

    @cached_property
    def diatonic(self) -> int:
        """Staff place: octave times seven plus letter, C0 = 0; steps of a scale differ by one."""
        return 7 * self.octave + STEPS.index(self.name.step)

    def __str__(self) -> str:
        """Plain text such as ``Bb4``."""
        return f"{self.name}{self.octave}"


@dataclass(frozen=True)
class Key:
    """A tonic and a mode."""

    tonic: PitchName
    mode: Mode = "major"

    @classmethod
    def parse(cls, text: str) -> Key:
        """Read ``"Bb major"``, ``"f# minor"``, ``"G mixolydian"``, ``"Am"``, ``"Eb"``."""
        match = re.fullmatch(r"\s*([A-Ga-g](?:[#♯]+|[b♭]*))\s*(.*?)\s*", text)
        if match is None:
            raise NotationError(f"“{text}” is not a key; write for example Bb major or F# minor.")
        word = match[2].lower().strip("- ")
        if not word:
            mode: str = "minor" if match[1][0].islower() else "major"
        else:
            mode = {"m": "minor", "min": "minor", "maj": "major", "ionian": "major"}.get(word, word)
            mode = "minor" if mode == "aeolian" else mode
        for known in MODE_SHIFT:
            if mode == known:
                return cls(PitchName.parse(match[1]), known)
        raise NotationError(f"“{match[2]}” is not a mode; write one of {', '.join(MODE_SHIFT)}.")

    @cached_property
    def is_minor_like(self) -> bool:
        """Whether the third above the tonic is minor (minor, dorian, phrygian, locrian)."""
        return MODE_SHIFT[self.mode] <= MODE_SHIFT["dorian"]

    @cached_property
    def signature(self) -> int:
        """Key signature in fifths: positive sharps, negative flats."""
        return self.tonic.fifths + MODE_SHIFT[self.mode]

    @cached_property
    def scale(self) -> tuple[PitchName, ...]:
        """The seven names from the tonic up (natural minor for minor)."""
        low = self.signature - 1
        names = {PitchName(low + i).step: PitchName(low + i) for i in range(7)}
        start = STEPS.index(self.tonic.step)
        return tuple(names[STEPS[(start + i) % 7]] for i in range(7))

    @cached_property
    def steps(self) -> frozenset[int]:
        """Half steps from the tonic up to each tone of the scale."""
        return frozenset((name.pc - self.tonic.pc) % 12 for name in self.scale)

    def __str__(self) -> str:
        """Plain text such as ``Bb major``."""
        return f"{self.tonic} {self.mode}"
