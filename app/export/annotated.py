"""The annotated score: the source MusicXML with the marks added, and the way back.

Elements are only added, none is changed. Every added element carries an id that begins with
`ADDED`, so `strip` can take all of them out again; what is left is the source, canonical XML equal.
White space is left alone for the same reason: an added element has no white space of its own.

A mark is placed where its music is: in the measure, before the note that begins at its onset, or,
where no note begins there, at the nearest earlier place with an ``<offset>``. Numerals and
functions stand below the lowest staff, labels of melody notes above their part, section names above
the first part where the source has no rehearsal mark or the user changed the name; the other labels
stand above the first part. A deceptive cadence is written out, since readers take DC for da capo.

Two forms are offered. *directions* writes plain words, which every reader shows. *numerals* writes
MusicXML 4.0 ``<harmony>`` with ``<numeral>`` for the chords that have one.

References
----------
MusicXML 4.0, W3C Music Notation Community Group: *direction*, *harmony*, *numeral*, *offset*.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from lxml import etree

from analysis.errors import ExportError
from analysis.marks import ChordFact
from analysis.reading.documents import measures_by_part, parse_document
from analysis.reading.sources import Source
from analysis.timebase import Fraction, Offset
from analysis.vocabulary.numerals import label_of
from app.export.numeral_elements import harmony_element
from app.review.document import Document, ReviewedMark

Form = Literal["directions", "numerals"]
#: How the id of every added element begins.
ADDED: Final = "overstave."
#: Labels that readers would take for a jump, and what is written instead.
_SAFE: Final = {"DC": "deceptive cadence"}
_PLAIN: Final = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹₀₁₂₃₄₅₆₇₈₉⁺", "01234567890123456789+")


@dataclass(frozen=True, slots=True)
class _Addition:
    """One element to add: in which part (index) and measure, when, on which staff."""

    part: int
    measure: int
    at: Offset
    staff: int
    element: etree._Element


def annotate(source: Source, document: Document, form: Form = "directions") -> bytes:
    """The source with the document's shown marks in it.

    Parameters
    ----------
    source
        The transcription as it was read; it is not changed.
    document
        Its review: accepted, edited and (above the default confidence) open marks are written.
    form
        ``"directions"`` for plain words, ``"numerals"`` for MusicXML 4.0 numerals, which stay as
        they are kept however the document is worded.

    Returns
    -------
    bytes
        MusicXML in UTF-8. Marks that an earlier annotation added are replaced.
    """
    tree = parse_document(source.original, source.name)
    _strip_tree(tree)
    parts = measures_by_part(tree.getroot())
    divisions = [_divisions_at_start(measures) for measures in parts]
    if len(parts) != len(document.score.parts):
        raise ExportError("The score and its source do not agree; open the transcription again.")
    for number, addition in enumerate(_in_reading_order(_additions(document, form)), start=1):
        part, index = addition.part, addition.measure
        measure = parts[part][index] if index < len(parts[part]) else None
        if measure is None:
            continue  # the part leaves this measure out, so there is no place for the mark
        addition.element.set("id", f"{ADDED}{number}")
        into = addition.at - document.score.measures[index].onset
        _insert(measure, addition, into, divisions[part][index])
    return _to_bytes(tree)


def strip(annotated: bytes) -> bytes:
    """An annotated score without what `annotate` added; other files come back as they are."""
    tree = parse_document(annotated)
    _strip_tree(tree)
    return _to_bytes(tree)


def _strip_tree(tree: etree._ElementTree) -> None:
    """Take out every added element and keep the white space around it."""
    for element in list(tree.getroot().iter("direction", "harmony")):
        parent = element.getparent()
        if parent is None or not (element.get("id") or "").startswith(ADDED):
            continue
        tail = element.tail or ""
        before = element.getprevious()
        if before is not None:
            before.tail = (before.tail or "") + tail
        elif tail:
            parent.text = (parent.text or "") + tail
        element.tail = None
        parent.remove(element)


def _to_bytes(tree: etree._ElementTree) -> bytes:
    """UTF-8 with declaration and the DOCTYPE that the source had."""
    return etree.tostring(tree, encoding="UTF-8", xml_declaration=True) + b"\n"


def _in_reading_order(additions: Iterable[_Addition]) -> list[_Addition]:
    """By part, measure and time; the order of writing where all three agree."""
    return sorted(additions, key=lambda addition: (addition.part, addition.measure, addition.at))


def _additions(document: Document, form: Form) -> Iterator[_Addition]:
    """What each shown mark adds."""
    written_sections = {mark.onset for mark in document.score.rehearsal_marks}
    for reviewed in document.shown_marks():
        match reviewed.mark.kind:
            case "chord":
                yield from _chord_additions(document, reviewed, form)
            case "section" if (
                reviewed.mark.span.start not in written_sections
                or reviewed.label != reviewed.mark.label
            ):
                yield _top(document, reviewed, _direction(reviewed.label, "above", "rehearsal"))
            case "key":
                yield _bottom(document, reviewed, _direction(f"{plain(reviewed.label)}:", "below"))
            case "melody" | "mixed third":
                yield from _note_addition(document, reviewed)
            case "query":
                pass  # a doubt about the transcription is for its maker, not for its readers
            case _ if reviewed.label and reviewed.mark.kind != "section":
                text = _SAFE.get(reviewed.label, plain(reviewed.label))
                yield _top(document, reviewed, _direction(text, "above"))


def _chord_additions(document: Document, reviewed: ReviewedMark, form: Form) -> Iterator[_Addition]:
    """Numeral and function below the lowest staff."""
    fact = reviewed.mark.fact
    # Another reading or the user's own words are no longer the numeral that was found.
    harmony = None
    if form == "numerals" and isinstance(fact, ChordFact) and reviewed.label == reviewed.mark.label:
        numeral = label_of(fact.numeral.text) if fact.numeral else ""
        harmony = harmony_element(fact, plain(numeral))
    if harmony is not None:
        yield _bottom(document, reviewed, harmony)
    elif reviewed.label:
        yield _bottom(document, reviewed, _direction(plain(reviewed.label), "below"))
    if letter := reviewed.function:
        function = _direction(letter, "below")
        function[0][0].set("font-weight", "bold")
        yield _bottom(document, reviewed, function)


def _note_addition(document: Document, reviewed: ReviewedMark) -> Iterator[_Addition]:
    """The label above each note that the mark points at."""
    wanted = set(reviewed.mark.elements)
    for index, part in enumerate(document.score.parts):
        for note in part.notes:
            if note.id in wanted:
                label = _direction(plain(reviewed.label), "above")
                yield _Addition(index, note.measure, note.onset, note.staff, label)


def _top(document: Document, reviewed: ReviewedMark, element: etree._Element) -> _Addition:
    """An addition above the first part."""
    start = reviewed.mark.span.start
    measure = document.score.measure_at(start).index
    return _Addition(0, measure, start, 1, element)


def _bottom(document: Document, reviewed: ReviewedMark, element: etree._Element) -> _Addition:
    """An addition below the lowest staff of the last part."""
    start = reviewed.mark.span.start
    measure = document.score.measure_at(start).index
    last = len(document.score.parts) - 1
    return _Addition(last, measure, start, document.score.parts[last].staves, element)


def plain(label: str) -> str:
    """A label in characters that every text font has: raised and lowered figures become digits."""
    return label.translate(_PLAIN)


def _direction(
    text: str, placement: Literal["above", "below"], tag: Literal["words", "rehearsal"] = "words"
) -> etree._Element:
    """A direction that shows a text."""
    direction = etree.Element("direction", placement=placement)
    kind = etree.SubElement(direction, "direction-type")
    shown = etree.SubElement(kind, tag)
    shown.text = text
    if tag == "words":
        # Readers are free to slant what does not say otherwise.
        shown.set("font-style", "normal")
    return direction


def _insert(
    measure: etree._Element, addition: _Addition, into: Offset, divisions: Fraction
) -> None:
    """Put one element at its time, ``into`` quarters after the measure's start."""
    before, left_over, divisions = _place(measure, into, divisions)
    element = addition.element
    offset = left_over * divisions
    if offset:
        # The schema takes decimals; a fraction of a division only arises where no note could begin.
        text = str(offset) if offset.denominator == 1 else f"{float(offset):.6f}"
        etree.SubElement(element, "offset").text = text
    if addition.staff > 1:
        etree.SubElement(element, "staff").text = str(addition.staff)
    if before is None:
        measure.append(element)
    else:
        measure.insert(measure.index(before), element)


