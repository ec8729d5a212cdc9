"""Source files: any input unpacked, checked and named before music21 or verovio sees it.

The task: take a path or bytes, find the MusicXML document in it, and refuse everything else with a
sentence that says what to do. Plain documents and compressed ones (.mxl) are told apart by their
bytes; the file name's ending is not trusted.

Conventions: the user's file is read once and never written. ``original`` is the document just as it
was in the file; ``musicxml`` is a scratch copy that carries names (see
`analysis.reading.documents`).

Method: an .mxl file is a zip archive whose ``META-INF/container.xml`` names the score; where that
is missing or wrong, the only XML file inside will do. Members are read by name into memory, never
to disk, in pieces, so that a bomb is noticed while it unpacks.

References
----------
MusicXML 4.0, *Compressed .MXL files* (W3C Music Notation Community Group). First bytes of other
kinds of file: their published formats, from memory.
"""

from __future__ import annotations

import hashlib
import io
import lzma
import stat
import struct
import zipfile
import zlib
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Final

from lxml import etree

from analysis.errors import ReadingError
from analysis.reading.documents import element_ids, parse_document, scratch_copy

__all__ = ["LARGEST", "Source", "element_ids", "parse_document", "read_source", "source_of"]

#: Most bytes of a file, packed or unpacked. An orchestral movement has some 40 MB of MusicXML.
LARGEST: Final = 64 * 1024 * 1024
#: Most times that a score may shrink when packed; deflate itself ends near 1,030.
_MOST_SHRUNK: Final = 400
#: Below this size the ratio is left alone, since short repetitive scores shrink far.
_SMALL: Final = 4 * 1024 * 1024
_MOST_MEMBERS: Final = 5_000
_PIECE: Final = 1024 * 1024
#: What zipfile raises on archives that are damaged, beside its own error.
_DAMAGE: Final = (
    *(zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error),
    *(EOFError, LookupError, OSError, OverflowError, ValueError),
)
_EXPORT: Final = "export MusicXML (.musicxml or .mxl) from your notation editor and open that"
#: First bytes of what people take for a score.
_OTHER_KINDS: Final = (
    (b"MThd", "a MIDI file"),
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"RIFF", "a sound or video file"),
    (b"ID3", "a sound file"),
    (b"\xff\xfb", "a sound file"),
    (b"fLaC", "a sound file"),
    (b"OggS", "a sound file"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"7z\xbc\xaf", "a 7z archive"),
    (b"Rar!", "a RAR archive"),
    (b"X:", "ABC notation"),
    (b"**", "Humdrum notation"),
    (b"\\version", "a typesetting program's text"),
)


@dataclass(frozen=True, slots=True)
class Source:
    """A score file, unpacked and checked.

    Parameters
    ----------
    name
        File name for people.
    path
        Where it came from; None for bytes that were handed in.
    digest
        SHA-256 of ``original`` in hexadecimal: the same music in another package has the same one.
    original
        The MusicXML document as it was in the file, unpacked and otherwise unchanged.
    musicxml
        UTF-8 partwise scratch copy in which every measure, note, harmony and rehearsal direction
        carries the unique ``id`` by which Score and marks know it. It has no colours.
    """

    name: str
    path: Path | None
    digest: str
    original: bytes = field(repr=False)
    musicxml: bytes = field(repr=False)


def read_source(path: Path) -> Source:
    """Read a score file.

    Parameters
    ----------
    path
        A .musicxml, .xml or .mxl file; the ending does not matter.

    Raises
    ------
    ReadingError
        The file is missing, not readable, too large, or not a score; the sentence says which.
    """
    name = f"“{path.name}”"
    try:
        with path.open("rb") if _is_file(path) else io.BytesIO() as file:
            data = file.read(LARGEST + 1)
    except FileNotFoundError as error:
        raise ReadingError(f"There is no file {name}; it may have been moved.") from error
    except PermissionError as error:
        raise ReadingError(f"{name} may not be read; ask for permission or copy it.") from error
    except (OSError, ValueError) as error:
        raise ReadingError(f"{name} could not be read from the disk.", str(error)) from error
    return source_of(data, path.name, path)


def _is_file(path: Path) -> bool:
    """Whether it is an ordinary file; a folder is a named error, and pipes would wait for ever."""
    mode = path.stat().st_mode
    if stat.S_ISDIR(mode):
        raise ReadingError(f"“{path.name}” is a folder; open one score file in it.")
    if not stat.S_ISREG(mode):
        raise ReadingError(f"“{path.name}” is not an ordinary file.")
    return True


