"""Packages of a score (.mxl) that name the wrong file, lead out of themselves, or grow without end.

Each function packs a document in its own bad way. `secret` is a path outside: its content must
never come out of anything. Bombs are small here and far larger once unpacked.
"""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from collections.abc import Callable
from random import Random

Packing = Callable[[bytes, str, Random], bytes]
_CONTAINER = (
    '<?xml version="1.0"?><container><rootfiles><rootfile full-path="{}" media-type="{}"/>'
    "</rootfiles></container>"
)
_KIND = "application/vnd.recordare.musicxml+xml"


def packed(files: list[tuple[str, bytes]], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A zip archive; the same bytes for the same files."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", method) as archive:
        for name, content in files:
            archive.writestr(zipfile.ZipInfo(name), content, method)
    return buffer.getvalue()


def container(path: str, kind: str = _KIND) -> tuple[str, bytes]:
    """The table of contents that names a path."""
    return "META-INF/container.xml", _CONTAINER.format(path, kind).encode()


def good(document: bytes, secret: str, random: Random) -> bytes:
    return packed([container("score.xml"), ("score.xml", document)])


def wrong_container(document: bytes, secret: str, random: Random) -> bytes:
    path = random.choice(("gone.xml", "", "META-INF/container.xml", ".", "/", "score.xml/", "a\0b"))
    kind = random.choice((_KIND, "application/pdf", "", "x" * 9000))
    return packed([container(path, kind), ("score.xml", document)])


def broken_container(document: bytes, secret: str, random: Random) -> bytes:
    content = random.choice(
        (
            b"",
            b"<container",
            b"\0" * 90,
            b"<!DOCTYPE c [<!ENTITY a 'score.xml'>]><c><rootfile full-path='&a;'/></c>",
            f"<!DOCTYPE c SYSTEM 'file://{secret}'><container/>".encode(),
            b"<container>" * 5000,
            b"<container>" + b"<rootfile full-path='x'/>" * 9000 + b"</container>",
            document,
        )
    )
    return packed([("META-INF/container.xml", content), ("score.xml", document)])


def paths_that_lead_out(document: bytes, secret: str, random: Random) -> bytes:
    path = random.choice(
        (
            secret,
            "../" * 12 + secret[1:],
            f"file://{secret}",
            secret.replace("/", "\\"),
            "/dev/zero",
        )
    )
    files = [container(path)]
    if random.random() < 0.5:
        files.append(
            (random.choice((path, "../../evil.xml", "/evil.xml", "C:\\evil.xml")), document)
        )
    if random.random() < 0.3:
        files.append(("score.xml", document))
    return packed(files)


def nested(document: bytes, secret: str, random: Random) -> bytes:
    data = document
    for _ in range(random.choice((2, 3, 8))):
        data = packed([container("score.xml"), ("score.xml", data)])
    return data


def several_scores(document: bytes, secret: str, random: Random) -> bytes:
    names = random.choice((("a.xml", "b.xml"), ("a.xml", "a.xml"), ("a.xml", "A.XML", "b/c.xml")))
    files = [(name, document) for name in dict.fromkeys(names)]
    return packed([container("a.xml"), *files] if random.random() < 0.5 else files)


def many_members(document: bytes, secret: str, random: Random) -> bytes:
    count = random.choice((300, 6000))
    return packed([(f"{at}.txt", b"") for at in range(count)] + [("score.xml", document)])


