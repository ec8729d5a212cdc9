"""Documents of the right elements that say impossible things: durations, pitches, measures, parts.

Each function takes the root of a partwise document and a source of chance and changes the tree.
"""

from __future__ import annotations

import copy
from random import Random

from lxml import etree

from tests.faults import nasty_values
from tests.faults.broken_xml import Breaking, into_measures, made, parent_of, put, remove, some


def impossible_durations(root: etree._Element, random: Random) -> None:
    for duration in some(root, random, "duration"):
        duration.text = nasty_values.number(random)


def negative_durations(root: etree._Element, random: Random) -> None:
    for duration in some(root, random, "duration"):
        duration.text = random.choice(("0", "-1", "-480", "0.0"))


def missing_durations(root: etree._Element, random: Random) -> None:
    for duration in some(root, random, "duration"):
        remove(duration)


def missing_divisions(root: etree._Element, random: Random) -> None:
    for divisions in list(root.iter("divisions")):
        remove(divisions)


def odd_divisions(root: etree._Element, random: Random) -> None:
    for divisions in some(root, random, "divisions", share=0.7):
        divisions.text = nasty_values.number(random)
    for measure in some(root, random, "measure", share=0.1):
        attributes = etree.Element("attributes")
        put(attributes, "divisions", random.choice(("1", "7", "960", "0", "-3", "0.1")))
        measure.insert(random.randint(0, len(measure)), attributes)


def unbalanced_backups(root: etree._Element, random: Random) -> None:
    into_measures(
        root,
        random,
        "<backup><duration>1</duration></backup>",
        "<backup><duration>100000</duration></backup>",
        "<backup/>",
        "<backup><duration>-5</duration></backup>",
        "<forward><duration>3</duration></forward>",
        "<forward><duration>99999999</duration></forward>",
        "<forward><duration>1.37</duration></forward>",
    )


def tuplets_that_do_not_add_up(root: etree._Element, random: Random) -> None:
    for note in some(root, random, "note"):
        ratio = put(note, "time-modification")
        for name in ("actual-notes", "normal-notes"):
            put(ratio, name, random.choice(("0", "3", "5", "17", "-2", "x", "1000000")))
        notations = etree.SubElement(note, "notations")
        kind = random.choice(("start", "stop", "start", "middle"))
        etree.SubElement(notations, "tuplet", {"type": kind, "number": random.choice("123")})


def odd_types_and_dots(root: etree._Element, random: Random) -> None:
    for note in some(root, random, "note"):
        put(note, "type", random.choice(("1024th", "maxima", "breve", "fourth", "", "long")))
        for _ in range(random.choice((0, 1, 4, 30))):
            etree.SubElement(note, "dot")


def ties_that_lead_nowhere(root: etree._Element, random: Random) -> None:
    for note in some(root, random, "note"):
        kind = random.choice(("start", "stop", "continue", "let-ring", "x"))
        etree.SubElement(note, "tie", {"type": kind})
        notations = etree.SubElement(note, "notations")
        etree.SubElement(notations, "tied", {"type": kind})
        etree.SubElement(
            notations, "slur", {"type": kind, "number": random.choice(("1", "99", "x"))}
        )


def odd_pitches(root: etree._Element, random: Random) -> None:
    for pitch in some(root, random, "pitch"):
        put(pitch, "step", random.choice(("C", "H", "c", "", "Do", "B")))
        put(pitch, "alter", random.choice(("0.5", "-1.5", "7", "-40", "x", "1e9")))
        put(pitch, "octave", random.choice(("-3", "0", "12", "400", "", "4.5")))


def no_parts(root: etree._Element, random: Random) -> None:
    for part in list(root.iterchildren("part")):
        root.remove(part)


def thirty_parts(root: etree._Element, random: Random) -> None:
    parts = list(root.iterchildren("part"))
    listed = root.find("part-list")
    for number in range(30 - len(parts)):
        part = copy.deepcopy(random.choice(parts)) if parts else etree.Element("part")
        part.set("id", f"X{number}")
        root.append(part)
        if listed is not None and random.random() < 0.9:
            entry = etree.SubElement(listed, "score-part", {"id": f"X{number}"})
            put(entry, "part-name", f"Part {number}")


def parts_of_different_lengths(root: etree._Element, random: Random) -> None:
    for part in root.iterchildren("part"):
        for measure in list(part)[random.randint(0, len(part)) :]:
            part.remove(measure)


