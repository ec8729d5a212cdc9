"""Writing files so that a crash or a full disk never leaves half of one."""

from __future__ import annotations

import errno
import os
import tempfile
from pathlib import Path
from typing import Final

#: The ending of files that are being written, which no other program gives.
PART: Final = ".overstave.part"


def content_of(path: Path) -> bytes:
    """What an ordinary file holds; of a pipe or a device, its reader might wait for ever.

    Raises
    ------
    OSError
        As the system reports it, or because it is no ordinary file.
    """
    _check_ordinary(path)
    return path.read_bytes()


def write_atomically(path: Path, content: bytes, previous: Path | None = None) -> None:
    """Put ``content`` at ``path`` in one step.

    The bytes go to a temporary file beside it, are flushed to the disk and then take its place.
    With ``previous`` the file that stood there before is kept under that name.

    Raises
    ------
    OSError
        As the system reports it, or because no ordinary file stands there; what stood at ``path``
        is untouched.
    """
    _check_ordinary(path)
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=PART, dir=path.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        # mkstemp makes files private; a document is as readable as any other new file.
        os.chmod(temporary, _mode_for(path))
        if previous is not None and path.exists():
            os.replace(_twin(path), previous)
        os.replace(temporary, path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise


def _check_ordinary(path: Path) -> None:
    if path.exists() and not path.is_file():
        raise OSError(errno.EINVAL, f"{path.name} is not an ordinary file")


def _mode_for(path: Path) -> int:
    """The mode the file has, or that a new file would get."""
    if path.exists():
        return path.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _twin(path: Path) -> Path:
    """A second name, or a copy, of the file, so that the first name never disappears."""
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=PART, dir=path.parent)
    os.close(handle)
    twin = Path(name)
    twin.unlink()
    try:
        os.link(path, twin)
    except OSError:
        twin.write_bytes(path.read_bytes())
    return twin
