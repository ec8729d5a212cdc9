"""Reading a score: music21 parses the notes, the rest is read straight from the document.

The task: a frozen Score of sounding pitches at exact places, each note and chord symbol under the
id that its element has in the source.

Conventions: written order; offsets from the first measure. A measure is as long as the longest of
its parts says, so that parts stay together where one of them is incomplete; rests for a whole
measure, and empty space after the last note of a pickup, do not lengthen it. A short measure is a
pickup where it is the first one, counts as implicit, or completes the short one before it. Key
signatures are sounding ones, by the vote of the parts; a symbol lasts until the next one of any
part. Grace notes have no duration and keep their order.

Method: `analysis.measures` walks over the scratch copy and makes a lean one, with a running number
as each note's colour, which music21 parses. What music21 makes of each note (pitch, place in its
measure, duration) is brought together with the walk by that number, since music21 drops ids. Places
are exact fractions where music21's agree to within rounding; where they do not, music21's count.
Repeats are unfolded here, as music21 copies the whole score to do it.

References
----------
M. S. Cuthbert and C. Ariza, *music21: a toolkit for computer-aided musicology*, ISMIR 2010. The
colour as a carrier of identity: measured on music21 10.5.1.
"""

from __future__ import annotations

import warnings
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any, Final
from xml.etree.ElementTree import Element, SubElement, fromstring

from music21.musicxml.xmlToM21 import MusicXMLImporter

from analysis.directions import read_tempo, rehearsal_text
from analysis.errors import ReadingError
from analysis.harmonies import key_of_signature, read_harmony
from analysis.jumps import played_order, read_signs
from analysis.measures import Transposition, WrittenMeasure, WrittenNote, WrittenPart, read_parts
from analysis.pitch import STEPS, Key, Pitch, PitchName
from analysis.score import (
    ChordSymbol,
    KeySignature,
    Measure,
    Note,
    Part,
    RehearsalMark,
    Score,
    Tempo,
)
from analysis.sources import Source
from analysis.timebase import Meter, Offset

#: How far music21's places may lie from the exact ones and still mean the same, in quarter notes.
_ROUNDING: Final = 0.02
#: Differences from the meter that come of rounding, in quarter notes.
_SLIP: Final = Fraction(1, 33)
_PERCUSSION_CHANNEL: Final = "10"


def read_score(source: Source) -> Score:
    """Read a checked source into a Score.

    Parameters
    ----------
    source
        As `analysis.sources.read_source` gives it.

    Returns
    -------
    Score
        Notes, symbols and marks in score order, each under its source id. Simultaneous symbols of
        several parts are all there, with the same span.

    Raises
    ------
    ReadingError
        The music cannot be made sense of; ``details`` holds what the parser said.
    """
    try:
        root = fromstring(source.musicxml)
        written = [part for part in read_parts(root) if part.measures]
        pitches = _parse_notes(written)
    except ReadingError:
        raise
    except Exception as error:  # music21 raises whatever its inner workings meet
        raise ReadingError(
            f"The music in “{source.name}” cannot be read; export it again.",
            details=f"{type(error).__name__}: {error}",
        ) from error
    measures = _read_measures(written)
    listed = {entry.get("id", ""): entry for entry in root.iterfind("part-list/score-part")}
    return Score(
        title=_title(root),
        composer=_composer(root),
        parts=_read_notes(written, measures, pitches, listed),
        measures=measures,
        chord_symbols=_read_chord_symbols(written, measures),
        rehearsal_marks=_read_rehearsal_marks(written, measures),
        key_signatures=_read_key_signatures(written, measures),
        tempos=_read_tempos(written, measures),
        played=_read_played(written, measures),
    )


# --- notes, by music21 -----------------------------------------------------------------------


def _parse_notes(parts: Sequence[WrittenPart]) -> dict[int, tuple[Any, Any, Any]]:
    """Let music21 parse the lean parts.

    Returns
    -------
    dict
        By running number: music21's pitch (None for unpitched), offset in its measure, duration.
    """
    root = Element("score-partwise", {"version": "4.0"})
    part_list = SubElement(root, "part-list")
    for index, part in enumerate(parts):
        part.lean.set("id", f"P{index}")
        SubElement(SubElement(part_list, "score-part", {"id": f"P{index}"}), "part-name")
        root.append(part.lean)
    importer: Any = MusicXMLImporter()  # type: ignore[no-untyped-call]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        importer.xmlRootToScore(root, importer.stream)
    found: dict[int, tuple[Any, Any, Any]] = {}
    for part in importer.stream.parts:
        for measure in part.getElementsByClass("Measure"):
            for sounding in measure.notes:
                offset = measure.elementOffset(sounding)
                for note in getattr(sounding, "notes", (sounding,)):
                    pitch = getattr(note, "pitch", None)
                    duration = note.duration.quarterLength
                    found[int(note.style.color[1:], 16)] = (pitch, offset, duration)
    return found


