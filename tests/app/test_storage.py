"""Review files: what was written comes back, and nothing else is taken for one."""

import json
import os
import signal
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.errors import ReviewFileError
from analysis.marks import Analysis
from analysis.pitch import Key, PitchName
from app.review import storage
from app.review.document import Document, SourceInfo
from app.review.safekeeping import _digest as content_digest
from app.review.skeletons import skeleton_of
from app.review.storage import StoredReview, from_bytes, stored, to_bytes
from tests.strategies import documents, plain_score, words

SCHEMA = json.loads((Path(storage.__file__).parent / "review.schema.json").read_text("utf-8"))


@given(documents(with_leftovers=True))
def test_what_is_written_is_read_back(document: Document) -> None:
    content = to_bytes(stored(document))
    again = from_bytes(content)
    assert to_bytes(again) == content
    assert again.corrections == document.corrections
    assert again.own_marks == document.own_marks
    assert again.decisions == document.decisions
    jsonschema.validate(json.loads(content), SCHEMA)


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused_in_words(content: bytes) -> None:
    with pytest.raises(ReviewFileError):
        from_bytes(content)


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | words,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(words, inner),
    max_leaves=8,
)


@given(documents(with_leftovers=True), st.data())
def test_a_damaged_field_is_refused_in_words_or_read(
    document: Document, data: st.DataObject
) -> None:
    plain = json.loads(to_bytes(stored(document)))
    field = data.draw(st.sampled_from(sorted(plain)))
    plain[field] = data.draw(json_values)
    content = json.dumps(plain).encode()
    try:
        review = from_bytes(content)
    except ReviewFileError:
        return
    assert from_bytes(to_bytes(review)) == review


#: A file as version 1 wrote it.
FIRST_VERSION = """{
 "corrections": {"chords": [], "keys": [[{"end": "8", "start": "0"}, "Bb major"]],
  "melody_part": "P1", "roles": [], "sections": null},
 "decisions": {"chord-1": {"comment": "say this", "mark": {"elements": ["p1m1h1"], "id": "chord-1",
  "kind": "chord", "label": "V/V", "parts": [], "sentence": "It points at the next chord.",
  "span": {"end": "7/2", "start": "0"}}, "state": "accepted"}},
 "format": "overstave-review",
 "order": ["chord-1"], "own_marks": [], "section_colours": {},
 "source": {"digest": "00", "name": "song.musicxml", "path": "/songs/song.musicxml"},
 "version": 1
}"""


def test_a_file_of_version_1_is_read_and_saved_as_one_of_this_version() -> None:
    review = from_bytes(FIRST_VERSION.encode())
    decision = review.decisions["chord-1"]
    assert (decision.state, decision.comment) == ("accepted", "say this")
    assert decision.mark is not None
    assert decision.mark.label == "V/V"
    assert [key for _, key in review.corrections.keys] == [Key(PitchName.parse("Bb"))]
    assert review.skeleton is None
    again = json.loads(to_bytes(review))
    assert again["version"] == storage.VERSION
    assert from_bytes(to_bytes(review)) == review
    jsonschema.validate(again, SCHEMA)


def test_a_file_of_version_2_is_read_with_its_chosen_readings() -> None:
    plain = json.loads(FIRST_VERSION) | {"version": 2}
    plain["decisions"]["chord-1"] |= {"state": "edited", "reading": "IV"}
    decision = from_bytes(json.dumps(plain).encode()).decisions["chord-1"]
    assert (decision.reading, decision.function) == ("IV", "")
    plain["decisions"]["chord-1"]["function"] = "X"
    with pytest.raises(ReviewFileError, match="damaged"):
        from_bytes(json.dumps(plain).encode())


def test_a_file_that_says_version_1_and_is_not_is_refused() -> None:
    plain = json.loads(FIRST_VERSION) | {"skeleton": None}
    with pytest.raises(ReviewFileError, match="older version"):
        from_bytes(json.dumps(plain).encode())


