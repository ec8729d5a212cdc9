"""Broken files by number: the same number gives the same bytes on every machine.

A case is a valid file with something done to it. Bases are short: the samples and small pieces of
music21's corpus, cut to a few measures, so that thousands of cases can be tried.
"""

from __future__ import annotations

import contextlib
import copy
import json
import tempfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random
from typing import Literal

from lxml import etree

from analysis.errors import OverstaveError
from analysis.pipeline import analyse
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source, source_of
from app.export import themes
from app.review.document import Document, SourceInfo
from app.review.journals import Journal
from app.review.storage import stored, to_bytes
from sample_scores import compose
from tests.app.random_edits import random_edit
from tests.corpus.pieces import all_pieces
from tests.faults import broken_music, broken_packages, broken_settings, broken_signs, broken_xml
from tests.faults.nasty_values import damaged_bytes

Kind = Literal["score", "review", "journal", "theme", "preferences"]
#: Measures of a base, and how many bases there are.
_MEASURES = 8
_BASES = 24
#: Edits in the review that is broken.
_EDITS = 40
#: One score in so many is made very large, or whole pieces are broken instead of short ones.
_SELDOM = 250
#: A file of settings as the program leaves it, with a value of each kind.
PREFERENCES = b"""[General]
folder=/home/someone/songs
guided=true
hidden_layers=degrees, keys
look=dark
recent=/home/someone/a.musicxml, /home/someone/b.mxl
text_scale=1.25
[layout]
columns=@ByteArray(\\0\\0\\0\\xff\\0\\0\\0\\x1\\0\\0\\0\\x3)
window=@ByteArray(\\x1\\xd9\\xd0\\xcb\\0\\x3\\0\\0)
[writing]
degrees=movable do
inversions=slash
names=german
numerals=major
"""


@dataclass(frozen=True)
class Case:
    """A broken file: what was done to what, the name it has on disk, and its bytes."""

    number: int
    kind: Kind
    what: str
    name: str
    data: bytes


def case(number: int, secret: str) -> Case:
    """The case of that number; ``secret`` is a file that it may try to reach."""
    random = Random(f"case {number}")
    drawn = random.random()
    if drawn < 0.2:
        return _bytes_case(number, random)
    if drawn < 0.45:
        return _tree_case(number, random, broken_xml.BREAKINGS)
    if drawn < 0.78:
        return _tree_case(number, random, (*broken_music.BREAKINGS, *broken_signs.BREAKINGS))
    if drawn < 0.86:
        return _package_case(number, random, secret)
    return _settings_case(number, random)


def named_cases(secret: str) -> list[Case]:
    """Every way of breaking a score once, the large ones too, by itself on a base of its own."""
    cases = []
    ways = (
        *broken_xml.BREAKINGS,
        *broken_music.BREAKINGS,
        *broken_signs.BREAKINGS,
        *broken_music.LARGE,
    )
    for number, breaking in enumerate(ways):
        random = Random(breaking.__name__)
        root = etree.fromstring(bases()[number % len(bases())])
        breaking(root, random)
        cases.append(_score(-1 - number, breaking.__name__, _to_bytes(root)))
    for packing in (*broken_packages.PACKINGS, *broken_packages.LARGE):
        data = packing(bases()[0], secret, Random(packing.__name__))
        cases.append(_score(-1 - len(cases), packing.__name__, data))
    return cases