def _read_notes(
    parts: Sequence[WrittenPart],
    measures: Sequence[Measure],
    parsed: dict[int, tuple[Any, Any, Any]],
    listed: dict[str, Element],
) -> tuple[Part, ...]:
    """The parts with their notes in score order."""
    sounding: dict[tuple[Any, ...], Pitch] = {}
    made: list[Part] = []
    count = 0
    for part in parts:
        notes: list[Note] = []
        for measure, written in zip(measures, part.measures, strict=False):
            for note in written.notes:
                pitch, offset, duration = parsed[count]
                count += 1
                notes.append(
                    Note(
                        note.id,
                        part.id,
                        measure.index,
                        measure.onset + _exact(note.onset, offset),
                        Fraction(0) if note.grace else _exact(note.duration, duration),
                        None if pitch is None else _sounding(pitch, note, sounding),
                        note.voice,
                        note.staff,
                        note.tie_start,
                        note.tie_stop,
                        note.grace,
                        note.cue,
                        note.lyrics,
                    )
                )
        notes.sort(key=_score_order)
        made.append(_part(part, listed.get(part.id), tuple(notes)))
    return tuple(made)


def _score_order(note: Note) -> tuple[Offset, bool, int]:
    """By onset, grace notes first and in their own order, then from the lowest pitch up."""
    return note.onset, not note.grace, 0 if note.grace or note.pitch is None else note.pitch.midi


def _exact(walked: Offset, parsed: Any) -> Offset:
    """The exact place where music21 means the same one, else music21's."""
    if abs(float(walked) - float(parsed)) <= _ROUNDING:
        return walked
    return Fraction(parsed).limit_denominator(65_535)


def _sounding(pitch: Any, note: WrittenNote, known: dict[tuple[Any, ...], Pitch]) -> Pitch:
    """A music21 pitch as ours, transposed to sound; each distinct one is made once."""
    accidental = pitch.accidental
    key = (pitch.step, pitch.octave, accidental and accidental.alter, note.transposition)
    found = known.get(key)
    if found is None:
        alter = 0 if accidental is None else int(accidental.alter)
        octave = 4 if pitch.octave is None else pitch.octave
        found = known[key] = transposed(
            Pitch(PitchName.of(pitch.step, alter), octave), note.transposition
        )
    return found


