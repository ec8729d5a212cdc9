"""Measures as written: where each element of each part stands, before music21 sees the notes.

The task: one walk over the scratch copy that keeps what music21 drops or changes on import (voice
and staff numbers, element ids, chord symbols, directions, exact fractions) and hands music21 a lean
document with nothing in it but what makes notes: pitches, durations, chords, grace notes, movements
of the cursor. The lean document is read in less than half the time of the whole one, and leaves out
everything that makes music21 stumble without having to do with notes.

Conventions: positions are quarter notes from the start of the measure. A part's cursor goes forward
with each note, rest and ``forward`` and back with ``backup``, as MusicXML says. Pitches are as
written here; the transposition that makes them sound is noted beside each.

Method: durations are whole numbers of divisions, so positions are exact. Where the divisions
cannot express a tuplet, editors write rounded numbers (85, 85, 86 for a triplet of 256): there the
position is carried on from the printed type and the ratio instead, so that triplets add up.
Divisions that are missing are found from the first note that has both a type and a duration.

References
----------
MusicXML 4.0, elements *note*, *backup*, *forward*, *attributes*, *transpose* (W3C Music Notation
Community Group).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final, NamedTuple
from xml.etree.ElementTree import Element, SubElement

from analysis.errors import ReadingError
from analysis.score import Lyric
from analysis.timebase import Meter, Offset

_TYPES: Final = (
    *("maxima", "long", "breve", "whole", "half", "quarter", "eighth"),
    *("16th", "32nd", "64th", "128th", "256th", "512th", "1024th"),
)
#: Length in quarter notes of each printed note type.
TYPE_LENGTHS: Final = {name: Fraction(32) / 2**power for power, name in enumerate(_TYPES)}
#: More quarter notes than any note, rest or movement of the cursor can have.
_LONGEST: Final = 4096
_STEPS: Final = frozenset("ABCDEFG")
_TIED: Final = {"start": (True, False), "stop": (False, True), "continue": (True, True)}
_DIRECTIONS: Final = frozenset({"rehearsal", "metronome", "words", "segno", "coda"})


class Transposition(NamedTuple):
    """What makes a written pitch sound: a move on the line of fifths and one in staff steps."""

    fifths: int = 0
    steps: int = 0


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
    """One note element that is no rest, except for its pitch, which music21 reads."""

    id: str
    onset: Offset
    duration: Offset
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
    """One measure of one part. The three ends are how far its cursor got, by what moved it."""

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
    forward_end: Offset = Fraction(0)


@dataclass(slots=True)
class WrittenPart:
    """One part: its measures, and the lean part that music21 is given."""

    id: str
    lean: Element
    measures: list[WrittenMeasure] = field(default_factory=list)
    staves: int = 1
    percussion_clef: bool = False


@dataclass(slots=True)
class _NoteContent:
    """The children of one note element that decide about time, gathered in one pass."""

    duration: str | None = None
    type: str = ""
    dots: int = 0
    ratio: Element | None = None
    pitch: Element | None = None
    rest: Element | None = None
    chord: bool = False
    grace: bool = False
    cue: bool = False
    voice: str = ""
    staff: str = ""
    ties: list[str] = field(default_factory=list)
    notations: list[Element] = field(default_factory=list)
    lyrics: list[Element] = field(default_factory=list)


def read_parts(root: Element) -> list[WrittenPart]:
    """Walk all parts of a scratch copy.

    Parameters
    ----------
    root
        A partwise score in which every note, harmony and measure has an id.

    Returns
    -------
    list of WrittenPart
        In the order of the document. Note number *n* over all parts, rests not counted, has the
        colour ``#n`` (six hexadecimal digits) in the lean parts.

    Raises
    ------
    ReadingError
        A pitch or duration is impossible; the sentence names the measure.
    """
    pitches: dict[tuple[str | None, str | None, str | None], Element] = {}
    parts: list[WrittenPart] = []
    count = 0
    for element in root.iterfind("part"):
        walk = _PartWalk(element, pitches, count)
        parts.append(walk.part)
        count = walk.count
    return parts


class _PartWalk:
    """The walk over one part: what is in force, and where the cursor is, in divisions."""

    def __init__(
        self,
        element: Element,
        pitches: dict[tuple[str | None, str | None, str | None], Element],
        count: int,
    ) -> None:
        self.part = WrittenPart(element.get("id", ""), Element("part"))
        self.count = count
        self._pitches = pitches
        self._offsets: dict[Fraction | int, Offset] = {}
        self._transpositions: dict[int, Transposition] = {}
        self._plain = Transposition()
        self._set_divisions(_first_divisions(element))
        for number, measure in enumerate(element.iterfind("measure"), 1):
            self._walk(measure, number)

    def _set_divisions(self, divisions: Fraction | int) -> None:
        if divisions > 0:
            self._divisions = divisions
            self._offsets.clear()

    def _offset(self, ticks: Fraction | int) -> Offset:
        """Divisions as quarter notes; the few values that occur are made once."""
        found = self._offsets.get(ticks)
        if found is None:
            found = self._offsets[ticks] = Fraction(ticks) / self._divisions
        return found

    def _walk(self, element: Element, number: int) -> None:
        """One measure: each child by its kind."""
        self._measure = measure = WrittenMeasure(
            element.get("id", ""), element.get("number", ""), element.get("implicit") == "yes"
        )
        self.part.measures.append(measure)
        self._lean = SubElement(self.part.lean, "measure", {"number": str(number)})
        divisions = SubElement(SubElement(self._lean, "attributes"), "divisions")
        divisions.text = str(float(self._divisions))
        self._cursor: Fraction | int = 0
        self._chord_start: Fraction | int | None = None
        self._drift = Fraction(0)
        self._voice = "1"
        self._rests = self._timed = 0
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

    def _placed(self, element: Element) -> Placed:
        """An element at the cursor, moved by its own offset, if any, not to before the measure."""
        ticks = self._cursor
        text = element.findtext("offset")
        if text:
            ticks = max(0, ticks + self._number(text, signed=True))
        staff = element.findtext("staff") or "1"
        return Placed(self._offset(ticks), element, self._transposition(staff))

    def _transposition(self, staff: str) -> Transposition:
        if not self._transpositions:
            return self._plain
        return self._transpositions.get(_whole(staff, 1)) or self._transpositions.get(
            0, self._plain
        )

    def _number(self, text: str | None, signed: bool = False) -> Fraction | int:
        """A duration in divisions; zero where it says nothing."""
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
                f"Measure {self._measure.number} holds a duration of {str(text)[:20]} divisions, "
                "which is impossible; correct it in your notation editor and export again."
            )
        return ticks if signed else max(0, ticks)

    def _move(self, element: Element) -> None:
        """A backup or forward."""
        ticks = self._number(element.findtext("duration"))
        self._drift = Fraction(0)
        self._chord_start = None
        lean = SubElement(self._lean, element.tag)
        SubElement(lean, "duration").text = _plain_number(ticks)
        if element.tag == "backup":
            self._cursor = max(0, self._cursor - ticks)
        else:
            self._cursor += ticks
            measure = self._measure
            measure.forward_end = max(measure.forward_end, self._offset(self._cursor))

    def _note(self, element: Element) -> None:
        """A note or rest: move the cursor, note the note, hand it on to the lean measure."""
        content = _content(element)
        in_chord = content.chord and self._chord_start is not None
        ticks: Fraction | int = 0 if content.grace else self._ticks(content)
        if not in_chord:
            self._chord_start = self._cursor
        start = self._chord_start if self._chord_start is not None else self._cursor
        exact = self._exact(content, ticks)
        drift = self._drift
        if not in_chord:
            self._cursor += ticks
            if exact is not ticks:
                self._drift += exact - ticks
            elif content.ratio is None:
                self._drift = Fraction(0)
        elif exact is not ticks:
            drift -= exact - ticks
        onset = self._offset(start + drift if drift else start)
        duration = self._offset(exact)
        if content.rest is not None:
            self._rest(content, ticks, onset + duration)
            return
        measure = self._measure
        measure.notes_end = max(measure.notes_end, onset + duration)
        self._voice = content.voice or self._voice
        starts, stops = _ties(content)
        measure.notes.append(
            WrittenNote(
                element.get("id", ""),
                onset,
                duration,
                self._voice,
                _whole(content.staff, 1),
                starts,
                stops,
                content.grace or not ticks,
                content.cue,
                tuple(_lyrics(content.lyrics)) if content.lyrics else (),
                self._transposition(content.staff),
            )
        )
        self.part.staves = max(self.part.staves, measure.notes[-1].staff)
        self._lean_note(content, ticks, in_chord)

    def _ticks(self, content: _NoteContent) -> Fraction | int:
        """The duration in divisions, from the printed type where none is given."""
        if content.duration is None and content.type in TYPE_LENGTHS:
            return _printed(content) * self._divisions
        return self._number(content.duration)

    def _exact(self, content: _NoteContent, ticks: Fraction | int) -> Fraction | int:
        """The duration that a rounded tuplet means; the same number where nothing is rounded."""
        if content.ratio is None or content.grace or content.type not in TYPE_LENGTHS:
            return ticks
        meant = _printed(content) * self._divisions
        return meant if meant != ticks and abs(meant - ticks) < 1 else ticks

    def _rest(self, content: _NoteContent, ticks: Fraction | int, end: Offset) -> None:
        """A rest moves the cursor; one for the whole measure says little about its length."""
        self._chord_start = None
        self._voice = content.voice or self._voice
        whole = content.rest is not None and content.rest.get("measure") == "yes"
        measure = self._measure
        if whole and content.type in ("", "whole", "breve"):
            measure.rests_end = max(measure.rests_end, end)
        else:
            measure.notes_end = max(measure.notes_end, end)
        if not content.chord:
            lean = SubElement(self._lean, "forward")
            SubElement(lean, "duration").text = _plain_number(ticks)

    def _lean_note(self, content: _NoteContent, ticks: Fraction | int, in_chord: bool) -> None:
        """Write the note for music21, its running number as a colour."""
        lean = SubElement(self._lean, "note", {"color": f"#{self.count:06X}"})
        self.count += 1
        if content.grace:
            SubElement(lean, "grace")
        if in_chord:
            SubElement(lean, "chord")
        if content.pitch is None:
            SubElement(lean, "unpitched")
        else:
            lean.append(self._checked_pitch(content.pitch))
        if content.grace:
            SubElement(lean, "type").text = "eighth"
        else:
            SubElement(lean, "duration").text = _plain_number(ticks)

    def _checked_pitch(self, pitch: Element) -> Element:
        """The pitch as music21 can read it; quarter tones are rounded towards the letter."""
        texts = (pitch.findtext("step"), pitch.findtext("alter"), pitch.findtext("octave"))
        if texts not in self._pitches:
            try:
                step = (texts[0] or "").strip()
                octave = int(texts[2] or "")
                alter = int(float(texts[1] or 0))
                if step not in _STEPS or not -1 <= octave <= 10 or not -3 <= alter <= 3:
                    raise ValueError(step)
            except (ValueError, OverflowError) as error:
                said = " ".join(text for text in texts if text)[:30]
                raise ReadingError(
                    f"Measure {self._measure.number} holds a pitch that cannot be read ({said}); "
                    "correct it in your notation editor and export again."
                ) from error
            lean = self._pitches[texts] = Element("pitch")
            SubElement(lean, "step").text = step
            if alter:
                SubElement(lean, "alter").text = str(alter)
            SubElement(lean, "octave").text = str(octave)
        return self._pitches[texts]

    def _attributes(self, element: Element) -> None:
        """What comes into force here: divisions, transposition, then keys, meter, staves, clef."""
        text = element.findtext("divisions")
        if text:
            divisions = _positive(text)
            if divisions is not None and divisions != self._divisions:
                start = self._offset(self._cursor)
                self._set_divisions(divisions)
                self._cursor = start * divisions
                lean = SubElement(SubElement(self._lean, "attributes"), "divisions")
                lean.text = str(float(divisions))
        for transpose in element.iterfind("transpose"):
            staff = _whole(transpose.get("number"), 0)
            self._transpositions[staff] = _read_transposition(transpose)
        at = self._offset(self._cursor)
        for key in element.iterfind("key"):
            fifths = key.findtext("fifths")
            if fifths and key.get("number", "1") == "1":
                shift = self._transposition("1").fifths
                sounding = _folded(_whole(fifths, 0) + shift)
                mode = (key.findtext("mode") or "").strip().lower()
                self._measure.keys.append(WrittenKey(at, sounding, "" if mode == "none" else mode))
        for time in element.iterfind("time"):
            meter = read_meter(time)
            if meter is not None and time.get("number", "1") == "1":
                self._measure.meter = meter
        self.part.staves = max(self.part.staves, _whole(element.findtext("staves"), 1))
        if (element.findtext("clef/sign") or "").strip() == "percussion":
            self.part.percussion_clef = True


def _content(element: Element) -> _NoteContent:
    """Gather a note's children in one pass."""
    content = _NoteContent()
    for child in element:
        tag = child.tag
        if tag == "pitch":
            content.pitch = child
        elif tag == "duration":
            content.duration = child.text
        elif tag == "voice":
            content.voice = (child.text or "").strip()
        elif tag == "type":
            content.type = (child.text or "").strip()
        elif tag == "staff":
            content.staff = child.text or ""
        elif tag == "chord":
            content.chord = True
        elif tag == "rest":
            content.rest = child
        elif tag == "dot":
            content.dots += 1
        elif tag == "time-modification":
            content.ratio = child
        elif tag == "tie":
            content.ties.append(child.get("type", ""))
        elif tag == "lyric":
            content.lyrics.append(child)
        elif tag == "grace":
            content.grace = True
        elif tag == "cue":
            content.cue = True
        elif tag == "notations":
            content.notations.append(child)
    return content


