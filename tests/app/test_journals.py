"""Journals: what comes back after any end, and after any damage."""

import errno
import os
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.errors import ReviewFileError
from analysis.marks import Analysis, Mark
from analysis.timebase import Span
from app.review import journals
from app.review.document import Document, SourceInfo
from app.review.edits import Decide
from app.review.journals import Journal, find_abandoned, read_journal
from app.review.storage import StoredReview, stored, to_bytes
from tests.strategies import damaged, documents, edits_of, plain_score, words


def let_go(journal: Journal) -> Path:
    """End as a killed process does: the file stays, and nobody holds it."""
    journal._held.release()
    return journal.path


def same(review: StoredReview, document: Document) -> bool:
    return to_bytes(review) == to_bytes(stored(document))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("journals")


@given(st.data())
def test_every_change_comes_back_and_so_does_undo(folder: Path, data: Any) -> None:
    document = data.draw(documents(with_leftovers=True))
    journal = Journal.begin(folder, document, Path("song.review.json"))
    seen = [document]
    for _ in range(4):
        seen.append(data.draw(edits_of(seen[-1])).apply(seen[-1]))
        journal.record(seen[-1], "An edit")
        assert same(read_journal(journal.path).review, seen[-1])
    for before in reversed(seen):
        journal.record(before, "Undo")
        assert same(read_journal(journal.path).review, before)
    assert read_journal(let_go(journal)).review_file == Path("song.review.json")
    journal.path.unlink()


@pytest.fixture(scope="module")
def sample_journal(folder: Path) -> Iterator[tuple[bytes, list[bytes]]]:
    """A journal of three changes as bytes, and the review after each number of them."""
    document = documents_example()
    journal = Journal.begin(folder, document)
    reviews = [to_bytes(stored(document))]
    for at, state in enumerate(("accepted", "rejected", "accepted")):
        mark = list(document.marks())[at % 2].id
        document = Decide((mark,), state).apply(document)  # type: ignore[arg-type]
        journal.record(document, state)
        reviews.append(to_bytes(stored(document)))
    yield journal.path.read_bytes(), reviews
    journal.remove()


def documents_example() -> Document:
    span = Span(Fraction(0), Fraction(4))
    marks = tuple(Mark(name, "chord", span, (), (), name, "It is.") for name in ("I", "V"))
    return Document(SourceInfo("song.xml", "", "0" * 64), plain_score(), Analysis(marks=marks))


def test_cut_off_anywhere_the_whole_lines_count(
    sample_journal: tuple[bytes, list[bytes]], tmp_path: Path
) -> None:
    content, reviews = sample_journal
    path = tmp_path / "cut.journal"
    first = content.index(b"\n")
    for end in range(first, len(content) + 1):
        path.write_bytes(content[:end])
        remains = read_journal(path)
        # A line is whole once its last sign is there, with or without the line end.
        lines = [line for line in content.split(b"\n")[1:] if line]
        ends = [content.index(line) + len(line) for line in lines]
        changes = sum(at <= end for at in ends)
        assert remains.changes == changes
        assert to_bytes(remains.review) == reviews[changes]
        assert remains.whole, "a torn line was never a change"
    path.write_bytes(content[: first - 1])
    with pytest.raises(ReviewFileError, match="damaged from its first line"):
        read_journal(path)


@given(st.data())
def test_a_damaged_journal_gives_a_state_that_was_or_is_refused_in_words(
    sample_journal: tuple[bytes, list[bytes]], folder: Path, data: st.DataObject
) -> None:
    content, reviews = sample_journal
    path = folder / "damaged"
    path.write_bytes(data.draw(damaged(content)))
    try:
        remains = read_journal(path)
    except ReviewFileError:
        return
    assert to_bytes(remains.review) in reviews


@given(st.binary(max_size=300))
def test_any_bytes_are_refused_in_words(folder: Path, content: bytes) -> None:
    path = folder / "any"
    path.write_bytes(content)
    with pytest.raises(ReviewFileError):
        read_journal(path)


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | words,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(words, inner),
    max_leaves=6,
)


@given(st.data())
def test_lines_that_are_whole_and_make_no_sense_are_survived(
    sample_journal: tuple[bytes, list[bytes]], folder: Path, data: st.DataObject
) -> None:
    content, _ = sample_journal
    lines = content.split(b"\n")
    at = data.draw(st.integers(0, 2))
    plain = journals._content(lines[at])
    assert plain is not None
    field = data.draw(st.sampled_from(sorted(plain)))
    lines[at] = journals._line({**plain, field: data.draw(json_values)})[:-1]
    path = folder / "senseless"
    path.write_bytes(b"\n".join(lines))
    try:
        remains = read_journal(path)
    except ReviewFileError:
        return
    assert to_bytes(remains.review)


def test_a_journal_of_a_newer_program_is_said_in_words(tmp_path: Path) -> None:
    path = tmp_path / "new.journal"
    path.write_bytes(journals._line({"format": journals.FORMAT, "version": 2}))
    with pytest.raises(ReviewFileError, match="newer program"):
        read_journal(path)


@pytest.mark.parametrize("cutting_fails", [False, True])
def test_on_a_full_disk_the_next_change_takes_this_one_along(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, cutting_fails: bool
) -> None:
    document = documents_example()
    journal = Journal.begin(tmp_path, document)
    write, real_write = [os.write], os.write

    def full(descriptor: int, content: Any) -> int:
        if len(write) > 1:
            real_write(descriptor, bytes(content)[:20])
            raise OSError(errno.ENOSPC, "No space left on device")
        return real_write(descriptor, content)

    def stuck(*_: int) -> None:
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(os, "write", full)
    if cutting_fails:
        monkeypatch.setattr(os, "ftruncate", stuck)
    write.append(os.write)
    lost = Decide(("I",), "accepted").apply(document)
    for _ in range(2):
        with pytest.raises(OSError, match="No space left"):
            journal.record(lost, "Accept I")
    assert same(read_journal(journal.path).review, document)
    write.pop()
    after = Decide(("V",), "rejected").apply(lost)
    journal.record(after, "Reject V")
    last = Decide(("V",), "accepted").apply(after)
    journal.record(last, "Accept V")
    remains = read_journal(let_go(journal))
    assert same(remains.review, last)
    assert (remains.changes, remains.whole) == (2, True)


def test_only_journals_that_nobody_holds_and_that_hold_something_are_found(tmp_path: Path) -> None:
    document = documents_example()
    changed = Decide(("I",), "accepted").apply(document)
    alive = Journal.begin(tmp_path, document)
    alive.record(changed, "Accept I")
    idle = let_go(Journal.begin(tmp_path, document))
    dead = Journal.begin(tmp_path, document)
    dead.record(changed, "Accept I")
    let_go(dead)
    never_saved = let_go(Journal.begin(tmp_path, document, unsaved=True))
    torn = tmp_path / "torn.journal"
    torn.write_bytes(b"0123")
    found = find_abandoned(tmp_path)
    assert set(found) == {dead.path, never_saved, torn}
    assert not idle.exists(), "nothing can be lost with it"
    assert alive.path.exists()
    alive.remove()
    assert not alive.path.exists()
    assert find_abandoned(tmp_path / "no such folder") == []


def test_the_name_of_a_journal_tells_of_what_it_is(tmp_path: Path) -> None:
    document = documents_example()
    for name in ("Ein Lied / für Élise.musicxml", "", "..", "x" * 300):
        source = replace(document.source, name=name)
        journal = Journal.begin(tmp_path, replace(document, source=source))
        assert journal.path.parent == tmp_path
        journal.remove()
    assert os.listdir(tmp_path) == []
