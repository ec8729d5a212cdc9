"""MusicXML documents: parsed safely, their elements named, a scratch copy in one shape.

The task: every note, chord symbol, measure and rehearsal mark needs one name that the score, the
marks, the engraved page and the annotated export share, though most files give them none.

Conventions: an element's own ``id`` is its name where it is a valid XML name and the only one of
its kind in the document. All others are named by place: ``p2m5n3`` is the third note of the fifth
measure of the second part, all counted from one; ``h`` stands for a harmony, ``d`` for a direction
that holds a rehearsal mark, and ``p2m5`` is the measure itself. A name depends on the document
alone, so that it comes out the same each time and can be found again in the untouched file.

Safety: a transcription needs no entities and no document type beyond its bare line. Declarations
that could multiply text (entities, attribute defaults) are refused unread, nothing outside the file
is fetched, and lxml's own limits on depth and length of text stay on.

References
----------
MusicXML 4.0, *score-partwise*, *score-timewise*, *optional-unique-id* (W3C Music Notation Community
Group). Names: *Namespaces in XML 1.0*, NCName (W3C).
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from typing import Any, Final, cast

from lxml import etree

from analysis.errors import ReadingError

#: Elements that are named by place within their measure, and the letter of each.
_LETTERS: Final = {"note": "n", "harmony": "h", "direction": "d"}
_NCNAME: Final = re.compile(r"[^\W\d][\w.\-]*")
#: Declarations that could make a small file large; UTF-16 writes them with a zero beside each byte.
_DECLARATIONS: Final = re.compile(rb"<\0?!\0?(?:E\0?N\0?T\0?I\0?T\0?Y|A\0?T\0?T\0?L\0?I\0?S\0?T)")
#: More tags than any score has: a bound on memory, since each costs a hundred bytes and more.
_MOST_TAGS: Final = 8_000_000
#: Encodings tried where the one that the file declares does not fit its bytes.
_OTHER_ENCODINGS: Final = ("utf-8", "windows-1252")
_ROOTS: Final = ("score-partwise", "score-timewise")


def parse_document(data: bytes, name: str = "The file") -> etree._ElementTree:
    """Parse a MusicXML document without resolving or fetching anything.

    Parameters
    ----------
    data
        The document in any encoding that it declares.
    name
        What to call it in the error's sentence.

    Returns
    -------
    lxml.etree._ElementTree
        The whole document, comments and white space kept, its root a partwise or timewise score.

    Raises
    ------
    ReadingError
        The bytes are no XML, are cut off, hold declarations that are refused, or are not MusicXML.
    """
    if _DECLARATIONS.search(data):
        raise ReadingError(
            f"{name} declares XML entities, which no score needs and which are refused for safety; "
            "export it again from your notation editor."
        )
    if data.count(b"<") > _MOST_TAGS:
        raise ReadingError(f"{name} is too large to open; export fewer measures or parts.")
    tree = _parse(data.lstrip(b" \t\r\n"), name)
    _refuse_entities(tree, name)
    root = tree.getroot()
    if root.tag not in _ROOTS:
        raise ReadingError(f"{name} {_other_root(root)}")
    return tree


def _parse(data: bytes, name: str) -> etree._ElementTree:
    """Parse with the declared encoding, or another where the declared one does not fit."""
    first: etree.XMLSyntaxError | None = None
    for encoding in (None, *_OTHER_ENCODINGS):
        parser = etree.XMLParser(
            encoding=encoding, resolve_entities=False, load_dtd=False, no_network=True
        )
        try:
            return etree.ElementTree(etree.fromstring(data, parser))
        except etree.XMLSyntaxError as error:
            first = first or error
        except (ValueError, LookupError) as error:
            raise ReadingError(f"{name} cannot be read as XML.", details=str(error)) from error
    raise ReadingError(f"{name} {_fault(data, first)}", details=str(first)) from first


def _fault(data: bytes, error: etree.XMLSyntaxError | None) -> str:
    """Say what is wrong with bytes that are no XML document."""
    line = 1 if error is None else error.position[0]
    message = str(error).lower()
    if "depth" in message or "huge" in message or "xcessive" in message:
        return "is nested too deeply or holds too long a text to be a score."
    # Without the zeros of UTF-16, the tags read alike in every encoding.
    text = data.replace(b"\0", b"")
    if not any(f"<{root}".encode() in text for root in _ROOTS):
        return "is not MusicXML; export MusicXML from your notation editor."
    if not any(f"</{root}>".encode() in text[-400:] for root in _ROOTS):
        return f"breaks off in line {line}; export or download it again."
    return f"is damaged in line {line} and no valid XML; export it again."


def _refuse_entities(tree: etree._ElementTree, name: str) -> None:
    """Look for entities once more, whatever encoding hid them from the first look."""
    document_type: Any = tree.docinfo.internalDTD
    if document_type is not None and next(iter(document_type.iterentities()), None) is not None:
        raise ReadingError(f"{name} declares XML entities, which are refused for safety.")


def _other_root(root: etree._Element) -> str:
    """Say what an XML document that is no score seems to be."""
    tag = etree.QName(root).localname
    if tag == "opus":
        return "only lists other scores; open one of those."
    if tag == "container":
        return "is the table of contents of an .mxl file; open the .mxl file itself."
    return (
        f"is XML but not MusicXML (it begins with <{tag[:40]}>); "
        "export MusicXML from your notation editor."
    )


def measures_by_part(root: etree._Element) -> list[list[etree._Element | None]]:
    """The elements that hold the music: for each part, one a measure, in order.

    Partwise these are the ``measure`` elements; timewise the ``part`` elements inside the measures,
    None where a measure leaves a part out.
    """
    if root.tag == "score-partwise":
        return [list(part.iterchildren("measure")) for part in root.iterchildren("part")]
    measures = [
        {part.get("id", ""): part for part in measure.iterchildren("part")}
        for measure in root.iterchildren("measure")
    ]
    order = dict.fromkeys(part for measure in measures for part in measure)
    return [[measure.get(part) for measure in measures] for part in order]


def element_ids(tree: etree._ElementTree | etree._Element) -> dict[str, etree._Element]:
    """Name every measure, note, harmony and rehearsal direction of a document.

    Parameters
    ----------
    tree
        A partwise or timewise document, as `parse_document` returns it. It is not changed.

    Returns
    -------
    dict
        From name to element, part by part in order. The names are those that the scratch copy
        carries and that a Score has; the elements are the document's own.

    Notes
    -----
    In a timewise document the ``part`` within a measure stands for the measure of that part.

    Examples
    --------
    >>> from lxml import etree
    >>> part = '<part id="P1"><measure number="1"><note/><note id="a"/><harmony/></measure></part>'
    >>> list(element_ids(etree.fromstring(f"<score-partwise>{part}</score-partwise>")))
    ['p1m1', 'p1m1n1', 'a', 'p1m1h1']
    """
    root = tree if isinstance(tree, etree._Element) else tree.getroot()
    taken = Counter(str(own) for own in cast("list[object]", root.xpath("//@id")))
    partwise = root.tag == "score-partwise"
    names: dict[str, etree._Element] = {}
    for part, measures in enumerate(measures_by_part(root), 1):
        for number, measure in enumerate(measures, 1):
            if measure is None:
                continue
            place = f"p{part}m{number}"
            names[_name(measure if partwise else None, place, taken)] = measure
            for made, element in _named_by_place(measure, place):
                names[_name(element, made, taken)] = element
    return names


def _named_by_place(measure: etree._Element, place: str) -> Iterator[tuple[str, etree._Element]]:
    """Each element of a measure that gets a name, with the name that its place gives it."""
    counts = dict.fromkeys(_LETTERS.values(), 0)
    for element in measure.iterchildren(*_LETTERS):
        letter = _LETTERS[str(element.tag)]
        if letter == "d" and element.find("direction-type/rehearsal") is None:
            continue
        counts[letter] += 1
        yield f"{place}{letter}{counts[letter]}", element


def _name(element: etree._Element | None, made: str, taken: Counter[str]) -> str:
    """The element's own id where it will do, else the made one, kept apart from all in use."""
    own = None if element is None else element.get("id")
    if own is not None and taken[own] == 1 and _NCNAME.fullmatch(own):
        return own
    while taken[made]:
        made += "_"
    return made