def _ties(content: _NoteContent) -> tuple[bool, bool]:
    """Whether a tie starts and stops here: the sound's word, else the curve's."""
    types = content.ties or [
        tied.get("type", "") for notation in content.notations for tied in notation.iterfind("tied")
    ]
    starts = stops = False
    for kind in types:
        start, stop = _TIED.get(kind, (False, False))
        starts, stops = starts or start, stops or stop
    return starts, stops


def _lyrics(elements: list[Element]) -> Iterator[Lyric]:
    """The syllables of a note; several that an elision joins become one."""
    for element in elements:
        pieces: list[str] = []
        syllabics: list[str] = []
        for child in element:
            if child.tag == "text":
                pieces.append(child.text or "")
            elif child.tag == "elision":
                pieces.append(child.text or "‿")
            elif child.tag == "syllabic":
                syllabics.append((child.text or "").strip())
        text = "".join(pieces)
        if not text.strip():
            continue
        opens = not syllabics or syllabics[0] in ("single", "begin", "")
        closes = not syllabics or syllabics[-1] in ("single", "end", "")
        verse = element.get("number") or element.get("name") or "1"
        if opens:
            yield Lyric(verse, text, "single" if closes else "begin")
        else:
            yield Lyric(verse, text, "end" if closes else "middle")


