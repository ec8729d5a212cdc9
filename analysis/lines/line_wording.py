"""Sentences about lines, pedals and common tones, for a viewer.

Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from analysis.lines.line_finds import LineFind
from analysis.marks import Line
from analysis.pitch import Key
from analysis.vocabulary.wording import name_text

_WAY: Final = {"up": "climbs", "down": "falls", "": "stays"}
_NUMBER: Final = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight"}


def notes_text(line: Line, most: int = 8) -> str:
    """The notes of a line in order: ``G – F♯ – E``."""
    names = [name_text(name) for name in line.notes]
    if len(names) > most:
        names = [*names[: most - 1], "…", names[-1]]
    return " – ".join(names)


def line_label(find: LineFind) -> str:
    """The short text beside a line."""
    line = find.line
    if find.voice == "pedal":
        return f"pedal {name_text(line.notes[0])}"
    if find.voice == "common tone":
        return f"common tone {name_text(line.notes[0])}"
    arrow = "↗" if line.direction == "up" else "↘"
    return f"{'fifths' if line.kind == 'fifths' else line.kind} {arrow}"


def line_sentence(find: LineFind, key: Key | None, part: str, words: str) -> str:
    """What is said of a line, a pedal or a common tone."""
    line = find.line
    over = _chords_text(find.over)
    if find.voice == "pedal":
        where = f"the {_degree(line, key)} " if _degree(line, key) else ""
        return f"The bass holds {where}{name_text(line.notes[0])} while the chords change above it."
    if find.voice == "common tone":
        return (
            f"{_on(words)}{name_text(line.notes[0])} stays while {over} pass under it, "
            "not all from the key."
        )
    if line.kind == "fifths":
        way = "falling" if line.direction == "down" else "rising"
        return f"The bass goes round in {way} fifths: {notes_text(line)}."
    told = f", {find.degrees}" if find.degrees else ""
    return f"{_voice(find, part)} {_WAY[line.direction]} {_steps(line)}: {notes_text(line)}{told}."


def _chords_text(count: int) -> str:
    return f"{_NUMBER.get(count, str(count))} chords"


def _on(words: str) -> str:
    return f"On “{words}”, " if words else ""


def _voice(find: LineFind, part: str) -> str:
    if find.voice == "bass":
        return "The bass"
    if find.voice == "guide tones":
        return "Inside the chords a voice"
    return f"An inner voice ({part})" if part else "An inner voice"


def _steps(line: Line) -> str:
    if line.kind != "chromatic":
        return "step by step"
    moves = {(later.pc - first.pc) % 12 for first, later in pairwise(line.notes)}
    return "by half steps" if moves <= {1, 11} else "mostly by half steps"


def _degree(line: Line, key: Key | None) -> str:
    if key is None:
        return ""
    away = (line.notes[0].pc - key.tonic.pc) % 12
    return {0: "tonic", 7: "dominant"}.get(away, "")


def motion_text(against: Sequence[tuple[str, str]]) -> tuple[str, ...]:
    """How a line moves with other voices, one statement each."""
    words = {
        "contrary": "It moves against the {}, step for step.",
        "parallel": "It runs in parallel with the {}.",
    }
    return tuple(words[how].format(who) for who, how in against)
