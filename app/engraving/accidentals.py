"""Accidentals for parts that say how their notes sound and not what is printed before them.

The task: in MusicXML ``alter`` is how a note sounds and ``accidental`` what is printed, and verovio
prints no more than that. Many programs and scripts write the first alone, so that a G flat would
stand on the page as a G. A part without a single accidental gets those that its notes need; a part
with any is believed as it is, since what it leaves out may be meant.

Method. An accidental holds for its line, octave and staff until the barline, for all voices, in
order of time; grace notes come before the note they lead to. A note has one where what holds there,
or else the signature, is not how it sounds. A note tied over the barline needs none; where it is
not as the signature says, nothing is taken to hold after it, so that the next note on the line has
one. So too where two forms of a degree sound at once, both of which have theirs. A change of
signature ends what held before it.

In an excerpt a note that is tied over from before it has its accidental again, as after a turn of
the page.

What is not done: courtesy accidentals in the next measure or another octave. Lines under an octave
sign count by their sound. Notes that are not printed and tablature count for nothing.

References
----------
MusicXML 4.0, elements *alter* ("chromatic alteration in number of semitones") and *accidental*
("actual notated accidentals"), w3c.github.io/musicxml/musicxml-reference/elements. Rules: common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Final

from lxml import etree

from app.engraving.lent_symbols import walk

_SHARPS: Final = "FCGDAEB"
_NAMES: Final = {
    -3.0: "triple-flat", -2.0: "flat-flat", -1.5: "three-quarters-flat", -1.0: "flat",
    -0.5: "quarter-flat", 0.0: "natural", 0.5: "quarter-sharp", 1.0: "sharp",
    1.5: "three-quarters-sharp", 2.0: "double-sharp", 3.0: "triple-sharp",
}  # fmt: skip
#: Children of a note that the standard wants before its accidental.
_BEFORE: Final = frozenset({
    "grace", "cue", "chord", "pitch", "duration", "tie", "instrument", "footnote", "level",
    "voice", "type", "dot",
})  # fmt: skip
#: Onsets in quarter notes are compared to so many places.
_PLACES: Final = 6

_Line = tuple[str, str]


@dataclass(slots=True)
class _Staff:
    """What holds on a staff: its signature by letter, and by line what was printed.

    None on a line: what holds there is in doubt.
    """

    signature: dict[str, float] = field(default_factory=dict)
    printed: dict[_Line, float | None] = field(default_factory=dict)
    tablature: bool = False


@dataclass(frozen=True, slots=True)
class _Sound:
    """A printed note with its onset, staff, line and alteration."""

    note: etree._Element
    onset: float
    grace: bool
    staff: str
    line: _Line
    alter: float
    ties: frozenset[str]


def add_accidentals(part: etree._Element) -> None:
    """Give a part of a partwise document its accidentals, in place, if it has none at all."""
    if part.find("measure/note/accidental") is not None:
        return
    staves: dict[str, _Staff] = {}
    held: set[tuple[_Line, float]] = set()
    divisions = 1.0
    for measure in part.iterfind("measure"):
        for staff in staves.values():
            staff.printed.clear()
        carried = frozenset(held)
        walked = list(walk(measure, divisions))
        divisions = walked[-1][2]
        # Signatures and clefs take effect before the notes of the same time.
        events = sorted(
            (round(time, _PLACES), node.tag == "note", node.find("grace") is None, number, node)
            for number, (node, time, _) in enumerate(walked)
            if node.tag in {"attributes", "note"}
        )
        for (onset, is_note, main), group in groupby(events, key=lambda event: event[:3]):
            nodes = [event[4] for event in group]
            if not is_note:
                for node in nodes:
                    _attend(node, staves)
                continue
            sounds = [
                sound
                for node in nodes
                if (sound := _sound(node, onset, grace=not main)) is not None
            ]
            _print(sounds, staves, held, carried)


def restate_accidentals(part: etree._Element, tied: Collection[str]) -> None:
    """Give a part that begins with tied notes the accidentals that stood where they began.

    ``tied`` are the ids of notes whose ties come from before the part's first measure.
    """
    start = part.find("measure")
    if start is None or not tied:
        return
    staves: dict[str, _Staff] = {}
    for node, _, _ in walk(start, 1.0):
        if node.tag == "attributes":
            _attend(node, staves)
        elif node.tag == "note" and node.get("id") in tied:
            sound = _sound(node, 0.0, grace=False)
            if sound is None or node.find("accidental") is not None:
                continue
            staff = _staff(staves, sound.staff)
            if not staff.tablature and staff.signature.get(sound.line[0], 0.0) != sound.alter:
                _insert(node, sound.alter)


def _attend(attributes: etree._Element, staves: dict[str, _Staff]) -> None:
    """Take signatures and clefs; those without a number are for all staves and for the first."""
    for count in range(int(_number(attributes.findtext("staves"))), 0, -1):
        _staff(staves, str(count))
    for key in attributes.iterfind("key"):
        number = key.get("number")
        wanted = [_staff(staves, number)] if number else [_staff(staves, "1"), *staves.values()]
        if number is None:
            staves.setdefault("", _Staff()).signature = _signature(key)
        for staff in wanted:
            staff.signature = _signature(key)
            staff.printed.clear()
    for clef in attributes.iterfind("clef"):
        _staff(staves, clef.get("number", "1")).tablature = clef.findtext("sign") == "TAB"


def _staff(staves: dict[str, _Staff], number: str) -> _Staff:
    """A staff by its number; a new one has the signature that was given to all."""
    if number not in staves:
        common = staves.get("")
        staves[number] = _Staff(dict(common.signature) if common else {})
    return staves[number]


def _signature(key: etree._Element) -> dict[str, float]:
    """Alteration by letter; letters that are not named are natural."""
    letters = [node.text or "" for node in key.iterfind("key-step")]
    if letters:
        alters = [_number(node.text) for node in key.iterfind("key-alter")]
        return dict(zip(letters, alters, strict=False))
    fifths = max(-7, min(7, int(_number(key.findtext("fifths")))))
    changed = _SHARPS[:fifths] if fifths >= 0 else _SHARPS[fifths:]
    return dict.fromkeys(changed, 1.0 if fifths > 0 else -1.0)


def _sound(note: etree._Element, onset: float, *, grace: bool) -> _Sound | None:
    # Children are listed once: asking for each by name takes five times as long.
    children = {child.tag: child for child in note}
    pitch = children.get("pitch")
    if pitch is None or note.get("print-object") == "no":
        return None
    name = {child.tag: child.text or "" for child in pitch}
    line = (name.get("step", ""), name.get("octave", ""))
    staff = (children["staff"].text or "") if "staff" in children else "1"
    tied = _ties(note) if "tie" in children or "notations" in children else frozenset()
    return _Sound(note, onset, grace, staff, line, _number(name.get("alter")), tied)


def _print(
    sounds: Sequence[_Sound],
    staves: dict[str, _Staff],
    held: set[tuple[_Line, float]],
    carried: frozenset[tuple[_Line, float]],
) -> None:
    """Print what notes of one onset need; ``carried`` are the ties into this measure."""
    starting: set[tuple[_Line, float]] = set()
    forms: dict[tuple[str, _Line], set[float]] = {}
    for sound in sounds:
        forms.setdefault((sound.staff, sound.line), set()).add(sound.alter)
    for sound in sounds:
        staff, name = _staff(staves, sound.staff), (sound.line, sound.alter)
        tied = "stop" in sound.ties and name in held
        if "start" in sound.ties:
            starting.add(name)
        if staff.tablature:
            continue
        clashes = not sound.grace and len(forms[sound.staff, sound.line]) > 1
        signed = staff.signature.get(sound.line[0], 0.0)
        holds = staff.printed.get(sound.line, signed)
        if tied:
            if name in carried and sound.line not in staff.printed and signed != sound.alter:
                staff.printed[sound.line] = None
            held.discard(name)
        elif holds != sound.alter or clashes:
            _insert(sound.note, sound.alter)
            staff.printed[sound.line] = sound.alter
        if clashes:
            staff.printed[sound.line] = None
    held |= starting


def _ties(note: etree._Element) -> frozenset[str]:
    nodes = [*note.iterfind("tie"), *note.iterfind("notations/tied")]
    return frozenset(node.get("type", "") for node in nodes)


def _insert(note: etree._Element, alter: float) -> None:
    name = _NAMES.get(alter)
    if name is None:
        return
    accidental = etree.Element("accidental")
    accidental.text = name
    note.insert(sum(child.tag in _BEFORE for child in note), accidental)


def _number(text: str | None) -> float:
    try:
        return float(text or 0)
    except ValueError:
        return 0.0
