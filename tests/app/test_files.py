"""Files that are put in place in one step: whole, readable as before, with nothing left beside."""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.review.files import PART, content_of, write_atomically


@pytest.fixture
def _usual_mask() -> Iterator[None]:
    before = os.umask(0o026)
    yield
    os.umask(before)


def mode_of(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_a_new_file_holds_what_was_given_and_stands_alone(tmp_path: Path) -> None:
    path = tmp_path / "a.review"
    write_atomically(path, b"one")
    assert content_of(path) == b"one"
    assert [one.name for one in tmp_path.iterdir()] == ["a.review"]


@pytest.mark.usefixtures("_usual_mask")
def test_a_new_file_is_as_readable_as_any_and_an_old_one_stays_so(tmp_path: Path) -> None:
    path, other = tmp_path / "a", tmp_path / "b"
    write_atomically(path, b"one")
    other.write_bytes(b"made the plain way")
    assert mode_of(path) == mode_of(other) == 0o640
    assert os.umask(0o026) == 0o026, "the mask is as it was"
    path.chmod(0o604)
    write_atomically(path, b"two")
    assert (content_of(path), mode_of(path)) == (b"two", 0o604)


def test_what_stood_there_before_is_kept_under_another_name(tmp_path: Path) -> None:
    path, previous = tmp_path / "a", tmp_path / "a.before"
    write_atomically(path, b"one", previous)
    assert not previous.exists(), "nothing stood there"
    for content, old in ((b"two", b"one"), (b"three", b"two")):
        write_atomically(path, content, previous)
        assert (content_of(path), content_of(previous)) == (content, old)
    assert {one.name for one in tmp_path.iterdir()} == {"a", "a.before"}


@pytest.mark.parametrize("links", [True, False])
def test_the_file_is_there_whole_at_every_step(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool
) -> None:
    """Also on a disk that knows no second names; the bytes are on the disk before they count."""
    path, previous = tmp_path / "a", tmp_path / "a.before"
    write_atomically(path, b"one")
    steps: list[str] = []
    replace, sync = os.replace, os.fsync

    def watched(source: Path, target: Path) -> None:
        assert content_of(path) == b"one"
        assert Path(source).parent == tmp_path, "from another disk it would not be one step"
        assert Path(source).name.endswith(PART)
        steps.append(Path(target).name)
        replace(source, target)

    def synced(handle: int) -> None:
        steps.append("to disk")
        sync(handle)

    def refuse(*_: object) -> None:
        raise OSError(errno.EPERM, "no links here")

    monkeypatch.setattr(os, "replace", watched)
    monkeypatch.setattr(os, "fsync", synced)
    if not links:
        monkeypatch.setattr(os, "link", refuse)
    write_atomically(path, b"two", previous)
    assert steps == ["to disk", "a.before", "a"]
    assert (content_of(path), content_of(previous)) == (b"two", b"one")
    assert {one.name for one in tmp_path.iterdir()} == {"a", "a.before"}


def test_a_full_disk_changes_nothing_and_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a"
    write_atomically(path, b"one")

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "no space")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="no space"):
        write_atomically(path, b"two")
    assert content_of(path) == b"one"
    assert [one.name for one in tmp_path.iterdir()] == ["a"]


def test_what_is_no_ordinary_file_is_neither_read_nor_replaced(tmp_path: Path) -> None:
    """Of a pipe its reader would wait for ever."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for path in (tmp_path, pipe):
        for use in (content_of, lambda one: write_atomically(one, b"x")):
            with pytest.raises(OSError, match="is not an ordinary file") as caught:
                use(path)
            assert caught.value.errno == errno.EINVAL
            assert path.name in str(caught.value)
    with pytest.raises(FileNotFoundError):
        content_of(tmp_path / "nothing")
    assert [one.name for one in tmp_path.iterdir()] == ["pipe"]
