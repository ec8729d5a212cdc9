"""Signs that say impossible things: words, chord symbols, staves, jumps, numbers, part lists.

Each function takes the root of a partwise document and a source of chance and changes the tree.
"""

from __future__ import annotations

from random import Random

from lxml import etree

from tests.faults import nasty_values
from tests.faults.broken_xml import Breaking, into_measures, made, put, some

_KINDS = (
    *("major", "minor", "dominant", "none", "other", "", "Tristan", "pedal", "Neapolitan", "jazz"),
    *("suspended-fourth", "diminished-seventh", "augmented", "German", "7", "power", "major-13th"),
)


def lyrics_with_markup(root: etree._Element, random: Random) -> None:
    for note in some(root, random, "note", share=0.6):
        lyric = etree.SubElement(note, "lyric", {"number": random.choice(("1", "2", "999", "x"))})
        put(lyric, "syllabic", random.choice(("begin", "middle", "end", "single", "odd")))
        for _ in range(random.choice((1, 1, 2))):
            etree.SubElement(lyric, "text").text = nasty_values.text(random)
        if random.random() < 0.3:
            etree.SubElement(lyric, "elision").text = "\u203f"
            etree.SubElement(lyric, "extend", {"type": random.choice(("start", "stop", "x"))})


def titles_in_any_script(root: etree._Element, random: Random) -> None:
    for path in ("movement-title", "part-list/score-part/part-name", "identification/creator"):
        for found in root.iterfind(path):
            found.text = nasty_values.text(random)
    work = made("<work><work-title/></work>")
    put(work, "work-title", nasty_values.text(random))
    root.insert(0, work)
    credit = made('<credit page="1"><credit-type>title</credit-type><credit-words/></credit>')
    put(credit, "credit-words", nasty_values.text(random))
    root.insert(random.randint(0, len(root)), credit)


def odd_staves(root: etree._Element, random: Random) -> None:
    for attributes in some(root, random, "attributes", share=0.8):
        put(attributes, "staves", random.choice(("0", "2", "99", "-1", "x", "100000")))
        clef = etree.SubElement(attributes, "clef", {"number": random.choice(("1", "2", "77"))})
        put(clef, "sign", random.choice(("G", "F", "TAB", "percussion", "jianpu", "none", "Q")))
        put(clef, "line", random.choice(("1", "9", "-4", "x")))
        shift = put(attributes, "transpose")
        put(shift, "diatonic", nasty_values.number(random))
        put(shift, "chromatic", random.choice(("1", "-14", "10000", "x", "0.5")))
    for note in some(root, random, "note"):
        put(note, "staff", random.choice(("0", "2", "3", "99", "-1", "x")))
        put(note, "voice", random.choice(("1", "2", "77", "", "alto", "-3")))


def jumps_in_circles(root: etree._Element, random: Random) -> None:
    into_measures(
        root,
        random,
        '<barline location="right"><repeat direction="backward" times="1000000000"/></barline>',
        '<barline location="right"><repeat direction="backward" times="-2"/></barline>',
        '<barline location="left"><repeat direction="forward"/></barline>',
        '<barline location="left"><ending number="1,2, 9" type="start"/></barline>',
        '<barline location="right"><ending number="x" type="stop"/></barline>',
        '<barline><ending number="1" type="discontinue"/><repeat direction="backward"/></barline>',
        '<direction><direction-type><coda/></direction-type><sound coda="a"/></direction>',
        '<direction><direction-type><segno/></direction-type><sound segno="a"/></direction>',
        '<sound dalsegno="a"/>',
        '<sound dacapo="yes"/>',
        '<sound tocoda="a"/>',
        '<sound fine="yes"/>',
        '<sound forward-repeat="yes" time-only="1,3"/>',
    )


