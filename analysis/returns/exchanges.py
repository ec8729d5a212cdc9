"""What is said of two chords that stand against each other in a passage and its return.

What the exchange does, and what becomes of the notes sung over them. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from analysis.marks import ChordFact, Function
from analysis.pitch import Pitch

_ABOVE_THE_ROOT: Final = (
    "root", "♭9", "9", "minor third", "third", "11", "♯11", "fifth", "♯5", "sixth", "seventh",
    "major seventh",
)  # fmt: skip
_FUNCTIONS: Final[dict[Function, str]] = {
    "T": "tonic",
    "S": "subdominant",
    "D": "dominant",
    "": "",
}


def effect_of(was: ChordFact, now: ChordFact) -> str:
    """What the exchange does, in a few words."""
    if now.resolution == "deceptive" and was.resolution != "deceptive":
        return "it resolves deceptively"
    if was.function and now.function and was.function != now.function:
        return f"{_FUNCTIONS[was.function]} became {_FUNCTIONS[now.function]}"
    if now.foreign and not was.foreign:
        return "a chord from outside the key"
    if was.foreign and not now.foreign:
        return "a chord of the key instead of one from outside"
    return "the same function in another colour" if was.function == now.function != "" else ""


def new_roles(
    was: ChordFact, now: ChordFact, pitches: Sequence[Pitch | None], half_steps: int
) -> tuple[str, ...]:
    """What the melody's notes were and are: ``G: root → seventh``; empty under a rest."""
    if was.chord is None or now.chord is None:
        return ()
    changed: dict[str, None] = {}
    kept: dict[str, None] = {}
    under, over = half_steps + was.chord.root.pc, now.chord.root.pc
    for pitch in pitches:
        if pitch is not None:
            old = _ABOVE_THE_ROOT[(pitch.midi - under) % 12]
            new = _ABOVE_THE_ROOT[(pitch.midi - over) % 12]
            if old == new:
                kept[f"{pitch.name}: {old} as before"] = None
            else:
                changed[f"{pitch.name}: {old} → {new}"] = None
    return tuple(changed or kept)