def zip_bomb(document: bytes, secret: str, random: Random) -> bytes:
    filling = random.choice((b" ", b"<!-- -->", b"\0", b"<a>"))
    large = filling * (random.choice((6, 40, 90)) * 1024 * 1024 // len(filling))
    place = random.randrange(3)
    head, tail = document[: len(document) // 2], document[len(document) // 2 :]
    content = (large + document, document + large, head + large + tail)[place]
    name = random.choice(("score.xml", "META-INF/container.xml"))
    return packed([(name, content), ("other.xml", document)])


def lying_sizes(document: bytes, secret: str, random: Random) -> bytes:
    data = bytearray(good(document, secret, random))
    sign = random.choice((b"PK\1\2", b"PK\3\4"))
    at = data.rfind(sign)
    field = at + random.choice((18, 20, 22, 24) if sign == b"PK\3\4" else (16, 20, 24, 28, 42))
    data[field : field + 4] = struct.pack("<I", random.choice((0, 1, 0x7FFFFFFF, 0xFFFFFFFF)))
    return bytes(data)


def locked_or_odd_methods(document: bytes, secret: str, random: Random) -> bytes:
    method = random.choice((zipfile.ZIP_STORED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA))
    data = bytearray(packed([container("score.xml"), ("score.xml", document)], method))
    at = data.rfind(b"PK\1\2")
    if random.random() < 0.5:
        data[at + 8] |= random.choice((1, 0x20, 0x41))
    else:
        data[at + 10] = random.choice((1, 6, 9, 97, 99))
    return bytes(data)


def cut_off(document: bytes, secret: str, random: Random) -> bytes:
    data = good(document, secret, random)
    return data[: random.randrange(len(data))]


def something_before_or_after(document: bytes, secret: str, random: Random) -> bytes:
    data = good(document, secret, random)
    return random.choice((b"PK", b"MZ" * 40, b"")) + data + b"x" * random.choice((0, 9, 70_000))


def entity_bomb(document: bytes, secret: str, random: Random) -> bytes:
    levels = [f'<!ENTITY l{n} "{f"&l{n - 1};" * 10 if n else "la"}">' for n in range(12)]
    declared = random.choice(("".join(levels), '<!ENTITY l11 "' + "x" * 50_000 + '">'))
    return _declared(document, declared, "&l11;" * random.choice((1, 500)), random)


def external_entities(document: bytes, secret: str, random: Random) -> bytes:
    declared = random.choice(
        (
            f'<!ENTITY l11 SYSTEM "file://{secret}">',
            f'<!ENTITY l11 PUBLIC "x" "{secret}">',
            f'<!ENTITY % p SYSTEM "file://{secret}"> %p;',
            '<!ENTITY l11 SYSTEM "http://127.0.0.1:9/x">',
            f'<!NOTATION n SYSTEM "{secret}"><!ENTITY l11 SYSTEM "{secret}" NDATA n>',
            '<!ATTLIST note print-object CDATA "no" id ID #IMPLIED>',
        )
    )
    return _declared(document, declared, "&l11;", random)


def external_includes(document: bytes, secret: str, random: Random) -> bytes:
    includes = (
        f'<i:include xmlns:i="http://www.w3.org/2001/XInclude" href="{secret}" parse="text"/>',
        f'<?xml-stylesheet href="{secret}" type="text/xsl"?>',
        f'<link href="file://{secret}"/>',
        f'<credit><credit-image source="{secret}" type="image/png"/></credit>',
        f'<direction><direction-type><image source="{secret}"/></direction-type></direction>',
    )
    return document.replace(b"<measure", random.choice(includes).encode() + b"<measure", 3)


def other_encodings(document: bytes, secret: str, random: Random) -> bytes:
    text = document.decode("utf-8", "replace")
    real, said = (
        random.choice(("utf-8", "utf-16", "utf-16-be", "utf-32", "latin-1", "utf-7"))
        for _ in range(2)
    )
    text = text.replace("UTF-8", random.choice((said, "EBCDIC-CP-US", "martian", "ISO-2022-JP")), 1)
    return text.encode(real, "xmlcharrefreplace")


def other_kinds_of_file(document: bytes, secret: str, random: Random) -> bytes:
    start = random.choice(
        (
            b"MThd\0\0\0\6",
            b"%PDF-1.4",
            b"\x89PNG\r\n\x1a\n",
            b"\x1f\x8b\x08",
            b"{\\rtf1",
            b"<html>",
            b"X:1\nT:x\nK:C\nCDEF|",
            b"!!!COM: x\n**kern\n4c\n*-",
            b"Composer: x\nm1 C: I",
            b"\\version",
            b"<mei/>",
            b"<drawing/>",
            b"GIF89a",
            b"7z\xbc\xaf",
            b"SQLite format 3\0",
            b"#!/bin/sh\n",
        )
    )
    return random.choice((start, start + document, start + zlib.compress(document)))


PACKINGS: tuple[Packing, ...] = (
    good,
    wrong_container,
    broken_container,
    paths_that_lead_out,
    nested,
    several_scores,
    many_members,
    lying_sizes,
    locked_or_odd_methods,
    cut_off,
    something_before_or_after,
    entity_bomb,
    external_entities,
    external_includes,
    other_encodings,
    other_kinds_of_file,
)
#: Those that take a while to make.
LARGE: tuple[Packing, ...] = (zip_bomb,)


def _declared(document: bytes, declared: str, use: str, random: Random) -> bytes:
    """A document with a type of its own and a use of it, in some encoding."""
    start = document.find(b"<score-")
    body = document[start:].decode("utf-8", "replace")
    body = body.replace("<part-name>", f"<part-name>{use}", 1)
    encoding = random.choice(("utf-8", "utf-8", "utf-16", "utf-32"))
    head = (
        f'<?xml version="1.0" encoding="{encoding.upper()}"?><!DOCTYPE score-partwise [{declared}]>'
    )
    return (head + body).encode(encoding)