def transposed(pitch: Pitch, by: Transposition) -> Pitch:
    """A written pitch as it sounds.

    Examples
    --------
    >>> str(transposed(Pitch.parse("D4"), Transposition(-2, -1)))
    'C4'
    """
    name = pitch.name + by.fifths
    # The letter says how many octaves the steps have led through.
    return Pitch(name, (pitch.diatonic + by.steps - STEPS.index(name.step)) // 7)


def _part(part: WrittenPart, listed: Element | None, notes: tuple[Note, ...]) -> Part:
    """A part with what the part list says about it."""
    entry = Element("score-part") if listed is None else listed
    name = _words(entry.findtext("part-name"))
    shown = " ".join(word.text or "" for word in entry.iterfind("part-name-display/display-text"))
    instrument = _words(entry.findtext("score-instrument/instrument-name"))
    program = entry.findtext("midi-instrument/midi-program") or ""
    channel = (entry.findtext("midi-instrument/midi-channel") or "").strip()
    return Part(
        id=part.id,
        name=name or _words(shown) or instrument or part.id,
        abbreviation=_words(entry.findtext("part-abbreviation")),
        notes=notes,
        staves=min(part.staves, 32),
        instrument=instrument or _words(entry.findtext("score-instrument/instrument-sound")),
        midi_program=int(program) - 1 if program.isdecimal() and 1 <= int(program) <= 128 else None,
        percussion=channel == _PERCUSSION_CHANNEL
        or part.percussion_clef
        or (bool(notes) and all(note.pitch is None for note in notes)),
    )


# --- measures --------------------------------------------------------------------------------


def _read_measures(parts: Sequence[WrittenPart]) -> tuple[Measure, ...]:
    """All measures with their places; parts that end early are done without."""
    made: list[Measure] = []
    meter = Meter(4, 4)
    onset = Fraction(0)
    for index in range(max((len(part.measures) for part in parts), default=0)):
        column = [part.measures[index] for part in parts if index < len(part.measures)]
        meter = next((measure.meter for measure in column if measure.meter is not None), meter)
        may_be_short = index == 0 or column[0].implicit
        length = _length(column, meter, may_be_short)
        before = made[-1] if made else None
        completes = (
            before is not None
            and not before.pickup
            and (before.length < before.meter.length and before.length + length == meter.length)
        )
        made.append(
            Measure(
                index=index,
                number=column[0].number,
                onset=onset,
                length=length,
                meter=meter,
                id=column[0].id,
                ids=tuple(measure.id for measure in column),
                pickup=length < meter.length and (may_be_short or completes),
            )
        )
        onset += length
    return tuple(made)


def _length(column: Sequence[WrittenMeasure], meter: Meter, may_be_short: bool) -> Offset:
    """How long a measure really is, from what its parts hold."""
    filled = max(measure.notes_end for measure in column)
    space = max(measure.forward_end for measure in column)
    rests = max(measure.rests_end for measure in column)
    if not filled:
        return rests or space or meter.length
    if not may_be_short:
        filled = max(filled, min(max(space, rests), meter.length))
    return meter.length if abs(filled - meter.length) < _SLIP else filled


def _read_played(parts: Sequence[WrittenPart], measures: Sequence[Measure]) -> tuple[int, ...]:
    """Played order from the signs of all parts together."""
    columns = (
        [part.measures[index] for part in parts if index < len(part.measures)]
        for index in range(len(measures))
    )
    return played_order(
        [
            read_signs(
                [barline for measure in column for barline in measure.barlines],
                [placed.element for measure in column for placed in measure.directions],
            )
            for column in columns
        ]
    )


# --- what stands above and beside the notes --------------------------------------------------


def _read_key_signatures(
    parts: Sequence[WrittenPart], measures: Sequence[Measure]
) -> tuple[KeySignature, ...]:
    """Sounding key signatures where they change; what most parts say at a place counts."""
    votes: dict[Offset, Counter[tuple[int, str]]] = {}
    pitched = [part for part in parts if not part.percussion_clef] or parts
    for part in pitched:
        for measure, written in zip(measures, part.measures, strict=False):
            for key in written.keys:
                at = measure.onset + key.onset
                votes.setdefault(at, Counter())[(key.fifths, key.mode)] += 1
    changes: list[KeySignature] = []
    for at in sorted(votes):
        fifths, mode = votes[at].most_common(1)[0][0]
        if not changes or (changes[-1].fifths, changes[-1].mode) != (fifths, mode):
            changes.append(KeySignature(at, fifths, mode))
    return tuple(changes)


def _read_chord_symbols(
    parts: Sequence[WrittenPart], measures: Sequence[Measure]
) -> tuple[ChordSymbol, ...]:
    """All chord symbols by onset, then by part, each up to the next later one."""
    end = measures[-1].span.end
    signatures = _read_key_signatures(parts, measures)
    symbols: list[ChordSymbol] = []
    for part in parts:
        for measure, written in zip(measures, part.measures, strict=False):
            for at, element, transposition in written.harmonies:
                onset = min(measure.onset + at, end)
                harmony = read_harmony(element, transposition.fifths, _key_at(signatures, onset))
                symbols.append(
                    ChordSymbol(
                        element.get("id", ""), part.id, measure.index, onset, Fraction(0), *harmony
                    )
                )
    symbols.sort(key=lambda symbol: symbol.onset)
    later = end
    for place in range(len(symbols) - 1, -1, -1):
        symbol = symbols[place]
        following = symbols[place + 1].onset if place + 1 < len(symbols) else end
        later = following if following > symbol.onset else later
        symbols[place] = replace(symbol, duration=later - symbol.onset)
    return tuple(symbols)


def _key_at(signatures: Iterable[KeySignature], onset: Offset) -> Key:
    """The key that the signature in force names; C major before any."""
    key = Key(PitchName(0))
    for signature in signatures:
        if signature.onset > onset:
            break
        key = key_of_signature(signature.fifths, signature.mode)
    return key


def _read_rehearsal_marks(
    parts: Sequence[WrittenPart], measures: Sequence[Measure]
) -> tuple[RehearsalMark, ...]:
    """Rehearsal marks by onset; the same one written in several parts counts once."""
    marks: dict[tuple[Offset, str], RehearsalMark] = {}
    for part in parts:
        for measure, written in zip(measures, part.measures, strict=False):
            for at, element, _ in written.directions:
                text = rehearsal_text(element)
                if text:
                    onset = measure.onset + min(at, measure.length)
                    mark = RehearsalMark(element.get("id", ""), measure.index, onset, text)
                    marks.setdefault((onset, text), mark)
    return tuple(sorted(marks.values(), key=lambda mark: mark.onset))


def _read_tempos(parts: Sequence[WrittenPart], measures: Sequence[Measure]) -> tuple[Tempo, ...]:
    """Tempos where they change; at one place the first part that has one counts."""
    placed = [
        (measure.onset + at, element)
        for part in parts
        for measure, written in zip(measures, part.measures, strict=False)
        for at, element, _ in written.directions
    ]
    placed.sort(key=lambda pair: pair[0])
    tempos: list[Tempo] = []
    for onset, element in placed:
        before = tempos[-1].quarters_per_minute if tempos else None
        tempo = read_tempo(element, before)
        if tempo is not None and tempo != before and (not tempos or tempos[-1].onset < onset):
            tempos.append(Tempo(onset, tempo))
    return tuple(tempos)


def _title(root: Element) -> str:
    """The work's title, else the movement's, else the title printed on the page."""
    for path in ("work/work-title", "movement-title"):
        title = _words(root.findtext(path))
        if title:
            return title
    for credit in root.iterfind("credit"):
        if (credit.findtext("credit-type") or "").strip() == "title":
            return _words(" ".join(word.text or "" for word in credit.iterfind("credit-words")))
    return ""


def _composer(root: Element) -> str:
    creators = root.findall("identification/creator")
    named = [_words(who.text) for who in creators if who.get("type") == "composer"]
    return ", ".join(name for name in named if name)


def _words(text: str | None) -> str:
    """Text on one line."""
    return " ".join((text or "").split())
