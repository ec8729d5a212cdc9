"""Two windows on one review, files changed by others, journals that cannot be written."""

import os
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from analysis.errors import ReviewFileError
from analysis.marks import Analysis
from app.review.claims import HeldFile, claim, holder_of, seize
from app.review.document import Document, SourceInfo
from app.review.journals import read_journal
from app.review.safekeeping import (
    JournalError,
    ReviewChangedError,
    ReviewTakenError,
    Safekeeping,
    take_journal,
)
from app.review.storage import read_review, stored
from tests.strategies import plain_score


@pytest.fixture
def document() -> Document:
    return Document(SourceInfo("song.musicxml", "", ""), plain_score(), Analysis())


@pytest.fixture
def state(tmp_path: Path) -> Path:
    return tmp_path / "state"


@pytest.fixture
def review(tmp_path: Path) -> Path:
    return tmp_path / "song.review.json"


def edited(document: Document, *order: str) -> Document:
    return replace(document, order=order)


def test_the_second_window_is_told_who_has_the_review(state: Path, review: Path) -> None:
    first, second = Safekeeping(state), Safekeeping(state)
    assert first.claim(review) is None
    assert first.claim(review) is None, "one's own claim is no obstacle"
    holder = second.claim(review)
    assert holder is not None
    assert holder.pid == os.getpid()
    first.end()
    assert second.claim(review) is None


def test_asking_who_has_it_takes_nothing(state: Path, review: Path, tmp_path: Path) -> None:
    first, second = Safekeeping(state), Safekeeping(state)
    assert second.holder(review) is None
    first.claim(review)
    own = tmp_path / "own.review.json"
    second.claim(own)
    holder = second.holder(review)
    assert holder is not None
    assert holder.pid == os.getpid()
    assert first.holder(review) is None
    assert first.holder(own) is not None, "asking has not let one's own go"
    first.end()
    assert second.holder(review) is None


def test_a_review_is_the_same_under_another_name(state: Path, review: Path, tmp_path: Path) -> None:
    review.write_bytes(b"{}")
    link = tmp_path / "link.review.json"
    link.symlink_to(review)
    first = Safekeeping(state)
    first.claim(review)
    assert Safekeeping(state).claim(link) is not None


def test_who_was_taken_over_cannot_save_over_the_other(
    state: Path, review: Path, document: Document
) -> None:
    first, second = Safekeeping(state), Safekeeping(state)
    first.claim(review)
    first.begin(document, review)
    second.take_over(review)
    second.save(edited(document, "second"), review)
    with pytest.raises(ReviewTakenError, match="taken over"):
        first.save(edited(document, "first"), review)
    assert read_review(review).order == ("second",)
    first.save(edited(document, "first"), review, overwrite=True)
    with pytest.raises(ReviewTakenError):
        second.save(edited(document, "second"), review)


def test_saving_under_a_name_that_is_open_elsewhere_is_refused(
    state: Path, review: Path, document: Document, tmp_path: Path
) -> None:
    first, second = Safekeeping(state), Safekeeping(state)
    first.save(document, review)
    own = tmp_path / "own.review.json"
    second.save(document, own)
    with pytest.raises(ReviewTakenError, match="open in another window"):
        second.save(document, review)
    assert second.claim(own) is None, "what it had it still has"


def test_a_file_that_another_program_wrote_is_not_written_over(
    state: Path, review: Path, document: Document
) -> None:
    keeper = Safekeeping(state)
    keeper.save(document, review)
    Safekeeping(state / "another machine").save(edited(document, "theirs"), review)
    with pytest.raises(ReviewChangedError, match="changed by another program"):
        keeper.save(edited(document, "ours"), review)
    assert read_review(review).order == ("theirs",)
    keeper.save(edited(document, "ours"), review, overwrite=True)
    keeper.save(edited(document, "ours again"), review)
    assert read_review(review).order == ("ours again",)


def test_a_review_that_appeared_since_opening_is_not_written_over(
    state: Path, review: Path, document: Document
) -> None:
    keeper = Safekeeping(state)
    keeper.claim(review)
    keeper.begin(document)
    review.write_bytes(b"theirs")
    with pytest.raises(ReviewChangedError):
        keeper.save(document, review)
    assert review.read_bytes() == b"theirs"


def test_a_review_that_was_deleted_is_saved_again(
    state: Path, review: Path, document: Document
) -> None:
    keeper = Safekeeping(state)
    keeper.save(document, review)
    review.unlink()
    keeper.save(document, review)
    assert read_review(review) == stored(document)


HOLD = """
import sys, time
from pathlib import Path
from app.review.claims import claim
assert claim(Path(sys.argv[1])) is not None
print("held", flush=True)
time.sleep(600)
"""


