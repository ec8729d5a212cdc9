"""Rehearsal marks and tempos, read from ``direction`` and ``sound`` elements.

Conventions: a tempo is in quarter notes a minute. What a direction sounds (``sound tempo``) goes
before what it prints (``metronome``). A printed range (``120–132``) counts by its first number; an
equation of two notes gives the new tempo from the old one.

References
----------
MusicXML 4.0, elements *rehearsal*, *metronome*, *sound* (W3C Music Notation Community Group).
"""

from __future__ import annotations

import re
from xml.etree.ElementTree import Element

from analysis.reading.elements import TYPE_LENGTHS
from analysis.timebase import Fraction


def rehearsal_text(direction: Element) -> str:
    """The words of a rehearsal mark; empty where there are none."""
    texts = [mark.text or "" for mark in direction.iterfind("direction-type/rehearsal")]
    return " ".join(" ".join(texts).split())


def read_tempo(direction: Element, before: float | None) -> float | None:
    """Quarter notes a minute from here on.

    Parameters
    ----------
    direction
        A ``direction`` or ``sound`` element.
    before
        The tempo so far, for equations of two notes.

    Returns
    -------
    float or None
        None where the element says nothing about tempo, or nothing that can be played.
    """
    for sound in [direction] if direction.tag == "sound" else direction.iterfind("sound"):
        tempo = _first_number(sound.get("tempo"))
        if tempo is not None:
            return tempo
    for metronome in direction.iterfind("direction-type/metronome"):
        units = _beat_units(metronome)
        number = _first_number(metronome.findtext("per-minute"))
        if units and number is not None:
            return _playable(number * float(units[0]))
        if len(units) == 2 and before is not None:
            return _playable(before * float(units[1] / units[0]))
    return None


def _beat_units(metronome: Element) -> list[Fraction]:
    """Lengths in quarter notes of the notes in a metronome mark."""
    units: list[Fraction] = []
    added = Fraction(0)
    for child in metronome:
        if child.tag == "beat-unit":
            units.append(TYPE_LENGTHS.get((child.text or "").strip(), Fraction(1)))
            added = units[-1]
        elif child.tag == "beat-unit-dot" and units:
            added /= 2
            units[-1] += added
    return units


def _first_number(text: str | None) -> float | None:
    found = re.search(r"\d{1,5}(?:[.,]\d{1,6})?", text or "")
    return _playable(float(found[0].replace(",", "."))) if found else None


def _playable(tempo: float) -> float | None:
    return tempo if 5 <= tempo <= 2000 else None
