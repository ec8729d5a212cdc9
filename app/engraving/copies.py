"""The copy of the source that verovio gets: marked, cut to what is shown, and timed.

Verovio keeps the ids of notes, rests and measures, and gives chord symbols and directions new ones.
Two attributes that it passes on unread carry a mark instead: the ``type`` of a harmony, which
becomes a class of the drawing, and the ``xml:lang`` of words and rehearsal marks. A chord symbol is
replaced by a stand-in as wide as the symbol that is painted later, so that verovio keeps its room.
Parts without accidentals get those that they need (`app.engraving.accidentals`).

Times are read from the document: each note's offset into its measure in quarter notes, by its
durations, ``backup`` and ``forward``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, cast
from xml.etree.ElementTree import Element

from lxml import etree

from analysis.pitch import Key, PitchName
from analysis.reading.harmonies import read_harmony
from analysis.vocabulary.chord_names import symbol_text
from analysis.vocabulary.note_names import Naming
from app.engraving.drawings import Sources
from app.engraving.excerpts import CutTie, kept_parts_of, parts_of, remove_node
from app.engraving.layouts import Layout
from app.engraving.mending import mend
from app.engraving.reserved_widths import stand_in
from app.engraving.svg_shapes import set_symbol

_LANG: Final = "{http://www.w3.org/XML/1998/namespace}lang"
#: Em of verovio's chord symbols in page units, and the least gap between two of ours in ems.
_HARM_SIZE: Final = 40.5
_HARM_GAP: Final = 0.3
#: The key that numerals without one of their own are read in; only their printed text is used.
_ANY_KEY: Final = Key(PitchName(0))


@dataclass(frozen=True, slots=True)
class Copy:
    """What verovio gets, and what the compiler and the timing need beside it.

    ``measures`` maps the id of every part's measure to its index in the whole source;
    ``firsts`` lists by index the id of the measure in the first part that has it;
    ``staff_measures`` lists by staff (over the shown parts) the ids of its measures by index.
    ``offsets`` are quarter notes from the measure's start, ``lengths`` each shown measure's length
    by index.
    ``cut_ties`` cross the ends of an excerpt.
    """

    musicxml: str
    sources: Sources
    measures: dict[str, int]
    firsts: tuple[str, ...]
    staff_measures: tuple[tuple[str, ...], ...]
    offsets: dict[str, float]
    lengths: dict[int, float]
    cut_ties: tuple[CutTie, ...]


def copy_for(musicxml: bytes, layout: Layout) -> Copy:
    """Make the copy.

    Parameters
    ----------
    musicxml
        A scratch copy as `analysis.reading.sources.Source` holds it: partwise, every element with
        an id.

    Raises
    ------
    ValueError
        If it is no partwise score, or the layout names parts or measures that it has not.
    """
    whole = layout.first is None and layout.last is None
    # An excerpt leaves the document as it is; a whole one is changed, and wanted once.
    chosen = (parts_of if whole else kept_parts_of)(musicxml, layout.parts)
    last = len(chosen.firsts) - 1 if layout.last is None else layout.last
    first = layout.first or 0
    if not 0 <= first <= last < len(chosen.firsts):
        raise ValueError(f"it has no measures {first + 1} to {last + 1}")
    root, cut_ties = (chosen.root, []) if whole else chosen.excerpt(first, last)
    _clean(root, layout)
    sources = _marked(root, layout)
    offsets: dict[str, float] = {}
    lengths: dict[int, float] = {}
    for part in root.iterfind("part"):
        _time(part, chosen.measures, offsets, lengths)
    return Copy(
        musicxml=etree.tostring(root, encoding="unicode"),
        sources=sources,
        measures=chosen.measures,
        firsts=chosen.firsts,
        staff_measures=chosen.staff_measures,
        offsets=offsets,
        lengths=lengths,
        cut_ties=tuple(cut_ties),
    )


def _clean(root: etree._Element, layout: Layout) -> None:
    """Leave out what is not to be printed, and mend what verovio trips over."""
    mend(root)
    unwanted = [] if layout.lyrics else ["lyric"]
    if not layout.chord_symbols:
        unwanted.append("harmony")
    if not layout.directions:
        unwanted.append("direction")
    if unwanted:
        for node in list(root.iter(*unwanted)):
            remove_node(node)
    if not layout.part_names:
        for node in list(root.iter("part-name", "part-abbreviation")):
            node.text = None
        for node in list(root.iter("part-name-display", "part-abbreviation-display")):
            remove_node(node)


def _marked(root: etree._Element, layout: Layout) -> Sources:
    """Mark chord symbols and directions, and say which ids verovio keeps."""
    harmonies: dict[str, str] = {}
    symbols: dict[str, str] = {}
    words: dict[str, str] = {}
    others = dict(layout.symbols)
    for at, node in enumerate(root.iter("harmony")):
        element, mark = node.get("id", ""), f"h-{at}"
        harmonies[mark] = element
        hidden = node.get("print-object") == "no"
        symbols[element] = "" if hidden else others.get(element) or harmony_text(node)
        _replace(node, mark, symbols[element], layout.naming)
    for at, node in enumerate(root.iter("direction")):
        element = node.get("id", "")
        if element:
            words[f"d-{at}"] = element
            for text in node.iter("words", "rehearsal"):
                text.set(_LANG, f"d-{at}")
            for rehearsal in node.iter("rehearsal"):
                # Verovio sets it in the middle over the barline, where it would stand over the
                # chord before, and at the left edge jut out of the page.
                rehearsal.set("halign", "left")
    kept = frozenset(node.get("id", "") for node in root.iter("note", "measure"))
    left_out = frozenset[str]() if layout.measure_numbers else frozenset({"mNum"})
    return Sources(kept, harmonies, words, symbols, left_out, layout.naming)


def harmony_text(node: etree._Element) -> str:
    """The printed form of a ``harmony`` element, as written in its part."""
    harmony = read_harmony(cast("Element", node), 0, _ANY_KEY)
    if node.find("root") is None and harmony.kind != "none":
        # A numeral or function has no letter name; what the source prints for it is all there is.
        return harmony.text
    return symbol_text(*harmony)


def _replace(node: etree._Element, mark: str, symbol: str, naming: Naming) -> None:
    """Put a stand-in of the symbol's width in the place of the harmony's content."""
    width = set_symbol(symbol, naming=naming).width if symbol else 0.0
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
                grace, chord, duration = _note_time(node)
                if not chord:
                    began = now
                    now += duration / divisions
                if not grace:
                    offsets[node.get("id", "")] = began
            elif tag == "backup":
                now = max(0.0, now - _number(node.findtext("duration")) / divisions)
            elif tag == "forward":
                now += _number(node.findtext("duration")) / divisions
            elif tag == "attributes":
                divisions = _number(node.findtext("divisions")) or divisions
            longest = max(longest, now)
        index = measures[measure.get("id", "")]
        lengths[index] = max(lengths.get(index, 0.0), longest)


def _note_time(note: etree._Element) -> tuple[bool, bool, float]:
    """Whether it is a grace note, whether it sounds with the last one, and its duration."""
    grace = chord = False
    # The standard's order of children puts these three first.
    for child in note:
        tag = child.tag
        if tag == "duration":
            return grace, chord, _number(child.text)
        grace = grace or tag == "grace"
        chord = chord or tag == "chord"
    return grace, chord, 0.0


def _number(text: str | None) -> float:
    try:
        return float(text or 0)
    except ValueError:
        return 0.0