def read_meter(time: Element) -> Meter | None:
    """A time signature; composite ones (3+2, or 2/4 + 3/8) are added up, None for senza misura."""
    beats = [child.text or "" for child in time.iterfind("beats")]
    types = [_positive(child.text) for child in time.iterfind("beat-type")]
    total = Fraction(0)
    finest = 1
    for text, beat_type in zip(beats, types, strict=False):
        count = sum(_whole(piece, 0) for piece in text.split("+"))
        if beat_type is None or beat_type.denominator != 1 or not 0 < count <= 256:
            return None
        total += count / beat_type
        finest = max(finest, int(beat_type))
    counted = total * finest
    if not total or finest > 1024 or counted.denominator != 1:
        return None
    return Meter(int(counted), finest)


def _read_transposition(transpose: Element) -> Transposition:
    """The interval from written to sounding pitch; a missing number of steps is worked out."""
    octaves = _whole(transpose.findtext("octave-change"), 0)
    chromatic = _whole(transpose.findtext("chromatic"), 0)
    nearest = round(chromatic * 7 / 12)
    diatonic = _whole(transpose.findtext("diatonic"), nearest)
    fifths = 7 * chromatic - 12 * diatonic
    if abs(fifths) > 12:
        diatonic = nearest
        fifths = 7 * chromatic - 12 * diatonic
    octaves = max(-5, min(octaves, 5))
    return Transposition(fifths, diatonic + 7 * octaves)


