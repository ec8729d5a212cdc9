"""How far a chord's reading is believed, before the key's own belief and the symbol's.

A plain degree in root position is sure; each thing that another musician could hear otherwise
takes away a share: rival readings, an inversion or foreign bass, a borrowed chord, a dominant that
does not get what it wants. So sorting by confidence parts plain chords from doubtful ones.

References
----------
Shares from memory of practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from analysis.chords import Chord
from analysis.harmony.chord_roles import ChordRole

#: What is left where a dominant does not resolve at once.
_RESOLUTIONS: Final = {"deceptive": 0.95, "delayed": 0.92, "interrupted": 0.92, "unresolved": 0.93}
#: The same of an applied dominant that never gets there: only its own tones speak for it.
_NEVER: Final = 0.75
_INVERTED: Final = 0.98
_PASSING: Final = 0.92
_FOREIGN_BASS: Final = 0.94
_BORROWED: Final = 0.95
#: From outside the key, and neither borrowed nor a dominant nor a chord with a name.
_UNEXPLAINED: Final = 0.85
#: Dominants by another way than a fifth: what follows alone makes them so.
_SIDEWAYS: Final = 0.95
#: A rival takes so much of its own chance away; one of the same function only names it otherwise.
_RIVAL: Final = 0.5
_NAMESAKE: Final = 0.15


def believed(role: ChordRole, chord: Chord | None) -> ChordRole:
    """The role with its confidence lessened by what speaks for other readings."""
    if chord is None:
        return role
    belief = role.confidence
    taken = [
        one.confidence * (_NAMESAKE if one.function == role.function else _RIVAL)
        for one in role.alternatives
    ]
    belief *= 1 - max(taken, default=0.0)
    if chord.inversion:
        belief *= _PASSING if "passing tonic" in role.tags else _INVERTED
    elif chord.foreign_bass and "pedal" not in role.tags:
        belief *= _FOREIGN_BASS
    if "mixture" in role.tags:
        belief *= _BORROWED
    elif role.outside and role.dominant is None and not role.tags:
        belief *= _UNEXPLAINED
    if role.dominant is not None:
        never = role.dominant.applied and role.dominant.resolution == "unresolved"
        belief *= _SIDEWAYS if role.dominant.kind in ("subV", "backdoor") else 1.0
        belief *= _NEVER if never else _RESOLUTIONS.get(role.dominant.resolution, 1.0)
    return replace(role, confidence=belief)
