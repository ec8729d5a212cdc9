"""Killed at any moment, the document comes back as it was after the last edit or the one before.

Each process edits, undoes, redoes and saves as fast as it can and is killed with SIGKILL after a
random time; how far it was is told by what it wrote after each edit.
"""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from random import Random

import pytest

from app.review.document import Document
from app.review.safekeeping import Safekeeping, take_journal
from app.review.storage import StoredReview, from_bytes, read_review, stored, to_bytes
from tests.app.edited_until_killed import states
from tests.app.random_edits import busy_document

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are made by fork")
#: Seconds within which a process is killed once it edits.
LONGEST = 0.15


@pytest.fixture(scope="module")
def nursery() -> Iterator[subprocess.Popen[str]]:
    command = [sys.executable, "-m", "tests.app.edited_until_killed"]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as process:
        yield process
        assert process.stdin is not None
        process.stdin.close()
        assert process.wait(20) == 0


@pytest.mark.parametrize("first", range(0, 20, 5))
def test_a_killed_process_loses_at_most_the_edit_it_was_making(
    nursery: subprocess.Popen[str], tmp_path: Path, first: int
) -> None:
    for seed in range(first, first + 5):
        kill_and_recover(nursery, tmp_path, seed)


@pytest.mark.full
@pytest.mark.parametrize("first", range(20, 200, 30))
def test_killed_200_times_in_all(
    nursery: subprocess.Popen[str], tmp_path: Path, first: int
) -> None:
    for seed in range(first, first + 30):
        kill_and_recover(nursery, tmp_path, seed)


def kill_and_recover(nursery: subprocess.Popen[str], scratch: Path, seed: int) -> None:
    folder = scratch / str(seed)
    folder.mkdir()
    assert nursery.stdin is not None
    assert nursery.stdout is not None
    nursery.stdin.write(f"{folder} {seed}\n")
    nursery.stdin.flush()
    progress = folder / "progress"
    while not progress.exists() or b"\n" not in progress.read_bytes():
        time.sleep(0.001)
    time.sleep(Random(seed).random() * LONGEST)
    os.kill(int(progress.read_bytes().split()[0]), signal.SIGKILL)
    assert nursery.stdout.readline() == "gone\n"
    done = len(progress.read_bytes().split(b"\n")) - 2
    row = [busy_document(), *(document for _, document in islice(states(seed), done + 1))]
    assert recovered(folder) in [reviewed(row[done]), reviewed(row[done + 1])]


def recovered(folder: Path) -> StoredReview:
    """What the next start offers: the latest journal with changes in it, else the saved file."""
    found = Safekeeping(folder / "state").abandoned()
    for path in found:
        taken = take_journal(path)
        assert taken is not None
        taken[0].release()
        assert taken[1].whole
        if taken[1].changes:
            return taken[1].review
    saved = folder / "song.review.json"
    return read_review(saved) if saved.exists() else reviewed(busy_document())


def reviewed(document: Document) -> StoredReview:
    return from_bytes(to_bytes(stored(document)))
