"""XML that is still XML and no longer what MusicXML means: elements moved, doubled, renamed, lost.

Each function takes the root of a partwise document and a source of chance and changes the tree; the
tests run every one of them.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from random import Random

from lxml import etree

from tests.faults import nasty_values

Breaking = Callable[[etree._Element, Random], None]
_TAGS = (
    *("note", "measure", "part", "chord", "grace", "rest", "backup", "forward", "attributes"),
    *("harmony", "direction", "score-partwise", "barline", "unheard-of", "duration", "lyric"),
)


def any_element(root: etree._Element, random: Random) -> etree._Element:
    """One of the elements below the root."""
    below = [one for one in root.iter(etree.Element) if one is not root]
    return random.choice(below) if below else root


def parent_of(element: etree._Element) -> etree._Element:
    """What holds an element; itself where nothing does."""
    parent = element.getparent()
    return element if parent is None else parent


def remove(element: etree._Element) -> None:
    """Take an element out of its tree."""
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)


def some(
    root: etree._Element, random: Random, *tags: str, share: float = 0.3
) -> list[etree._Element]:
    """Some of the elements of these kinds, at least one where there is any."""
    found = [*root.iter(*tags)]
    chosen = [one for one in found if random.random() < share]
    return chosen or found[:1]


def put(parent: etree._Element, tag: str, text: str | None = None) -> etree._Element:
    """A child of that name, made where it is missing, with that text."""
    child = parent.find(tag)
    if child is None:
        child = etree.SubElement(parent, tag)
    child.text = text
    return child


def made(markup: str) -> etree._Element:
    """The element that is written so."""
    return etree.fromstring(markup)


def into_measures(root: etree._Element, random: Random, *markups: str) -> None:
    """Put one of these elements at any place into some measures."""
    for measure in some(root, random, "measure"):
        measure.insert(random.randint(0, len(measure)), made(random.choice(markups)))


def lose_an_element(root: etree._Element, random: Random) -> None:
    remove(any_element(root, random))


def lose_all_of_a_kind(root: etree._Element, random: Random) -> None:
    tag = any_element(root, random).tag
    for element in list(root.iter(tag)):
        if element is not root:
            remove(element)


def double_an_element(root: etree._Element, random: Random) -> None:
    element = any_element(root, random)
    for _ in range(random.choice((1, 1, 3, 60))):
        element.addnext(copy.deepcopy(element))


def move_an_element(root: etree._Element, random: Random) -> None:
    element = copy.deepcopy(any_element(root, random))
    target = any_element(root, random)
    target.insert(random.randint(0, len(target)), element)


def rename_an_element(root: etree._Element, random: Random) -> None:
    any_element(root, random).tag = random.choice(_TAGS)


def put_children_in_disorder(root: etree._Element, random: Random) -> None:
    parent = parent_of(any_element(root, random))
    children = list(parent)
    random.shuffle(children)
    parent[:] = children


def wrap_an_element(root: etree._Element, random: Random) -> None:
    element = any_element(root, random)
    parent = parent_of(element)
    if parent is not element:
        wrapper = etree.Element(random.choice(_TAGS))
        parent.replace(element, wrapper)
        wrapper.append(element)


def nest_deeply(root: etree._Element, random: Random) -> None:
    inner = any_element(root, random)
    for _ in range(random.choice((20, 200, 240, 255))):
        inner = etree.SubElement(inner, random.choice(_TAGS))


def set_any_text(root: etree._Element, random: Random) -> None:
    for _ in range(random.choice((1, 3, 20))):
        element = any_element(root, random)
        _set_text(element, nasty_values.text(random))


def set_any_number(root: etree._Element, random: Random) -> None:
    numbers = [one for one in root.iter(etree.Element) if (one.text or "").strip().isdigit()]
    for _ in range(random.choice((1, 3, 20))):
        if numbers:
            _set_text(random.choice(numbers), nasty_values.number(random))


def set_any_attribute(root: etree._Element, random: Random) -> None:
    for _ in range(random.choice((1, 5))):
        element = any_element(root, random)
        name = random.choice([*element.keys(), "id", "number", "type", "default-x", "xml:lang"])
        value = random.choice((nasty_values.text, nasty_values.number))(random)
        try:
            element.set(str(name), value)
        except ValueError:
            element.set("id", "\u00e4")


def lose_attributes(root: etree._Element, random: Random) -> None:
    for element in root.iter(etree.Element):
        if random.random() < 0.3:
            element.attrib.clear()


def give_ids_twice(root: etree._Element, random: Random) -> None:
    elements = [*root.iter("note", "harmony", "measure", "direction")]
    for element in elements:
        if random.random() < 0.6:
            element.set(
                "id", random.choice(("a", "b", "p1m1", "p1m1n1", "P1", "1", "\u00e9", "a b"))
            )


def give_ids_like_ours(root: etree._Element, random: Random) -> None:
    for at, element in enumerate(root.iter("note", "harmony", "direction")):
        element.set("id", random.choice(("overstave.", "p1m1n", "p1m1h", "d")) + str(at))


def set_in_comments(root: etree._Element, random: Random) -> None:
    for _ in range(6):
        element = any_element(root, random)
        element.insert(0, random.choice((etree.Comment("x"), etree.PI("php", "echo 1"))))
        element.tail = (element.tail or "") + "loose text"


def use_a_namespace(root: etree._Element, random: Random) -> None:
    for element in list(root.iter(etree.Element)):
        if random.random() < 0.1 and element is not root:
            element.tag = f"{{urn:other}}{etree.QName(element).localname}"


def leave_only_one_kind(root: etree._Element, random: Random) -> None:
    tag = random.choice(("pitch", "duration", "type", "chord", "voice"))
    for note in root.iter("note"):
        for child in list(note):
            if child.tag != tag:
                note.remove(child)


def make_timewise(root: etree._Element, random: Random) -> None:
    """Measures outside and parts inside, some of them left out."""
    parts = list(root.iterchildren("part"))
    rows = max((len(part) for part in parts), default=0)
    for index in range(rows):
        measure = etree.SubElement(root, "measure", {"number": str(index + 1)})
        for part in parts:
            measures = part.findall("measure")
            if index < len(measures) and random.random() < 0.9:
                inside = etree.SubElement(measure, "part", {"id": part.get("id", "")})
                inside.extend([copy.deepcopy(one) for one in measures[index]])
    for part in parts:
        root.remove(part)
    root.tag = "score-timewise"


def _set_text(element: etree._Element, text: str) -> None:
    try:
        element.text = text
    except ValueError:  # what no XML may hold
        element.text = "\u00e4"


BREAKINGS: tuple[Breaking, ...] = (
    lose_an_element,
    lose_all_of_a_kind,
    double_an_element,
    move_an_element,
    rename_an_element,
    put_children_in_disorder,
    wrap_an_element,
    nest_deeply,
    set_any_text,
    set_any_number,
    set_any_attribute,
    lose_attributes,
    give_ids_twice,
    give_ids_like_ours,
    set_in_comments,
    use_a_namespace,
    leave_only_one_kind,
    make_timewise,
)
