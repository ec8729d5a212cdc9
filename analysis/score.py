"""The score as frozen values: what the transcription says, before anything is made of it.

Every note and chord symbol carries the id of the source element it came from; the same id names it
in the marks and on the engraved page. Pitches are sounding pitches. Sequences are in score order:
by onset, then by part, then from the lowest pitch up.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from typing import Literal

from analysis.pitch import Pitch, PitchName
from analysis.timebase import Meter, Offset, Span

DegreeType = Literal["add", "alter", "subtract"]


@dataclass(frozen=True, slots=True)
class Lyric:
    """One syllable under a note. ``verse`` as printed; ``syllabic`` as in MusicXML."""

    verse: str
    text: str
    syllabic: Literal["single", "begin", "middle", "end"] = "single"


@dataclass(frozen=True, slots=True)
class Note:
    """One written note head. Tied notes stay apart; see `tie_start` and `tie_stop`.

    ``pitch`` is None for unpitched (percussion, spoken) notes; grace notes have duration 0.
    """

    id: str
    part: str
    measure: int
    onset: Offset
    duration: Offset
    pitch: Pitch | None
    voice: str = "1"
    staff: int = 1
    tie_start: bool = False
    tie_stop: bool = False
    grace: bool = False
    cue: bool = False
    lyrics: tuple[Lyric, ...] = ()

    @property
    def end(self) -> Offset:
        """Onset plus written duration."""
        return self.onset + self.duration


@dataclass(frozen=True, slots=True)
class Degree:
    """A degree of a chord symbol: 1 to 13, altered in half steps against the major scale."""

    value: int
    alter: int
    type: DegreeType


@dataclass(frozen=True, slots=True)
class ChordSymbol:
    """A written chord symbol as the source has it.

    ``kind`` is the MusicXML kind-value; ``root`` is None for N.C. (kind ``none``) or where the
    source gives no root. ``duration`` reaches to the next symbol of any part, or to the end of the
    piece. ``text`` is what the source prints for the kind, which may be empty.
    """

    id: str
    part: str
    measure: int
    onset: Offset
    duration: Offset
    root: PitchName | None
    kind: str
    degrees: tuple[Degree, ...] = ()
    bass: PitchName | None = None
    text: str = ""

    @property
    def span(self) -> Span:
        """From its onset to the next symbol."""
        return Span(self.onset, self.onset + self.duration)


@dataclass(frozen=True, slots=True)
class KeySignature:
    """A written key signature, sounding (after transposition). ``mode`` may be empty."""

    onset: Offset
    fifths: int
    mode: str = ""


@dataclass(frozen=True, slots=True)
class Measure:
    """A written measure.

    ``number`` is the printed string; ``length`` the real length (a pickup is shorter than its
    meter). ``id`` is the id of the first part's measure element, ``ids`` those of all parts in part
    order.
    """

    index: int
    number: str
    onset: Offset
    length: Offset
    meter: Meter
    id: str
    ids: tuple[str, ...] = ()
    pickup: bool = False

    @property
    def span(self) -> Span:
        """From its first beat to its barline."""
        return Span(self.onset, self.onset + self.length)


@dataclass(frozen=True, slots=True)
class RehearsalMark:
    """A boxed letter or name above the score."""

    id: str
    measure: int
    onset: Offset
    text: str


@dataclass(frozen=True, slots=True)
class Tempo:
    """Quarter notes a minute from an onset on."""

    onset: Offset
    quarters_per_minute: float


@dataclass(frozen=True, slots=True)
class Part:
    """One part: id as in the source, printed name, instrument, and its notes in score order.

    ``midi_program`` is that of General MIDI counted from 0 (0 to 127), None where none is given.
    """

    id: str
    name: str
    abbreviation: str
    notes: tuple[Note, ...]
    staves: int = 1
    instrument: str = ""
    midi_program: int | None = None
    percussion: bool = False


@dataclass(frozen=True, slots=True)
class Score:
    """A whole transcription.

    ``played`` lists measure indexes in played order (repeats and endings unfolded).
    """

    title: str
    composer: str
    parts: tuple[Part, ...]
    measures: tuple[Measure, ...]
    chord_symbols: tuple[ChordSymbol, ...] = ()
    rehearsal_marks: tuple[RehearsalMark, ...] = ()
    key_signatures: tuple[KeySignature, ...] = ()
    tempos: tuple[Tempo, ...] = ()
    played: tuple[int, ...] = ()

    @property
    def end(self) -> Offset:
        """Offset of the final barline."""
        return self.measures[-1].span.end if self.measures else Offset(0)

    @property
    def span(self) -> Span:
        """The whole piece."""
        return Span(Offset(0), self.end)

    def part(self, part_id: str) -> Part:
        """The part of that id; KeyError where there is none."""
        for part in self.parts:
            if part.id == part_id:
                return part
        raise KeyError(part_id)

    def measure_at(self, offset: Offset) -> Measure:
        """The measure that holds the offset (the last one for the end of the piece)."""
        at = bisect_right(self.measures, offset, key=lambda measure: measure.onset) - 1
        return self.measures[max(at, 0)]

    def beat_at(self, offset: Offset) -> Offset:
        """Beat within its measure, 1 the first; a pickup counts back from its barline."""
        measure = self.measure_at(offset)
        into = offset - measure.onset
        if measure.pickup:
            into += measure.meter.length - measure.length
        return into / measure.meter.beat + 1
