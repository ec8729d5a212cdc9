"""A piece as MusicXML 4.0, partwise, as a notation editor would export it.

Element names and order follow the W3C schema of MusicXML 4.0. The output is the same, byte for
byte, each time. Nothing but parts and instruments carries an id.
"""

from __future__ import annotations

from lxml import etree

from sample_scores.notation import (
    Accidentals,
    find_beam_groups,
    find_beams,
    find_signature,
    find_stem,
)
from sample_scores.shorthand import (
    DIVISIONS,
    TYPES,
    Event,
    Part,
    Piece,
    Pitch,
    read_chords,
    read_lyrics,
    read_voice,
)
from sample_scores.signs import (
    add,
    write_barlines,
    write_direction,
    write_harmony,
    write_heading,
    write_jump,
)

DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)


def to_musicxml(piece: Piece) -> bytes:
    """The document, UTF-8, with XML declaration and document type."""
    root = etree.Element("score-partwise", version="4.0")
    add(add(root, "work"), "work-title", piece.title)
    add(root, "movement-title", piece.title)
    identification = add(root, "identification")
    add(identification, "creator", "Overstave sample", type="composer")
    add(identification, "creator", "Overstave sample", type="lyricist")
    add(identification, "rights", "CC0")
    encoding = add(identification, "encoding")
    add(encoding, "software", "Overstave samples")
    for element in ("accidental", "beam", "stem"):
        add(encoding, "supports", element=element, type="yes")
    part_list = add(root, "part-list")
    for number, part in enumerate(piece.parts, 1):
        _list_part(part_list, part, number)
    for number, part in enumerate(piece.parts, 1):
        _PartWriter(piece, part, number).write(root)
    etree.indent(root, "  ")
    text: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", doctype=DOCTYPE)
    return text + b"\n"


def _list_part(part_list: etree._Element, part: Part, number: int) -> None:
    entry = add(part_list, "score-part", id=f"P{number}")
    add(entry, "part-name", part.name)
    add(entry, "part-abbreviation", part.abbreviation)
    instrument = add(entry, "score-instrument", id=f"P{number}-I1")
    add(instrument, "instrument-name", part.name)
    add(instrument, "instrument-sound", part.sound)
    midi = add(entry, "midi-instrument", id=f"P{number}-I1")
    add(midi, "midi-channel", number)
    add(midi, "midi-program", part.program)


