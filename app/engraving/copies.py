"""The copy of the source that verovio gets: marked, cut to what is shown, and timed.

Verovio keeps the ids of notes, rests and measures, and gives chord symbols and directions new ones.
Two attributes that it passes on unread carry a mark instead: the ``type`` of a harmony, which
becomes a class of the drawing, and the ``xml:lang`` of words and rehearsal marks. A chord symbol is
replaced by a stand-in as wide as the symbol that is painted later, so that verovio keeps its room.

An excerpt keeps the chosen measures and puts what holds at the first of them before it: divisions,
clefs, key, meter, transposition, staves. Slurs, wedges and other lines that cross its ends are
taken out, for half a line would hang in the air.

Times are read from the document: each note's offset into its measure in quarter notes, by its
durations, ``backup`` and ``forward``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, cast
from xml.etree.ElementTree import Element

from lxml import etree

from analysis.harmonies import read_harmony
from analysis.pitch import Key, PitchName
from app.engraving.chord_symbols import symbol_text
from app.engraving.drawings import Sources
from app.engraving.layouts import Layout
from app.engraving.musictext import set_chord_symbol
from app.engraving.reserved_widths import stand_in
from app.engraving.svg_shapes import SYMBOL_FACE, SYMBOL_SIZE

_LANG: Final = "{http://www.w3.org/XML/1998/namespace}lang"
#: Em of verovio's chord symbols in page units, and the least gap between two of ours in ems.
_HARM_SIZE: Final = 40.5
_HARM_GAP: Final = 0.3
#: The key that numerals without one of their own are read in; only their printed text is used.
_ANY_KEY: Final = Key(PitchName(0))
#: Children of ``attributes`` that hold until the next of their kind and number.
_LASTING: Final = (
    "divisions", "key", "time", "staves", "part-symbol", "instruments", "clef", "staff-details",
    "transpose",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Copy:
    """What verovio gets, and what the compiler and the timing need beside it.

    ``measures`` maps the id of every part's measure to its index in the whole source;
    ``first_part`` lists by index the id of the source's first part's measure; ``staff_measures``
    lists by staff (over the shown parts) the ids of its measures by index. ``offsets`` are quarter
    notes from the measure's start, ``lengths`` each shown measure's length by index.
    """

    musicxml: str
    sources: Sources
    measures: dict[str, int]
    first_part: tuple[str, ...]
    staff_measures: tuple[tuple[str, ...], ...]
    offsets: dict[str, float]
    lengths: dict[int, float]


def copy_for(musicxml: bytes, layout: Layout) -> Copy:
    """Make the copy.

    Parameters
    ----------
    musicxml
        A scratch copy as `analysis.sources.Source` holds it: partwise, every element with an id.

    Raises
    ------
    ValueError
        If it is no partwise score, or the layout names parts or measures that it has not.
    """
    root = etree.fromstring(musicxml, etree.XMLParser(resolve_entities=False, no_network=True))
    parts = root.findall("part")
    if not parts:
        raise ValueError("the document has no parts")
    measures: dict[str, int] = {}
    for part in parts:
        for index, measure in enumerate(part.iterfind("measure")):
            measures[measure.get("id", "")] = index
    first_part = tuple(measure.get("id", "") for measure in parts[0].iterfind("measure"))
    parts = _chosen_parts(root, parts, layout)
    last = len(first_part) - 1 if layout.last is None else layout.last
    first = layout.first or 0
    if not 0 <= first <= last < len(first_part):
        raise ValueError(f"measures {first} to {last} of {len(first_part)}")
    staff_measures = tuple(
        ids
        for part in parts
        for ids in [tuple(m.get("id", "") for m in part.iterfind("measure"))] * _staves(part)
    )
    if first > 0 or last < len(first_part) - 1:
        for part in parts:
            _cut(part, first, last)
    _clean(root, layout)
    sources = _marked(root, layout, frozenset(measures))
    offsets: dict[str, float] = {}
    lengths: dict[int, float] = {}
    for part in parts:
        _time(part, measures, offsets, lengths)
    return Copy(
        etree.tostring(root, encoding="unicode"),
        sources, measures, first_part, staff_measures, offsets, lengths,
    )  # fmt: skip


def _staves(part: etree._Element) -> int:
    return max((int(node.text or 1) for node in part.iter("staves")), default=1)


def _chosen_parts(
    root: etree._Element, parts: list[etree._Element], layout: Layout
) -> list[etree._Element]:
    """The parts to show; the others are taken out of the document and of its part list."""
    if layout.parts is None:
        return parts
    chosen = [part for part in parts if part.get("id") in layout.parts]
    if not chosen:
        raise ValueError(f"none of the parts {', '.join(layout.parts)} is in the score")
    for part in parts:
        if part not in chosen:
            root.remove(part)
    kept = {part.get("id") for part in chosen}
    part_list = root.find("part-list")
    if part_list is not None:
        for entry in part_list.findall("score-part"):
            if entry.get("id") not in kept:
                part_list.remove(entry)
        _close_groups(part_list)
    return chosen


def _close_groups(part_list: etree._Element) -> None:
    """Take out groups of which fewer than two parts are left."""
    opened: dict[str, tuple[etree._Element, int]] = {}
    seen = 0
    for entry in list(part_list):
        if entry.tag == "score-part":
            seen += 1
        elif entry.get("type") == "start":
            opened[entry.get("number", "1")] = (entry, seen)
        elif entry.get("number", "1") in opened:
            start, before = opened.pop(entry.get("number", "1"))
            if seen - before < 2:
                part_list.remove(start)
                part_list.remove(entry)


def _cut(part: etree._Element, first: int, last: int) -> None:
    """Keep the measures first to last, with what holds at the first put before it."""
    measures = part.findall("measure")
    held: dict[tuple[str, str], etree._Element] = {}
    for measure in measures[:first]:
        for attributes in measure.iterfind("attributes"):
            for node in attributes:
                if node.tag in _LASTING:
                    held[str(node.tag), node.get("number", "1")] = node
        part.remove(measure)
    for measure in measures[last + 1 :]:
        part.remove(measure)
    start = measures[first]
    for layout_change in start.findall("print"):
        start.remove(layout_change)
    own = start.find("attributes")
    # Attributes that come before the first note hold from the start as well.
    if own is not None and all(
        node.tag not in {"note", "forward"} for node in own.itersiblings(preceding=True)
    ):
        for node in own:
            held[str(node.tag), node.get("number", "1")] = node
        start.remove(own)
    whole = etree.Element("attributes")
    for tag in _LASTING:
        for number in sorted(number for name, number in held if name == tag):
            whole.append(held[tag, number])
    start.insert(0, whole)
    _loosen(part)


def _loosen(part: etree._Element) -> None:
    """Take out starts without an end and ends without a start, which only an excerpt has."""
    waiting: dict[tuple[str, str], etree._Element] = {}
    for node in list(
        part.iter(
            "slur",
            "wedge",
            "octave-shift",
            "dashes",
            "bracket",
            "pedal",
            "glissando",
            "slide",
            "wavy-line",
            "ending",
        )
    ):
        key = (str(node.tag), node.get("number", "1"))
        kind = node.get("type", "")
        if kind in {"stop", "discontinue"}:
            if waiting.pop(key, None) is None:
                _remove(node)
        elif kind not in {"continue", "change"}:
            waiting[key] = node
    for node in waiting.values():
        _remove(node)


def _remove(node: etree._Element) -> None:
    """Take out an element, and its direction if nothing else is in it."""
    parent = node.getparent()
    if parent is None:
        return
    parent.remove(node)
    bare = not len(parent) and parent.tag in {
        "direction-type",
        "notations",
        "barline",
        "attributes",
    }
    if bare or (parent.tag == "direction" and parent.find("direction-type") is None):
        _remove(parent)


def _clean(root: etree._Element, layout: Layout) -> None:
    """Leave out what is not to be printed, and what would swallow measures."""
    for node in list(root.iter("measure-style")):
        _remove(node)
    for measure in root.iter("measure"):
        _mend_beams(measure)
    unwanted = [] if layout.lyrics else ["lyric"]
    if not layout.chord_symbols:
        unwanted.append("harmony")
    if unwanted:
        for node in list(root.iter(*unwanted)):
            _remove(node)
    if not layout.part_names:
        for node in list(root.iter("part-name", "part-abbreviation")):
            node.text = None
        for node in list(root.iter("part-name-display", "part-abbreviation-display")):
            _remove(node)


def _mend_beams(measure: etree._Element) -> None:
    """End every beam in the measure where it begins; verovio draws stems metres long otherwise."""
    open_beams: dict[tuple[str | None, bool], list[etree._Element]] = {}
    for note in measure.iterfind("note"):
        beam = note.find("beam[@number='1']")
        if note.find("chord") is not None:
            continue
        key = (note.findtext("voice"), note.find("grace") is not None)
        if beam is None or beam.text == "begin":
            _end_beam(open_beams.pop(key, []))
        if beam is not None and beam.text in {"begin", "continue", "end"}:
            beams = open_beams.setdefault(key, [])
            beams.append(beam)
            if beam.text == "end":
                _end_beam(open_beams.pop(key))
    for beams in open_beams.values():
        _end_beam(beams)


def _end_beam(beams: list[etree._Element]) -> None:
    if len(beams) == 1:
        _remove_beams(beams[0].getparent())
    elif beams:
        beams[0].text, beams[-1].text = "begin", "end"


def _remove_beams(note: etree._Element | None) -> None:
    if note is not None:
        for beam in note.findall("beam"):
            note.remove(beam)


def _marked(root: etree._Element, layout: Layout, measures: frozenset[str]) -> Sources:
    """Mark chord symbols and directions, and say which ids verovio keeps."""
    harmonies: dict[str, str] = {}
    symbols: dict[str, str] = {}
    words: dict[str, str] = {}
    for at, node in enumerate(root.iter("harmony")):
        element, mark = node.get("id", ""), f"h-{at}"
        harmonies[mark] = element
        symbols[element] = "" if node.get("print-object") == "no" else harmony_text(node)
        _replace(node, mark, symbols[element])
    for at, node in enumerate(root.iter("direction")):
        element = node.get("id", "")
        if element:
            words[f"d-{at}"] = element
            for text in node.iter("words", "rehearsal"):
                text.set(_LANG, f"d-{at}")
    notes = frozenset(note.get("id", "") for note in root.iter("note"))
    return Sources(notes | measures, harmonies, words, symbols)


def harmony_text(node: etree._Element) -> str:
    """The printed form of a ``harmony`` element, as written in its part."""
    harmony = read_harmony(cast("Element", node), 0, _ANY_KEY)
    if node.find("root") is None and harmony.kind != "none":
        # A numeral or function has no letter name; what the source prints for it is all there is.
        return harmony.text
    return symbol_text(*harmony)


def _replace(node: etree._Element, mark: str, symbol: str) -> None:
    """Put a stand-in of the symbol's width in the place of the harmony's content."""
    width = set_chord_symbol(symbol, SYMBOL_SIZE, SYMBOL_FACE).width if symbol else 0.0
    kept = [child for child in node if child.tag in {"offset", "staff"}]
    node[:] = []
    kind = etree.SubElement(node, "kind", text=stand_in(width / _HARM_SIZE + _HARM_GAP))
    kind.text = "none"
    node.extend(kept)
    node.set("type", mark)
    node.attrib.pop("print-object", "")


def _time(
    part: etree._Element,
    measures: dict[str, int],
    offsets: dict[str, float],
    lengths: dict[int, float],
) -> None:
    """The offset of every note and rest into its measure, and the measures' lengths."""
    divisions = 1.0
    for measure in part.iterfind("measure"):
        now = longest = began = 0.0
        for node in measure:
            tag = node.tag
            if tag == "note":
                if node.find("chord") is None:
                    began = now
                    if node.find("grace") is None:
                        offsets[node.get("id", "")] = began
                    now += _duration(node, divisions)
                else:
                    offsets[node.get("id", "")] = began
                longest = max(longest, now)
            elif tag == "backup":
                now = max(0.0, now - _duration(node, divisions))
            elif tag == "forward":
                now += _duration(node, divisions)
                longest = max(longest, now)
            elif tag == "attributes":
                divisions = float(node.findtext("divisions") or divisions) or 1.0
        index = measures[measure.get("id", "")]
        lengths[index] = max(lengths.get(index, 0.0), longest)


def _duration(node: etree._Element, divisions: float) -> float:
    try:
        return float(node.findtext("duration") or 0) / divisions
    except ValueError:
        return 0.0