@cache
def bases() -> tuple[bytes, ...]:
    """Short valid scores: the samples first, then pieces of every kind that the corpus has."""
    pieces = [path for path in all_pieces() if 2_000 < path.stat().st_size < 60_000]
    chosen = pieces[:: len(pieces) // (_BASES - len(compose.PIECES)) + 1]
    samples = [compose.FOLDER / f"{piece.stem}.musicxml" for piece in compose.PIECES]
    return tuple(_cut(read_source(path).original) for path in (*samples, *chosen))


@cache
def reviewed() -> tuple[Document, ...]:
    """A review of the first base, edited step by step: each document as it was after an edit."""
    source = source_of(bases()[0], "base.musicxml")
    score = read_score(source)
    document = Document(SourceInfo(source.name, "", source.digest), score, analyse(score))
    row, draw = [document], Random("edits")
    for _ in range(_EDITS):
        with contextlib.suppress(OverstaveError):
            row.append(random_edit(draw, row[-1]).apply(row[-1]))
    return tuple(row)


def _bytes_case(number: int, random: Random) -> Case:
    data, other = random.choice(bases()), random.choice(bases())
    if random.random() < 0.2:
        data = broken_packages.good(data, "", random)
    return _score(number, "damaged bytes", damaged_bytes(random, data, other))


def _tree_case(number: int, random: Random, ways: tuple[broken_xml.Breaking, ...]) -> Case:
    root = etree.fromstring(random.choice(bases()))
    large = random.random() < 1 / _SELDOM
    chosen = [random.choice(ways) for _ in range(random.choice((1, 1, 1, 2, 3)))]
    if large:
        chosen = [random.choice(broken_music.LARGE), *chosen[:1]]
    for breaking in chosen:
        breaking(root, random)
    return _score(number, ", ".join(one.__name__ for one in chosen), _to_bytes(root))


def _package_case(number: int, random: Random, secret: str) -> Case:
    large = random.random() < 0.03
    packing = random.choice(broken_packages.LARGE if large else broken_packages.PACKINGS)
    data = packing(random.choice(bases()), secret, random)
    if random.random() < 0.2:
        data = damaged_bytes(random, data, random.choice(bases()))
    return _score(number, packing.__name__, data)


def _settings_case(number: int, random: Random) -> Case:
    kinds: tuple[tuple[Kind, str, Callable[[], bytes], _Damaging], ...] = (
        ("review", "a.review.json", _review_bytes, broken_settings.damaged_review),
        ("review", "a.review.json", _review_bytes, broken_settings.damaged_review),
        ("journal", "a.journal", _journal_bytes, broken_settings.damaged_journal),
        ("theme", "a.json", _theme_bytes, broken_settings.damaged_theme),
        ("preferences", "a.ini", lambda: PREFERENCES, broken_settings.damaged_preferences),
    )
    kind, name, make, damage = random.choice(kinds)
    return Case(number, kind, damage.__name__, name, damage(random, make()))


_Damaging = Callable[[Random, bytes], bytes]


@cache
def _review_bytes() -> bytes:
    return to_bytes(stored(reviewed()[-1]))


@cache
def _journal_bytes() -> bytes:
    """A journal of all edits, as if they had been made at one moment."""
    first, *others = reviewed()
    with tempfile.TemporaryDirectory() as folder:
        journal = Journal.begin(Path(folder), first, Path("/songs/a.review.json"))
        for document in others:
            journal.record(document, "An edit")
        lines = journal.path.read_bytes().splitlines()
        journal.remove()
    content = b""
    for line in lines:
        plain = json.loads(line.partition(b" ")[2])
        payload = json.dumps({**plain, "at": "2000-01-01T00:00:00+00:00"}).encode()
        content += b"%08x %s\n" % (zlib.crc32(payload), payload)
    return content


@cache
def _theme_bytes() -> bytes:
    return (Path(themes.__file__).with_name("themes") / "barline.json").read_bytes()


def _score(number: int, what: str, data: bytes) -> Case:
    return Case(number, "score", what, "a.mxl" if data.startswith(b"PK") else "a.musicxml", data)


def _to_bytes(root: etree._Element) -> bytes:
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True)


def _cut(data: bytes) -> bytes:
    """The first measures of a partwise document, without its document type."""
    root = copy.deepcopy(etree.fromstring(data))
    for part in root.iterchildren("part"):
        for measure in list(part)[_MEASURES:]:
            part.remove(measure)
    return _to_bytes(root)
