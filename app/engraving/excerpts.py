"""Some parts and measures of a score, cut out of its document.

An excerpt keeps the chosen measures and puts what holds at the first of them before it: divisions,
clefs, key, meter, transposition, staves. Slurs, wedges and other lines that cross its ends are
taken out, for half a line would hang in the air; words that are cut in two get a hyphen; ties that
cross them are named, since a note that is held over is not struck again.

Pictures show many excerpts of one score. So a document is parsed, its parts chosen and what they
need given to them once (`parts_of`); an excerpt copies its own measures alone, and costs the same
in a song of a hundred measures and in one of a thousand.
"""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

from lxml import etree

from app.engraving.accidentals import add_accidentals, restate_accidentals
from app.engraving.lent_symbols import lend_symbols

#: Where the other note of a tie that crosses an end of the excerpt would be.
Side = Literal["before", "after"]
#: Such a tie: the note inside, and the side of the other one.
CutTie = tuple[str, Side]

#: Children of ``attributes`` that hold until the next of their kind and number, in the order that
#: the standard wants.
_LASTING: Final = (
    "divisions", "key", "time", "staves", "part-symbol", "instruments", "clef", "staff-details",
    "transpose",
)  # fmt: skip
#: Lines with a start and a stop.
_LINES: Final = (
    "slur", "wedge", "octave-shift", "dashes", "bracket", "pedal", "glissando", "slide",
    "wavy-line", "ending",
)  # fmt: skip
_HOLDERS: Final = frozenset({"direction-type", "notations", "ornaments", "barline", "attributes"})
#: Choices of parts that are kept: a set of pictures shows the leading part, all, and a few more.
_MOST_CHOICES: Final = 4


@dataclass(frozen=True, slots=True)
class ChosenPart:
    """A part with its measures; ``attributes`` lists those in it with the index of the measure."""

    node: etree._Element
    measures: tuple[etree._Element, ...]
    attributes: tuple[tuple[int, etree._Element], ...]
    staves: int


@dataclass(frozen=True, slots=True)
class ChosenParts:
    """A document with the wanted parts alone.

    ``measures`` maps the id of every part's measure, wanted or not, to its index; ``firsts`` lists
    by index the id of the measure in the first part that has it; ``staff_measures`` lists by staff
    over the wanted parts the ids of its measures by index.
    """

    root: etree._Element
    parts: tuple[ChosenPart, ...]
    measures: dict[str, int]
    firsts: tuple[str, ...]
    staff_measures: tuple[tuple[str, ...], ...]

    def excerpt(self, first: int, last: int) -> tuple[etree._Element, list[CutTie]]:
        """A document of the measures of indexes first to last, and the ties that are cut.

        It shares nothing with the whole one, which stays as it is.
        """
        new = _bare(self.root)
        by_node = {part.node: part for part in self.parts}
        cut_ties: list[CutTie] = []
        for child in self.root:
            if child in by_node:
                part = _cut_part(by_node[child], first, last)
                ties = _cut_ties(part)
                restate_accidentals(part, {note for note, side in ties if side == "before"})
                cut_ties += ties
                new.append(part)
            else:
                new.append(deepcopy(child))
        return new, cut_ties


def parts_of(musicxml: bytes, wanted: tuple[str, ...] | None) -> ChosenParts:
    """Parse a document and choose parts by id; all for None.

    Raises
    ------
    ValueError
        If it is no partwise score, or has none of the parts.
    """
    root = etree.fromstring(musicxml, etree.XMLParser(resolve_entities=False, no_network=True))
    measures: dict[str, int] = {}
    firsts: list[str] = []
    if root.find("part") is None:
        raise ValueError("the document has no parts")
    for part in root.iterfind("part"):
        for index, measure in enumerate(part.iterfind("measure")):
            measures[measure.get("id", "")] = index
            if index == len(firsts):
                firsts.append(measure.get("id", ""))
    lend_symbols(root, wanted)
    chosen = choose_parts(root, wanted)
    for part in chosen:
        add_accidentals(part)
    parts = tuple(map(_chosen_part, chosen))
    staff_measures = tuple(
        ids
        for part in parts
        for ids in [tuple(measure.get("id", "") for measure in part.measures)] * part.staves
    )
    return ChosenParts(root, parts, measures, tuple(firsts), staff_measures)


@lru_cache(maxsize=_MOST_CHOICES)
def kept_parts_of(musicxml: bytes, wanted: tuple[str, ...] | None) -> ChosenParts:
    """As `parts_of`, parsed once for many excerpts; not to be changed."""
    return parts_of(musicxml, wanted)


def _chosen_part(part: etree._Element) -> ChosenPart:
    measures = tuple(part.iterfind("measure"))
    attributes = tuple(
        (at, node) for at, measure in enumerate(measures) for node in measure.iterfind("attributes")
    )
    return ChosenPart(part, measures, attributes, _staves(part))


def _staves(part: etree._Element) -> int:
    counts = (node.text or "" for node in part.iter("staves"))
    return max((int(count) for count in counts if count.strip().isdecimal()), default=1) or 1


def _bare(node: etree._Element) -> etree._Element:
    """An element without its children."""
    # The document's own elements have no namespace; only prefixes are declared.
    prefixes = {prefix: name for prefix, name in node.nsmap.items() if prefix is not None}
    new = etree.Element(node.tag, nsmap=prefixes)
    new.attrib.update(node.attrib)
    new.text, new.tail = node.text, node.tail
    return new


