"""Numbers, texts and bytes that programs trip over, for whoever breaks a file on purpose."""

from __future__ import annotations

from random import Random

NUMBERS = (
    *("0", "-1", "-4", "1", "2", "3", "7", "1/3", "0.5", "1.5", "-0.5", "0.333", "1e9", "1e400"),
    *("-1e400", "nan", "inf", "-inf", "", " ", "\u0663", "1_000", "0x10", "99999999999999999999"),
    *("9" * 5000, "4294967296", "2147483648", "-2147483649", "one", "\u00bd", "\u22124", "1,5"),
    *("+4", " 4 ", "4\n", "1e-300", "1e5", "32767", "-0", "0.0000001", "1/0", "3+2"),
)
TEXTS = (
    *("<b>bold</b>", "<script>alert(1)</script>", "]]>", "&amp;&lt;&#0;", "&bomb;", "<!-- -->"),
    *("\u05e9\u05d9\u05e8 \u05dc\u05e9\u05d1\u05ea", "\u0623\u063a\u0646\u064a\u0629 \u0627\u0644"),
    *("\U0001f3b8\U0001f3b6", "\U0001f469\u200d\U0001f469\u200d\U0001f467", "Z\u0335\u0348\u0353"),
    *("\u202eevil\u202c", "\ufeff", "\U0010fffd", "\u2028\u2029", "\u200b", "\x7f\x85", "\ue050"),
    *("a" * 20_000, "word " * 2_000, "%s%n%d", "${HOME}", "{{7*7}}", "{0.__class__}", "\\\\n\\"),
    *("../../etc/passwd", "/etc/passwd", "file:///etc/passwd", "C:\\con", "=1+1", "'\"`;--"),
    *(
        "",
        " ",
        "\t\r\n",
        "-",
        ".",
        "0",
        "null",
        "None",
        "true",
        "\u4e2d\u6587",
        "\u266d\u266f\u266e",
    ),
)
BYTES = (
    *(b"\0", b"\xff", b"\xfe\xff", b"\xef\xbb\xbf", b"<", b">", b"&", b'"', b"\x1b[2J", b"]]>"),
    *(b"<!--", b"-->", b"<![CDATA[", b"<?xml?>", b"&#0;", b"&#x10FFFF;", b"&lt;", b"&nbsp;"),
    *(b"\xed\xa0\x80", b"\xf0\x9f\x8e\xb8", b"\xc3", b"{", b"}", b"[", b"null", b"1e999", b"NaN"),
    *(b"PK\3\4", b"\r", b"\x1a", b"%", b"\\u0000", b"\\ud800", b"-", b"0" * 40, b"</note>", b","),
)


def number(random: Random) -> str:
    """A number that is none, or none that fits."""
    return random.choice(NUMBERS)


def text(random: Random) -> str:
    """A text that is hard to show."""
    return random.choice(TEXTS)


def damaged_bytes(random: Random, data: bytes, other: bytes) -> bytes:
    """Bytes with one to eight things done to them: flipped, cut, doubled, put in, taken over."""
    broken = bytearray(data)
    for _ in range(random.randint(1, 8)):
        at = random.randrange(len(broken) + 1)
        length = min(random.choice((1, 1, 2, 7, 40, 500)), len(broken) - at)
        piece = bytes(broken[at : at + length])
        what = random.randrange(8)
        if what == 0:
            broken[at : at + length] = bytes(random.randrange(256) for _ in piece)
        elif what == 1:
            del broken[at : at + length]
        elif what == 2:
            broken[at:at] = piece * random.choice((1, 2, 50))
        elif what == 3:
            broken[at:at] = random.choice(BYTES)
        elif what == 4:
            start = random.randrange(len(other) + 1)
            broken[at : at + length] = other[start : start + random.choice((4, 80, 2000))]
        elif what == 5 and piece:
            broken[at] ^= 1 << random.randrange(8)
        elif what == 6:
            elsewhere = random.randrange(len(broken) + 1)
            del broken[at : at + length]
            broken[elsewhere:elsewhere] = piece
        elif random.random() < 0.2:
            del broken[at:]
    return bytes(broken)
