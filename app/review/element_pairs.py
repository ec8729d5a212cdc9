"""Notes and chord symbols of one measure in two transcriptions, each with its counterpart."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from analysis.pitch import Pitch
from analysis.timebase import Offset
from app.review.skeletons import BoneNote, BoneSymbol
from app.review.transpositions import Interval, transposed_symbol

Change = Literal["", "pitch", "spelling", "place", "duration", "symbol"]


@dataclass(frozen=True, slots=True)
class Counterpart:
    """What an element has become: its id now, and what is different about it."""

    id: str
    change: Change = ""


def pair_notes(
    then: Sequence[BoneNote], now: Sequence[BoneNote], interval: Interval
) -> dict[str, Counterpart]:
    """Notes of a part's measure with their counterparts: by beat and pitch, beat, pitch."""
    moved = [(note, interval.of(note.pitch) if note.pitch else None) for note in then]
    found: dict[str, Counterpart] = {}
    free = list(now)

    def take(wanted: Callable[[BoneNote, Pitch | None, BoneNote], bool]) -> None:
        for note, pitch in moved:
            if note.id in found:
                continue
            fitting = [other for other in free if wanted(note, pitch, other)]
            if fitting:
                best = min(fitting, key=lambda other: _far(note, pitch, other))
                free.remove(best)
                found[note.id] = Counterpart(best.id, _change(note, pitch, best))

    take(lambda note, pitch, other: note.onset == other.onset and pitch == other.pitch)
    take(lambda note, pitch, other: note.onset == other.onset and _key(pitch) == _key(other.pitch))
    take(lambda note, _, other: note.onset == other.onset)
    take(lambda _, pitch, other: _key(pitch) == _key(other.pitch))
    if len(free) == 1 == len(moved) - len(found):
        take(lambda *_: True)
    return found


def _far(note: BoneNote, pitch: Pitch | None, other: BoneNote) -> tuple[int, Offset, Offset]:
    """How far two notes are apart: in half steps, in time, in duration."""
    return (
        abs(_key(pitch) - _key(other.pitch)),
        abs(note.onset - other.onset),
        abs(note.duration - other.duration),
    )


def _change(note: BoneNote, pitch: Pitch | None, other: BoneNote) -> Change:
    if _key(pitch) != _key(other.pitch):
        return "pitch"
    if note.onset != other.onset:
        return "place"
    if pitch != other.pitch:
        return "spelling"
    return "" if note.duration == other.duration else "duration"


def _key(pitch: Pitch | None) -> int:
    return pitch.midi if pitch else -1


def pair_symbols(
    then: Sequence[BoneSymbol], now: Sequence[BoneSymbol], whole: Interval
) -> dict[str, Counterpart]:
    """Chord symbols of one measure with their counterparts: beat and text, beat, text."""
    found: dict[str, Counterpart] = {}
    free = list(now)

    def take(wanted: Callable[[bool, bool], bool]) -> None:
        for symbol in then:
            if symbol.id in found:
                continue
            text = transposed_symbol(symbol.text, whole.fifths)
            for other in free:
                together, alike = symbol.onset == other.onset, text == other.text
                if wanted(together, alike):
                    change: Change = "" if together and alike else "place" if alike else "symbol"
                    found[symbol.id] = Counterpart(other.id, change)
                    free.remove(other)
                    break

    take(lambda together, alike: together and alike)
    take(lambda together, _: together)
    take(lambda _, alike: alike)
    return found
