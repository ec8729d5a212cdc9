"""What is typed on the page becomes an edit: a chord symbol, a numeral, a key. No window needed.

A chord typed in place of another sets it, so that all that depends on it is derived again. A
numeral that names the chord that is there anyway is another way of saying it, and changes what the
mark says; any other numeral means another chord. What is typed is looked at as a numeral first and
as a chord symbol then, since no text is both.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Final

from analysis.chords import Chord
from analysis.errors import NotationError
from analysis.harmony.typed_chords import read_chord
from analysis.harmony.typed_numerals import read_numeral
from analysis.marks import ChordFact
from analysis.pitch import Key
from analysis.timebase import Offset, Span
from analysis.vocabulary.note_names import Naming, read_name_at, written_name
from analysis.vocabulary.numerals import OWN, Convention, label_of, name_numeral
from analysis.vocabulary.wording import chord_text
from app.interface_words import said
from app.review.correction_edits import ClearChord, SetChord
from app.review.document import Document, ReviewedMark
from app.review.edits import Edit, Reword
from app.review.writing import Writing, in_naming, key_words, rewritten

_LOOKS_LIKE_CHORD: Final = re.compile(r"\s*([A-H]|[a-h]([#b♯♭]|[0-9]))")

#: As things are kept.
WRITING: Final = Writing()


@dataclass(frozen=True, slots=True)
class ChordPlace:
    """Where a chord is typed: the span it will hold, what is heard there now, and its mark."""

    span: Span
    key: Key
    fact: ChordFact | None = None
    mark: ReviewedMark | None = None


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed: the chord (None: N.C.), and the numeral where it was typed as one."""

    chord: Chord | None
    numeral: str = ""


def place_at(document: Document, offset: Offset) -> ChordPlace:
    """The chord at an offset; where none is, the stretch from its beat to the next chord."""
    facts = document.analysis.chords
    fact = next((one for one in facts if offset in one.span), None)
    if fact is not None:
        return ChordPlace(fact.span, fact.key, fact, _mark_of(document, fact))
    start = beat_before(document, offset)
    later = [one.span.start for one in facts if one.span.start > start]
    end = min([*later, document.score.measure_at(start).span.end])
    return ChordPlace(Span(start, end), key_at(document, start))


def place_from(document: Document, offset: Offset) -> ChordPlace:
    """The stretch from the beat of an offset to the end of the chord that sounds there."""
    held = place_at(document, offset)
    start = max(beat_before(document, offset), held.span.start)
    if start == held.span.start:
        return held
    return ChordPlace(Span(start, held.span.end), held.key)


def beat_before(document: Document, offset: Offset) -> Offset:
    """The beat at or before an offset."""
    measure = document.score.measure_at(offset)
    beat = measure.meter.beat
    into = offset - measure.onset
    if measure.pickup:
        short = measure.meter.length - measure.length
        return max(measure.onset, measure.onset + (into + short) // beat * beat - short)
    return measure.onset + into // beat * beat


def key_at(document: Document, offset: Offset) -> Key:
    """The key heard at an offset; C major where none is known."""
    for span, key in document.corrections.keys:
        if offset in span:
            return key
    for region in document.analysis.key_regions:
        if offset in region.span:
            return region.key
    return Key.parse("C major")


def read_typed(
    text: str, key: Key, naming: Naming = "english", convention: Convention = OWN
) -> Typed:
    """The chord that a typed numeral or chord symbol means.

    Raises
    ------
    NotationError
        If it is neither; the sentence is about the one that it looks like.
    """
    try:
        chord = read_numeral(text, key, convention)
    except NotationError as error:
        not_numeral = error
    else:
        return Typed(chord, text.strip())
    try:
        return Typed(read_chord(text, naming))
    except NotationError as error:
        if not text.strip() or _LOOKS_LIKE_CHORD.match(text):
            raise error from None
        if not re.match(r"[#b♯♭]*[IViv]", text.strip()):
            raise NotationError(
                said(
                    "“{text}” is neither a numeral, such as V7/vi, nor a chord, such as B7.",
                    text=text.strip(),
                )
            ) from None
    raise not_numeral


def meaning(typed: Typed, key: Key, writing: Writing = WRITING) -> str:
    """What was typed in the other form: the chord of a numeral, the numeral of a chord."""
    if typed.chord is None:
        return said("No chord sounds here.")
    numeral = typed.numeral or name_numeral(typed.chord, key, convention=writing.convention).text
    chord = in_naming(writing.naming)(chord_text(typed.chord))
    return said(
        "{chord} · {numeral} in {key}",
        chord=chord,
        numeral=label_of(plain(numeral)),
        key=key_words(key, writing),
    )


def label_in(place: ChordPlace, writing: Writing) -> str:
    """What the mark of a place says, in the user's writing; empty without a mark."""
    if place.mark is None:
        return ""
    return replace(place.mark, mark=rewritten(place.mark.mark, writing)).label


def edit_for(place: ChordPlace, typed: Typed, writing: Writing = WRITING) -> Edit | None:
    """The edit that makes it so; None where it is so already."""
    held = place.fact.chord if place.fact else None
    if place.fact is not None and _sounds_alike(held, typed.chord):
        label = label_of(plain(typed.numeral))
        if typed.numeral and place.mark and label != label_in(place, writing):
            for reading in place.mark.mark.alternatives:
                if reading.label == label:
                    return Reword(place.mark.id, reading=label, function=reading.function)
            return Reword(place.mark.id, label=label)
        if held == typed.chord or typed.numeral:
            return None
    return SetChord(place.span, typed.chord)


def clear_for(document: Document, place: ChordPlace) -> Edit | None:
    """The edit that goes back to the chord of the score; None where nothing was set."""
    corrected = any(span.overlaps(place.span) for span, _ in document.corrections.chords)
    return ClearChord(place.span) if corrected else None


def plain(numeral: str) -> str:
    """A numeral in the signs that `label_of` takes, whatever it was typed with."""
    signs = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹₀₁₂₃₄₅₆₇₈₉♭♯°", "01234567890123456789b#o")
    return re.sub(r"\s+", "", numeral.translate(signs))


def _mark_of(document: Document, fact: ChordFact) -> ReviewedMark | None:
    for reviewed in document.marks():
        if reviewed.mark.kind == "chord" and reviewed.mark.span.start == fact.span.start:
            return reviewed
    return None


def _sounds_alike(one: Chord | None, other: Chord | None) -> bool:
    """Whether two chords are the same by root, tones and bass, whatever their spelling."""
    if one is None or other is None:
        return one is other
    tones = [{tone.pc for tone in chord.tones} for chord in (one, other)]
    return one.root.pc == other.root.pc and one.bass.pc == other.bass.pc and tones[0] == tones[1]


def read_key(text: str, naming: Naming = "english") -> Key:
    """The key that was typed, in English words or, with German names, in German ones.

    Raises
    ------
    NotationError
        If it is no key.
    """
    found = read_name_at(text.strip(), naming)
    if naming == "english" or found is None:
        return Key.parse(text)
    name, length = found
    word = text.strip()[length:].strip(" -").casefold()
    word = {"dur": "major", "moll": "minor"}.get(word, word)
    if not word and text.strip()[0].islower():
        word = "minor"
    return Key.parse(f"{name} {word}")


def scale_text(key: Key, writing: Writing = WRITING) -> str:
    """A key with its scale."""
    names = (written_name(name, writing.naming) for name in key.scale)
    return f"{key_words(key, writing)}: {' '.join(names)}"
