"""Exports into a folder: everything is there, nothing is half-written, only changes are written."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import jsonschema
import opentimelineio as otio
import pysubs2
import pytest
from lxml import etree

from app import picture_commands
from app.cli import run
from app.export import mark_tables
from app.export.cautions import RIGHTS
from app.export.folders import CONTENTS, Folder, remove_parts
from app.export.mark_tables import read_csv
from app.review.files import write_atomically
from sample_scores import compose

TITLE = "Kettle Won’t Sing"
STEM = "kettle"
SMALL = ("--size", "480x270")
#: So many measures of a sample: a few talking points, quickly painted.
MEASURES = 6

Export = Callable[..., int]


@pytest.fixture(scope="module")
def song(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The beginning of a sample as a score of its own."""
    tree = etree.parse(compose.FOLDER / "kettle-wont-sing.musicxml")
    for part in tree.getroot().findall("part"):
        for measure in part.findall("measure")[MEASURES:]:
            part.remove(measure)
    path = tmp_path_factory.mktemp("song") / f"{STEM}.musicxml"
    path.write_bytes(etree.tostring(tree))
    return path


@pytest.fixture(scope="module")
def export(song: Path) -> Export:
    """Exports the song into a folder, with more arguments."""
    return lambda folder, *more: run(["all", str(song), "--out", str(folder), *SMALL, *more])


