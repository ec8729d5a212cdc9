"""Reading a score: music21 parses the notes, the rest is read straight from the document.

The task: a frozen Score of sounding pitches at exact places, each note and chord symbol under the
id that its element has in the source.

Conventions: written order; offsets from the first measure. A chord symbol lasts until the next one
of any part. Grace notes have no duration and keep their order. Notes that are not printed, such as
the realisation of a trill, are left out. Slashes and crosses for note heads count as unpitched.
Quarter tones are rounded towards the written letter.

Method: `analysis.reading.walks` goes over the scratch copy and makes a lean one for music21. What
music21 makes of each note (pitch, place in its measure, duration) is brought together with the walk
by a running number in the note's colour, since music21 drops ids. Places are exact fractions where
music21's agree to within rounding; where they do not, music21's count. Chord symbols, lyrics,
directions and repeats are read from the document itself: music21 changes, drops or chokes on some
of them (a harmony with a numeral alone sends it into endless recursion), and unfolds repeats by
copying the whole score. While music21 works the collector of unreachable objects is held, since
music21 makes many objects and all of them live on; this halves the time.

References
----------
M. S. Cuthbert and C. Ariza, *music21: a toolkit for computer-aided musicology*, ISMIR 2010 (from
memory). The colour as a carrier of identity: measured on music21 10.5.1.
"""

from __future__ import annotations

import warnings
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final, NamedTuple
from xml.etree.ElementTree import Element, fromstring

from music21.musicxml.xmlToM21 import MusicXMLImporter

from analysis.errors import ReadingError
from analysis.pauses import collector_held
from analysis.pitch import STEPS, Key, Pitch, PitchName
from analysis.reading.directions import read_tempo, rehearsal_text
from analysis.reading.elements import Transposition, whole
from analysis.reading.harmonies import key_of_signature, read_harmony
from analysis.reading.lean_copies import LeanCopy, number_of
from analysis.reading.measures import (
    Occurrence,
    placed_directions,
    placed_harmonies,
    read_key_signatures,
    read_measures,
    read_played,
)
from analysis.reading.sources import Source
from analysis.reading.walks import WrittenNote, WrittenPart, read_parts
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
from analysis.timebase import Fraction, Offset

_PERCUSSION_CHANNEL: Final = "10"


class _Parsed(NamedTuple):
    """What music21 makes of one note: its pitch (None if unpitched), place and duration."""

    pitch: Any
    offset: Any
    duration: Any


def read_score(source: Source) -> Score:
    """Read a checked source into a Score.

    Parameters
    ----------
    source
        As `analysis.reading.sources.read_source` gives it.

    Returns
    -------
    Score
        Notes, symbols and marks in score order, each under its source id. Chord symbols that
        several parts have at one place are all there, with the same span.

    Raises
    ------
    ReadingError
        The music cannot be made sense of; ``details`` holds what the parser said.
    """
    try:
        with collector_held():
            return _read(source)
    except ReadingError:
        raise
    except Exception as error:  # music21 raises whatever its inner workings meet
        raise ReadingError(
            f"The music in “{source.name}” cannot be read; export it again.",
            details=f"{type(error).__name__}: {error}",
        ) from error


def _read(source: Source) -> Score:
    root = fromstring(source.musicxml)
    lean = LeanCopy()
    parts = read_parts(root, lean)
    parsed = _parse(lean)
    measures = read_measures(parts)
    signatures = read_key_signatures(parts, measures)
    directions = placed_directions(parts, measures)
    listed = {entry.get("id", ""): entry for entry in root.iterfind("part-list/score-part")}
    pitches: dict[tuple[Any, ...], Pitch] = {}
    return Score(
        title=_title(root),
        composer=_composer(root),
        parts=tuple(
            _part(part, listed.get(part.id), _notes(part, measures, parsed, pitches))
            for part in parts
        ),
        measures=measures,
        chord_symbols=_chord_symbols(placed_harmonies(parts, measures), measures, signatures),
        rehearsal_marks=_rehearsal_marks(directions, measures),
        key_signatures=signatures,
        tempos=_tempos(directions),
        played=read_played(parts),
    )


def _parse(lean: LeanCopy) -> dict[int, _Parsed]:
    """Let music21 parse the lean copy; what it says by the running numbers of the notes."""
    importer: Any = MusicXMLImporter()  # type: ignore[no-untyped-call]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        importer.xmlRootToScore(lean.root, importer.stream)
    found: dict[int, _Parsed] = {}
    for part in importer.stream.parts:
        for measure in part.getElementsByClass("Measure"):
            for sounding in measure.notes:
                offset = measure.elementOffset(sounding)
                for note in getattr(sounding, "notes", (sounding,)):
                    found[number_of(note.style.color)] = _Parsed(
                        getattr(note, "pitch", None), offset, note.duration.quarterLength
                    )
    return found