def source_of(data: bytes, name: str, path: Path | None = None) -> Source:
    """Make a Source of bytes in memory.

    Parameters
    ----------
    data
        What a score file holds, packed or plain.
    name
        File name for people, used in sentences.
    path
        Where the bytes came from, if anywhere.

    Raises
    ------
    ReadingError
        The bytes are no score that can be read.

    Examples
    --------
    >>> source_of(b"MThd and so on", "tune.mid")
    Traceback (most recent call last):
    analysis.errors.ReadingError: “tune.mid” is a MIDI file; export MusicXML (.musicxml or .mxl) \
from your notation editor and open that.
    """
    quoted = f"“{name}”"
    if len(data) > LARGEST:
        raise ReadingError(_too_large(quoted))
    if not data.strip(b" \t\r\n\0"):
        raise ReadingError(f"{quoted} is empty; {_EXPORT}.")
    original = _unpack(data, quoted) if data.startswith(b"PK") else data
    for start, kind in _OTHER_KINDS:
        if original.startswith(start):
            raise ReadingError(f"{quoted} is {kind}; {_EXPORT}.")
    tree = parse_document(original, quoted)
    _check_music(tree.getroot(), quoted)
    try:
        musicxml = scratch_copy(tree)
    except (ValueError, etree.LxmlError) as error:
        raise ReadingError(
            f"{quoted} is built in a way that cannot be read.", str(error)
        ) from error
    return Source(name, path, hashlib.sha256(original).hexdigest(), original, musicxml)


def _check_music(root: etree._Element, name: str) -> None:
    """Refuse a score in which nothing sounds: rests alone can be opened, not explained."""
    if root.find("part/measure" if root.tag == "score-partwise" else "measure/part") is None:
        raise ReadingError(f"{name} has no parts; export the score with its music.")
    if next(root.iter("harmony"), None) is not None:
        return
    if not any(note.find("rest") is None for note in root.iter("note")):
        raise ReadingError(f"{name} has no notes and no chord symbols, so nothing can be analysed.")


def _too_large(name: str) -> str:
    return (
        f"{name} is larger than {LARGEST // 1024 // 1024} MB, more than a score needs; "
        "export fewer measures or parts."
    )


def _unpack(data: bytes, name: str) -> bytes:
    """The MusicXML document in a zip archive."""
    if data.count(b"PK\1\2") > _MOST_MEMBERS:
        raise ReadingError(f"{name} is an archive of too many files to be a score.")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            document = _read_member(archive, _score_member(archive, name), name)
    except _DAMAGE as error:
        raise ReadingError(
            f"{name} is a damaged or cut-off archive; export or download it again.", str(error)
        ) from error
    except (NotImplementedError, RuntimeError) as error:
        raise ReadingError(
            f"{name} is locked or packed in a way that .mxl files are not; {_EXPORT}.", str(error)
        ) from error
    if document.startswith(b"PK"):
        raise ReadingError(f"{name} holds another archive; unpack it and open the score inside.")
    return document


def _score_member(archive: zipfile.ZipFile, name: str) -> zipfile.ZipInfo:
    """The member that the container names, or the only XML file there is."""
    members = {
        member.filename: member
        for member in archive.infolist()
        if member.filename and not member.is_dir()
    }
    container = members.get("META-INF/container.xml")
    if container is not None:
        for path in _rootfiles(_read_member(archive, container, name)):
            if path in members:
                return members[path]
    scores = [
        member
        for path, member in members.items()
        if path.lower().endswith((".xml", ".musicxml"))
        and not {"META-INF", "__MACOSX"} & set(PurePosixPath(path).parts)
    ]
    if len(scores) == 1:
        return scores[0]
    if not scores:
        raise ReadingError(f"{name} is an archive without a MusicXML score in it; {_EXPORT}.")
    raise ReadingError(
        f"{name} holds {len(scores)} XML files and does not say which is the score; "
        "unpack it and open one."
    )


def _rootfiles(container: bytes) -> list[str]:
    """Paths that a container file names, best first; none where it cannot be read."""
    parser = etree.XMLParser(resolve_entities=False, load_dtd=False, no_network=True)
    try:
        root = etree.fromstring(container, parser)
    except (etree.XMLSyntaxError, ValueError):
        return []
    files = [file for file in root.iter("{*}rootfile") if file.get("full-path")]
    kinds = {"application/vnd.recordare.musicxml+xml", "application/vnd.recordare.musicxml", None}
    files.sort(key=lambda file: file.get("media-type") not in kinds)
    return [file.get("full-path", "").replace("\\", "/").lstrip("./") for file in files]


def _read_member(archive: zipfile.ZipFile, member: zipfile.ZipInfo, name: str) -> bytes:
    """Unpack one member in pieces, and stop where it grows past what a score can be."""
    allowed = min(LARGEST, max(_SMALL, member.compress_size * _MOST_SHRUNK))
    pieces: list[bytes] = []
    size = 0
    with archive.open(member) as file:
        while piece := file.read(_PIECE):
            size += len(piece)
            if size > allowed:
                raise ReadingError(
                    _too_large(name)
                    if size > LARGEST
                    else f"{name} unpacks to far more than a score can hold and was refused."
                )
            pieces.append(piece)
    return b"".join(pieces)