def test_the_claim_of_a_killed_process_is_void_whatever_it_says(tmp_path: Path) -> None:
    path = tmp_path / "a.claim"
    child = subprocess.Popen([sys.executable, "-c", HOLD, str(path)], stdout=subprocess.PIPE)
    assert child.stdout is not None
    assert child.stdout.readline() == b"held\n"
    holder = holder_of(path)
    assert holder is not None
    assert holder.pid == child.pid
    assert claim(path) is None
    # A clock that was moved, and a number that another process got: neither is asked.
    os.utime(path, (0, time.time() + 10**9))
    said = path.read_text().replace(str(child.pid), str(os.getpid()))
    path.write_text(said)
    assert claim(path) is None
    child.send_signal(signal.SIGKILL)
    child.stdout.read()  # ends when the process has; it is still a zombie, since nobody waited
    held = claim(path)
    assert held is not None
    child.wait()
    child.stdout.close()
    held.remove()
    assert not path.exists()


def test_what_was_seized_is_not_removed_by_the_one_before(tmp_path: Path) -> None:
    path = tmp_path / "a.claim"
    before = claim(path)
    assert before is not None
    after = seize(path)
    assert not before.in_place
    assert after.in_place
    before.remove()
    assert path.exists()
    assert claim(path) is None
    after.remove()
    assert os.listdir(tmp_path) == []


def test_a_claim_that_says_nonsense_is_a_claim(tmp_path: Path) -> None:
    path = tmp_path / "a.claim"
    held = HeldFile.hold(path, create=True)
    assert held is not None
    for content in (b"", b"[]", b'{"pid": []}', b"\xff", b"[" * 100_000):
        path.write_bytes(content)
        assert holder_of(path) is None
        assert claim(path) is None
    held.release()


def test_the_journal_goes_when_all_is_saved_or_given_up(
    state: Path, review: Path, document: Document
) -> None:
    keeper = Safekeeping(state)
    keeper.begin(document)
    keeper.record(edited(document, "a"), "Order")
    assert len(list(keeper.folder.iterdir())) == 1
    keeper.save(edited(document, "a"), review)
    (journal,) = keeper.folder.iterdir()
    assert Safekeeping(state).abandoned() == [], "it is held"
    keeper.end()
    assert list(keeper.folder.iterdir()) == []
    assert not journal.exists()


def test_an_abandoned_journal_is_taken_by_one_window(
    state: Path, review: Path, document: Document
) -> None:
    keeper = Safekeeping(state)
    keeper.begin(document, review)
    keeper.record(edited(document, "a"), "Order")
    assert keeper._journal is not None
    keeper._journal._held.release()
    other = Safekeeping(state)
    (path,) = other.abandoned()
    taken = take_journal(path)
    assert taken is not None
    held, remains = taken
    assert (remains.review.order, remains.review_file, remains.last) == (("a",), review, "Order")
    assert take_journal(path) is None
    assert other.abandoned() == []
    held.remove()
    assert take_journal(path) is None


def test_where_no_journal_can_be_written_it_is_said_and_tried_again(
    tmp_path: Path, document: Document
) -> None:
    state = tmp_path / "state"
    state.write_bytes(b"a file where the folder should be")
    keeper = Safekeeping(state)
    with pytest.raises(JournalError, match="Save the review soon"):
        keeper.begin(document)
    with pytest.raises(JournalError):
        keeper.record(edited(document, "a"), "Order")
    assert keeper.claim(tmp_path / "song.review.json") is None
    state.unlink()
    keeper.record(edited(document, "a", "b"), "Order")
    (path,) = keeper.folder.iterdir()
    assert read_journal(path).review.order == ("a", "b")
    assert read_journal(path).changes == 1
    keeper.end()


def test_a_journal_that_was_taken_away_is_begun_anew(
    state: Path, tmp_path: Path, document: Document
) -> None:
    keeper = Safekeeping(state)
    keeper.begin(document)
    shutil.rmtree(state)
    keeper.record(edited(document, "a"), "Order")
    (path,) = keeper.folder.iterdir()
    assert (read_journal(path).review.order, read_journal(path).changes) == (("a",), 1)
    keeper.end()
    assert list(keeper.folder.iterdir()) == []


def test_two_windows_that_died_with_one_review_are_both_offered(
    state: Path, review: Path, document: Document
) -> None:
    for name in ("first", "second"):
        keeper = Safekeeping(state)
        keeper.begin(document, review)
        keeper.record(edited(document, name), "Order")
        assert keeper._journal is not None
        keeper._journal._held.release()
    found = {read_journal(path).review.order for path in Safekeeping(state).abandoned()}
    assert found == {("first",), ("second",)}


def test_a_review_that_cannot_be_saved_keeps_its_journal(
    state: Path, tmp_path: Path, document: Document
) -> None:
    keeper = Safekeeping(state)
    keeper.begin(document)
    keeper.record(edited(document, "a"), "Order")
    with pytest.raises(ReviewFileError, match="another folder"):
        keeper.save(edited(document, "a"), tmp_path / "gone" / "song.review.json")
    (path,) = keeper.folder.iterdir()
    assert read_journal(path).changes == 1
    keeper.end()
