"""Journals: every change of an open document, on disk before the user can make the next one.

The task: after a crash, a kill or a power cut the document comes back exactly as it was, whether or
not it was ever saved.

Format: lines of ``CRC32 JSON``. The first holds the whole review as its file would, where it was
opened from, and whether it already held unsaved changes. Each further one holds a running number,
what the change was called, and the fields that are different now, decisions one by one; an undo is
a change like any other.

What may happen: a last line may be torn (the process ended while writing) and is left out. A line
that could not be written (a full disk) is not counted, and the next one holds its change too. After
a line that was damaged later nothing can be trusted, so reading stops before it. Any bytes
give a journal or one named error.

Safety against a kill needs the bytes to be with the system, which is one `write` a change: they
then survive the process. Safety against a power cut needs `fsync`, which takes from a millisecond
to tens of them on common disks; so it is left to `Journal.sync`, which the session calls on another
thread, a second after a change at the latest. A power cut may thus cost the last second, and
nothing else costs anything.
"""

from __future__ import annotations

import json
import os
import re
import uuid
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from analysis.errors import OverstaveError, ReviewFileError
from app.review.claims import HeldFile
from app.review.document import Document
from app.review.files import content_of
from app.review.plain_values import to_plain
from app.review.skeletons import Skeleton, skeleton_of
from app.review.storage import StoredReview, review_from_plain, review_to_plain, stored

FORMAT: Final = "overstave-journal"
VERSION: Final = 1
SUFFIX: Final = ".journal"
#: Fields that change as a whole; decisions are kept one by one, the skeleton never changes.
_WHOLE: Final = tuple(
    field.name for field in fields(StoredReview) if field.name not in ("skeleton", "decisions")
)


@dataclass(frozen=True, slots=True)
class Remains:
    """What a journal holds.

    Parameters
    ----------
    journal
        The journal's own file.
    review
        The review after the last change that was written whole.
    review_file
        Where it was opened from or last saved to; None where it never was.
    changes
        How many changes no review file holds; 0 where there is nothing to recover.
    last
        What the last of them was called.
    at
        When that was, as ISO 8601; empty where it is not known.
    whole
        Whether it was read to its end; a change that was being written when the program ended
        does not count.
    """

    journal: Path
    review: StoredReview
    review_file: Path | None
    changes: int
    last: str
    at: str
    whole: bool


class Journal:
    """The journal of one open document; its file is held, and gone after `remove`."""

    def __init__(self, held: HeldFile, review: StoredReview, skeleton: Skeleton) -> None:
        self._held = held
        self._last = review
        self._skeleton = skeleton
        self._written = 0
        self._size = 0
        self._torn = False

    @classmethod
    def begin(
        cls,
        folder: Path,
        document: Document,
        review_file: Path | None = None,
        *,
        unsaved: bool = False,
        skeleton: Skeleton | None = None,
    ) -> Journal:
        """Start a journal in a folder, which is made where it is missing.

        Parameters
        ----------
        unsaved
            Whether the document holds changes that no file has.
        skeleton
            That of the document's score, where it is known already.

        Raises
        ------
        OSError
            As the system reports it; then there is no journal.
        """
        skeleton = skeleton or skeleton_of(document.score)
        review = stored(document, skeleton)
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        name = re.sub(r"[^\w.-]+", "-", document.source.name)[:60].strip("-.") or "score"
        held = HeldFile.hold(folder / f"{name}-{uuid.uuid4().hex[:12]}{SUFFIX}", create=True)
        if held is None:
            raise FileExistsError("another process holds a journal that was just made")
        journal = cls(held, review, skeleton)
        try:
            journal._write(
                {
                    "format": FORMAT,
                    "version": VERSION,
                    "review": review_to_plain(review),
                    "review_file": str(review_file) if review_file else None,
                    "unsaved": unsaved,
                    "at": _now(),
                }
            )
        except OSError:
            journal.remove()
            raise
        return journal

    @property
    def path(self) -> Path:
        """Where it is."""
        return self._held.path

    @property
    def in_place(self) -> bool:
        """Whether its file still stands under its name, so that it can be found again."""
        return self._held.in_place

    def record(self, document: Document, text: str) -> None:
        """Write what has changed since the last time; nothing where nothing has.

        Raises
        ------
        OSError
            If it could not be written; the next change is written together with this one.
        """
        review = stored(document, self._skeleton)
        changed = _changes(self._last, review)
        if changed:
            self._write({"number": self._written, "text": text, "at": _now(), **changed})
            self._last = review

    def sync(self) -> None:
        """Have the disk keep what was written, also over a power cut; slow."""
        os.fsync(self._held.descriptor)

    def remove(self) -> None:
        """Take it away: everything is saved, or given up."""
        self._held.remove()

    def _write(self, content: Mapping[str, Any]) -> None:
        line = _line(content)
        if self._torn:
            line = b"\n" + line
        try:
            rest = memoryview(line)
            while rest:
                rest = rest[os.write(self._held.descriptor, rest) :]
        except OSError:
            self._cut_back()
            raise
        self._torn = False
        self._size = os.lseek(self._held.descriptor, 0, os.SEEK_END)
        self._written += 1

    def _cut_back(self) -> None:
        """Take away a line that was written in part."""
        try:
            os.ftruncate(self._held.descriptor, self._size)
        except OSError:
            self._torn = True


