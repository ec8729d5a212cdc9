"""Key regions: which tonic and mode is heard, and from where to where."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.marks import KeyRegion, PlacedChord, Settings
from analysis.pitch import Key, PitchName
from analysis.score import Note, Score

_TOKENS_MAJOR = {0: 3.0, 5: 1.6, 7: 1.8, 9: 1.0, 2: 0.7, 4: 0.5, 10: 0.6, 8: 0.2, 3: 0.2}
_TOKENS_MINOR = {0: 3.0, 5: 1.4, 7: 1.4, 8: 1.2, 10: 1.3, 3: 1.2, 2: 0.3}


def find_key_regions(
    score: Score, placed: Sequence[PlacedChord], melody: Sequence[Note], settings: Settings
) -> tuple[KeyRegion, ...]:
    """Key regions that tile the piece."""
    totals = np.zeros((12, 2))
    names: dict[int, PitchName] = {}
    for one in placed:
        if one.chord is None:
            continue
        length = min(float(one.span.duration), 8.0)
        names.setdefault(one.chord.root.pc, one.chord.root)
        for tonic in range(12):
            interval = (one.chord.root.pc - tonic) % 12
            minor = one.chord.triad == "min"
            for mode, table in enumerate((_TOKENS_MAJOR, _TOKENS_MINOR)):
                value = table.get(interval, -1.0)
                if interval == 0 and minor != bool(mode):
                    value = 0.0
                totals[tonic, mode] += length * value
    tonic, mode = divmod(int(np.argmax(totals)), 2)
    name = names.get(tonic, PitchName((tonic * 7 + 5) % 12 - 5))
    key = Key(name, "minor" if mode else "major")
    return (KeyRegion(score.span, key, 0.8),)
