"""The lean copy that music21 parses: pitches, durations, chords, movements of the cursor.

The task: hand music21 a partwise document with nothing in it but what makes notes. It is read in
half the time of the whole one or less, and leaves out everything that makes music21 stumble without
having to do with notes: numerals, jumps, clefs, directions, broken numbers.

Conventions: the note with running number *n* over all parts has the colour ``#n`` in six
hexadecimal digits, since music21 drops ids and keeps colours. Places count within a measure only,
so a long part is given as several: music21's cost grows with the square of the measures in a part.
Rests are movements of the cursor. The meter is one that every measure overfills, so that music21
has no reason to look for pickups.
"""

from __future__ import annotations

from typing import Final
from xml.etree.ElementTree import Element, SubElement

from analysis.timebase import Fraction

#: Written and read back, so that both sides agree.
_COLOR: Final = "#{:06X}"
#: Measures in one part of the copy.
_STRETCH: Final = 100
_STEPS: Final = frozenset("ABCDEFG")


def number_of(color: str) -> int:
    """The running number in a colour."""
    return int(color[1:], 16)


class LeanCopy:
    """A lean document in the making, filled measure by measure in the order of the walk."""

    def __init__(self) -> None:
        self.root = Element("score-partwise", {"version": "4.0"})
        self._part_list = SubElement(self.root, "part-list")
        self._part = self._measure = self.root
        self._pitches: dict[tuple[str | None, ...], Element] = {}
        self._count = 0

    def add_part(self) -> None:
        """Begin the next part."""
        name = f"P{len(self._part_list)}"
        SubElement(SubElement(self._part_list, "score-part", {"id": name}), "part-name")
        self._part = SubElement(self.root, "part", {"id": name})

    def add_measure(self, divisions: Fraction | int) -> None:
        """Begin the next measure of the part."""
        if len(self._part) == _STRETCH:
            self.add_part()
        number = len(self._part) + 1
        self._measure = SubElement(self._part, "measure", {"number": str(number)})
        attributes = self.set_divisions(divisions)
        if number == 1:
            time = SubElement(attributes, "time")
            SubElement(time, "beats").text = "1"
            SubElement(time, "beat-type").text = "64"

    def set_divisions(self, divisions: Fraction | int) -> Element:
        """Say how many divisions a quarter note has from here on."""
        attributes = SubElement(self._measure, "attributes")
        SubElement(attributes, "divisions").text = str(float(divisions))
        return attributes

    def move(self, tag: str, ticks: Fraction | int) -> None:
        """Move the cursor: ``backup``, or ``forward`` for that and for rests."""
        SubElement(SubElement(self._measure, tag), "duration").text = _plain(ticks)

    def add_note(
        self, pitch: Element | None, ticks: Fraction | int, grace: bool, in_chord: bool
    ) -> int:
        """Add a note and return its running number.

        Raises
        ------
        ValueError
            The pitch is none that music has; the text says what it is.
        """
        note = SubElement(self._measure, "note", {"color": _COLOR.format(self._count)})
        if grace:
            SubElement(note, "grace")
        if in_chord:
            SubElement(note, "chord")
        if pitch is None:
            SubElement(note, "unpitched")
        else:
            note.append(self._lean_pitch(pitch))
        if grace:
            SubElement(note, "type").text = "eighth"
        else:
            SubElement(note, "duration").text = _plain(ticks)
        self._count += 1
        return self._count - 1

    def _lean_pitch(self, pitch: Element) -> Element:
        """The pitch as music21 can read it; quarter tones are rounded towards the letter."""
        texts = (pitch.findtext("step"), pitch.findtext("alter"), pitch.findtext("octave"))
        lean = self._pitches.get(texts)
        if lean is None:
            lean = self._pitches[texts] = _checked_pitch(*texts)
        return lean


def _checked_pitch(step: str | None, alter: str | None, octave: str | None) -> Element:
    try:
        letter = (step or "").strip()
        height = int(octave or "")
        half_steps = int(float(alter or 0))
    except (ValueError, OverflowError):
        letter, height, half_steps = "", 0, 0
    if letter not in _STEPS or not -1 <= height <= 10 or not -3 <= half_steps <= 3:
        words = " ".join(text.strip() for text in (step, alter, octave) if text)
        raise ValueError("".join(one for one in words if one.isprintable())[:30])
    pitch = Element("pitch")
    SubElement(pitch, "step").text = letter
    if half_steps:
        SubElement(pitch, "alter").text = str(half_steps)
    SubElement(pitch, "octave").text = str(height)
    return pitch


def _plain(ticks: Fraction | int) -> str:
    """Divisions in the form that music21 reads."""
    return str(ticks) if isinstance(ticks, int) else repr(float(ticks))