def read_journal(path: Path) -> Remains:
    """Read a journal, whatever became of it.

    Raises
    ------
    ReviewFileError
        If nothing can be had from it: it cannot be read, or its first line is damaged.
    """
    try:
        content = content_of(path)
    except OSError as error:
        raise ReviewFileError(
            f"The journal {path.name} could not be read: {error.strerror or error}."
        ) from error
    lines = content.split(b"\n")
    first = _content(lines[0])
    if first is None or first.get("format") != FORMAT:
        raise ReviewFileError(f"The journal {path.name} is damaged from its first line on.")
    if first.get("version") != VERSION:
        raise ReviewFileError(f"The journal {path.name} was written by a newer program.")
    plain, changes, last, whole = _replay(first, lines[1:])
    review_file = first.get("review_file")
    return Remains(
        journal=path,
        review=_review_of(plain, path),
        review_file=Path(review_file) if isinstance(review_file, str) else None,
        changes=changes + bool(first.get("unsaved")),
        last=_text(last, "text"),
        at=_text(last, "at"),
        whole=whole,
    )


def _replay(
    first: Mapping[str, Any], lines: list[bytes]
) -> tuple[dict[str, Any], int, Mapping[str, Any], bool]:
    """The review as plain values after all changes, their number, the last, whether all fit."""
    review = first.get("review")
    plain = dict(review) if isinstance(review, dict) else {}
    decisions = plain.get("decisions")
    plain["decisions"] = dict(decisions) if isinstance(decisions, dict) else decisions
    number, last, whole = 1, first, True
    *ended, torn = lines or [b""]
    for line in (*ended, torn):
        change = _content(line)
        if change is not None and change.get("number") == number and _apply(change, plain):
            number, last, whole = number + 1, change, True
        elif change is not None:
            return plain, number - 1, last, False
        elif line and line is not torn:
            whole = False  # damaged, or written in part and then once more
    return plain, number - 1, last, whole


def _apply(change: Mapping[str, Any], plain: dict[str, Any]) -> bool:
    """Lay a change over the review's plain values; False, and nothing done, where it is none."""
    whole, decided = change.get("fields", {}), change.get("decisions", {})
    if not isinstance(whole, dict) or not isinstance(decided, dict):
        return False
    if not set(whole) <= set(_WHOLE) or not isinstance(plain.get("decisions"), dict):
        return False
    plain.update(whole)
    for mark_id, decision in decided.items():
        if decision is None:
            plain["decisions"].pop(mark_id, None)
        else:
            plain["decisions"][mark_id] = decision
    return True


def _review_of(plain: dict[str, Any], path: Path) -> StoredReview:
    try:
        return review_from_plain(plain)
    except OverstaveError as error:
        raise ReviewFileError(
            f"The journal {path.name} is damaged.", f"{error}\n{error.details}"
        ) from error


def find_abandoned(folder: Path) -> list[Path]:
    """Journals that no living process holds, the latest first; those with nothing in them go.

    One that cannot be read is among them, so that the user can decide about it.
    """
    found: list[tuple[float, Path]] = []
    for path in folder.glob(f"*{SUFFIX}"):
        try:
            held = HeldFile.hold(path)
            if held is None:
                continue
            changed = path.stat().st_mtime
        except OSError:
            continue
        if _is_idle(path):
            held.remove()
        else:
            held.release()
            found.append((changed, path))
    return [path for _, path in sorted(found, reverse=True)]


def _is_idle(path: Path) -> bool:
    """Whether it holds nothing that is not saved."""
    try:
        remains = read_journal(path)
    except ReviewFileError:
        return path.stat().st_size == 0
    return remains.changes == 0 and remains.whole


def _changes(before: StoredReview, after: StoredReview) -> dict[str, Any]:
    """The fields and decisions that differ, as plain values; empty where none does."""
    whole = {
        name: to_plain(getattr(after, name))
        for name in _WHOLE
        if getattr(before, name) is not getattr(after, name)
        and getattr(before, name) != getattr(after, name)
    }
    decided: dict[str, Any] = {}
    if before.decisions is not after.decisions:
        for mark_id, decision in after.decisions.items():
            held = before.decisions.get(mark_id)
            if held is not decision and held != decision:
                decided[mark_id] = to_plain(decision)
        for mark_id in before.decisions:
            if mark_id not in after.decisions:
                decided[mark_id] = None
    named = {"fields": whole, "decisions": decided}
    return {name: value for name, value in named.items() if value}


def _line(content: Mapping[str, Any]) -> bytes:
    text = json.dumps(content, ensure_ascii=False, separators=(",", ":"))
    payload = text.encode(errors="replace")
    return b"%08x %s\n" % (zlib.crc32(payload), payload)


def _content(line: bytes) -> dict[str, Any] | None:
    """What a line says; None where it is damaged."""
    check, _, payload = line.partition(b" ")
    if check != b"%08x" % zlib.crc32(payload):
        return None
    try:
        content = json.loads(payload)
    except (ValueError, RecursionError):
        return None
    return content if isinstance(content, dict) else None


def _text(content: Mapping[str, Any], name: str) -> str:
    value = content.get(name)
    return value if isinstance(value, str) else ""


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
