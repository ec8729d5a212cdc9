"""Chord symbols of parts that are not shown, lent to the first part that is.

Chord symbols belong to one part of the document, often the voice. Where that part is left out of a
picture the symbols are still wanted: the harmony is everybody's. In each measure in which no shown
part has symbols of its own, those of the first hidden part that has some are moved into the first
shown part, to the same time in the measure.

Times are quarter notes from the start of the measure. A symbol is put before the note that begins
with it, since engravers place symbols there best; between two notes it keeps its time by the
``offset`` that the standard has for that.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lxml import etree


def lend_symbols(root: etree._Element, wanted: Sequence[str] | None) -> None:
    """Move the symbols of the parts that are not among the wanted ids; nothing for None."""
    if wanted is None:
        return
    parts = root.findall("part")
    shown = [part for part in parts if part.get("id") in wanted]
    hidden = [part for part in parts if part.get("id") not in wanted]
    if not shown or not hidden:
        return
    own = [part.findall("measure") for part in shown]
    lenders = [
        part.findall("measure") for part in hidden if part.find("measure/harmony") is not None
    ]
    divisions = 1.0
    before = [1.0] * len(lenders)
    for index, target in enumerate(own[0]):
        taken = any(
            index < len(measures) and measures[index].find("harmony") is not None
            for measures in own
        )
        for at, measures in enumerate(lenders):
            if index >= len(measures):
                continue
            walked = list(walk(measures[index], before[at]))
            before[at] = walked[-1][2]
            symbols = [(node, time) for node, time, _ in walked if node.tag == "harmony"]
            if symbols and not taken:
                taken = True
                for node, time in symbols:
                    _put(target, node, time, divisions)
        divisions = list(walk(target, divisions))[-1][2]


def _put(measure: etree._Element, symbol: etree._Element, time: float, divisions: float) -> None:
    """Put a symbol into a measure at a time."""
    for name in ("offset", "staff"):
        for child in symbol.findall(name):
            symbol.remove(child)
    notes = [
        (node, at, per)
        for node, at, per in walk(measure, divisions)
        if node.tag == "note" and node.find("chord") is None and node.find("grace") is None
    ]
    earlier = [place for place in notes if place[1] <= time + 1e-6]
    if not earlier:
        measure.append(symbol)
        return
    # Of notes that begin together the first is that of the first voice and staff.
    latest = max(at for _, at, _ in earlier)
    node, at, per = next(place for place in earlier if place[1] == latest)
    node.addprevious(symbol)
    late = round((time - at) * per)
    if late:
        offset = etree.Element("offset")
        offset.text = str(late)
        following = symbol.find("footnote")
        if following is None:
            symbol.append(offset)
        else:
            following.addprevious(offset)


def walk(
    measure: etree._Element, divisions: float
) -> Iterator[tuple[etree._Element, float, float]]:
    """Each child with its time and the divisions in force; the measure itself at the end."""
    now = began = 0.0
    for node in measure:
        tag = node.tag
        if tag == "attributes":
            divisions = _number(node.findtext("divisions")) or divisions
        elif tag == "backup":
            now = max(0.0, now - _number(node.findtext("duration")) / divisions)
        elif tag == "forward":
            now += _number(node.findtext("duration")) / divisions
        elif tag == "note":
            children = {child.tag: child for child in node}
            if "chord" not in children:
                began = now
                if "grace" not in children and "duration" in children:
                    now += _number(children["duration"].text) / divisions
        at = began if tag == "note" else now
        if tag == "harmony":
            at += _number(node.findtext("offset")) / divisions
        yield node, at, divisions
    yield measure, now, divisions


def _number(text: str | None) -> float:
    try:
        return float(text or 0)
    except ValueError:
        return 0.0
