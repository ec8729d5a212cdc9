"""Names of files: made by a pattern, safe on every system, none twice.

A pattern is text with fields in braces, such as ``{number}-m{measure}-{kind}-{label}``. The default
gives ``03-m14-chord-V7-vi``. `FIELDS` lists what there is.

A safe name has letters and digits of ASCII and ``-``, ``_``, ``.`` between them, no other sign;
letters with accents lose them, music signs are spelled (``♭VII`` becomes ``bVII``). It neither
begins nor ends with a dot, hyphen or space, is no device's name (``CON``, ``LPT1``) and has at most
`LONGEST` characters, which leaves room for numbers and endings below the 255 bytes that file
systems take. Names that differ only in case count as one, as some file systems see it; the later
ones get ``-2``, ``-3``.

References
----------
Reserved names: Microsoft, *Naming Files, Paths, and Namespaces* (from memory).
"""

from __future__ import annotations

import re
import string
import unicodedata
from collections.abc import Collection, Iterable, Mapping
from typing import Final

from analysis.errors import ExportError
from app.engraving.musictext import plain_text
from app.export.talking_points import talking_points
from app.review.document import Document, ReviewedMark

PATTERN: Final = "{number}-m{measure}-{kind}-{label}"
FIELDS: Final[Mapping[str, str]] = {
    "number": "place in the order, with leading noughts",
    "measure": "number of the measure as printed",
    "kind": "kind of mark, such as chord",
    "label": "what the mark says on the page",
    "section": "section that the mark begins in",
    "song": "title of the score, or the name of its file",
}
#: Most characters of a name without its ending, and of one field in it.
LONGEST: Final = 120
_LONGEST_FIELD: Final = 32
_DEVICES: Final = re.compile(r"(con|prn|aux|nul|com\d|lpt\d|conin|conout|clock)(\..*)?", re.I)
#: A letter that no accent can be taken from, and what is written instead.
_SPELLED: Final = str.maketrans({"ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "đ": "d", "ł": "l",
                                 "Æ": "AE", "Œ": "OE", "Ø": "O", "Đ": "D", "Ł": "L"})  # fmt: skip


def picture_names(
    document: Document, points: Iterable[ReviewedMark], pattern: str = PATTERN
) -> list[str]:
    """A name without ending for each talking point, in their order; no two clash.

    Raises
    ------
    ExportError
        If the pattern has a field that is not in `FIELDS`.
    """
    points = list(points)
    width = max(2, len(str(len(points))))
    names = [
        named(pattern, _fields(document, point, f"{number:0{width}d}"))
        for number, point in enumerate(points, start=1)
    ]
    return without_clashes(names)


def named_points(
    document: Document, pattern: str = PATTERN, chosen: Collection[str] | None = None
) -> list[tuple[ReviewedMark, str]]:
    """The talking points with their names, in their order.

    Parameters
    ----------
    document
        The review.
    pattern
        As for `picture_names`.
    chosen
        Ids of the marks that are wanted; None for all. A name does not depend on it.
    """
    points = talking_points(document)
    pairs = zip(points, picture_names(document, points, pattern), strict=True)
    return [(point, name) for point, name in pairs if chosen is None or point.id in chosen]


def named(pattern: str, fields: Mapping[str, str]) -> str:
    """A safe name by a pattern.

    Examples
    --------
    >>> named("{number} {label}", {"number": "01", "label": "♭VII⁷/V"})
    '01-bVII7-V'
    """
    try:
        pieces = list(string.Formatter().parse(pattern))
    except ValueError as error:
        raise ExportError(f"The pattern “{pattern}” has a brace without its partner.") from error
    words = []
    for text, field, form, conversion in pieces:
        words.append(text)
        if field is None:
            continue
        if field not in fields or form or conversion:
            known = ", ".join(f"{{{name}}}" for name in FIELDS)
            raise ExportError(f"Names can hold {known}; “{{{field}}}” is not one of them.")
        words.append(_ascii(fields[field])[:_LONGEST_FIELD].strip("-"))
    return safe_name("".join(words))


def safe_name(text: str) -> str:
    """A name without ending that every system takes; ``untitled`` where nothing is left."""
    kept = re.sub(r"-{2,}", "-", re.sub(r"[^A-Za-z0-9._-]+", "-", _ascii(text, keep="._")))
    name = kept[:LONGEST].strip("-. ")
    if not name:
        return "untitled"
    return f"x-{name}" if _DEVICES.fullmatch(name) else name


def without_clashes(names: Iterable[str]) -> list[str]:
    """The names, later ones numbered where an earlier one is the same but for case."""
    names = list(names)
    firsts = {name.casefold() for name in names}
    taken: set[str] = set()
    found = []
    for name in names:
        free, count = name, 1
        while free.casefold() in taken or (count > 1 and free.casefold() in firsts):
            count += 1
            free = f"{name}-{count}"
        taken.add(free.casefold())
        found.append(free)
    return found


def _fields(document: Document, point: ReviewedMark, number: str) -> dict[str, str]:
    start = point.mark.span.start
    section = next((one for one in document.analysis.sections if start in one.span), None)
    return {
        "number": number,
        "measure": document.score.measure_at(start).number,
        "kind": point.mark.kind,
        "label": point.label,
        "section": (section.name or section.label) if section else "",
        "song": document.score.title or document.source.name.rpartition(".")[0],
    }


def _ascii(text: str, keep: str = "") -> str:
    """Letters and digits of ASCII and what is to be kept, everything else a hyphen."""
    spelled = plain_text(text).translate(_SPELLED)
    plain = unicodedata.normalize("NFKD", spelled).encode("ascii", "ignore").decode()
    return re.sub(rf"[^A-Za-z0-9{re.escape(keep)}-]+", "-", plain)
