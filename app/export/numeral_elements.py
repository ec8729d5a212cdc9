"""Chords as MusicXML 4.0 numerals: ``<harmony>`` with ``<numeral>``.

An applied chord is a stack: V of II is numeral 5, then numeral 2. Alterations are counted from the
scale of ``<numeral-key>`` (natural minor for minor keys), as the standard says.

References
----------
MusicXML 4.0, W3C Music Notation Community Group: *harmony-chord*, *numeral*, *numeral-key*.
"""

from __future__ import annotations

import re
from typing import Final

from lxml import etree

from analysis.chords import KIND_DEGREES, Chord
from analysis.marks import ChordFact
from analysis.pitch import STEPS, Key, PitchName

_ROMAN: Final = re.compile(r"[♭♯b#]*(?:[IViv]+)(?:°|ø|o|\+)?")


def harmony_element(fact: ChordFact, label: str) -> etree._Element | None:
    """The numeral of a chord; None where it has none (N.C.).

    ``label`` is what a reader should print, in plain characters.
    """
    if fact.numeral is None or fact.chord is None:
        return None
    harmony = etree.Element("harmony", placement="below")
    roman = _ROMAN.match(label)
    printed = roman[0] if roman else label
    figures = label[len(printed) :].partition("/")[0]
    _numeral(harmony, fact.numeral.degree, fact.numeral.alter, printed, fact.key)
    kind = etree.SubElement(harmony, "kind", text=figures)
    kind.text = _kind(fact.chord)
    if fact.chord.inversion:
        inversion = etree.SubElement(harmony, "inversion", text="")
        inversion.text = str(fact.chord.inversion)
    target = fact.numeral.applied_root
    if target is not None:
        degree, alter = degree_in(fact.key, target)
        _numeral(harmony, degree, alter, fact.numeral.applied_to, fact.key)
        minor = fact.numeral.applied_to.lower() == fact.numeral.applied_to
        etree.SubElement(harmony, "kind", text="").text = "minor" if minor else "major"
    return harmony


def degree_in(key: Key, name: PitchName) -> tuple[int, int]:
    """Degree 1 to 7 of a name in a key and its alteration against the key's own scale."""
    degree = (STEPS.index(name.step) - STEPS.index(key.tonic.step)) % 7
    return degree + 1, (name - key.scale[degree]) // 7


def _numeral(harmony: etree._Element, degree: int, alter: int, text: str, key: Key) -> None:
    """Append one ``<numeral>``; the printed text holds the accidental already."""
    numeral = etree.SubElement(harmony, "numeral")
    root = etree.SubElement(numeral, "numeral-root", text=text)
    root.text = str(degree)
    if alter:
        sign = etree.SubElement(numeral, "numeral-alter")
        sign.set("print-object", "no")
        sign.text = str(alter)
    where = etree.SubElement(numeral, "numeral-key")
    where.set("print-object", "no")
    etree.SubElement(where, "numeral-fifths").text = str(
        key.tonic.fifths - (3 if key.is_minor_like else 0)
    )
    etree.SubElement(where, "numeral-mode").text = "minor" if key.is_minor_like else "major"


def _kind(chord: Chord) -> str:
    """The MusicXML kind-value of a chord."""
    if chord.kind in KIND_DEGREES:
        return chord.kind
    for kind, degrees in KIND_DEGREES.items():
        if set(degrees) == set(chord.degrees):
            return kind
    return "other"
