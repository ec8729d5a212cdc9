"""What single MusicXML elements say: note content, lyrics, meters, transpositions, numbers.

The task: the smallest readers, each of one element, none of which knows where it stands. They are
forgiving: text that is no number, or a number that music cannot have, counts as not there, and the
caller's default stands. What can be neither read nor left out is an error further up.

References
----------
MusicXML 4.0, elements *note*, *lyric*, *time*, *transpose*, *time-modification* (W3C Music Notation
Community Group).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple
from xml.etree.ElementTree import Element

from analysis.score import Lyric
from analysis.timebase import Fraction, Meter, Offset

_TYPES: Final = (
    *("maxima", "long", "breve", "whole", "half", "quarter", "eighth"),
    *("16th", "32nd", "64th", "128th", "256th", "512th", "1024th"),
)
#: Length in quarter notes of each printed note type.
TYPE_LENGTHS: Final[dict[str, Fraction]] = {
    name: Fraction(32) / 2**power for power, name in enumerate(_TYPES)
}
_TIED: Final = {"start": (True, False), "stop": (False, True), "continue": (True, True)}

#: Heads of rhythm slashes, and of muted and spoken notes: their place on the staff is no pitch.
_RHYTHM_HEADS: Final = frozenset({"slash", "x"})


class Transposition(NamedTuple):
    """What makes a written pitch sound: a move on the line of fifths and one in staff steps."""

    fifths: int = 0
    steps: int = 0


class NoteContent:
    """The children of one note element, gathered in one pass; what is not there has its default."""

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
    ties: tuple[Element, ...] = ()
    notations: tuple[Element, ...] = ()
    notehead: str = ""
    lyrics: tuple[Element, ...] = ()

    def __init__(self, note: Element) -> None:
        for child in note:
            tag = child.tag
            if tag == "pitch":
                self.pitch = child
            elif tag == "duration":
                self.duration = child.text
            elif tag == "voice":
                self.voice = (child.text or "").strip()
            elif tag == "type":
                self.type = (child.text or "").strip()
            elif tag == "staff":
                self.staff = child.text or ""
            elif tag == "chord":
                self.chord = True
            elif tag == "rest":
                self.rest = child
            elif tag == "dot":
                self.dots += 1
            elif tag == "time-modification":
                self.ratio = child
            elif tag == "tie":
                self.ties += (child,)
            elif tag == "lyric":
                self.lyrics += (child,)
            elif tag == "grace":
                self.grace = True
            elif tag == "cue":
                self.cue = True
            elif tag == "notations":
                self.notations += (child,)
            elif tag == "notehead":
                self.notehead = (child.text or "").strip()

    @property
    def printed_length(self) -> Offset | None:
        """Quarter notes that type, dots and tuplet ratio say; None without a type."""
        if self.type not in TYPE_LENGTHS:
            return None
        length: Fraction = TYPE_LENGTHS[self.type]
        if self.dots:
            length *= 2 - Fraction(1, 2 ** min(self.dots, 8))
        if self.ratio is not None:
            actual = whole(self.ratio.findtext("actual-notes"), 1)
            normal = whole(self.ratio.findtext("normal-notes"), 1)
            if actual > 0 and normal > 0:
                length = length * normal / actual
        return length

    @property
    def pitched(self) -> bool:
        """Whether the note has a pitch that is meant; slashes and crosses show rhythm alone."""
        return self.pitch is not None and self.notehead not in _RHYTHM_HEADS

    @property
    def tie_ends(self) -> tuple[bool, bool]:
        """Whether a tie starts and stops here: by the sound's word, else by the curve's."""
        ends = self.ties or tuple(
            tied for notation in self.notations for tied in notation.iterfind("tied")
        )
        starts = stops = False
        for end in ends:
            start, stop = _TIED.get(end.get("type", ""), (False, False))
            starts, stops = starts or start, stops or stop
        return starts, stops


def read_lyrics(elements: tuple[Element, ...]) -> Iterator[Lyric]:
    """The syllables of a note, one a verse; those that an elision joins become one."""
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
        opens = not syllabics or syllabics[0] not in ("middle", "end")
        closes = not syllabics or syllabics[-1] not in ("begin", "middle")
        verse = element.get("number") or element.get("name") or "1"
        if opens:
            yield Lyric(verse, text, "single" if closes else "begin")
        else:
            yield Lyric(verse, text, "end" if closes else "middle")


def read_meter(time: Element) -> Meter | None:
    """A time signature; None for senza misura and for what is none.

    Composite ones (3+2 over 8, or 2/4 + 3/8) are added up over the finest of their note values.
    """
    beats = [child.text or "" for child in time.iterfind("beats")]
    types = [whole(child.text, 0) for child in time.iterfind("beat-type")]
    total = Fraction(0)
    for text, beat_type in zip(beats, types, strict=False):
        count = sum(whole(piece, 0) for piece in text.split("+"))
        if not 0 < count <= 256 or not 0 < beat_type <= 1024:
            return None
        total += Fraction(count, beat_type)
    finest = max(types, default=1)
    counted = total * finest
    if not total or counted.denominator != 1:
        return None
    return Meter(int(counted), finest)


def read_transposition(transpose: Element) -> Transposition:
    """The interval from written to sounding pitch; steps that do not fit are worked out.

    Examples
    --------
    >>> from xml.etree.ElementTree import fromstring
    >>> read_transposition(fromstring("<transpose><chromatic>-2</chromatic></transpose>"))
    Transposition(fifths=-2, steps=-1)
    """
    chromatic = whole(transpose.findtext("chromatic"), 0)
    octaves = whole(transpose.findtext("octave-change"), 0)
    nearest = round(chromatic * 7 / 12)
    steps = whole(transpose.findtext("diatonic"), nearest)
    # A perfect fifth is 7 half steps and 4 steps, an octave 12 and 7; the rest follows.
    if abs(7 * chromatic - 12 * steps) > 12:
        steps = nearest
    if abs(octaves) > 5 or abs(chromatic) > 60:
        return Transposition()
    return Transposition(7 * chromatic - 12 * steps, steps + 7 * octaves)


def first_divisions(part: Element) -> Fraction:
    """Divisions of a quarter note at the start of a part, worked out from a note if not given."""
    for measure in part.iterfind("measure"):
        given = positive(measure.findtext("attributes/divisions"))
        if given is not None:
            return given
        for note in measure.iterfind("note"):
            content = NoteContent(note)
            ticks = positive(content.duration)
            length = content.printed_length
            if ticks is not None and length is not None:
                return ticks / length
    return Fraction(1)


def whole(text: str | None, default: int) -> int:
    """A whole number in bounds that music can have; the default for anything else."""
    try:
        number = int(text or default)
    except ValueError:
        return default
    return number if abs(number) < 10_000 else default


def positive(text: str | None) -> Fraction | None:
    """A positive number of divisions; None for anything else."""
    try:
        number = Fraction((text or "").strip()).limit_denominator(1_000_000)
    except (ValueError, ZeroDivisionError):
        return None
    return number if 0 < number <= 10_000_000 else None


def folded(fifths: int) -> int:
    """A key signature within seven sharps or flats, respelled where it has more."""
    while fifths > 7:
        fifths -= 12
    while fifths < -7:
        fifths += 12
    return fifths
