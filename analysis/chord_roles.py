"""What a chord does in its key: the value that the finder of functions hands on."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.dominants import Dominant
from analysis.marks import Function, Reading
from analysis.numerals import Target


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
