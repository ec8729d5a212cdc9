"""The scores that the music21 package carries, and the sixty of them that the suite reads.

Besides MusicXML it carries other notations, which the program does not open; `as_musicxml` has
music21 write them as MusicXML, as a person's notation editor would. Reference pieces stand beside
the project and may be missing.
"""

from __future__ import annotations

import importlib.util
import warnings
from pathlib import Path
from typing import Any, Final

from music21 import converter
from music21.musicxml.m21ToXml import GeneralObjectExporter

#: Pieces with analyses by people, beside the project.
REFERENCE: Final = Path(__file__).parents[3] / "shared" / "reference"
#: Bytes above which a file of tunes is left alone: music21 takes minutes to read hundreds of them.
_LONG_TEXT: Final = 30_000
#: How many pieces the suite reads without ``--full``.
SAMPLE_SIZE: Final = 60
#: How many of the smallest pieces of each folder are among them: folders are composers.
_EACH: Final = 3
#: Packed and plain files of one piece differ in size by about this.
_PACKING: Final = 14


def corpus_folder() -> Path:
    """The folder of music21's corpus, found without importing music21."""
    spec = importlib.util.find_spec("music21")
    assert spec is not None
    assert spec.origin is not None
    return Path(spec.origin).parent / "corpus"


def all_pieces() -> list[Path]:
    """Every MusicXML file of the corpus, in order of its path."""
    kinds = {".xml", ".musicxml", ".mxl"}
    return sorted(path for path in corpus_folder().rglob("*") if path.suffix in kinds)


def sample_pieces() -> list[Path]:
    """A fixed sample: small pieces of every composer, then others evenly spaced."""
    by_folder: dict[Path, list[Path]] = {}
    small = sorted(all_pieces(), key=lambda path: (_size(path), path))
    for path in small:
        by_folder.setdefault(path.relative_to(corpus_folder()).parents[-2], []).append(path)
    chosen = [path for folder in by_folder.values() for path in folder[:_EACH] if _size(path) < 9e5]
    others = [path for path in small[: len(small) // 2] if path not in chosen]
    missing = SAMPLE_SIZE - len(chosen)
    step = len(others) / missing
    return sorted(chosen + [others[int(step * place)] for place in range(missing)])


def other_notations(ending: str, count: int) -> list[Path]:
    """Evenly spaced pieces of another notation: ``.abc``, ``.krn`` or ``.rntxt``."""
    found = sorted(path for path in corpus_folder().rglob(f"*{ending}") if _size(path) < _LONG_TEXT)
    return [found[len(found) * place // count] for place in range(count)]


def as_musicxml(path: Path) -> bytes:
    """A piece of another notation as music21 writes it; of several in one file the first."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        read: Any = converter.parse(path, forceSource=True, storePickle=False)
        first = read.scores[0] if "Opus" in read.classes else read
        content = GeneralObjectExporter(first).parse()
    assert isinstance(content, bytes)
    return content


def reference_pieces() -> list[Path]:
    """The scores of the reference analyses beside the project; none where they are missing."""
    return sorted(REFERENCE.glob("*/*.mxl"))


def name_of(path: Path) -> str:
    """A short name for the test's report."""
    folder = corpus_folder() if path.is_relative_to(corpus_folder()) else REFERENCE
    return str(path.relative_to(folder))


def _size(path: Path) -> int:
    size = path.stat().st_size
    return size * _PACKING if path.suffix == ".mxl" else size
