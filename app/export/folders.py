"""An export's folder: what was there before, what is new, changed or left over.

A file that holds the same already is not touched, so its inode and time of change say whether an
export wrote it. ``contents.json`` lists what the last export made; what it lists and the next
export no longer makes is named and left where it is, since it may be in use in a video.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from analysis.errors import ExportError
from app.review.files import PART, write_atomically

CONTENTS: Final = "contents.json"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an export did to its folder; names relative to it, in order."""

    new: tuple[str, ...]
    changed: tuple[str, ...]
    unchanged: tuple[str, ...]
    left_over: tuple[str, ...] = ()

    def __str__(self) -> str:
        """One or two sentences for people."""
        text = (
            f"{len(self.new)} new, {len(self.changed)} changed, "
            f"{len(self.unchanged)} unchanged files."
        )
        if self.left_over:
            names = ", ".join(self.left_over[:5])
            more = " and others" if len(self.left_over) > 5 else ""
            text += f" Left over from an earlier export: {names}{more}."
        return text


class Folder:
    """A folder that is exported into.

    Parameters
    ----------
    path
        Where; made where it is missing.

    Raises
    ------
    ExportError
        If it cannot be made or looked into.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        try:
            path.mkdir(parents=True, exist_ok=True)
            self._before = {
                file: stamp
                for folder in (path, *(one for one in path.iterdir() if one.is_dir()))
                for file, stamp in _stamps(folder)
            }
        except OSError as error:
            raise ExportError(
                f"{path} could not be made: {error.strerror or error}. Choose another folder."
            ) from error

    def write(self, name: str, content: bytes) -> Path:
        """Put a file into the folder; its path."""
        write_file(self.path / name, content)
        return self.path / name

    def finish(self, written: Iterable[Path]) -> Outcome:
        """Compare with what was there, and list what the export made.

        Parameters
        ----------
        written
            All files of this export, in order.
        """
        written = list(written)
        outcome = self.compared(written)
        names = [self._name(path) for path in written]
        left_over = tuple(
            name
            for name in self._listed()
            if name not in names and (self.path / name) in self._before
        )
        contents = {"files": names, "left over": left_over}
        text = json.dumps(contents, ensure_ascii=False, indent=1) + "\n"
        write_file(self.path / CONTENTS, text.encode())
        return replace(outcome, left_over=left_over)

    def compared(self, written: Iterable[Path]) -> Outcome:
        """What has become of the files that an export made; nothing is listed as left over."""
        new: list[str] = []
        changed: list[str] = []
        unchanged: list[str] = []
        for path in written:
            if path not in self._before:
                new.append(self._name(path))
            else:
                same = self._before[path] == _stamp(path)
                (unchanged if same else changed).append(self._name(path))
        return Outcome(tuple(new), tuple(changed), tuple(unchanged))

    def _name(self, path: Path) -> str:
        return path.relative_to(self.path).as_posix()

    def _listed(self) -> list[str]:
        """Files that earlier exports made; none where their list is missing or damaged."""
        try:
            contents = json.loads((self.path / CONTENTS).read_bytes())
            listed = [*contents["files"], *contents["left over"]]
        except (OSError, ValueError, KeyError, TypeError, RecursionError):
            return []
        return [name for name in listed if isinstance(name, str)]


def write_file(path: Path, content: bytes) -> None:
    """Put a file in its place in one step; one that holds the same already is left alone.

    Raises
    ------
    ExportError
        If the folder cannot be made or the file not be written; nothing half-written stays.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.is_file() and path.read_bytes() == content:
            return
        write_atomically(path, content)
    except OSError as error:
        raise ExportError(
            f"“{path.name}” could not be written into {path.parent}: "
            f"{error.strerror or error}. Free some space or choose another folder.",
            repr(error),
        ) from error


def remove_parts(folder: Path) -> None:
    """Remove what a writer that was killed has left of files it had not finished."""
    for level in ("", "*/"):
        for part in folder.glob(f"{level}.*{PART}"):
            with contextlib.suppress(OSError):
                part.unlink()


def _stamps(folder: Path) -> list[tuple[Path, tuple[int, int, int]]]:
    return [(file, _stamp(file)) for file in folder.iterdir() if file.is_file()]


def _stamp(path: Path) -> tuple[int, int, int]:
    """What changes whenever a file is replaced."""
    state = path.stat()
    return state.st_ino, state.st_mtime_ns, state.st_size