def contents(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture(scope="module")
def whole(export: Export, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """A finished export."""
    folder = tmp_path_factory.mktemp("whole")
    assert export(folder) == 0
    return contents(folder)


def test_everything_is_there_and_can_be_read(whole: dict[str, bytes]) -> None:
    for name in (
        "annotated.musicxml",
        "analysis.json",
        "outline.md",
        "timeline.edl",
        "annotated.pdf",
    ):
        assert whole[f"{STEM}-{name}"]
    schema = json.loads(Path(mark_tables.__file__).with_name("mark_table.schema.json").read_text())
    table = json.loads(whole[f"{STEM}-marks.json"])
    jsonschema.Draft202012Validator(schema).validate(table)
    assert len(read_csv(whole[f"{STEM}-marks.csv"])) == len(table["marks"])
    for form in ("vtt", "srt"):
        assert list(pysubs2.SSAFile.from_string(whole[f"{STEM}-captions.{form}"].decode()))
    assert whole[f"{STEM}.rntxt"].startswith(b"Composer:")
    assert json.loads(whole[CONTENTS])["files"] == [
        name for name in json.loads(whole[CONTENTS])["files"] if name in whole
    ]


def test_the_timeline_names_pictures_that_are_there(whole: dict[str, bytes]) -> None:
    timeline = otio.adapters.read_from_string(whole[f"{STEM}-timeline.otio"].decode(), "otio_json")
    files = {clip.media_reference.target_url for clip in timeline.find_clips()}
    pictures = {name for name in whole if name.endswith(".png")}
    assert files == {name for name in pictures if not name.startswith(("form/", "reveals/"))}
    assert files < pictures
    outline = whole[f"{STEM}-outline.md"].decode()
    assert all(f"`{name}`" in outline for name in files)


def test_an_export_again_touches_nothing_and_says_so(
    export: Export, tmp_path: Path, capsys: pytest.CaptureFixture[str], whole: dict[str, bytes]
) -> None:
    assert export(tmp_path) == 0
    assert contents(tmp_path) == whole
    stamps = {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*")}
    capsys.readouterr()
    assert export(tmp_path) == 0
    assert {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*")} == stamps
    said = capsys.readouterr().err.strip().splitlines()
    assert said[-2] == f"0 new, 0 changed, {len(whole) - 1} unchanged files."
    assert said[-1] == RIGHTS


def test_only_what_changed_is_written_again(
    export: Export, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert export(tmp_path) == 0
    spoiled = tmp_path / f"{STEM}.rntxt"
    spoiled.write_text("spoiled")
    (tmp_path / f"{STEM}-outline.md").unlink()
    capsys.readouterr()
    assert export(tmp_path, "--rate", "30") == 0
    said = capsys.readouterr().err.strip().splitlines()[-2]
    # RomanText, both captions, three timelines; cues are on frames of the new rate.
    assert said.startswith("1 new, 6 changed, ")
    assert spoiled.read_text().startswith("Composer:")


class Enough(KeyboardInterrupt):
    """The user's wish to end."""


@pytest.mark.parametrize("after", [1, 12, 13])
def test_what_is_cancelled_leaves_whole_files_only(
    export: Export,
    after: int,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    whole: dict[str, bytes],
) -> None:
    told = 0

    def tell(text: str) -> None:
        nonlocal told
        told += 1
        if told > after:
            raise Enough

    monkeypatch.setattr(picture_commands, "tell", tell)
    assert export(tmp_path) == 1
    left = contents(tmp_path)
    assert left.items() <= whole.items()
    # Each that was told has been made, a picture in every kind of file.
    assert after <= len({name.rpartition(".")[0] for name in left})
    assert len(left) < len(whole)


def test_a_full_disk_is_said_in_words_and_leaves_whole_files_only(
    export: Export,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    whole: dict[str, bytes],
) -> None:
    sync: Callable[[int], None] = os.fsync
    calls = 0

    def full(handle: int) -> None:
        nonlocal calls
        calls += 1
        if calls > 7:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        sync(handle)

    monkeypatch.setattr(os, "fsync", full)
    assert export(tmp_path) == 1
    assert "No space left on device" in capsys.readouterr().err.splitlines()[-1]
    left = contents(tmp_path)
    assert left.items() <= whole.items()
    assert len(left) == 7


def test_a_file_that_the_disk_cannot_take_leaves_nothing_of_itself(
    song: Path, tmp_path: Path, whole: dict[str, bytes]
) -> None:
    # The system itself refuses to write on, in the middle of a file.
    limit = "import resource, sys; resource.setrlimit(resource.RLIMIT_FSIZE, (6000, 6000)); "
    script = f"{limit}from app.cli import run; sys.exit(run(sys.argv[1:]))"
    command = ["cards", str(song), "--out", str(tmp_path / "cards"), "--kinds", "svg,png"]
    done = subprocess.run(
        [sys.executable, "-c", script, *command, "--size", "480x270"],
        capture_output=True,
        text=True,
    )
    assert done.returncode == 1, done.stderr
    assert "could not be written" in done.stderr.splitlines()[-1]
    assert "Traceback" not in done.stderr
    left = {f"cards/{name}": content for name, content in contents(tmp_path / "cards").items()}
    assert left.items() <= whole.items()


def test_what_is_no_longer_made_is_named_and_stays(tmp_path: Path) -> None:
    folder = Folder(tmp_path)
    first = [folder.write("a.txt", b"a"), folder.write("deep/b.txt", b"b")]
    outcome = folder.finish(first)
    assert (outcome.new, outcome.left_over) == (("a.txt", "deep/b.txt"), ())
    for _ in range(2):
        again = Folder(tmp_path)
        outcome = again.finish([again.write("a.txt", b"changed")])
        assert outcome.left_over == ("deep/b.txt",)
    assert outcome.unchanged == ("a.txt",)
    assert "deep/b.txt" in str(outcome)
    assert (tmp_path / "deep" / "b.txt").read_bytes() == b"b"
    (tmp_path / CONTENTS).write_text('{"files": 7}')
    assert Folder(tmp_path).finish([]).left_over == ()


def test_the_outline_and_the_timeline_have_commands_of_their_own(
    song: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], whole: dict[str, bytes]
) -> None:
    for ending in ("vtt", "srt", "otio"):
        out = tmp_path / f"song.{ending}"
        assert run(["timeline", str(song), "--out", str(out)]) == 0
        what = "timeline" if ending == "otio" else "captions"
        assert out.read_bytes() == whole[f"{STEM}-{what}.{ending}"]
    capsys.readouterr()
    assert run(["outline", str(song), "--out", "-", "--first-note", "68"]) == 0
    text = capsys.readouterr().out
    assert text.startswith(f"# {TITLE}\n")
    assert "Pictures" not in text
    assert "- In the video at 1:" in text
    assert "- In the video at 0:" not in text


def test_only_what_an_export_left_unfinished_is_removed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cards = tmp_path / "cards"
    cards.mkdir()
    mine = [tmp_path / ".film.mp4.part", cards / ".01.png.abcdefgh.part", cards / "notes.part"]
    for path in mine:
        path.write_bytes(b"the user's own")

    def die(*_: object) -> None:
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", die)
        patch.setattr(Path, "unlink", lambda *_, **__: None)  # a killed writer tidies up nothing
        for folder in (tmp_path, cards):
            with pytest.raises(OSError, match="error"):
                write_atomically(folder / "01.png", b"half")
    assert len([path for path in tmp_path.rglob("*") if path.is_file()]) == len(mine) + 2
    remove_parts(tmp_path)
    assert sorted(path for path in tmp_path.rglob("*") if path.is_file()) == sorted(mine)
