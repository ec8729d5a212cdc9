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
    Chord,
    Event,
    Part,
    Piece,
    Pitch,
    read_chords,
    read_lyrics,
    read_voice,
)

KINDS = {
    "": ("major", "", ()),
    "m": ("minor", "m", ()),
    "7": ("dominant", "7", ()),
    "maj7": ("major-seventh", "maj7", ()),
    "m7": ("minor-seventh", "m7", ()),
    "m6": ("minor-sixth", "m6", ()),
    "dim7": ("diminished-seventh", "dim7", ()),
    "sus4": ("suspended-fourth", "sus4", ()),
    "7sus4": ("suspended-fourth", "7sus4", ((7, 0, False),)),
    "7b9": ("dominant", "7", ((9, -1, True),)),
}
"""Kind, its text, and added degrees (value, alter, shown beside the text) of a chord symbol."""

BARLINES = {
    "start repeat": ("left", "heavy-light", ("forward",)),
    "end repeat": ("right", "light-heavy", ("backward",)),
    "double": ("right", "light-light", ()),
    "final": ("right", "light-heavy", ()),
}
DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)


def _add(
    parent: etree._Element, name: str, text: object = None, /, **attributes: str
) -> etree._Element:
    child = etree.SubElement(parent, name, {k.replace("_", "-"): v for k, v in attributes.items()})
    if text is not None:
        child.text = str(text)
    return child


def to_musicxml(piece: Piece) -> bytes:
    """The document, UTF-8, with XML declaration and document type."""
    root = etree.Element("score-partwise", version="4.0")
    _add(_add(root, "work"), "work-title", piece.title)
    _add(root, "movement-title", piece.title)
    identification = _add(root, "identification")
    _add(identification, "creator", "Overstave sample", type="composer")
    _add(identification, "creator", "Overstave sample", type="lyricist")
    _add(identification, "rights", "CC0")
    encoding = _add(identification, "encoding")
    _add(encoding, "software", "Overstave samples")
    for element in ("accidental", "beam", "stem"):
        _add(encoding, "supports", element=element, type="yes")
    part_list = _add(root, "part-list")
    for number, part in enumerate(piece.parts, 1):
        _list_part(part_list, part, number)
    for number, part in enumerate(piece.parts, 1):
        _PartWriter(piece, part, number).write(root)
    etree.indent(root, "  ")
    text: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", doctype=DOCTYPE)
    return text + b"\n"


def _list_part(part_list: etree._Element, part: Part, number: int) -> None:
    entry = _add(part_list, "score-part", id=f"P{number}")
    _add(entry, "part-name", part.name)
    _add(entry, "part-abbreviation", part.abbreviation)
    instrument = _add(entry, "score-instrument", id=f"P{number}-I1")
    _add(instrument, "instrument-name", part.name)
    _add(instrument, "instrument-sound", part.sound)
    midi = _add(entry, "midi-instrument", id=f"P{number}-I1")
    _add(midi, "midi-channel", number)
    _add(midi, "midi-program", part.program)


