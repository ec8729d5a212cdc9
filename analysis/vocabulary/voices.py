"""Sounding notes of a part, and the one line that is heard in it.

A transcription writes note heads; a listener hears notes. Here tied heads are joined, grace notes,
cue notes and unpitched ones are passed over, and of a part with chords or several voices one line
is taken: the voice that carries words, or else the highest sounding notes of the upper staff.
Nothing here knows of chords or keys.

What it cannot do: a melody that wanders into a lower voice of an instrument is not followed there.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from analysis.pitch import Pitch
from analysis.score import Lyric, Note, Part, Score
from analysis.timebase import Offset, Span

#: Punctuation at the end of quoted words; marks of question and exclamation stay.
_ENDING: Final = re.compile(r"[,.;:]+[’”'\"]*$")


@dataclass(frozen=True, slots=True)
class HeldNote:
    """A sounding note: its written heads joined.

    ``id`` is the first head, ``heads`` all of them; ``lyrics`` are those of the first head.
    ``span`` is what is heard of it in its line, which a higher note can cut short.
    """

    id: str
    part: str
    span: Span
    pitch: Pitch
    voice: str
    staff: int
    heads: tuple[str, ...]
    lyrics: tuple[Lyric, ...] = ()

    @property
    def onset(self) -> Offset:
        """Where it begins."""
        return self.span.start

    @property
    def end(self) -> Offset:
        """Where it stops sounding."""
        return self.span.end

    @property
    def midi(self) -> int:
        """Sounding key number."""
        return self.pitch.midi


def hold_notes(notes: Iterable[Note]) -> tuple[HeldNote, ...]:
    """Sounding notes of one part, tied heads joined, in order of onset and then of pitch.

    Parameters
    ----------
    notes
        Notes of one part in score order. Grace notes, cue notes and unpitched ones are left out.
    """
    held: list[HeldNote] = []
    open_at: dict[tuple[int, Offset], int] = {}
    for note in notes:
        if note.pitch is None or note.grace or note.cue or note.duration <= 0:
            continue
        midi = note.pitch.midi
        at = open_at.pop((midi, note.onset), None) if note.tie_stop else None
        if at is None:
            at = len(held)
            held.append(
                HeldNote(
                    note.id,
                    note.part,
                    Span(note.onset, note.end),
                    note.pitch,
                    note.voice,
                    note.staff,
                    (note.id,),
                    note.lyrics,
                )
            )
        else:
            first = held[at]
            span = Span(first.span.start, note.end)
            held[at] = replace(first, span=span, heads=(*first.heads, note.id))
        if note.tie_start:
            open_at[midi, note.end] = at
    return tuple(sorted(held, key=lambda note: (note.onset, note.midi, note.id)))


def lead_line(part: Part) -> tuple[HeldNote, ...]:
    """The one line that is heard in a part: no two of its notes sound together.

    With words: the voice that carries most of them, the top note of its chords. Without: the
    highest notes of the upper staff; a note under a longer higher one is left out.
    """
    return _lead(hold_notes(part.notes))


def _lead(held: Sequence[HeldNote]) -> tuple[HeldNote, ...]:
    worded = Counter((note.staff, note.voice) for note in held if note.lyrics)
    if worded:
        most = max(worded.values())
        # Two voices with the same words on one staff: the upper one leads.
        chosen = max(
            (place for place, count in worded.items() if 2 * count > most),
            key=lambda place: _mean_pitch(held, place),
        )
        return _skyline([note for note in held if (note.staff, note.voice) == chosen])
    top = min((note.staff for note in held), default=1)
    return _skyline([note for note in held if note.staff == top])


class PitchedNotes:
    """The pitched notes of a score in order of onset, with their places and key numbers by id."""

    def __init__(self, score: Score) -> None:
        self.notes = sorted(
            (
                note
                for part in score.parts
                if not part.percussion
                for note in part.notes
                if note.pitch and not note.grace and not note.cue
            ),
            key=lambda note: note.onset,
        )
        # Equal fractions are equal floats, which compare much faster.
        self.onsets = [float(note.onset) for note in self.notes]
        self.ends = [float(note.end) for note in self.notes]
        self.places = {note.id: at for at, note in enumerate(self.notes)}
        self.pitches = {note.id: note.pitch.midi for note in self.notes if note.pitch}


class Voices:
    """The sounding notes and the lead line of each part of a score, each found once.

    For those who ask about the same parts one after the other.
    """

    def __init__(self, score: Score) -> None:
        self._parts = {part.id: part for part in score.parts}
        self._held: dict[str, tuple[HeldNote, ...]] = {}
        self._lines: dict[str, tuple[HeldNote, ...]] = {}

    def held(self, part: str) -> tuple[HeldNote, ...]:
        """As `hold_notes` finds them."""
        if part not in self._held:
            self._held[part] = hold_notes(self._parts[part].notes)
        return self._held[part]

    def line(self, part: str) -> tuple[HeldNote, ...]:
        """As `lead_line` finds it."""
        if part not in self._lines:
            self._lines[part] = _lead(self.held(part))
        return self._lines[part]


def pitch_at(line: Sequence[HeldNote], offset: Offset) -> int | None:
    """Key number that a line sounds at an offset, None where it rests."""
    at = bisect_right(line, offset, key=lambda note: note.onset) - 1
    return line[at].midi if at >= 0 and line[at].end > offset else None


def lowest_line(held: Sequence[HeldNote]) -> tuple[HeldNote, ...]:
    """The lowest notes that sound, one at a time: a lower note cuts a higher one short."""
    line: list[HeldNote] = []
    for note in sorted(held, key=lambda note: (note.onset, note.midi)):
        last = line[-1] if line else None
        if last is None or last.end <= note.onset:
            line.append(note)
        elif last.onset < note.onset and last.midi >= note.midi:
            line[-1] = replace(last, span=Span(last.onset, note.onset))
            line.append(note)
    return tuple(line)


def _mean_pitch(held: Sequence[HeldNote], place: tuple[int, str]) -> float:
    pitches = [note.midi for note in held if (note.staff, note.voice) == place]
    return sum(pitches) / len(pitches)


def _skyline(held: Sequence[HeldNote]) -> tuple[HeldNote, ...]:
    line: list[HeldNote] = []
    for note in sorted(held, key=lambda note: (note.onset, -note.midi)):
        last = line[-1] if line else None
        if last is None or last.end <= note.onset:
            line.append(note)
        elif last.onset < note.onset and (last.midi <= note.midi or last.voice == note.voice):
            line[-1] = replace(last, span=Span(last.onset, note.onset))
            line.append(note)
    return tuple(line)


@dataclass(frozen=True, slots=True)
class SungWord:
    """A word under a note; notes of one word share its ``number``."""

    number: int
    text: str


def sung_words(line: Sequence[HeldNote]) -> tuple[SungWord | None, ...]:
    """The whole word sung on each note of a line, None where nothing is sung.

    Syllables are joined into their word; a note without a syllable of its own that follows the last
    one without a rest goes on with it (a melisma). Of several verses the first printed is taken.
    """
    numbers: list[int] = []
    texts: list[str] = []
    inside = False
    end: Offset | None = None
    for note in line:
        lyric = next((lyric for lyric in note.lyrics if lyric.text.strip()), None)
        if lyric is not None:
            if inside and lyric.syllabic in ("middle", "end"):
                texts[-1] += lyric.text.strip()
            else:
                texts.append(lyric.text.strip())
            inside = lyric.syllabic in ("begin", "middle")
            numbers.append(len(texts) - 1)
        elif numbers and numbers[-1] >= 0 and end == note.onset:
            numbers.append(numbers[-1])
        else:
            numbers.append(-1)
        end = note.end
    return tuple(SungWord(at, texts[at]) if at >= 0 else None for at in numbers)


def join_words(words: Iterable[SungWord | None], most: int = 6) -> str:
    """The words as one text, each once; an ellipsis stands for those beyond ``most``."""
    row: list[SungWord] = []
    for word in words:
        if word is not None and (not row or row[-1].number != word.number):
            row.append(word)
    text = " ".join(word.text for word in row[:most])
    return f"{text} …" if len(row) > most else _ENDING.sub("", text)
