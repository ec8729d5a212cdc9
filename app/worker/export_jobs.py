"""What an export process does: write files out of a document, each in one step."""

from __future__ import annotations

import queue
from collections.abc import Callable, Generator, Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path

from analysis.errors import ExportError
from analysis.sources import Source
from app.export.annotated import annotate
from app.export.cards import write_cards
from app.export.frames import Frame
from app.export.manifests import Progress
from app.export.stills import write_stills
from app.review.document import Document
from app.review.files import write_atomically
from app.worker.messages import ExportWish, Step


def write_exports(
    source: Source, document: Document, wish: ExportWish
) -> Iterator[Step | list[Path]]:
    """Write what was wished for and yield the paths at the end."""
    written: list[Path] = []
    frame = Frame(*wish.size)
    if wish.annotated:
        yield Step("Writing the annotated score")
        path = wish.folder / f"{Path(source.name).stem}-annotated.musicxml"
        try:
            wish.folder.mkdir(parents=True, exist_ok=True)
            write_atomically(path, annotate(source, document))
        except OSError as error:
            raise ExportError(
                f"Nothing could be written into {wish.folder}: {error.strerror or error}. "
                "Choose another folder."
            ) from error
        written.append(path)
    if wish.stills:
        stills = partial(write_stills, document, source, wish.folder / "stills", frame)
        written += yield from _with_steps("Still", stills)
    if wish.cards:
        cards = partial(write_cards, document, source, wish.folder / "cards", frame)
        written += yield from _with_steps("Card", cards)
    yield written


def _with_steps(
    what: str, write: Callable[[Progress], list[Path]]
) -> Generator[Step, None, list[Path]]:
    """Run a writer in a thread, so that what it tells can be passed on while it works."""
    told: queue.SimpleQueue[Step | None] = queue.SimpleQueue()

    def tell(number: int, count: int, name: str) -> None:
        told.put(Step(f"{what} {number + 1} of {count}"))

    with ThreadPoolExecutor(1) as pool:
        work = pool.submit(write, tell)
        work.add_done_callback(lambda _: told.put(None))
        while step := told.get():
            yield step
        return work.result()