def _notes(
    part: WrittenPart,
    measures: Sequence[Measure],
    parsed: dict[int, _Parsed],
    pitches: dict[tuple[Any, ...], Pitch],
) -> tuple[Note, ...]:
    """The notes of a part in score order; ``pitches`` keeps those that were made already."""
    notes: list[Note] = []
    for measure, written in zip(measures, part.measures, strict=False):
        for note in written.notes:
            pitch, offset, duration = parsed[note.number]
            notes.append(
                Note(
                    note.id,
                    part.id,
                    measure.index,
                    measure.onset + _exact(note.onset, offset, note.slack),
                    Fraction(0) if note.grace else _exact(note.duration, duration, note.slack),
                    _sounding(pitch, note, pitches) if note.pitched else None,
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
    return tuple(notes)


def _score_order(note: Note) -> tuple[Offset, bool, int]:
    """By onset, grace notes first and in their own order, then from the lowest pitch up."""
    return note.onset, not note.grace, 0 if note.grace or note.pitch is None else note.pitch.midi


def _exact(walked: Offset, parsed: Any, slack: float) -> Offset:
    """The exact place where music21 means the same one, else music21's."""
    if abs(float(walked) - float(parsed)) <= slack:
        return walked
    return Fraction(parsed).limit_denominator(65_535)


def _sounding(pitch: Any, note: WrittenNote, known: dict[tuple[Any, ...], Pitch]) -> Pitch:
    """A music21 pitch as ours, transposed to sound; each distinct one is made once."""
    alter = 0 if pitch.accidental is None else int(pitch.accidental.alter)
    key = (pitch.step, pitch.octave, alter, note.transposition)
    found = known.get(key)
    if found is None:
        written = Pitch(PitchName.of(pitch.step, alter), pitch.octave)
        found = known[key] = transposed(written, note.transposition)
    return found


def transposed(pitch: Pitch, by: Transposition) -> Pitch:
    """A written pitch as it sounds.

    Examples
    --------
    >>> str(transposed(Pitch.parse("C4"), Transposition(-2, -1)))
    'Bb3'
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
    program = whole(entry.findtext("midi-instrument/midi-program"), 0)
    channel = (entry.findtext("midi-instrument/midi-channel") or "").strip()
    return Part(
        id=part.id,
        name=name or _words(shown) or instrument or part.id,
        abbreviation=_words(entry.findtext("part-abbreviation")),
        notes=notes,
        staves=min(part.staves, 32),
        instrument=instrument or _words(entry.findtext("score-instrument/instrument-sound")),
        midi_program=program - 1 if 1 <= program <= 128 else None,
        percussion=channel == _PERCUSSION_CHANNEL
        or part.percussion_clef
        or (bool(notes) and all(note.pitch is None for note in notes)),
    )


def _chord_symbols(
    harmonies: Sequence[Occurrence],
    measures: Sequence[Measure],
    signatures: Sequence[KeySignature],
) -> tuple[ChordSymbol, ...]:
    """Chord symbols by onset, then by part, each up to the next later one."""
    symbols: list[ChordSymbol] = []
    for onset, part, element, transposition in harmonies:
        harmony = read_harmony(element, transposition.fifths, _key_at(signatures, onset))
        measure = bisect_right(measures, onset, key=lambda measure: measure.onset) - 1
        symbols.append(
            ChordSymbol(element.get("id", ""), part, measure, onset, Fraction(0), *harmony)
        )
    until = measures[-1].span.end
    later = until
    for place in range(len(symbols) - 1, -1, -1):
        onset = symbols[place].onset
        if onset < later:
            until = later
        symbols[place] = replace(symbols[place], duration=until - onset)
        later = onset
    return tuple(symbols)


def _key_at(signatures: Sequence[KeySignature], onset: Offset) -> Key:
    """The key that the signature in force names; C major before any."""
    place = bisect_right(signatures, onset, key=lambda signature: signature.onset)
    if not place:
        return Key(PitchName(0))
    signature = signatures[place - 1]
    return key_of_signature(signature.fifths, signature.mode)


def _rehearsal_marks(
    directions: Sequence[Occurrence], measures: Sequence[Measure]
) -> tuple[RehearsalMark, ...]:
    """Rehearsal marks by onset; the same one written in several parts counts once."""
    marks: dict[tuple[Offset, str], RehearsalMark] = {}
    for onset, _, element, _ in directions:
        text = rehearsal_text(element)
        if text:
            measure = bisect_right(measures, onset, key=lambda measure: measure.onset) - 1
            mark = RehearsalMark(element.get("id", ""), measure, onset, text)
            marks.setdefault((onset, text), mark)
    return tuple(marks.values())


def _tempos(directions: Sequence[Occurrence]) -> tuple[Tempo, ...]:
    """Tempos where they change; at one place the first part that has one counts."""
    tempos: list[Tempo] = []
    for onset, _, element, _ in directions:
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
