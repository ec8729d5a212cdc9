"""How right the chord layer is: keys, numerals, functions against analyses by people.

For each corpus a table of shares, weighted by duration: ours from the JSON that ``overstave marks``
writes, and plain music21 beside it in the same run.

- *rock*: the reference songs without their key signatures and rehearsal marks, each with key tables
  that were counted and weighed without it (`tests.bench.fit_keys`);
- *scores* and *chorales*: the reference scores and fifteen Bach chorales of music21's package from
  their notes alone, each with weights that were not fitted to it where these are kept
  (``python -m tests.bench.fit_inferred --keep``); what the package's own weights, fitted to all of
  them, give on them stands beside it as *fitted*, and flatters;
- *madrigals*: Monteverdi's, by RomanText in music21's package, from the notes alone; every fourth,
  or all with ``--slow`` (ten minutes more);
- *lead sheets*, *Nottingham*: tunes with chord symbols of music21's package, which nobody analysed;
  `tests.bench.symbol_tunes` says what is checked.

Reference pieces that are missing are left out.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from analysis.groundwork import lay_groundwork
from analysis.inference.chord_weights import FittedModel
from analysis.keys.key_tables import KeyTables
from analysis.marks import Corrections, Settings
from analysis.pipeline import work
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from app.export.marks_json import to_json
from tests.bench.agreement import (
    Analysed,
    Analyst,
    Heard,
    heard_in,
    read_folder,
    score_pieces,
    shares,
)
from tests.bench.fit_inferred import held_out_model
from tests.bench.fit_keys import left_out_tables
from tests.bench.plain_music21 import read_plainly
from tests.bench.romantext_corpora import read_chorales, read_madrigals
from tests.bench.symbol_tunes import (
    Tune,
    check_music21,
    check_ours,
    read_lead_sheets,
    read_nottingham,
    shares_of,
)

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
        "false changes a song": 0.2,
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
    "chorales": {"root degree": 80, "numeral, inversion": 65},
}
_UNMARKED: Final = Settings(use_key_signature=False, use_rehearsal_marks=False)
_NOTES_ALONE: Final = Settings(use_chord_symbols=False)


@dataclass(frozen=True)
class Corpus:
    """Pieces with analyses, who analyses them, and under which names the shares are given.

    ``fitted`` is the analyst whose weights have seen the pieces, None where there is none.
    """

    name: str
    pieces: Sequence[Analysed]
    analyst: Analyst
    fitted: Analyst | None = None


def ours(
    settings: Settings,
    tables: Callable[[Path], KeyTables] | None = None,
    model: Callable[[str], FittedModel | None] | None = None,
) -> Analyst:
    """The project's own analysis through its JSON.

    ``tables`` gives the key finder's tables for a piece that the package's own were fitted on,
    ``model`` the chord decoder's weights, None for the package's.
    """

    def analyst(piece: Analysed) -> Sequence[Heard]:
        score = read_score(read_source(piece.path))
        ground = lay_groundwork(
            score,
            settings,
            Corrections(),
            tables(piece.path) if tables else None,
            model(piece.name) if model else None,
        )
        found = work(ground, Corrections()).analysis
        return heard_in(json.loads(to_json(found, score))["chords"])

    return analyst


def measure(
    scores: Path | None = None, reference: Path | None = None, slow: bool = False
) -> Iterator[dict[str, Any]]:
    """Every share of every corpus, ours with its limit and music21's beside it.

    With ``scores`` and ``reference`` that folder alone is scored, symbols used where written.
    """
    if scores is not None and reference is not None:
        given = list(read_folder(scores, reference))
        yield from _figures(Corpus("given", given, ours(Settings())))
        return
    for corpus in _corpora(slow):
        if corpus.pieces:
            yield from _figures(corpus)
    for name, tunes in (("lead sheets", read_lead_sheets()), ("Nottingham", read_nottingham())):
        yield from _tune_figures(name, list(tunes))


def _corpora(slow: bool) -> Iterator[Corpus]:
    rock, folder = REFERENCE / "rock", REFERENCE / "scores"
    if rock.is_dir():
        yield Corpus("rock", list(read_folder(rock, rock)), ours(_UNMARKED, left_out_tables))
    for name, pieces in (
        ("scores", read_folder(folder, folder) if folder.is_dir() else ()),
        ("chorales", read_chorales()),
    ):
        held = list(pieces)
        if held and all(held_out_model(piece.name) is not None for piece in held):
            unseen = ours(_NOTES_ALONE, model=held_out_model)
            yield Corpus(name, held, unseen, ours(_NOTES_ALONE))
        else:
            yield Corpus(f"{name}, fitted to these", held, ours(_NOTES_ALONE))
    yield Corpus("madrigals", list(read_madrigals(every=slow)), ours(_NOTES_ALONE))


def _figures(corpus: Corpus) -> Iterator[dict[str, Any]]:
    found = shares(score_pieces(corpus.pieces, corpus.analyst))
    beside = {"music21": shares(score_pieces(corpus.pieces, _plain_music21))}
    if corpus.fitted is not None:
        beside["fitted"] = shares(score_pieces(corpus.pieces, corpus.fitted))
    yield from _rows(corpus.name, found, beside)


def _plain_music21(piece: Analysed) -> Sequence[Heard]:
    return read_plainly(piece.path)


def _tune_figures(name: str, tunes: Sequence[Tune]) -> Iterator[dict[str, Any]]:
    found = shares_of([one for tune in tunes for one in check_ours(tune)])
    plain = shares_of([one for tune in tunes for one in check_music21(tune)])
    yield from _rows(name, found, {"music21": plain})


def _rows(
    corpus: str, found: Mapping[str, float], beside: Mapping[str, Mapping[str, float]]
) -> Iterator[dict[str, Any]]:
    limits = LIMITS.get(corpus, {})
    for name, value in found.items():
        limit = limits.get(name)
        fewer = name.startswith("false")
        holds = limit is None or (value <= limit if fewer else value >= limit)
        yield {
            "name": f"{corpus}: {name}",
            "value": value,
            "limit": limit,
            "holds": holds,
            **{other: values[name] for other, values in beside.items()},
        }
