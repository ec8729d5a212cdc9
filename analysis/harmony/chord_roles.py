"""What a chord does in its key, and where it stands: values of the finder of functions."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.chords import Chord
from analysis.marks import Function, Reading
from analysis.vocabulary.dominants import ChordInKey, Dominant
from analysis.vocabulary.numerals import Target, label_of, name_numeral
from analysis.vocabulary.wording import chord_text


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
    confidence: float = 0.95
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
        return self._above_tonic(self.arrival)

    @property
    def onward_step(self) -> int:
        """The same of the next on another root again."""
        return self._above_tonic(self.onward)

    @property
    def before_step(self) -> int:
        """The same of the chord before."""
        return self._above_tonic(self.before)

    def _above_tonic(self, other: ChordInKey | None) -> int:
        """Half steps up from this chord's own tonic, whatever key the other chord is in."""
        if other is None or other.chord is None:
            return -1
        return (other.chord.root.pc - self.one.key.tonic.pc) % 12

    @property
    def next_name(self) -> str:
        """The next other chord as a symbol."""
        return chord_text(self.arrival.chord) if self.arrival is not None else "What follows"

    @property
    def bass_passes(self) -> bool:
        """Whether the bass comes by step and goes on by step in the same direction."""
        return bass_step(self.before, self.one) * bass_step(self.one, self.after) > 0

    @property
    def before_six_four(self) -> bool:
        """Whether the tonic on the dominant's bass comes next and gives way to the dominant."""
        came = self.arrival.chord if self.arrival is not None else None
        tonic = came is not None and self.step == 0 and came.inversion == 2
        return tonic and self.onward_step == 7

    @property
    def leads_to_dominant(self) -> bool:
        """Whether V, vii°, the six-four before V or the substitute of V comes next."""
        came = self.arrival.chord if self.arrival is not None else None
        if came is None:
            return False
        if self.step == 7:
            return came.triad != "min"
        substitute = self.step == 1 and came.triad == "maj" and came.seventh == "m7"
        leading = self.step == 11 and came.triad == "dim"
        return substitute or leading or self.before_six_four

    @property
    def plain_label(self) -> str:
        """The numeral of the chord in its home key, not applied, as it stands on a page."""
        return label_of(name_numeral(self.chord, self.one.key).text)


def bass_step(one: ChordInKey | None, other: ChordInKey | None) -> int:
    """Half steps, one or two either way, that the bass moves between two chords; else 0."""
    if one is None or other is None or one.chord is None or other.chord is None:
        return 0
    steps = (other.chord.bass.pc - one.chord.bass.pc + 6) % 12 - 6
    return steps if 0 < abs(steps) <= 2 else 0
