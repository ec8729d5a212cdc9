"""What an export process does: write files out of a document, each in one step."""

from __future__ import annotations

import queue
from collections.abc import Callable, Generator, Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path

from analysis.reading.sources import Source
from app.export.annotated_pdf import to_pdf
from app.export.cards import write_cards
from app.export.folders import Folder
from app.export.manifests import Progress
from app.export.reveals import write_reveals
from app.export.song_pictures import song_pictures, write_song_pictures
from app.export.stills import Place, write_places, write_stills
from app.export.text_sets import Pictures, stem_of, text_files
from app.review.document import Document
from app.review.writing import written
from app.worker.export_wishes import PRINTED, STRETCH_SORTS, ExportWish, Sort, sort_of
from app.worker.messages import Exported, Step

#: A sort of picture, how many there are of it, and what writes them, telling of each.
_Writing = tuple[Sort, int, Callable[[Progress], list[Path]]]


def write_exports(
    source: Source, document: Document, wish: ExportWish
) -> Iterator[Step | Exported]:
    """Write what is wished for, saying before each file which it is; what was made at the end."""
    folder = Folder(wish.folder)
    words = written(document, wish.writing)
    pictures = [one for one in _pictures(source, words, wish) if one[1]]
    texts = [name for name, _ in _texts(source, document, wish)]
    count = len(texts) + sum(number for _, number, _ in pictures)
    made: list[Path] = []
    done = 0
    for sort, number, write in pictures:
        made += yield from _with_steps(sort, write, done, count)
        done += number
    # Texts come last: they name the pictures that there are.
    for name, make in _texts(source, document, wish):
        yield Step(name, done, count)
        made.append(folder.write(name, make()))
        done += 1
    yield Exported(wish.folder, tuple(made), folder.finish(made))


def pictures_of(document: Document, wish: ExportWish, root: Path | None = None) -> Pictures:
    """Where the pictures of an export lie, for its texts; ``root`` is the folder that has them."""
    stills, cards = wish.points(document, "stills"), wish.points(document, "cards")
    return Pictures(
        stills="stills" if stills else "",
        cards="cards" if cards else "",
        pattern=wish.pattern,
        of_stills=stills,
        of_cards=cards,
        root=root,
    )


def _texts(
    source: Source, document: Document, wish: ExportWish
) -> Iterator[tuple[str, Callable[[], bytes]]]:
    stem = stem_of(source)
    words = written(document, wish.writing)
    pictures = pictures_of(words, wish, wish.folder)
    texts = text_files(document, source, wish.time, pictures, wish.form, wish.writing)
    for name, make in texts:
        if wish.wants(sort_of(name.removeprefix(stem)), name.removeprefix(stem)):
            yield name, make
    if wish.wants("score", PRINTED):
        yield f"{stem}{PRINTED}", partial(to_pdf, words, source)


def _pictures(source: Source, document: Document, wish: ExportWish) -> Iterator[_Writing]:
    """Each sort of picture; what is shown and how is the same for all."""
    frame, contents, endings, pattern = wish.frame, wish.contents, wish.endings, wish.pattern
    stills, reveals, cards = (wish.points(document, one) for one in ("stills", "reveals", "cards"))
    form = [name for name, *_ in song_pictures(document, source) if wish.wants("form", name)]

    def still(tell: Progress) -> list[Path]:
        return write_stills(
            document,
            source,
            wish.folder / "stills",
            frame,
            tell,
            contents,
            endings,
            pattern,
            stills,
        )

    def reveal(tell: Progress) -> list[Path]:
        return write_reveals(
            document, source, wish.folder / "reveals", frame, tell, wish.steps, contents, pattern,
            reveals, endings,
        )  # fmt: skip

    def card(tell: Progress) -> list[Path]:
        shown = wish.seconds_shown(document)
        return write_cards(
            document, source, wish.folder / "cards", frame, tell, shown, endings, pattern, cards
        )

    def section(tell: Progress) -> list[Path]:
        return write_song_pictures(
            document, source, wish.folder / "form", frame, tell, contents, endings, form
        )

    def stretch(sort: Sort, tell: Progress) -> list[Path]:
        places = [Place(*one) for one in wish.stretches(sort)]
        folder = wish.folder / sort
        return write_places(document, source, folder, places, frame, tell, contents, endings)

    yield "stills", len(stills), still
    for sort in STRETCH_SORTS:
        yield sort, len(wish.stretches(sort)), partial(stretch, sort)
    yield "reveals", len(reveals), reveal
    yield "cards", len(cards), card
    yield "form", len(form), section


def _with_steps(
    sort: Sort, write: Callable[[Progress], list[Path]], done: int, count: int
) -> Generator[Step, None, list[Path]]:
    """Run a writer in a thread, so that what it tells can be passed on while it works."""
    told: queue.SimpleQueue[Step | None] = queue.SimpleQueue()

    def tell(number: int, _: int, name: str) -> None:
        told.put(Step(f"{sort}/{name}", done + number, count))

    with ThreadPoolExecutor(1) as pool:
        work = pool.submit(write, tell)
        work.add_done_callback(lambda _: told.put(None))
        while step := told.get():
            yield step
        return work.result()
