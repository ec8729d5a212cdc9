"""Notation that verovio trips over, mended in the copy that it gets.

What programs write is not always what the standard wants. Most of it verovio forgives; what is
mended here made it crash, hang, hide elements or draw nonsense (tried with verovio 6.4.1).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from lxml import etree

from app.engraving.excerpts import remove_node

_BEATS: Final = re.compile(r"[1-9]\d{0,2}(\s*\+\s*[1-9]\d{0,2})*")
#: Values of notes that beams can join.
_BEAMED: Final = frozenset({"eighth", *(f"{n}th" for n in (16, 64, 128, 256, 512, 1024)), "32nd"})
#: More staves than any part has; room is made for each.
_MOST_STAVES: Final = 16
_STAVES: Final = frozenset(map(str, range(1, _MOST_STAVES + 1)))
_MOST_DOTS: Final = 4
_TIMES: Final = frozenset(map(str, range(1, 100)))
#: Divisions that verovio reads as a number that it can divide by and count in.
_DIVISIONS: Final = re.compile(r"\s*0*[1-9]\d{0,6}(\.\d*)?\s*")
_BEAT_TYPES: Final = frozenset({"1", "2", "4", "8", "16", "32", "64", "128"})


def mend(root: etree._Element) -> None:
    """Mend a partwise document in place."""
    # A sign for several measures of rest takes the place of their elements.
    for style in list(root.iter("measure-style")):
        remove_node(style)
    for time in list(root.iter("time")):
        if not _is_sound(time):
            remove_node(time)
    for divisions in list(root.iter("divisions")):
        if not _DIVISIONS.fullmatch(divisions.text or ""):
            remove_node(divisions)  # of 0, or what it takes for that, it never comes back
    _mend_groups(root.find("part-list"))
    for rest in list(root.iter("rest")):
        note = rest.getparent()
        if note is not None and note.find("chord") is not None:
            remove_node(note)  # beside a change of clef it ends in a crash
    for grace in root.iter("grace"):
        _give_type(grace.getparent())
    for note in root.iter("note"):
        if note.find("beam") is not None and note.findtext("type", "eighth") not in _BEAMED:
            _unbeam(note)
    for note in root.iter("note"):
        # Each dot halves what verovio counts in, until it counts for ever.
        for dot in note.findall("dot")[_MOST_DOTS:]:
            remove_node(dot)
    for value in root.iter("type"):
        if value.text == "maxima":  # in a beam it ends in a crash
            value.text = "long"
    for repeat in root.iter("repeat"):
        # It plays them all, and a thousand million passes take as long.
        if repeat.get("times", "2") not in _TIMES:
            repeat.attrib.pop("times")
    for part in root.iter("part"):
        _mend_staves(part)
        _mend_beams(part)


def _is_sound(time: etree._Element) -> bool:
    """Whether a time signature has numbers that one can divide by."""
    if time.find("senza-misura") is not None:
        return time.find("beats") is None and time.find("beat-type") is None
    beats = [(node.text or "").strip() for node in time.iterfind("beats")]
    types = [(node.text or "").strip() for node in time.iterfind("beat-type")]
    numbers = all(_BEATS.fullmatch(text) for text in beats) and set(types) <= _BEAT_TYPES
    return numbers and len(beats) == len(types) > 0


def _mend_groups(part_list: etree._Element | None) -> None:
    """Leave out brackets of parts that begin and never end, or the other way round."""
    groups = [] if part_list is None else part_list.findall("part-group")
    open_groups: dict[str, etree._Element] = {}
    sound: set[etree._Element] = set()
    for group in groups:
        number, kind = group.get("number", "1"), group.get("type")
        if kind == "start" and number not in open_groups:
            open_groups[number] = group
        elif kind == "stop" and number in open_groups:
            sound |= {open_groups.pop(number), group}
    for group in groups:
        if group not in sound:
            remove_node(group)


def _mend_staves(part: etree._Element) -> None:
    """Leave out impossible counts of staves, and bring what stands on a staff too many to the last.

    A note of a tablature, or a clef, on a staff that there is not ends in a crash.
    """
    most = 1
    for staves in list(part.iter("staves")):
        text = (staves.text or "").strip()
        if text in _STAVES:
            most = max(most, int(text))
        else:
            remove_node(staves)
    allowed = frozenset(map(str, range(1, most + 1)))
    for staff in part.iter("staff"):
        if (staff.text or "").strip() not in allowed:
            staff.text = str(most)
    for clef in list(part.iter("clef")):
        if clef.get("number", "1").strip() not in allowed:
            remove_node(clef)


def _give_type(note: etree._Element | None) -> None:
    """Make a grace note of no written value an eighth; in a beam it moves the whole staff away."""
    if note is None or note.find("type") is not None:
        return
    value = etree.Element("type")
    value.text = "eighth"
    voice = note.find("voice")
    if voice is not None:
        voice.addnext(value)
    else:
        note.append(value)


def _mend_beams(part: etree._Element) -> None:
    """End every beam in the measure where it begins; verovio draws stems metres long otherwise."""
    if _are_sound(part):
        return
    open_beams: dict[tuple[str | None, bool], list[etree._Element]] = {}
    last_measure: etree._Element | None = None
    for beam in part.iter("beam"):
        note = beam.getparent()
        if beam.get("number", "1") != "1" or note is None or note.find("chord") is not None:
            continue
        if note.getparent() is not last_measure:
            last_measure = note.getparent()
            _end_beams(open_beams.values())
            open_beams.clear()
        key = (note.findtext("voice"), note.find("grace") is not None)
        if beam.text == "begin":
            _end_beams([open_beams.pop(key, [])])
        if beam.text in {"begin", "continue", "end"}:
            open_beams.setdefault(key, []).append(beam)
        if beam.text == "end":
            _end_beams([open_beams.pop(key)])
    _end_beams(open_beams.values())


def _are_sound(part: etree._Element) -> bool:
    """Whether each beam of a part ends before the next begins, in the measure where it began."""
    open_in: etree._Element | None = None
    for beam in part.iter("beam"):
        if beam.get("number", "1") != "1":
            continue
        note = beam.getparent()
        measure = None if note is None else note.getparent()
        if beam.text == "begin":
            if open_in is not None:
                return False
            open_in = measure
        elif measure is not open_in:
            return False
        elif beam.text == "end":
            open_in = None
    return open_in is None


def _end_beams(all_beams: Iterable[list[etree._Element]]) -> None:
    """Let each list of beam elements begin with a begin and end with an end."""
    for beams in all_beams:
        if len(beams) > 1:
            beams[0].text, beams[-1].text = "begin", "end"
            continue
        for beam in beams:
            note = beam.getparent()
            if note is not None:
                _unbeam(note)


def _unbeam(note: etree._Element) -> None:
    for level in note.findall("beam"):
        remove_node(level)
