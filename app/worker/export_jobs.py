"""What an export process does: write files out of a document, each in one step."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from analysis.errors import ExportError
from analysis.sources import Source
from app.export.annotated import annotate
from app.review.document import Document
from app.review.files import write_atomically
from app.worker.messages import ExportWish, Step


def write_exports(
    source: Source, document: Document, wish: ExportWish
) -> Iterator[Step | list[Path]]:
    """Write what was wished for and yield the paths at the end."""
    written: list[Path] = []
    try:
        wish.folder.mkdir(parents=True, exist_ok=True)
        if wish.annotated:
            yield Step("Writing the annotated score")
            path = wish.folder / f"{Path(source.name).stem} annotated.musicxml"
            write_atomically(path, annotate(source, document))
            written.append(path)
    except OSError as error:
        raise ExportError(
            f"Nothing could be written into {wish.folder}: {error.strerror or error}. "
            "Choose another folder."
        ) from error
    yield written