def _write_name(harmony: etree._Element, role: str, name: str) -> None:
    named = _add(harmony, role)
    _add(named, f"{role}-step", name[0])
    if name[1:]:
        _add(named, f"{role}-alter", {"#": 1, "b": -1}[name[1:]])


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
        out = _add(root, "part", id=self.id)
        for index in range(counts.pop()):
            self._write_measure(out, index)
        for verse, left in self.syllables.items():
            if (unsung := next(left, None)) is not None:
                raise ValueError(f"{self.part.name}, verse {verse}: no note for {unsung[0]!r}")

    def _write_measure(self, out: etree._Element, index: int) -> None:
        number = self.piece.first + index
        measure = _add(out, "measure", number=str(number))
        if number == 0:
            measure.set("implicit", "yes")
        lines = self.piece.barlines.get(number, ())
        self._write_barlines(measure, lines, "left")
        self._write_attributes(measure, number, index == 0)
        if self.leads:
            self._write_heading(measure, number, index == 0)
        for staff in self.accidentals.values():
            staff.start_measure()
        present = [(s, v, m[index]) for s, v, m in self.voices if m[index]]
        signs = self._find_signs(present)
        for place, (staff, voice, events) in enumerate(present):
            if place:
                backup = _add(measure, "backup")
                _add(backup, "duration", self.piece.length(number))
            shared = [v for s, v, _ in present if s == staff]
            stem = ("up", "down")[shared.index(voice)] if len(shared) > 1 else ""
            self._write_voice(measure, number, (staff, voice, stem), events, signs)
        if self.leads and "fine" in lines:
            self._write_jump(measure, "Fine", fine="yes")
        if self.leads and "da capo" in lines:
            self._write_jump(measure, "D.C. al Fine", dacapo="yes")
        self._write_barlines(measure, lines, "right")

    def _write_barlines(self, measure: etree._Element, lines: tuple[str, ...], side: str) -> None:
        styles = [BARLINES[line] for line in lines if line in BARLINES and BARLINES[line][0] == side]
        endings = [line.split() for line in lines if line.startswith("ending")]
        if not styles and not endings:
            return
        barline = _add(measure, "barline", location=side)
        for _, style, _ in styles:
            _add(barline, "bar-style", style)
        for _, which, closing in endings:
            if side == "left":
                _add(barline, "ending", f"{which}.", number=which, type="start")
            else:
                _add(barline, "ending", number=which, type=closing)
        for _, _, repeats in styles:
            for direction in repeats:
                _add(barline, "repeat", direction=direction)

    def _write_attributes(self, measure: etree._Element, number: int, first: bool) -> None:
        if not first and number not in self.piece.signatures:
            return
        attributes = _add(measure, "attributes")
        diatonic, chromatic, octaves = self.part.transpose
        if first:
            _add(attributes, "divisions", DIVISIONS)
        fifths, mode = self.piece.signatures[number]
        # A half step up is seven fifths up; a step on the staff less is twelve fifths less.
        self.fifths = fifths - 7 * chromatic + 12 * diatonic
        key = _add(attributes, "key")
        _add(key, "fifths", self.fifths)
        _add(key, "mode", mode)
        if not first:
            return
        time = _add(attributes, "time")
        _add(time, "beats", self.piece.beats)
        _add(time, "beat-type", 4)
        if len(self.part.clefs) > 1:
            _add(attributes, "staves", len(self.part.clefs))
        for staff, (sign, line, change) in enumerate(self.part.clefs, 1):
            clef = _add(attributes, "clef", **({"number": str(staff)} if staff > 1 else {}))
            _add(clef, "sign", sign)
            _add(clef, "line", line)
            if change:
                _add(clef, "clef-octave-change", change)
        if self.part.transpose != (0, 0, 0):
            transpose = _add(attributes, "transpose")
            _add(transpose, "diatonic", diatonic)
            _add(transpose, "chromatic", chromatic)
            if octaves:
                _add(transpose, "octave-change", octaves)

    def _write_heading(self, measure: etree._Element, number: int, first: bool) -> None:
        if first:
            words, speed = self.piece.tempo
            direction = _add(measure, "direction", placement="above")
            _add(_add(direction, "direction-type"), "words", words, font_weight="bold")
            metronome = _add(_add(direction, "direction-type"), "metronome", parentheses="no")
            _add(metronome, "beat-unit", "quarter")
            _add(metronome, "per-minute", speed)
            sound = _add(direction, "sound", tempo=str(speed))
            if self.piece.swing:
                swing = _add(sound, "swing")
                _add(swing, "first", 2)
                _add(swing, "second", 1)
                _add(swing, "swing-type", "eighth")
        if number in self.piece.sections:
            direction = _add(measure, "direction", placement="above")
            _add(_add(direction, "direction-type"), "rehearsal", self.piece.sections[number])

    def _write_jump(self, measure: etree._Element, words: str, **sound: str) -> None:
        direction = _add(measure, "direction", placement="above")
        _add(_add(direction, "direction-type"), "words", words, font_style="italic")
        _add(direction, "sound", **sound)

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
                self._write_harmony(measure, chords.pop(0), offset)
            for words in event.before:
                self._write_direction(measure, words, staff)
            self._write_notes(
                measure,
                number,
                (staff, voice),
                event,
                (stems.get(index, ""), beams.get(index, [])),
                signs,
            )
            for words in event.after:
                self._write_direction(measure, words, staff)
        if chords:
            raise ValueError(f"{self.piece.stem}, measure {number}: no beat for {chords[0].symbol}")

    def _write_harmony(self, measure: etree._Element, chord: Chord, offset: int) -> None:
        harmony = _add(measure, "harmony", placement="above", print_frame="no")
        kind, text, degrees = KINDS[chord.kind]
        _write_name(harmony, "root", chord.root)
        _add(harmony, "kind", kind, **({"text": text} if text else {}))
        if chord.bass:
            _write_name(harmony, "bass", chord.bass)
        for value, alter, shown in degrees:
            degree = _add(harmony, "degree", **({} if shown else {"print-object": "no"}))
            _add(degree, "degree-value", value)
            _add(degree, "degree-alter", alter)
            _add(degree, "degree-type", "add")
        if offset:
            _add(harmony, "offset", offset)

    def _write_direction(self, measure: etree._Element, words: str, staff: int) -> None:
        # Dynamics of a sung part stand above it, out of the way of the words.
        side = "above" if self.part.lyrics or words.startswith('"') else "below"
        direction = _add(measure, "direction", placement=side)
        kind = _add(direction, "direction-type")
        wedges = {"<": "crescendo", ">": "diminuendo", ".": "stop"}
        if words in wedges:
            _add(kind, "wedge", type=wedges[words], number="1")
        elif words.startswith('"'):
            text = words.strip('"').replace("_", " ")
            _add(kind, "words", text, font_style="italic")
        else:
            _add(_add(kind, "dynamics"), words)
        if len(self.part.clefs) > 1:
            _add(direction, "staff", staff)

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
            note = _add(measure, "note")
            if order:
                _add(note, "chord")
            if pitch is None:
                _add(note, "rest", **({"measure": "yes"} if event.whole_measure else {}))
            else:
                sounded = _add(note, "pitch")
                _add(sounded, "step", pitch.step)
                if pitch.alter:
                    _add(sounded, "alter", pitch.alter)
                _add(sounded, "octave", pitch.octave)
            _add(note, "duration", event.length)
            ties = ["stop"] if pitch in before else []
            ties += ["start"] if "~" in event.marks else []
            for tie in ties:
                _add(note, "tie", type=tie)
            _add(note, "voice", voice)
            sign = signs.get((voice, event.onset, pitch)) if pitch else None
            self._write_look(note, event, sign or ("", False))
            if stem:
                _add(note, "stem", stem)
            if len(self.part.clefs) > 1:
                _add(note, "staff", staff)
            for level, beam in enumerate(beams if not order else (), 1):
                _add(note, "beam", beam, number=str(level))
            self._write_notations(note, event, ties, order == 0)
            if order == 0 and pitch is not None and voice == self.voices[0][1] and not before:
                self._write_lyrics(note, number)
        self.tied[voice] = pitches if "~" in event.marks else ()

    def _write_look(self, note: etree._Element, event: Event, sign: tuple[str, bool]) -> None:
        if not event.whole_measure:
            _add(note, "type", TYPES[event.letter])
            if event.dotted:
                _add(note, "dot")
        name, courtesy = sign
        if name:
            _add(note, "accidental", name, **({"cautionary": "yes"} if courtesy else {}))
        if event.triplet:
            modification = _add(note, "time-modification")
            _add(modification, "actual-notes", 3)
            _add(modification, "normal-notes", 2)

    def _write_notations(
        self, note: etree._Element, event: Event, ties: list[str], first: bool
    ) -> None:
        notations = etree.Element("notations")
        for tie in ties:
            _add(notations, "tied", type=tie)
        if first:
            for mark, name in ((")", "stop"), ("(", "start")):
                if mark in event.marks:
                    _add(notations, "slur", type=name, number="1")
            if event.triplet in ("start", "stop"):
                _add(notations, "tuplet", type=event.triplet, number="1", bracket="no")
            articulations = [n for m, n in ((">", "accent"), ("'", "staccato")) if m in event.marks]
            if articulations:
                parent = _add(notations, "articulations")
                for name in articulations:
                    _add(parent, name)
            if "^" in event.marks:
                _add(notations, "fermata", type="upright")
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
            lyric = _add(note, "lyric", number=str(verse), placement="below")
            _add(lyric, "syllabic", syllabic)
            _add(lyric, "text", text)
            if carried and syllabic in ("single", "end"):
                _add(lyric, "extend")