def test_the_music_is_kept_with_the_decisions() -> None:
    score = plain_score()
    review = stored(Document(SourceInfo("a", "", ""), score, Analysis()))
    assert from_bytes(to_bytes(review)).skeleton == skeleton_of(score)


def test_half_a_character_does_not_keep_a_review_from_being_saved() -> None:
    content = to_bytes(StoredReview(SourceInfo("a\ud83d", "", "")))
    assert from_bytes(content).source.name == "a?"


@pytest.mark.parametrize("number", ["1e999999999", "1/0", "0x10", " 1", "9" * 13, "1/-2"])
def test_a_number_that_is_none_is_refused_at_once(number: str) -> None:
    content = FIRST_VERSION.replace('"7/2"', json.dumps(number)).encode()
    with pytest.raises(ReviewFileError, match="damaged"):
        from_bytes(content)


def test_a_newer_version_is_refused_and_named() -> None:
    plain = json.loads(to_bytes(StoredReview(SourceInfo("a", "", ""))))
    with pytest.raises(ReviewFileError, match="version 99"):
        from_bytes(json.dumps({**plain, "version": 99}).encode())


@pytest.fixture
def document() -> Document:
    return Document(SourceInfo("song.musicxml", "", ""), plain_score(), Analysis())


def test_the_last_good_copy_stays_beside_the_new_one(tmp_path: Path, document: Document) -> None:
    path = tmp_path / "song.review.json"
    storage.write_review(path, document)
    assert os.listdir(tmp_path) == ["song.review.json"]
    before = path.read_bytes()
    changed = replace(document, order=("a",))
    storage.write_review(path, changed)
    assert storage.previous_copy(path).read_bytes() == before
    assert storage.read_review(path) == stored(changed)
    assert sorted(os.listdir(tmp_path)) == ["song.review.json", "song.review.json.previous"]


@pytest.mark.parametrize(
    "unread", [b"", b"{}", b"[1]", b'{"format": "overstave-review", "version": 99}']
)
def test_what_could_not_be_read_never_takes_the_place_of_the_last_good_copy(
    tmp_path: Path, document: Document, unread: bytes
) -> None:
    path = tmp_path / "song.review.json"
    good = storage.previous_copy(path)
    good.write_bytes(to_bytes(stored(document)))
    for number in ("", "-2"):
        path.write_bytes(unread)
        storage.write_review(path, document)
        assert path.with_name(f"song.review.json.unread{number}").read_bytes() == unread
    assert good.read_bytes() == to_bytes(stored(document))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_saving_over_a_pipe_is_refused_and_not_waited_for(
    tmp_path: Path, document: Document, watchdog: None
) -> None:
    path = tmp_path / "song.review.json"
    os.mkfifo(path)
    with pytest.raises(ReviewFileError, match="not an ordinary file"):
        storage.write_review(path, document)
    assert os.listdir(tmp_path) == ["song.review.json"]
    assert path.is_fifo()
    assert content_digest(path) == ""


@pytest.fixture
def watchdog() -> Iterator[None]:
    """Ends a wait for a pipe that nobody writes to."""

    def end(*_: object) -> None:
        raise AssertionError("a pipe was waited for")

    before = signal.signal(signal.SIGALRM, end)
    signal.alarm(5)
    yield
    signal.alarm(0)
    signal.signal(signal.SIGALRM, before)


def test_a_full_disk_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "song.review.json"
    path.write_bytes(b"the one before")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    review = Document(SourceInfo("a", "", ""), plain_score(), Analysis())
    with pytest.raises(ReviewFileError, match="No space left"):
        storage.write_review(path, review)
    assert os.listdir(tmp_path) == ["song.review.json"]
    assert path.read_bytes() == b"the one before"


def test_a_missing_folder_is_said_in_words(tmp_path: Path) -> None:
    review = Document(SourceInfo("a", "", ""), plain_score(), Analysis())
    with pytest.raises(ReviewFileError, match="another folder"):
        storage.write_review(tmp_path / "gone" / "song.review.json", review)
