"""The walk over the document: where each element of each part stands.

The task: one pass over the scratch copy that keeps what music21 drops or changes on import (voice
and staff numbers, ids, chord symbols, directions, exact fractions), and fills the lean copy that
music21 parses (see `analysis.reading.lean_copies`).

Conventions: positions are quarter notes from the start of the measure. A part's cursor goes forward
with each note, rest and ``forward``, and back with ``backup``. Pitches are as written here; the
transposition that makes them sound is noted beside each. Notes that are not printed are left out:
they realise ornaments for playback, and what nobody sees cannot be explained.

Method: durations are whole numbers of divisions, so positions are exact. Where the divisions
cannot express a tuplet, editors write rounded numbers (85, 85, 86 for a triplet of 256): there the
position is carried on from the printed type and the ratio instead, so that triplets add up.
Divisions that are missing are found from the first note that has both a type and a duration.

References
----------
MusicXML 4.0, elements *note*, *backup*, *forward*, *attributes* (W3C Music Notation Community
Group).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, NamedTuple
from xml.etree.ElementTree import Element

from analysis.errors import ReadingError
from analysis.reading.elements import (
    NoteContent,
    Transposition,
    first_divisions,
    folded,
    positive,
    read_lyrics,
    read_meter,
    read_transposition,
    whole,
)
from analysis.reading.lean_copies import LeanCopy
from analysis.score import Lyric
from analysis.timebase import Fraction, Meter, Offset

#: More quarter notes than any note, rest or movement of the cursor can have.
_LONGEST: Final = 4096
#: What floating point may lose, in quarter notes.
_SLACK: Final = 0.001
#: More sharps or flats than any key signature has.
_NO_KEY: Final = 15
_DIRECTIONS: Final = frozenset({"rehearsal", "metronome", "words", "segno", "coda"})


class Placed(NamedTuple):
    """An element and its place in the measure, with the transposition in force there."""

    onset: Offset
    element: Element
    transposition: Transposition


class WrittenKey(NamedTuple):
    """A sounding key signature and its place in the measure."""

    onset: Offset
    fifths: int
    mode: str


@dataclass(slots=True)
class WrittenNote:
    """One printed note except for its pitch, which music21 reads: ``number`` finds it there.

    ``slack`` is how far music21 may be from the exact onset and duration, since it is given rounded
    numbers, in quarter notes.
    """

    number: int
    id: str
    onset: Offset
    duration: Offset
    slack: float
    pitched: bool
    voice: str
    staff: int
    tie_start: bool
    tie_stop: bool
    grace: bool
    cue: bool
    lyrics: tuple[Lyric, ...]
    transposition: Transposition


@dataclass(slots=True)
class WrittenMeasure:
    """One measure of one part. The ends are how far notes, rests and bare movements reach."""

    id: str
    number: str
    implicit: bool
    notes: list[WrittenNote] = field(default_factory=list)
    harmonies: list[Placed] = field(default_factory=list)
    directions: list[Placed] = field(default_factory=list)
    barlines: list[Element] = field(default_factory=list)
    keys: list[WrittenKey] = field(default_factory=list)
    meter: Meter | None = None
    notes_end: Offset = Fraction(0)
    rests_end: Offset = Fraction(0)
    whole_rests_end: Offset = Fraction(0)
    space_end: Offset = Fraction(0)


@dataclass(slots=True)
class WrittenPart:
    """One part and its measures."""

    id: str
    measures: list[WrittenMeasure] = field(default_factory=list)
    staves: int = 1
    percussion_clef: bool = False


def read_parts(root: Element, lean: LeanCopy) -> list[WrittenPart]:
    """Walk all parts of a scratch copy.

    Parameters
    ----------
    root
        A partwise score in which every note, harmony and measure has an id.
    lean
        Filled with the notes of these parts, in the same order.

    Returns
    -------
    list of WrittenPart
        Parts that have measures, in the order of the document.

    Raises
    ------
    ReadingError
        A pitch or duration is impossible; the sentence names the measure.
    """
    return [
        _Walk(element, lean).part
        for element in root.iterfind("part")
        if element.find("measure") is not None
    ]


class _Walk:
    """The walk over one part: what is in force, and where the cursor is, in divisions."""

    def __init__(self, element: Element, lean: LeanCopy) -> None:
        self.part = WrittenPart(element.get("id", ""))
        self._lean = lean
        self._offsets: dict[Fraction | int, Offset] = {}
        self._transpositions: dict[int, Transposition] = {}
        self._plain = Transposition()
        self._slashed: set[int] = set()
        self._divisions: Fraction | int = 1
        self._cursor: Fraction | int = 0
        self._set_divisions(first_divisions(element))
        lean.add_part()
        for measure in element.iterfind("measure"):
            self._walk(measure)

    def _set_divisions(self, divisions: Fraction) -> None:
        ratio = divisions / self._divisions
        self._cursor = _plainest(self._cursor * ratio)
        self._divisions = _plainest(divisions)
        self._offsets.clear()

    def _offset(self, ticks: Fraction | int) -> Offset:
        """Divisions as quarter notes; the few values that occur are made once."""
        found = self._offsets.get(ticks)
        if found is None:
            found = self._offsets[ticks] = Fraction(ticks) / self._divisions
        return found

    def _walk(self, element: Element) -> None:
        """One measure: each child by its kind."""
        self._measure = measure = WrittenMeasure(
            element.get("id", ""), element.get("number", ""), element.get("implicit") == "yes"
        )
        self.part.measures.append(measure)
        self._lean.add_measure(self._divisions)
        self._cursor = 0
        self._chord_start: Fraction | int | None = None
        self._drift: Fraction | int = 0
        self._voice = "1"
        for child in element:
            tag = child.tag
            if tag == "note":
                self._note(child)
            elif tag in ("backup", "forward"):
                self._move(child)
            elif tag == "harmony":
                measure.harmonies.append(self._placed(child))
            elif tag == "direction":
                if child.find("sound") is not None or any(
                    kind.tag in _DIRECTIONS for kind in child.iterfind("direction-type/*")
                ):
                    measure.directions.append(self._placed(child))
            elif tag == "sound":
                measure.directions.append(self._placed(child))
            elif tag == "attributes":
                self._attributes(child)
            elif tag == "barline":
                measure.barlines.append(child)

    @property
    def _number(self) -> str:
        """What to call the measure in a sentence: its number as printed, else counted from one."""
        return self._measure.number[:12] or str(len(self.part.measures))

    def _placed(self, element: Element) -> Placed:
        """An element at the cursor, moved by its own offset, if any, not to before the measure."""
        ticks = self._cursor
        text = element.findtext("offset")
        if text:
            ticks = max(0, ticks + self._ticks(text))
        staff = element.findtext("staff") or "1"
        return Placed(self._offset(ticks), element, self._transposition(staff))

    def _transposition(self, staff: str) -> Transposition:
        if not self._transpositions:
            return self._plain
        own = self._transpositions.get(whole(staff, 1))
        return own or self._transpositions.get(0, self._plain)

    def _ticks(self, text: str | None) -> Fraction | int:
        """A number of divisions with its sign; zero where it says nothing."""
        try:
            ticks: Fraction | int = int(text or 0)
        except ValueError:
            try:
                ticks = Fraction((text or "").strip()).limit_denominator(1_000_000)
            except (ValueError, ZeroDivisionError):
                return 0
        most = _LONGEST * self._divisions
        if not -most <= ticks <= most:
            raise ReadingError(
                f"Measure {self._number} holds a duration of {str(text)[:20]} divisions, "
                "which is impossible; correct it in your notation editor and export again."
            )
        return ticks

    def _move(self, element: Element) -> None:
        """A backup or forward."""
        ticks = max(0, self._ticks(element.findtext("duration")))
        self._drift = 0
        self._chord_start = None
        self._lean.move(element.tag, ticks)
        if element.tag == "backup":
            self._cursor = max(0, self._cursor - ticks)
        else:
            self._cursor += ticks
            measure = self._measure
            measure.space_end = max(measure.space_end, self._offset(self._cursor))

    def _note(self, element: Element) -> None:
        """A note or rest: move the cursor, note the note, hand it on to the lean copy."""
        content = NoteContent(element)
        ticks = self._duration(content)
        exact = ticks if content.ratio is None else self._exact(content, ticks)
        if content.rest is not None:
            self._rest(content, ticks, exact)
            return
        in_chord = content.chord and self._chord_start is not None
        if in_chord and self._chord_start is not None:
            start = self._chord_start
        else:
            start = self._chord_start = self._cursor + self._drift
            self._advance(content, ticks, exact)
        try:
            number = self._lean.add_note(content.pitch, ticks, content.grace, in_chord)
        except ValueError as error:
            raise ReadingError(
                f"Measure {self._number} holds a pitch that cannot be read ({error}); "
                "correct it in your notation editor and export again."
            ) from error
        measure = self._measure
        onset, duration = self._offset(start), self._offset(exact)
        end = self._offset(start + exact)
        if element.get("print-object") == "no":
            measure.rests_end = max(measure.rests_end, end)
            return
        if end > measure.notes_end:
            measure.notes_end = end
        self._voice = content.voice or self._voice
        starts, stops = content.tie_ends if content.ties or content.notations else (False, False)
        staff = whole(content.staff, 1)
        self.part.staves = max(self.part.staves, staff)
        measure.notes.append(
            WrittenNote(
                number,
                element.get("id", ""),
                onset,
                duration,
                _SLACK if content.ratio is None else 1 / float(self._divisions),
                content.pitched and self._slashed.isdisjoint((0, staff)),
                self._voice,
                staff,
                starts,
                stops,
                content.grace or not ticks,
                content.cue,
                tuple(read_lyrics(content.lyrics)) if content.lyrics else (),
                self._transposition(content.staff),
            )
        )

    def _duration(self, content: NoteContent) -> Fraction | int:
        """The duration in divisions, from the printed type where none is given."""
        if content.grace:
            return 0
        if content.duration is None:
            return _plainest((content.printed_length or 0) * Fraction(self._divisions))
        return max(0, self._ticks(content.duration))

    def _exact(self, content: NoteContent, ticks: Fraction | int) -> Fraction | int:
        """The duration that a rounded tuplet means; the same number where nothing is rounded."""
        length = None if content.grace else content.printed_length
        if length is None:
            return ticks
        meant = length * self._divisions
        return meant if meant != ticks and abs(meant - ticks) < 1 else ticks

    def _advance(self, content: NoteContent, ticks: Fraction | int, exact: Fraction | int) -> None:
        """Move the cursor; rounding is carried along until the tuplet ends."""
        self._cursor += ticks
        if exact is not ticks:
            self._drift += exact - ticks
        elif content.ratio is None:
            self._drift = 0

    def _rest(self, content: NoteContent, ticks: Fraction | int, exact: Fraction | int) -> None:
        """A rest moves the cursor; one for the whole measure says little about its length."""
        self._chord_start = None
        if content.chord:
            return
        self._voice = content.voice or self._voice
        self._lean.move("forward", ticks)
        self._advance(content, ticks, exact)
        end = self._offset(self._cursor)
        measure = self._measure
        whole_measure = content.rest is not None and content.rest.get("measure") == "yes"
        if whole_measure and content.type in ("", "whole", "breve"):
            measure.whole_rests_end = max(measure.whole_rests_end, end)
        else:
            measure.rests_end = max(measure.rests_end, end)

    def _attributes(self, element: Element) -> None:
        """What comes into force here, and what is written for the reader to see."""
        divisions = positive(element.findtext("divisions"))
        if divisions is not None and divisions != self._divisions:
            self._set_divisions(divisions)
            self._lean.set_divisions(divisions)
        for transpose in element.iterfind("transpose"):
            staff = whole(transpose.get("number"), 0)
            self._transpositions[staff] = read_transposition(transpose)
        for style in element.iterfind("measure-style"):
            staff = whole(style.get("number"), 0)
            for slash in style.iterfind("slash"):
                self._slashed.discard(staff)
                if slash.get("type") == "start":
                    self._slashed.add(staff)
        self.part.staves = max(self.part.staves, whole(element.findtext("staves"), 1))
        if (element.findtext("clef/sign") or "").strip() == "percussion":
            self.part.percussion_clef = True
        self._signatures(element)

    def _signatures(self, element: Element) -> None:
        """Key and meter; of several staves the first one counts."""
        for key in element.iterfind("key"):
            fifths = whole(key.findtext("fifths"), _NO_KEY)
            if abs(fifths) < _NO_KEY and key.get("number", "1") == "1":
                sounding = folded(fifths + self._transposition("1").fifths)
                mode = (key.findtext("mode") or "").strip().lower()
                self._measure.keys.append(
                    WrittenKey(self._offset(self._cursor), sounding, "" if mode == "none" else mode)
                )
        for time in element.iterfind("time"):
            meter = read_meter(time)
            if meter is not None and time.get("number", "1") == "1":
                self._measure.meter = meter


def _plainest(number: Fraction | int) -> Fraction | int:
    """The same number as an int where it is whole, since those are much faster."""
    return int(number) if number == int(number) else number
