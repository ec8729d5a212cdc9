"""A line against the chords it goes through: how its notes are spelled, and what they are there.

A note that is a tone of its chord is spelled as the chord spells it, however it is written: B over
Em7 in a line that is written with C♭. Where three notes or more move over chords on one root, they
are named by their degrees above it, as in 8–♯7–♭7–6 over Am.

References
----------
Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from analysis.marks import ChordFact, Evidence, Line
from analysis.pitch import PitchName
from analysis.vocabulary.wording import chord_text, name_text

#: Names of degrees by half steps above a root, as they are said of a line over one chord.
_RISING: Final = ("1", "♭2", "2", "♭3", "3", "4", "♯4", "5", "♯5", "6", "♭7", "7")
_FALLING: Final = ("8", "♭2", "2", "♭3", "3", "4", "♭5", "5", "♭6", "6", "♭7", "7")
#: How many chords a statement names.
_MOST: Final = 8


def spelled_in(name: PitchName, fact: ChordFact) -> PitchName:
    """A note's name as its chord spells it; as it is where it is no tone of the chord."""
    tones = fact.chord.tones if fact.chord is not None else ()
    return next((tone for tone in tones if tone.pc == name.pc), name)


def degrees_over_root(names: Sequence[PitchName], over: Sequence[ChordFact], direction: str) -> str:
    """The degrees of the longest stretch over one root, with its chord; empty under three notes.

    Parameters
    ----------
    names, over
        The notes of a line, and the chord under each.
    direction
        ``up`` or ``down``.
    """
    roots = [fact.chord.root.pc if fact.chord is not None else -1 for fact in over]
    best = range(0)
    start = 0
    for at in range(1, len(roots) + 1):
        if at < len(roots) and roots[at] == roots[start]:
            continue
        if roots[start] >= 0 and at - start > len(best):
            best = range(start, at)
        start = at
    chord = over[best.start].chord if len(best) >= 3 else None
    if chord is None:
        return ""
    minor = chord.triad in ("min", "dim")
    table = _RISING if direction == "up" else _FALLING
    steps = [(names[at].pc - chord.root.pc) % 12 for at in best]
    told = ["♯7" if minor and step == 11 else table[step] for step in steps]
    if direction == "up" and len(told) > 1 and told[-1] == "1":
        told[-1] = "8"
    return f"{'–'.join(told)} over {name_text(chord.root)}{'m' if minor else ''}"


def chords_evidence(line: Line, over: Iterable[ChordFact]) -> Evidence:
    """The chords that a line goes through, with its notes."""
    names = [chord_text(fact.chord) for fact in over if fact.chord is not None]
    kept = [name for at, name in enumerate(names) if at == 0 or names[at - 1] != name]
    if len(kept) > _MOST:
        kept = [*kept[: _MOST - 1], "…", kept[-1]]
    elements = tuple(dict.fromkeys(one for one in line.elements if one))
    return Evidence(f"It goes through {' – '.join(kept)}.", elements)