def _place(
    measure: etree._Element, target: Offset, divisions: Fraction
) -> tuple[etree._Element | None, Offset, Fraction]:
    """The child to insert before, how far (in quarters) the target lies after it, and divisions.

    None stands for the end of the measure. The walk keeps the last place at or before the target.
    """
    cursor = Fraction(0)
    best: tuple[etree._Element | None, Offset, Fraction] | None = None
    for child in measure.iterchildren(etree.Element):
        if child.tag == "note" and child.find("chord") is None and child.find("grace") is None:
            gap = target - cursor
            if gap >= 0 and (best is None or gap < best[1]):
                best = (child, gap, divisions)
            if gap == 0:
                return best or (child, gap, divisions)
        divisions = _number(child.findtext("divisions")) or divisions
        cursor += _advance(child) / divisions
    if best is None or 0 <= target - cursor < best[1]:
        return None, target - cursor, divisions
    return best


def _advance(child: etree._Element) -> Fraction:
    """How far a child moves the cursor, in divisions."""
    duration = _number(child.findtext("duration"))
    if child.tag == "backup":
        return -duration
    moves = child.tag == "forward" or (
        child.tag == "note" and child.find("chord") is None and child.find("grace") is None
    )
    return duration if moves else Fraction(0)


def _divisions_at_start(measures: Sequence[etree._Element | None]) -> list[Fraction]:
    """Divisions of a quarter note in force as each measure begins."""
    found = []
    current = Fraction(1)
    for measure in measures:
        found.append(current)
        for attributes in [] if measure is None else measure.findall("attributes"):
            current = _number(attributes.findtext("divisions")) or current
    return found


def _number(text: str | None) -> Fraction:
    """A MusicXML number; 0 where it is missing or broken."""
    try:
        return Fraction((text or "0").strip())
    except (ValueError, ZeroDivisionError):
        return Fraction(0)