def _first_divisions(part: Element) -> Fraction | int:
    """Divisions of a quarter note at the start of a part, found from a note where not given."""
    for measure in part.iterfind("measure"):
        given = _positive(measure.findtext("attributes/divisions"))
        if given is not None:
            return given
        for note in measure.iterfind("note"):
            content = _content(note)
            ticks = _positive(content.duration)
            if ticks is not None and content.type in TYPE_LENGTHS:
                return ticks / _printed(content)
    return 1


def _printed(content: _NoteContent) -> Fraction:
    """The length in quarter notes that type, dots and tuplet ratio say."""
    length: Fraction = TYPE_LENGTHS[content.type] * (2 - Fraction(1, 2 ** min(content.dots, 8)))
    if content.ratio is not None:
        actual = _whole(content.ratio.findtext("actual-notes"), 1)
        normal = _whole(content.ratio.findtext("normal-notes"), 1)
        if actual > 0 and normal > 0:
            length = length * normal / actual
    return length


def _whole(text: str | None, default: int) -> int:
    """A whole number in bounds that music can have; the default for anything else."""
    try:
        number = int(text or default)
    except ValueError:
        return default
    return number if abs(number) < 1000 else default


def _positive(text: str | None) -> Fraction | None:
    """A positive number of divisions or of beats; None for anything else."""
    try:
        number = Fraction((text or "").strip()).limit_denominator(1_000_000)
    except (ValueError, ZeroDivisionError):
        return None
    return number if 0 < number <= 10_000_000 else None


def _plain_number(ticks: Fraction | int) -> str:
    """Divisions in the form that music21 reads."""
    return str(ticks) if isinstance(ticks, int) else repr(float(ticks))


def _folded(fifths: int) -> int:
    """A key signature in the seven sharps or flats there are."""
    while fifths > 7:
        fifths -= 12
    while fifths < -7:
        fifths += 12
    return fifths
