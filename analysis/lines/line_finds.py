"""A found line with what its mark needs: which voice, which chords, how sure.

The Line itself is the fact that everybody reads; this is what the detectors of lines hand on with
it. Confidence is that a listener who is told of the line hears it: length and half steps count.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from analysis.marks import ChordFact, Line
from analysis.timebase import Offset

Voice = Literal["bass", "inner", "guide tones", "pedal", "common tone"]


@dataclass(frozen=True, slots=True)
class LineFind:
    """A line, the voice it lies in, how many chords it goes over, and its confidence.

    ``at`` says where each of its notes begins, for lines that move.
    ``against`` says how it moves with another voice: pairs of ``"melody"`` or ``"bass"`` and
    ``"contrary"`` or ``"parallel"``.
    ``degrees`` names its notes above the one root that they move over: ``8–♯7–♭7–6 over Am``.
    """

    line: Line
    voice: Voice
    over: int
    confidence: float
    at: tuple[Offset, ...] = ()
    against: tuple[tuple[str, str], ...] = ()
    degrees: str = ""


def sureness(chords: Sequence[ChordFact], indexes: Iterable[int]) -> float:
    """How sure the chords of a claim are: 1 where they are written, else the least confidence."""
    facts = [chords[index] for index in indexes]
    return min((1.0 if fact.written else fact.confidence for fact in facts), default=1.0)
