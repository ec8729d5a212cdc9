"""How right the chord layer is: keys, numerals, functions against analyses by people.

For each corpus a row of shares, weighted by duration: ours from the JSON that ``overstave marks``
writes, and plain music21 beside it in the same run. The rock songs are read without their key
signatures and rehearsal marks, each with key tables that were counted and weighed without it
(`tests.bench.fit_keys`); the scores from their notes alone.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Final

from analysis.key_tables import KeyTables
from analysis.marks import Settings
from analysis.pipeline import analyse
from analysis.reading import read_score
from analysis.sources import read_source
from app.export.marks_json import to_json
from tests.bench.agreement import Analyst, Heard, heard_in, score_folder, shares
from tests.bench.fit_keys import left_out_tables
from tests.bench.plain_music21 import read_plainly

REFERENCE: Final = Path(__file__).parents[3] / "shared" / "reference"
#: Least shares asked for, by corpus and name; see the table of figures in DEVELOPERS.md.
LIMITS: Final[dict[str, dict[str, float]]] = {
    "rock": {
        "key tonic": 94,
        "numeral": 93,
        "function": 94,
        "applied precision": 78,
        "applied recall": 85,
        "outside precision": 88,
        "outside recall": 86,
        "outside precision, their mode": 88,
        "outside recall, their mode": 86,
        "changes found": 50,
    },
    "scores": {
        "key tonic": 86,
        "root degree": 74,
        "numeral, inversion": 61,
        "numeral, inversion, key": 59,
        "function": 85,
        "applied precision": 65,
        "applied recall": 50,
    },
}


def ours(settings: Settings, tables: Callable[[Path], KeyTables] | None = None) -> Analyst:
    """The project's own analysis through its JSON.

    ``tables`` gives the key finder's tables for a piece that the package's own were fitted on.
    """

    def analyst(path: Path) -> Sequence[Heard]:
        score = read_score(read_source(path))
        found = analyse(score, settings, key_tables=tables(path) if tables else None)
        return heard_in(json.loads(to_json(found, score))["chords"])

    return analyst


def measure(scores: Path | None = None, reference: Path | None = None) -> list[dict[str, Any]]:
    """Every share of every corpus, ours with its limit and music21's beside it.

    With ``scores`` and ``reference`` that folder alone is scored, symbols used where written.
    """
    corpora = (
        [("given", scores, reference, Settings())]
        if scores is not None and reference is not None
        else [
            (
                "rock",
                REFERENCE / "rock",
                REFERENCE / "rock",
                Settings(use_key_signature=False, use_rehearsal_marks=False),
            ),
            (
                "scores",
                REFERENCE / "scores",
                REFERENCE / "scores",
                Settings(use_chord_symbols=False),
            ),
        ]
    )
    figures = []
    for corpus, folder, expected, settings in corpora:
        if not folder.exists():
            continue
        tables = left_out_tables if corpus == "rock" else None
        found = shares(score_folder(folder, expected, ours(settings, tables)))
        plain = shares(score_folder(folder, expected, read_plainly))
        for name, value in found.items():
            limit = LIMITS.get(corpus, {}).get(name)
            figures.append(
                {
                    "name": f"{corpus}: {name}",
                    "value": value,
                    "limit": limit,
                    "holds": limit is None or value >= limit,
                    "music21": plain[name],
                }
            )
    return figures
