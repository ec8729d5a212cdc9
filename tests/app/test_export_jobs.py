"""What an export process does, called here without a process."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from analysis.errors import ExportError
from analysis.sources import source_of
from app.engraving.engraver import engrave
from app.engraving.layouts import Layout
from app.worker.export_jobs import write_exports
from app.worker.messages import ExportWish, Step
from app.worker.warming import WARM_SCORE
from tests.app.reviews import read_sample


def test_all_that_is_wished_for_is_written_and_every_picture_is_told(tmp_path: Path) -> None:
    source, document = read_sample("slow-to-warm")
    wish = ExportWish(tmp_path / "out", True, True, True, (640, 360))
    *steps, written = write_exports(source, document, wish)
    assert isinstance(written, list)
    assert sorted(written) == sorted(path for path in wish.folder.rglob("*") if path.is_file())
    pictures = [path for path in written if path.suffix == ".png"]
    told = [step.text.split()[0] for step in steps if isinstance(step, Step)]
    assert told.count("Still") + told.count("Card") == len(pictures) > 4


def test_a_score_is_engraved_in_any_thread() -> None:
    with ThreadPoolExecutor(1) as pool:
        pages = pool.submit(lambda: list(engrave(source_of(WARM_SCORE, "a"), Layout()))).result()
    assert len(pages) == 1


def test_a_folder_that_cannot_be_made_is_said_in_words(tmp_path: Path) -> None:
    source, document = read_sample("slow-to-warm")
    taken = tmp_path / "taken"
    taken.write_bytes(b"a file")
    for annotated, cards in ((True, False), (False, True)):
        wish = ExportWish(taken / "out", annotated, False, cards, (640, 360))
        with pytest.raises(ExportError, match="hoose another folder"):
            list(write_exports(source, document, wish))
