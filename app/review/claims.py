"""Files that one process holds at a time, and who holds them.

The task: tell a journal whose program died from one that is being written, and a review that is
open in another window from one that is free.

Method: the holder keeps the file open under a lock of the operating system. The system drops the
lock when the process ends, however it ends, so that nothing is ever left locked: no process id has
to be looked up, which another process may have taken over in the meantime, and no clock is asked.
What the file says about its holder is for people alone. On a file system that knows no locks
nothing counts as held; saving still notices a file that was changed (see
`app.review.safekeeping`).

References
----------
flock(2) of Linux and BSD; LockFile of Windows through Python's *msvcrt*.
"""

from __future__ import annotations

import json
import os
import socket
import sys
import tempfile
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

if sys.platform == "win32":
    import msvcrt

    #: Past any content, since a locked byte cannot be read by others.
    _FAR: Final = 2**30

    def _lock(descriptor: int) -> bool:
        """Whether the file is ours now; it does not wait."""
        os.lseek(descriptor, _FAR, os.SEEK_SET)
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        os.lseek(descriptor, 0, os.SEEK_SET)
        return True

else:
    import fcntl

    def _lock(descriptor: int) -> bool:
        """Whether the file is ours now; it does not wait."""
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        except OSError:
            return True  # this file system has no locks
        return True


@dataclass(frozen=True, slots=True)
class Holder:
    """Who holds a file, for people: process, machine, and since when (ISO 8601)."""

    pid: int
    host: str
    since: str


class HeldFile:
    """A file that this process holds until it lets go or ends."""

    def __init__(self, path: Path, descriptor: int) -> None:
        self.path = path
        self.descriptor = descriptor

    @classmethod
    def hold(cls, path: Path, *, create: bool = False) -> HeldFile | None:
        """Hold a file; None where another does, or where there is none and none is made.

        Raises
        ------
        OSError
            As the system reports it, other than that there is no such file.
        """
        flags = os.O_RDWR | os.O_APPEND | (os.O_CREAT if create else 0)
        while True:
            try:
                descriptor = os.open(path, flags, 0o600)
            except FileNotFoundError:
                if create:
                    raise  # the folder is missing
                return None
            held = cls(path, descriptor)
            if not _lock(descriptor):
                os.close(descriptor)
                return None
            if held.in_place:
                return held
            # It was removed, or replaced, between opening and locking.
            os.close(descriptor)

    @property
    def in_place(self) -> bool:
        """Whether the file still stands under its name: it does not once another has seized it."""
        try:
            there = os.stat(self.path)
        except OSError:
            return False
        ours = os.fstat(self.descriptor)
        return (there.st_dev, there.st_ino) == (ours.st_dev, ours.st_ino)

    def release(self) -> None:
        """Let go; the file stays."""
        os.close(self.descriptor)

    def remove(self) -> None:
        """Let go, and take the file away unless another has seized its name."""
        ours = self.in_place
        if sys.platform == "win32":
            os.close(self.descriptor)  # Windows does not remove what is open
            if ours:
                self.path.unlink(missing_ok=True)
            return
        if ours:
            # While it is still held, so that what is removed is never another's.
            self.path.unlink(missing_ok=True)
        os.close(self.descriptor)


def claim(path: Path) -> HeldFile | None:
    """Hold a file that says who holds it; None where another does."""
    held = HeldFile.hold(path, create=True)
    if held is not None:
        os.ftruncate(held.descriptor, 0)
        os.write(held.descriptor, _who())
    return held


def seize(path: Path) -> HeldFile:
    """Hold it whoever else does; that one notices by `HeldFile.in_place`."""
    handle, name = tempfile.mkstemp(dir=path.parent)
    _lock(handle)
    os.write(handle, _who())
    os.replace(name, path)
    return HeldFile(path, handle)


def holder_of(path: Path) -> Holder | None:
    """Who holds, or last held, a claimed file; None where it does not say."""
    try:
        said = json.loads(path.read_bytes())
        return Holder(int(said["pid"]), str(said["host"]), str(said["since"]))
    except (OSError, ValueError, TypeError, KeyError, RecursionError):
        return None


def _who() -> bytes:
    since = datetime.now(UTC).isoformat(timespec="seconds")
    return json.dumps(asdict(Holder(os.getpid(), socket.gethostname(), since))).encode()
