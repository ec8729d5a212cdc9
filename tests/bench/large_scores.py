"""Large scores made by rule: as long as anyone transcribes, with all that the window shows.

The music goes through four-measure loops of chords over sections of sixteen measures, in a few
keys, with a sung melody, two backing voices, two chordal instruments and a bass. Sections come back
with the same melody and now and then with other chords; after twelve sections another song begins,
as in a show. The same arguments give the same bytes.

`repeated_score` is the hard case for whatever looks for returns: one song over and over.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from functools import cache
from random import Random
from typing import Final

from lxml import etree

_NAMES: Final = ("Voice", "Backing 1", "Backing 2", "Guitar", "Keyboard", "Bass")
_STEPS: Final = "CDEFGAB"
#: Loops as (degree of the major scale from 0, MusicXML kind), one chord each measure.
_LOOPS: Final = (
    ((0, "major"), (5, "minor"), (3, "major"), (4, "major")),
    ((0, "major"), (4, "major"), (5, "minor"), (3, "major")),
    ((5, "minor"), (3, "major"), (0, "major"), (4, "dominant")),
    ((1, "minor-seventh"), (4, "dominant"), (0, "major-seventh"), (5, "minor-seventh")),
    ((0, "major"), (2, "dominant"), (5, "minor"), (3, "major")),
)
_SECTION: Final = 16
#: Sections in which the tunes of one song come back.
_SONG: Final = 12
#: Lowest and highest degree of a tune.
_LOW, _HIGH = -2, 8
_SYLLABLES: Final = ("la", "di", "na", "mo", "ru", "ve", "so", "te")
#: Lengths of a measure's eight eighths in the melody, by section.
_RHYTHMS: Final = ((1, 1, 1, 1, 1, 1, 1, 1), (2, 1, 1, 2, 1, 1), (3, 1, 2, 2), (2, 2, 1, 1, 2))


def large_score(measures: int = 400, parts: int = 6) -> bytes:
    """The MusicXML of a score of so many measures and at most six parts."""
    listed = "".join(
        f'<score-part id="P{at + 1}"><part-name>{name}</part-name></score-part>'
        for at, name in enumerate(_NAMES[:parts])
    )
    bodies = "".join(
        f'<part id="P{part + 1}">{"".join(_measures(part, measures))}</part>'
        for part in range(parts)
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise version="4.0">'
        f"<part-list>{listed}</part-list>{bodies}</score-partwise>\n"
    ).encode()


def _measures(part: int, count: int) -> Iterator[str]:
    for index in range(count):
        section = index // _SECTION
        key = (0, 0, 1, 0, -1)[section // 5 % 5]
        content = ""
        if index == 0 or (
            index % _SECTION == 0 and key != (0, 0, 1, 0, -1)[(section - 1) // 5 % 5]
        ):
            content += _attributes(part, key, first=index == 0)
        if part == 0 and index % _SECTION == 0:
            content += (
                "<direction><direction-type><rehearsal>Part "
                f"{section + 1}</rehearsal></direction-type></direction>"
            )
        loop = _LOOPS[(section % 3 + (section // 6) * (index // 8 % 2)) % len(_LOOPS)]
        chord, kind = loop[index % 4]
        if part == 0:
            content += _harmony(chord, kind, key)
            if index % 4 == 3:
                content += _notes(part, index, section, chord, key, second=loop[0])
            else:
                content += _notes(part, index, section, chord, key)
        else:
            content += _notes(part, index, section, chord, key)
        yield f'<measure number="{index + 1}">{content}</measure>'


def _attributes(part: int, key: int, *, first: bool) -> str:
    clef = ("F", 4) if part == 5 else ("G", 2)
    more = (
        "<time><beats>4</beats><beat-type>4</beat-type></time>"
        f"<clef><sign>{clef[0]}</sign><line>{clef[1]}</line></clef>"
    )
    divisions = "<divisions>2</divisions>" if first else ""
    rest = more if first else ""
    return f"<attributes>{divisions}<key><fifths>{key}</fifths></key>{rest}</attributes>"


def _pitch(degree: int, octave: int, key: int) -> str:
    """A degree of the scale of a key, counted from its tonic in an octave."""
    tonic = {0: 0, 1: 4, -1: 3}[key]
    place = tonic + degree
    step = _STEPS[place % 7]
    alter = 1 if key == 1 and step == "F" else -1 if key == -1 and step == "B" else 0
    altered = f"<alter>{alter}</alter>" if alter else ""
    return f"<pitch><step>{step}</step>{altered}<octave>{octave + place // 7}</octave></pitch>"


def _harmony(degree: int, kind: str, key: int) -> str:
    place = {0: 0, 1: 4, -1: 3}[key] + degree
    step = _STEPS[place % 7]
    alter = 1 if key == 1 and step == "F" else -1 if key == -1 and step == "B" else 0
    return (
        f"<harmony><root><root-step>{step}</root-step><root-alter>{alter}</root-alter></root>"
        f"<kind>{kind}</kind></harmony>"
    )


@cache
def _tunes(song: int, kind: int) -> tuple[tuple[int, ...], ...]:
    """The degrees of a section, eight for each measure: mostly steps, now and then a third."""
    random, degree = Random(f"{song} {kind}"), 2
    tunes = []
    for _ in range(_SECTION):
        tune = []
        for _ in range(8):
            moves = [move for move in (-2, -1, -1, 0, 1, 1, 2) if _LOW <= degree + move <= _HIGH]
            degree += random.choice(moves)
            tune.append(degree)
        tunes.append(tuple(tune))
    return tuple(tunes)


def repeated_score(musicxml: bytes, times: int) -> bytes:
    """A partwise score played so many times over, written out; ids stay unique."""
    root = etree.fromstring(musicxml)
    for part in root.iter("part"):
        measures = part.findall("measure")
        for time in range(1, times):
            for at, measure in enumerate(measures):
                copy = deepcopy(measure)
                copy.set("number", str(time * len(measures) + at + 1))
                for element in copy.iter():
                    if element.get("id"):
                        element.set("id", f"{element.get('id')}-{time}")
                part.append(copy)
    return bytes(etree.tostring(root, xml_declaration=True, encoding="UTF-8"))


def _notes(
    part: int, index: int, section: int, chord: int, key: int, second: tuple[int, str] | None = None
) -> str:
    if part == 0:
        tune = _tunes(section // _SONG, section % 3)[index % _SECTION]
        rhythm = _RHYTHMS[(section % 3 + index) % len(_RHYTHMS)]
        content, place = "", 0
        for at, length in enumerate(rhythm):
            if second is not None and place >= 4 and "harmony" not in content:
                content += _harmony(*second, key)
            syllable = _SYLLABLES[(index + at) % len(_SYLLABLES)]
            lyric = f"<lyric><syllabic>single</syllabic><text>{syllable}</text></lyric>"
            content += _note(_pitch(tune[place % 8], 4, key), length, lyric)
            place += length
        return content
    if part in (1, 2):
        return "".join(_note(_pitch(chord % 7 + 2 * (part - 1), 4, key), 4) for _ in range(2))
    if part == 5:
        return "".join(_note(_pitch(chord - 7 * (chord > 3), 2, key), 2) for _ in range(4))
    strokes = 4 if part == 3 else 2
    one = "".join(
        _note(_pitch(chord + third, 3, key), 8 // strokes, more="<chord/>" if third else "")
        for third in (0, 2, 4)
    )
    return one * strokes


def _note(pitch: str, length: int, lyric: str = "", more: str = "") -> str:
    kind, dot = {1: ("eighth", ""), 2: ("quarter", ""), 3: ("quarter", "<dot/>"), 4: ("half", "")}[
        length
    ]
    return (
        f"<note>{more}{pitch}<duration>{length}</duration><voice>1</voice>"
        f"<type>{kind}</type>{dot}{lyric}</note>"
    )