def scratch_copy(tree: etree._ElementTree) -> bytes:
    """A partwise copy in UTF-8 in which every element that matters carries its name as ``id``.

    Colours, comments, processing instructions and the document type are left out, parts are in
    step with the part list. The tree is used up: parse again for another purpose.

    Returns
    -------
    bytes
        The document, for music21 and verovio alone.
    """
    names = element_ids(tree)
    root = tree.getroot()
    if root.tag == "score-timewise":
        root = _partwise(root, {element: name for name, element in names.items()})
    for name, named in names.items():
        if named.tag != "part":
            named.set("id", name)
    _pair_parts(root)
    etree.strip_attributes(root, "color")
    etree.strip_elements(
        root, etree.Comment, etree.ProcessingInstruction, etree.Entity, with_tail=False
    )
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True)


def _partwise(timewise: etree._Element, names: dict[etree._Element, str]) -> etree._Element:
    """The same score with its measures inside its parts; measures left out become empty ones."""
    measures = list(timewise.iterchildren("measure"))
    header = [child for child in timewise if child.tag != "measure"]
    used = set(names.values())
    root = etree.Element("score-partwise", _attributes(timewise))
    for number, part in enumerate(measures_by_part(timewise), 1):
        part_id = next(held.get("id", "") for held in part if held is not None)
        copy = etree.SubElement(root, "part", {"id": part_id})
        for index, (measure, held) in enumerate(zip(measures, part, strict=True), 1):
            name = f"p{number}m{index}" if held is None else names[held]
            while held is None and name in used:
                name += "_"
            inside = etree.SubElement(copy, "measure", {**_attributes(measure), "id": name})
            if held is not None:
                inside.extend(list(held))
    root[:0] = header
    return root


def _attributes(element: etree._Element) -> dict[str, str]:
    return {str(key): str(value) for key, value in element.items()}


def _pair_parts(root: etree._Element) -> None:
    """Give every part an id of its own that the part list knows; libraries skip the others."""
    part_list = root.find("part-list")
    if part_list is None:
        part_list = etree.Element("part-list")
        first = root.find("part")
        if first is not None:
            first.addprevious(part_list)
    listed = [entry.get("id", "") for entry in part_list.iterchildren("score-part")]
    parts = list(root.iterchildren("part"))
    wanted = {part.get("id") for part in parts}
    unclaimed = [entry for entry in listed if entry and entry not in wanted]
    used: set[str] = set()
    for number, part in enumerate(parts, 1):
        own = part.get("id", "")
        if own and own in listed and own not in used:
            used.add(own)
            continue
        if unclaimed:
            own = unclaimed.pop(0)
        else:
            if not _NCNAME.fullmatch(own) or own in used:
                own = f"part-{number}"
            while own in used or own in listed:
                own += "_"
            entry = etree.SubElement(part_list, "score-part", {"id": own})
            etree.SubElement(entry, "part-name")
        part.set("id", own)
        used.add(own)
