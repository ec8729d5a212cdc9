"""What a written note needs beyond its pitch and length: accidental, beams, stem.

Common practice, no source: an accidental lasts to the barline in its own octave and staff, with a
courtesy sign where the measure before had another form; eighths are beamed by beat, four plain
ones in 4/4 by half measure; a stem points away from the note farthest from the middle line.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sample_scores.shorthand import DIVISIONS, Event, Pitch

SIGNS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}

_BEAMS = {"e": 1, "s": 2}


def find_signature(fifths: int) -> dict[str, int]:
    """The alteration of each step in a key signature."""
    order = "FCGDAEB" if fifths > 0 else "BEADGCF"
    return dict.fromkeys(order[: abs(fifths)], 1 if fifths > 0 else -1)


class Accidentals:
    """The accidentals in force on one staff."""

    def __init__(self) -> None:
        self._here: dict[tuple[str, int], int] = {}
        self._before: dict[tuple[str, int], int] = {}

    def start_measure(self) -> None:
        """Cross a barline."""
        self._before, self._here = self._here, {}

    def sign(self, pitch: Pitch, signature: dict[str, int]) -> tuple[str, bool]:
        """The sign to write, empty for none, and whether it is a courtesy only."""
        place = (pitch.step, pitch.octave)
        usual = signature.get(pitch.step, 0)
        needed = self._here.get(place, usual) != pitch.alter
        courtesy = place not in self._here and self._before.get(place, pitch.alter) != pitch.alter
        self._here[place] = pitch.alter
        return (SIGNS[pitch.alter] if needed or courtesy else "", courtesy and not needed)


def find_beam_groups(events: Sequence[Event], beats: int) -> list[list[int]]:
    """Indices of the events that share a beam, two or more a group."""
    groups: list[list[int]] = []
    last = None
    for index, event in enumerate(events):
        if event.letter not in _BEAMS or not event.pitches:
            last = None
            continue
        window = (1, event.onset // DIVISIONS)
        half = event.onset // (2 * DIVISIONS)
        if beats == 4 and _is_plain(events, half):
            window = (2, half)
        if last == window:
            groups[-1].append(index)
        else:
            groups.append([index])
        last = window
    return [group for group in groups if len(group) > 1]


def _is_plain(events: Sequence[Event], half: int) -> bool:
    inside = [event for event in events if event.onset // (2 * DIVISIONS) == half]
    plain = all(e.letter == "e" and not e.dotted and not e.triplet and e.pitches for e in inside)
    return plain and len(inside) == 4


def find_beams(events: Sequence[Event], group: Sequence[int]) -> dict[int, list[str]]:
    """For each event of a group the MusicXML beam words, primary beam first."""
    levels = [_BEAMS[events[index].letter] for index in group]
    beams: dict[int, list[str]] = {}
    for place, index in enumerate(group):
        words = []
        for level in range(1, levels[place] + 1):
            before = place > 0 and levels[place - 1] >= level
            after = place + 1 < len(group) and levels[place + 1] >= level
            if before and after:
                words.append("continue")
            elif before or after:
                words.append("end" if before else "begin")
            else:
                words.append("backward hook" if place else "forward hook")
        beams[index] = words
    return beams


def find_stem(pitches: Iterable[Pitch], clef: tuple[str, int, int]) -> str:
    """Up or down, for the notes of one stem or one beam."""
    sign, _, octaves = clef
    middle = (4 * 7 + 6 if sign == "G" else 3 * 7 + 1) + 7 * octaves
    heights = [7 * pitch.octave + "CDEFGAB".index(pitch.step) - middle for pitch in pitches]
    return "down" if max(heights) + min(heights) >= 0 else "up"
