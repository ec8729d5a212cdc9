"""The scores that the music21 package carries, and the sixty of them that the suite reads."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from typing import Final

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


def name_of(path: Path) -> str:
    """A short name for the test's report."""
    return str(path.relative_to(corpus_folder()))


def _size(path: Path) -> int:
    size = path.stat().st_size
    return size * _PACKING if path.suffix == ".mxl" else size
