"""Review files, journals, themes and preferences of any bytes and of any values."""

from __future__ import annotations

import copy
import json
import zlib
from random import Random
from typing import Any

from tests.faults.nasty_values import BYTES, NUMBERS, TEXTS, damaged_bytes

#: JSON values where others are expected.
_VALUES: tuple[Any, ...] = (
    *(None, True, False, 0, -1, 1, 2, 7.5, 1e308, -1e308, 10**30, "", "a", "0", [], {}, [[]]),
    *("1/0", "-1/2", "1e400", "7/2", "C", "Cb", "H", "C#4", "C major", "C blue", "P1", "accepted"),
    *([None], {"a": {}}, "overstave-review", "\ud800", "0/1", "99999999/7", ["a", "b"], [0, 1]),
    *("/etc/passwd", "../x", "a" * 300, "\0", "#ff0000", "#00", "chord", "melody", "section"),
)


def damaged_json(random: Random, content: bytes) -> bytes:
    """JSON in which some values are others, are gone, or are there twice."""
    plain = json.loads(content)
    for _ in range(random.choice((1, 1, 2, 5, 20))):
        path = _any_path(plain, random)
        if path:
            _change(plain, path, random)
        else:
            plain = random.choice(_VALUES)
    return json.dumps(plain, ensure_ascii=random.random() < 0.5).encode(errors="surrogatepass")


def damaged_review(random: Random, content: bytes) -> bytes:
    """A review file with broken bytes or broken values."""
    if random.random() < 0.4:
        return damaged_bytes(random, content, content)
    return damaged_json(random, content)


def damaged_journal(random: Random, content: bytes) -> bytes:
    """A journal with broken bytes, lines in disorder, or broken values under a right check sum."""
    lines = content.splitlines(keepends=True)
    what = random.randrange(3)
    if what == 0:
        return damaged_bytes(random, content, content)
    if what == 1:
        random.shuffle(lines) if random.random() < 0.5 else lines.pop(random.randrange(len(lines)))
        return b"".join(lines * random.choice((1, 2)))
    at = random.randrange(len(lines))
    payload = damaged_json(random, lines[at].partition(b" ")[2])
    lines[at] = b"%08x %s\n" % (zlib.crc32(payload), payload)
    return b"".join(lines)


def damaged_theme(random: Random, content: bytes) -> bytes:
    """A theme with broken bytes or broken values."""
    if random.random() < 0.4:
        return damaged_bytes(random, content, content)
    return damaged_json(random, content)


def damaged_preferences(random: Random, content: bytes) -> bytes:
    """A file of settings whose values are of any kind."""
    if random.random() < 0.3:
        return damaged_bytes(random, content, content)
    lines = content.decode().splitlines()
    for _ in range(random.choice((1, 3, 8))):
        at = random.randrange(len(lines))
        name = lines[at].partition("=")[0]
        lines[at] = f"{name}={_setting(random)}"
    return "\n".join(lines).encode(errors="replace")


def _setting(random: Random) -> str:
    kinds = (
        "@Invalid()",
        "@ByteArray(abc\\0def)",
        "@Variant(\\0\\0\\0\\x8\\0\\0\\0\\0)",
        "@Variant(\\xff\\xff)",
        "@Point(1 2)",
        "@Rect(1 2 x 4)",
        "@Size(9)",
        "a, b, @Point(1 2)",
        "@DateTime(\\0)",
        "/" + "x" * 5000,
        "/root/\\0/x, ../.., a\\x0",
        '"\\xd800"',
        random.choice(NUMBERS),
        random.choice(TEXTS).replace("\n", ""),
        random.choice(BYTES).decode("latin-1"),
    )
    return random.choice(kinds)


def _any_path(plain: Any, random: Random) -> list[Any]:
    """The way to some value within a value; empty for the value itself."""
    path: list[Any] = []
    while isinstance(plain, dict | list) and plain and random.random() < 0.93:
        key = (
            random.choice(list(plain)) if isinstance(plain, dict) else random.randrange(len(plain))
        )
        path.append(key)
        plain = plain[key]
    return path


def _change(plain: Any, path: list[Any], random: Random) -> None:
    *way, last = path
    for key in way:
        plain = plain[key]
    what = random.randrange(4)
    if what == 0:
        del plain[last]
    elif what == 1 and isinstance(plain, dict):
        plain[random.choice(("extra", "id", "", last))] = copy.deepcopy(plain[last])
    elif what == 1:
        plain.insert(last, copy.deepcopy(plain[last]))
    else:
        plain[last] = copy.deepcopy(random.choice((*_VALUES, *NUMBERS[:20], *TEXTS)))
