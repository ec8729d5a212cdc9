"""What an export process does, called here without a process."""

import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from analysis.errors import ExportError
from analysis.reading.sources import source_of
from app.engraving.engraver import engrave
from app.engraving.layouts import Layout
from app.export.folders import CONTENTS
from app.export.frames import Frame
from app.worker.export_jobs import write_exports
from app.worker.export_wishes import ExportWish, Sort
from app.worker.messages import Exported, Step
from app.worker.warming import WARM_SCORE
from tests.app.reviews import read_sample


def test_all_that_is_wished_for_is_written_and_every_picture_is_told(tmp_path: Path) -> None:
    source, document = read_sample("slow-to-warm")
    sorts: frozenset[Sort] = frozenset({"stills", "cards", "score"})
    wish = ExportWish(tmp_path / "out", sorts=sorts, frame=Frame(640, 360))
    *steps, exported = write_exports(source, document, wish)
    assert isinstance(exported, Exported)
    found = sorted(path for path in wish.folder.rglob("*") if path.is_file())
    assert [*found] == sorted((*exported.paths, wish.folder / CONTENTS))
    told = [step.text for step in steps if isinstance(step, Step)]
    counts = [(step.done, step.count) for step in steps if isinstance(step, Step)]
    assert counts == [(at, len(steps)) for at in range(len(steps))]
    assert len(told) == len(steps)
    listed = {path.relative_to(wish.folder).as_posix() for path in exported.paths}
    # What takes several pictures is told once.
    named = {re.sub(r"-part-\d+", "", name) for name in listed}
    assert set(told) == {name for name in named if not name.endswith("manifest.json")}
    assert sum(name.endswith(".png") for name in told) > 4


def test_texts_alone_are_written_though_no_picture_stands_on_a_timeline(tmp_path: Path) -> None:
    source, document = read_sample("slow-to-warm")
    sorts: frozenset[Sort] = frozenset({"timeline"})
    *_, exported = write_exports(source, document, ExportWish(tmp_path / "out", sorts=sorts))
    assert isinstance(exported, Exported)
    endings = {path.suffix for path in exported.paths}
    assert {".otio", ".edl", ".xml"} <= endings


def test_a_score_is_engraved_in_any_thread() -> None:
    with ThreadPoolExecutor(1) as pool:
        pages = pool.submit(lambda: list(engrave(source_of(WARM_SCORE, "a"), Layout()))).result()
    assert len(pages) == 1


def test_a_folder_that_cannot_be_made_is_said_in_words(tmp_path: Path) -> None:
    source, document = read_sample("slow-to-warm")
    taken = tmp_path / "taken"
    taken.write_bytes(b"a file")
    for sort in ("score", "cards"):
        wish = ExportWish(taken / "out", sorts=frozenset({sort}), frame=Frame(640, 360))
        with pytest.raises(ExportError, match="hoose another folder"):
            list(write_exports(source, document, wish))
