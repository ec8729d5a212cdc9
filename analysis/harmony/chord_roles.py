"""What a chord does in its key, and where it stands: values of the finder of functions."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.chords import Chord
from analysis.marks import Function, Reading
from analysis.vocabulary.dominants import ChordInKey, Dominant
from analysis.vocabulary.numerals import Target, label_of, name_numeral


@dataclass(frozen=True, slots=True)
class ChordRole:
    """What a chord does: function, dominant, special name, reasons, other readings.

    ``aim`` is the chord it is applied to without being a dominant (a related ii).
    """

    function: Function
    dominant: Dominant | None = None
    special: str = ""
    outside: bool = False
    reasons: tuple[str, ...] = ()
    alternatives: tuple[Reading, ...] = ()
    tags: tuple[str, ...] = ()
    confidence: float = 0.9
    aim: Target | None = None

    @property
    def target(self) -> Target | None:
        """The chord it is applied to, as its numeral shows it."""
        if self.dominant is not None and self.dominant.applied:
            return self.dominant.target
        return self.aim


@dataclass(frozen=True, slots=True)
class ChordPlace:
    """One chord with its neighbours; each is None where there is none or no chord sounds."""

    one: ChordInKey
    chord: Chord
    before: ChordInKey | None
    after: ChordInKey | None
    #: The next chord on another root.
    arrival: ChordInKey | None
    #: The next on another root again.
    onward: ChordInKey | None
    blues: bool

    @property
    def step(self) -> int:
        """Half steps from the tonic to the root of the next other chord, -1 without one."""
        return self.arrival.interval if self.arrival is not None else -1

    @property
    def plain_label(self) -> str:
        """The numeral of the chord in its home key, not applied, as it stands on a page."""
        return label_of(name_numeral(self.chord, self.one.key).text)