def odd_chord_symbols(root: etree._Element, random: Random) -> None:
    for measure in some(root, random, "measure", share=0.7):
        harmony = etree.Element("harmony")
        what = random.choice(("root", "root", "numeral", "function", "nothing", "two"))
        if what in ("root", "two"):
            top = etree.SubElement(harmony, "root")
            put(top, "root-step", random.choice(("C", "G", "H", "", "b")))
            put(top, "root-alter", random.choice(("0", "-1", "5", "0.5", "x", "-99")))
        if what in ("numeral", "two"):
            numeral = etree.SubElement(harmony, "numeral")
            put(numeral, "numeral-root", random.choice(("1", "9", "x", "5")))
        if what == "function":
            put(harmony, "function", nasty_values.text(random))
        kind = put(harmony, "kind", random.choice(_KINDS))
        kind.set("text", nasty_values.text(random))
        if random.random() < 0.3:
            bass = etree.SubElement(harmony, "bass")
            put(bass, "bass-step", random.choice(("E", "X", "")))
        for _ in range(random.choice((0, 0, 1, 5, 40))):
            degree = etree.SubElement(harmony, "degree")
            put(degree, "degree-value", random.choice(("9", "0", "-3", "99", "x", "13")))
            put(degree, "degree-alter", random.choice(("0", "1", "-7", "x")))
            put(degree, "degree-type", random.choice(("add", "subtract", "alter", "odd", "")))
        if random.random() < 0.3:
            put(harmony, "offset", nasty_values.number(random))
        measure.insert(random.randint(0, len(measure)), harmony)


def odd_tempos_and_words(root: etree._Element, random: Random) -> None:
    number, text = nasty_values.number(random), nasty_values.text(random)
    for measure in some(root, random, "measure"):
        direction = etree.Element("direction")
        kind = etree.SubElement(direction, "direction-type")
        etree.SubElement(kind, random.choice(("rehearsal", "words", "dynamics"))).text = text
        if random.random() < 0.5:
            metronome = etree.SubElement(kind, "metronome")
            put(metronome, "beat-unit", random.choice(("quarter", "x", "eighth")))
            put(metronome, "per-minute", number)
        etree.SubElement(direction, "sound", {"tempo": number.strip() or "x"})
        put(direction, "offset", nasty_values.number(random))
        measure.insert(random.randint(0, len(measure)), direction)


def odd_measure_numbers(root: etree._Element, random: Random) -> None:
    for measure in root.iter("measure"):
        measure.set(
            "number", random.choice(("1", "", "X1", "-5", "0", "1e9", "\U0001f3b8", "a" * 500))
        )
        measure.set("implicit", random.choice(("yes", "no", "x")))
        measure.set("width", random.choice(("0", "-100", "1e12", "nan")))


def signs_of_all_kinds(root: etree._Element, random: Random) -> None:
    into_measures(
        root,
        random,
        _styled("<multiple-rest>1000000</multiple-rest>"),
        _styled("<slash type='start'/>"),
        _styled("<measure-repeat type='start'>9</measure-repeat>"),
        _directed("<octave-shift type='up' size='99'/>"),
        _directed("<wedge type='stop' number='9'/>"),
        _directed("<pedal type='change'/>"),
        _directed("<bracket type='start' line-end='x'/>"),
        "<figured-bass><figure><figure-number>77</figure-number></figure></figured-bass>",
        "<print new-page='yes' new-system='yes'><measure-numbering>x</measure-numbering></print>",
        "<print><staff-layout><staff-distance>-9e9</staff-distance></staff-layout></print>",
        "<grouping type='start'/>",
        "<frame><frame-strings>0</frame-strings></frame>",
        "<direction><staff>9</staff><direction-type><segno/><coda/></direction-type></direction>",
    )
    for note in some(root, random, "note", share=0.1):
        sign = random.choice(("fermata", "arpeggiate", "glissando", "technical", "ornaments"))
        etree.SubElement(etree.SubElement(note, "notations"), sign).text = nasty_values.text(random)


def a_part_list_of_another_score(root: etree._Element, random: Random) -> None:
    listed = root.find("part-list")
    if listed is None or random.random() < 0.2:
        for found in root.iterfind("part-list"):
            root.remove(found)
        return
    for entry in listed:
        entry.set("id", random.choice(("P1", "P2", "", "x y", "\u00e9")))
    listed.append(made("<part-group type='stop' number='4'/>"))
    listed.append(made("<part-group type='start' number='x'/>"))
    for part in root.iterchildren("part"):
        part.set("id", random.choice(("P1", "P2", "", "P9")))


def _styled(inside: str) -> str:
    return f"<attributes><measure-style>{inside}</measure-style></attributes>"


def _directed(inside: str) -> str:
    return f"<direction><direction-type>{inside}</direction-type></direction>"


BREAKINGS: tuple[Breaking, ...] = (
    lyrics_with_markup,
    titles_in_any_script,
    odd_staves,
    jumps_in_circles,
    odd_chord_symbols,
    odd_tempos_and_words,
    odd_measure_numbers,
    signs_of_all_kinds,
    a_part_list_of_another_score,
)