class _PartWriter:
    """One part, measure by measure; keeps what reaches over barlines."""

    def __init__(self, piece: Piece, part: Part, number: int) -> None:
        self.piece, self.part, self.leads = piece, part, number == 1
        self.id = f"P{number}"
        self.voices = [(staff, name, read_voice(piece, text)) for staff, name, text in part.voices]
        self.chords = read_chords(piece) if self.leads else {}
        self.accidentals = {staff: Accidentals() for staff in range(1, len(part.clefs) + 1)}
        self.fifths = 0
        self.tied: dict[str, tuple[Pitch, ...]] = {}
        self.syllables = {verse: iter(read_lyrics(text)) for verse, text in part.lyrics.items()}

    def write(self, root: etree._Element) -> None:
        counts = {len(measures) for _, _, measures in self.voices}
        if len(counts) != 1 or (self.leads and len(self.chords) not in counts):
            raise ValueError(f"{self.piece.stem}, {self.part.name}: {counts} measures")
        out = add(root, "part", id=self.id)
        for index in range(counts.pop()):
            self._write_measure(out, index)
        for verse, left in self.syllables.items():
            if (unsung := next(left, None)) is not None:
                raise ValueError(f"{self.part.name}, verse {verse}: no note for {unsung[0]!r}")

    def _write_measure(self, out: etree._Element, index: int) -> None:
        number = self.piece.first + index
        measure = add(out, "measure", number=str(number))
        if number == 0:
            measure.set("implicit", "yes")
        lines = self.piece.barlines.get(number, ())
        write_barlines(measure, lines, "left")
        self._write_attributes(measure, number, index == 0)
        if self.leads:
            write_heading(measure, self.piece, number, index == 0)
        for accidentals in self.accidentals.values():
            accidentals.start_measure()
        present = [(s, v, m[index]) for s, v, m in self.voices if m[index]]
        signs = self._find_signs(present)
        for place, (staff, voice, events) in enumerate(present):
            if place:
                backup = add(measure, "backup")
                add(backup, "duration", self.piece.length(number))
            shared = [v for s, v, _ in present if s == staff]
            stem = ("up", "down")[shared.index(voice)] if len(shared) > 1 else ""
            self._write_voice(measure, number, (staff, voice, stem), events, signs)
        if self.leads and "fine" in lines:
            write_jump(measure, "Fine", fine="yes")
        if self.leads and "da capo" in lines:
            write_jump(measure, "D.C. al Fine", dacapo="yes")
        write_barlines(measure, lines, "right")

    def _write_attributes(self, measure: etree._Element, number: int, first: bool) -> None:
        if not first and number not in self.piece.signatures:
            return
        attributes = add(measure, "attributes")
        diatonic, chromatic, octaves = self.part.transpose
        if first:
            add(attributes, "divisions", DIVISIONS)
        fifths, mode = self.piece.signatures[number]
        # A half step up is seven fifths up; a step on the staff less is twelve fifths less.
        self.fifths = fifths - 7 * chromatic + 12 * diatonic
        key = add(attributes, "key")
        add(key, "fifths", self.fifths)
        add(key, "mode", mode)
        if not first:
            return
        time = add(attributes, "time")
        add(time, "beats", self.piece.beats)
        add(time, "beat-type", 4)
        if len(self.part.clefs) > 1:
            add(attributes, "staves", len(self.part.clefs))
        for staff, (sign, line, change) in enumerate(self.part.clefs, 1):
            clef = add(attributes, "clef", **({"number": str(staff)} if staff > 1 else {}))
            add(clef, "sign", sign)
            add(clef, "line", line)
            if change:
                add(clef, "clef-octave-change", change)
        if self.part.transpose != (0, 0, 0):
            transpose = add(attributes, "transpose")
            add(transpose, "diatonic", diatonic)
            add(transpose, "chromatic", chromatic)
            if octaves:
                add(transpose, "octave-change", octaves)

    def _written(self, pitch: Pitch) -> Pitch:
        diatonic, chromatic, _ = self.part.transpose
        return pitch.moved(-diatonic, -chromatic)

    def _find_signs(
        self, present: list[tuple[int, str, list[Event]]]
    ) -> dict[tuple[str, int, Pitch], tuple[str, bool]]:
        # Accidentals last through all voices of a staff, so they are decided in order of time.
        signature = find_signature(self.fifths)
        tied = dict(self.tied)
        signs = {}
        order = sorted(
            ((event.onset, staff, voice, event) for staff, voice, es in present for event in es),
            key=lambda row: row[:3],
        )
        for onset, staff, voice, event in order:
            for pitch in map(self._written, event.pitches):
                if pitch not in tied.get(voice, ()):
                    signs[voice, onset, pitch] = self.accidentals[staff].sign(pitch, signature)
            tied[voice] = tuple(map(self._written, event.pitches)) if "~" in event.marks else ()
        return signs

    def _write_voice(
        self,
        measure: etree._Element,
        number: int,
        place: tuple[int, str, str],
        events: list[Event],
        signs: dict[tuple[str, int, Pitch], tuple[str, bool]],
    ) -> None:
        staff, voice, stem = place
        clef = self.part.clefs[staff - 1]
        beams: dict[int, list[str]] = {}
        stems = {
            i: stem or find_stem(map(self._written, event.pitches), clef)
            for i, event in enumerate(events)
            if event.pitches and event.letter != "w"
        }
        for group in find_beam_groups(events, self.piece.beats):
            beams |= find_beams(events, group)
            joint = [self._written(pitch) for i in group for pitch in events[i].pitches]
            stems |= dict.fromkeys(group, stem or find_stem(joint, clef))
        chords = list(self.chords.get(number, ())) if voice == self.voices[0][1] else []
        for index, event in enumerate(events):
            end = event.onset + event.length
            while chords and (chords[0].beat - 1) * DIVISIONS < end:
                offset = int((chords[0].beat - 1) * DIVISIONS) - event.onset
                write_harmony(measure, chords.pop(0), offset)
            for words in event.before:
                write_direction(measure, self.part, words, staff)
            self._write_notes(
                measure,
                number,
                (staff, voice),
                event,
                (stems.get(index, ""), beams.get(index, [])),
                signs,
            )
            for words in event.after:
                write_direction(measure, self.part, words, staff)
        if chords:
            raise ValueError(f"{self.piece.stem}, measure {number}: no beat for {chords[0].symbol}")

    def _write_notes(
        self,
        measure: etree._Element,
        number: int,
        place: tuple[int, str],
        event: Event,
        look: tuple[str, list[str]],
        signs: dict[tuple[str, int, Pitch], tuple[str, bool]],
    ) -> None:
        staff, voice = place
        stem, beams = look
        before = self.tied.get(voice, ())
        pitches = tuple(map(self._written, event.pitches))
        if before and not set(before) & set(pitches):
            raise ValueError(f"{self.part.name}, measure {number}: tie to nothing")
        for order, pitch in enumerate(pitches or (None,)):
            note = add(measure, "note")
            if order:
                add(note, "chord")
            if pitch is None:
                add(note, "rest", **({"measure": "yes"} if event.whole_measure else {}))
            else:
                sounded = add(note, "pitch")
                add(sounded, "step", pitch.step)
                if pitch.alter:
                    add(sounded, "alter", pitch.alter)
                add(sounded, "octave", pitch.octave)
            add(note, "duration", event.length)
            ties = ["stop"] if pitch in before else []
            ties += ["start"] if "~" in event.marks else []
            for tie in ties:
                add(note, "tie", type=tie)
            add(note, "voice", voice)
            sign = signs.get((voice, event.onset, pitch)) if pitch else None
            self._write_look(note, event, sign or ("", False))
            if stem:
                add(note, "stem", stem)
            if len(self.part.clefs) > 1:
                add(note, "staff", staff)
            for level, beam in enumerate(beams if not order else (), 1):
                add(note, "beam", beam, number=str(level))
            self._write_notations(note, event, ties, order == 0)
            if order == 0 and pitch is not None and voice == self.voices[0][1] and not before:
                self._write_lyrics(note, number)
        self.tied[voice] = pitches if "~" in event.marks else ()

    def _write_look(self, note: etree._Element, event: Event, sign: tuple[str, bool]) -> None:
        if not event.whole_measure:
            add(note, "type", TYPES[event.letter])
            if event.dotted:
                add(note, "dot")
        name, courtesy = sign
        if name:
            add(note, "accidental", name, **({"cautionary": "yes"} if courtesy else {}))
        if event.triplet:
            modification = add(note, "time-modification")
            add(modification, "actual-notes", 3)
            add(modification, "normal-notes", 2)

    def _write_notations(
        self, note: etree._Element, event: Event, ties: list[str], first: bool
    ) -> None:
        notations = etree.Element("notations")
        for tie in ties:
            add(notations, "tied", type=tie)
        if first:
            for mark, name in ((")", "stop"), ("(", "start")):
                if mark in event.marks:
                    add(notations, "slur", type=name, number="1")
            if event.triplet in ("start", "stop"):
                add(notations, "tuplet", type=event.triplet, number="1", bracket="no")
            articulations = [n for m, n in ((">", "accent"), ("'", "staccato")) if m in event.marks]
            if articulations:
                parent = add(notations, "articulations")
                for name in articulations:
                    add(parent, name)
            if "^" in event.marks:
                add(notations, "fermata", type="upright")
        if len(notations):
            note.append(notations)

    def _write_lyrics(self, note: etree._Element, number: int) -> None:
        for verse in self.piece.verses.get(number, (1,)):
            if verse not in self.syllables:
                continue
            sung = next(self.syllables[verse], None)
            if sung is None:
                raise ValueError(f"{self.part.name}, measure {number}: verse {verse} is too short")
            text, syllabic, carried = sung
            if not text:
                continue
            lyric = add(note, "lyric", number=str(verse), placement="below")
            add(lyric, "syllabic", syllabic)
            add(lyric, "text", text)
            if carried and syllabic in ("single", "end"):
                add(lyric, "extend")
