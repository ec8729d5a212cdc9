"""What the export room lists before it is made."""

import errno
import os
from pathlib import Path

import pytest

from analysis.errors import ExportError
from app.export.frames import Frame
from app.export.manifests import MANIFEST
from app.export.reveal_steps import STEPS
from app.export.talking_points import talking_points
from app.export.text_sets import stem_of
from app.review.files import PART
from app.views.export_room_words import SORT_WORDS, STEP_WORDS
from app.worker.export_jobs import write_exports
from app.worker.export_wishes import SORTS, Entry, ExportWish, Offer, entries_of, measures_typed
from app.worker.messages import Exported
from app.worker.offer_jobs import offer, write_text
from tests.app.reviews import read_sample

PLAIN = Frame(640, 360)


def offered(kept: tuple) -> Offer:  # type: ignore[type-arg]
    (found,) = offer(kept)
    return found


def test_the_list_names_every_file_that_is_written(tmp_path: Path) -> None:
    source, document = read_sample("slow-to-warm")
    found = offered((source, document))
    wish = ExportWish(
        tmp_path, frame=PLAIN, steps=("score", "mark"), pattern="{song} {number}",
        measures=measures_typed(document, "1, 3–4"), pages=found.pages,
    )  # fmt: skip
    listed = list(entries_of(document, wish, found))
    assert found.pages[0].span.start == document.score.measures[0].onset
    *_, exported = write_exports(source, document, wish)
    assert isinstance(exported, Exported)
    written = {path.relative_to(tmp_path).as_posix() for path in exported.paths}
    pictures = {name for name in written if not name.endswith(MANIFEST)}
    single = {entry.name for entry in listed if entry.sort != "reveals"}
    steps = {name for name in pictures if name.startswith("reveals/")}
    # What takes several pictures is listed by the first of them.
    assert single == {name for name in pictures - steps if "-part-" not in name}
    reveals = [entry.name.partition("-1…")[0] for entry in listed if entry.sort == "reveals"]
    assert all(any(name.startswith(f"{one}-") for name in steps) for one in reveals)
    assert all(any(name.startswith(f"{one}-") for one in reveals) for name in steps)
    assert {entry.sort for entry in listed} == set(SORTS)


def test_what_is_left_out_is_not_written_and_no_text_speaks_of_it(tmp_path: Path) -> None:
    source, document = read_sample("slow-to-warm")
    first, second = talking_points(document)[:2]
    wish = ExportWish(
        tmp_path,
        frozenset({"stills", "cards", "timeline"}),
        frozenset({("stills", first.id), ("cards", second.id), ("timeline", "-captions.srt")}),
        PLAIN,
    )
    names = {one.id: one.name for one in entries_of(document, wish, offered((source, document)))}
    *_, exported = write_exports(source, document, wish)
    assert isinstance(exported, Exported)
    written = {path.relative_to(tmp_path).as_posix() for path in exported.paths}
    timeline = (tmp_path / f"{stem_of(source)}-timeline.otio").read_text()
    for entry_id in wish.left_out:
        assert names[entry_id] not in written
        assert names[entry_id] not in timeline
    for entry_id in (("stills", second.id), ("cards", first.id)):
        assert names[entry_id] in written
        assert names[entry_id] in timeline
    assert not any(name.startswith("reveals/") for name in written)


def test_names_keep_their_numbers_when_another_is_left_out(tmp_path: Path) -> None:
    source, document = read_sample("slow-to-warm")
    points = talking_points(document)
    some = ExportWish(tmp_path, frozenset({"cards"}), frozenset({("cards", points[0].id)}), PLAIN)
    *_, exported = write_exports(source, document, some)
    assert isinstance(exported, Exported)
    assert exported.paths[0].name.startswith("02-")


def test_a_full_disk_is_said_and_leaves_whole_files_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    source, document = read_sample("slow-to-warm")
    room, kept = [7], os.fsync

    def keep(handle: int) -> None:
        if not room[0]:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        room[0] -= 1
        kept(handle)

    monkeypatch.setattr(os, "fsync", keep)
    wish = ExportWish(tmp_path, frozenset({"script", "timeline", "cards"}), frame=PLAIN)
    with pytest.raises(ExportError, match=r"No space left on device.*Free some space"):
        list(write_exports(source, document, wish))
    files = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert len(files) == 7
    assert not [path for path in files if path.name.endswith(PART)]
    monkeypatch.undo()
    *_, exported = write_exports(source, document, wish)
    assert isinstance(exported, Exported)
    unchanged = {path.relative_to(tmp_path).as_posix() for path in files}
    assert set(exported.outcome.unchanged) == unchanged, "each of them was whole"


def test_measures_that_are_not_there_are_refused_in_words() -> None:
    _, document = read_sample("slow-to-warm")
    names = [one.name for one in measures_typed(document, " 1,, 3 - 4 ,1 ")]
    assert names == ["measures-1", "measures-3-4"]
    assert measures_typed(document, "  ") == ()
    with pytest.raises(ExportError, match="There is no measure 999"):
        measures_typed(document, "1, 999")


def test_a_wrong_pattern_is_refused_in_words() -> None:
    _, document = read_sample("slow-to-warm")
    with pytest.raises(ExportError, match=r"“\{measures\}” is not one of them"):
        list(entries_of(document, ExportWish(Path(), pattern="{measures}"), None))


def test_a_text_is_shown_as_it_will_be_written(tmp_path: Path) -> None:
    source, document = read_sample("slow-to-warm")
    wish = ExportWish(tmp_path, frozenset({"script"}))
    (shown,) = write_text((source, document), wish, "-outline.md")
    *_, exported = write_exports(source, document, wish)
    assert isinstance(exported, Exported)
    assert exported.paths[0].read_text() == shown


def test_everything_has_words() -> None:
    assert set(SORT_WORDS) == set(SORTS)
    assert set(STEP_WORDS) == set(STEPS)
    assert Entry("cards", "a", "cards/a.png", "A").id == ("cards", "a")
