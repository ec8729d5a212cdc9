"""Some parts and measures of a score, cut out of its document.

An excerpt keeps the chosen measures and puts what holds at the first of them before it: divisions,
clefs, key, meter, transposition, staves. Slurs, wedges and other lines that cross its ends are
taken out, for half a line would hang in the air; ties that cross them are named, since a note that
is held over is not struck again.
"""

from __future__ import annotations

from typing import Final, Literal

from lxml import etree

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


def cut_part(part: etree._Element, first: int, last: int) -> list[CutTie]:
    """Keep the measures of indexes first to last, and name the ties that are cut."""
    measures = part.findall("measure")
    held: dict[tuple[str, str], etree._Element] = {}
    for measure in measures[:first]:
        for attributes in measure.iterfind("attributes"):
            _hold(attributes, held)
        part.remove(measure)
    for measure in measures[last + 1 :]:
        part.remove(measure)
    if first < len(measures):
        _begin(measures[first], held)
    _loosen(part)
    return _cut_ties(part)


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
            whole.append(held[tag, number])
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