def empty_measures(root: etree._Element, random: Random) -> None:
    for measure in some(root, random, "measure", share=random.choice((0.1, 0.5, 0.98))):
        for child in list(measure):
            measure.remove(child)


def ten_thousand_measures(root: etree._Element, random: Random) -> None:
    parts = list(root.iterchildren("part"))
    for part in parts[1:]:
        root.remove(part)
    for measure in list(parts[0])[1:] if parts else []:
        parts[0].remove(measure)
    for number in range(2, 10_001) if parts else ():
        measure = etree.SubElement(parts[0], "measure", {"number": str(number)})
        if number % 3 == 0:
            note = etree.SubElement(measure, "note")
            pitch = etree.SubElement(note, "pitch")
            put(pitch, "step", "CDEFG"[number % 5])
            put(pitch, "octave", "4")
            put(note, "duration", "4")


def chords_of_forty_notes(root: etree._Element, random: Random) -> None:
    for note in some(root, random, "note", share=0.1):
        for step in range(40):
            member = copy.deepcopy(note)
            if member.find("chord") is None:
                member.insert(0, etree.Element("chord"))
            pitch = member.find("pitch")
            if pitch is not None:
                put(pitch, "octave", str(step // 7 + 1))
                put(pitch, "step", "CDEFGAB"[step % 7])
            note.addnext(member)


def chords_without_a_first_note(root: etree._Element, random: Random) -> None:
    for measure in some(root, random, "measure"):
        note = measure.find("note")
        if note is not None:
            note.insert(0, etree.Element("chord"))


def grace_notes_anywhere(root: etree._Element, random: Random) -> None:
    for note in some(root, random, "note"):
        note.insert(0, etree.Element("grace"))
        if random.random() < 0.3:
            note.insert(0, etree.Element(random.choice(("cue", "chord", "rest"))))


def odd_meters(root: etree._Element, random: Random) -> None:
    for attributes in some(root, random, "attributes", share=0.8):
        time = put(attributes, "time")
        put(time, "beats", random.choice(("0", "-3", "3+2", "999", "1.5", "", "x", "7")))
        put(time, "beat-type", random.choice(("0", "3", "8", "1024", "-4", "", "x")))
        if random.random() < 0.2:
            etree.SubElement(time, "senza-misura")


def odd_keys(root: etree._Element, random: Random) -> None:
    for attributes in some(root, random, "attributes", share=0.8):
        key = put(attributes, "key")
        put(key, "fifths", random.choice(("99", "-99", "8", "x", "1e9", "", "-7", "0.5")))
        put(key, "mode", random.choice(("major", "hyperlocrian", "", "none", "minor")))
        if random.random() < 0.2:
            etree.SubElement(key, "key-step").text = "H"
            etree.SubElement(key, "key-alter").text = "77"


def rests_and_cues_of_all_kinds(root: etree._Element, random: Random) -> None:
    for note in some(root, random, "note"):
        pitch = note.find("pitch")
        if pitch is not None and random.random() < 0.5:
            pitch.tag = random.choice(("rest", "unpitched"))
        note.set("print-object", random.choice(("no", "yes", "x")))
        put(note, "notehead", random.choice(("none", "slash", "x", "odd", "cluster")))
        if random.random() < 0.3:
            note.append(made('<beam number="9">continue</beam>'))
            note.append(made('<beam number="1">begin</beam>'))
        rest = note.find("rest")
        if rest is not None:
            rest.set("measure", "yes")


def mixed_up_notes(root: etree._Element, random: Random) -> None:
    """Notes of one measure in any order, and in another's place."""
    for measure in some(root, random, "measure"):
        children = list(measure)
        random.shuffle(children)
        measure[:] = children
    for note in some(root, random, "note", share=0.05):
        parent_of(parent_of(note)).append(note)


BREAKINGS: tuple[Breaking, ...] = (
    impossible_durations,
    negative_durations,
    missing_durations,
    missing_divisions,
    odd_divisions,
    unbalanced_backups,
    tuplets_that_do_not_add_up,
    odd_types_and_dots,
    ties_that_lead_nowhere,
    odd_pitches,
    no_parts,
    parts_of_different_lengths,
    empty_measures,
    chords_of_forty_notes,
    chords_without_a_first_note,
    grace_notes_anywhere,
    odd_meters,
    odd_keys,
    rests_and_cues_of_all_kinds,
    mixed_up_notes,
)
#: Those that make a score so large that they are drawn seldom.
LARGE: tuple[Breaking, ...] = (thirty_parts, ten_thousand_measures)