def choose_parts(root: etree._Element, wanted: tuple[str, ...] | None) -> list[etree._Element]:
    """The parts of those ids, all for None; the others are taken out of the document.

    Raises
    ------
    ValueError
        If the document has none of them.
    """
    parts = root.findall("part")
    if wanted is None:
        return parts
    chosen = [part for part in parts if part.get("id") in wanted]
    if not chosen:
        raise ValueError(f"it has no part {' or '.join(wanted)}")
    for part in parts:
        if part not in chosen:
            root.remove(part)
    part_list = root.find("part-list")
    if part_list is not None:
        for entry in part_list.findall("score-part"):
            if entry.get("id") not in wanted:
                part_list.remove(entry)
        _close_groups(part_list)
    return chosen


def _close_groups(part_list: etree._Element) -> None:
    """Take out groups of which fewer than two parts are left."""
    opened: dict[str, tuple[etree._Element, int]] = {}
    seen = 0
    for entry in list(part_list):
        number = entry.get("number", "1")
        if entry.tag == "score-part":
            seen += 1
        elif entry.get("type") == "start":
            opened[number] = (entry, seen)
        elif number in opened:
            start, before = opened.pop(number)
            if seen - before < 2:
                part_list.remove(start)
                part_list.remove(entry)


def _cut_part(part: ChosenPart, first: int, last: int) -> etree._Element:
    """A part with copies of the measures of indexes first to last."""
    held: dict[tuple[str, str], etree._Element] = {}
    for at, attributes in part.attributes:
        if at >= first:
            break
        _hold(attributes, held)
    new = _bare(part.node)
    new.extend(map(deepcopy, part.measures[first : last + 1]))
    if first < len(part.measures):
        _begin(new[0], held)
    _loosen(new)
    _hyphenate(new)
    return new


def _hold(attributes: etree._Element, held: dict[tuple[str, str], etree._Element]) -> None:
    for node in attributes:
        if node.tag in _LASTING:
            held[str(node.tag), node.get("number", "1")] = node
            if node.tag in {"key", "time"} and node.get("number") is None:
                # One for all staves replaces those of single staves.
                for name in [name for name in held if name[0] == node.tag and name[1] != "1"]:
                    del held[name]


def _begin(start: etree._Element, held: dict[tuple[str, str], etree._Element]) -> None:
    """Put what holds at the start of a measure before its first note."""
    for layout_change in start.findall("print"):
        start.remove(layout_change)
    for node in list(start):
        if node.tag in {"note", "forward", "backup"}:
            break
        if node.tag == "attributes":
            _hold(node, held)
            start.remove(node)
    whole = etree.Element("attributes")
    for tag in _LASTING:
        for number in sorted(number for name, number in held if name == tag):
            whole.append(deepcopy(held[tag, number]))
    start.insert(0, whole)


def _loosen(part: etree._Element) -> None:
    """Take out starts without an end and ends without a start."""
    waiting: dict[tuple[str, str], etree._Element] = {}
    for node in list(part.iter(*_LINES)):
        key = (str(node.tag), node.get("number", "1"))
        kind = node.get("type", "")
        if kind in {"stop", "discontinue"}:
            if waiting.pop(key, None) is None:
                remove_node(node)
        elif kind in {"continue", "change"}:
            if key not in waiting:
                remove_node(node)
        else:
            waiting[key] = node
    for node in waiting.values():
        remove_node(node)


def _hyphenate(part: etree._Element) -> None:
    """Give words that the ends of an excerpt cut in two their hyphens."""
    verses: dict[str, list[etree._Element]] = {}
    for lyric in part.iter("lyric"):
        if lyric.find("text") is not None:
            verses.setdefault(lyric.get("number", "1"), []).append(lyric)
    for lyrics in verses.values():
        first, last = lyrics[0].find("text"), lyrics[-1].findall("text")[-1]
        if first is not None and lyrics[0].findtext("syllabic") in {"middle", "end"}:
            first.text = f"-{first.text or ''}"
        kinds = [node.text for node in lyrics[-1].iterfind("syllabic")]
        if kinds and kinds[-1] in {"begin", "middle"}:
            last.text = f"{last.text or ''}-"


def _cut_ties(part: etree._Element) -> list[CutTie]:
    """Ties whose other note was cut off."""
    cut: list[CutTie] = []
    waiting: dict[tuple[str | None, ...], str] = {}
    for note in part.iter("note"):
        kinds = {tie.get("type") for tie in note.iterfind("tie")}
        kinds |= {tied.get("type") for tied in note.iterfind("notations/tied")}
        pitch = note.find("pitch")
        if not kinds or pitch is None:
            continue
        key = tuple(pitch.findtext(name) for name in ("step", "alter", "octave"))
        if "stop" in kinds and waiting.pop(key, None) is None:
            cut.append((note.get("id", ""), "before"))
        if "start" in kinds:
            waiting[key] = note.get("id", "")
    cut += [(element, "after") for element in waiting.values()]
    return cut


def remove_node(node: etree._Element) -> None:
    """Take out an element, and what then holds nothing more."""
    parent = node.getparent()
    if parent is None:
        return
    parent.remove(node)
    bare = not len(parent) and parent.tag in _HOLDERS
    if bare or (parent.tag == "direction" and parent.find("direction-type") is None):
        remove_node(parent)
