"""Small MusicXML documents, written out where a test needs one."""

from __future__ import annotations

import re

from analysis.reading.scores import read_score
from analysis.reading.sources import source_of
from analysis.score import Note, Score

DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)
TYPES = {1: "16th", 2: "eighth", 4: "quarter", 8: "half", 16: "whole"}


def pitch(name: str) -> str:
    """A pitch element: ``Bb4``, ``F#3``."""
    match = re.fullmatch(r"([A-G])(b*|#*)(-?\d)", name)
    assert match is not None
    alter = len(match[2]) * (-1 if "b" in match[2] else 1)
    return (
        f"<pitch><step>{match[1]}</step>"
        + (f"<alter>{alter}</alter>" if alter else "")
        + f"<octave>{match[3]}</octave></pitch>"
    )


def note(
    name: str,
    duration: int | None = 4,
    more: str = "",
    *,
    chord: bool = False,
    first: str = "",
    attributes: str = "",
) -> str:
    """A note; ``rest`` and ``unpitched`` are names too. ``more`` follows the duration."""
    sound = f"<{name}/>" if name in ("rest", "unpitched") else pitch(name)
    length = "" if duration is None else f"<duration>{duration}</duration>"
    member = "<chord/>" if chord else ""
    return f"<note {attributes}>{first}{member}{sound}{length}{more}</note>"


def attributes(more: str = "", divisions: int = 4, fifths: int = 0, time: str = "4/4") -> str:
    """Opening attributes of a part; ``more`` goes where transpose does."""
    beats, beat_type = time.split("/")
    return (
        f"<attributes><divisions>{divisions}</divisions><key><fifths>{fifths}</fifths></key>"
        f"<time><beats>{beats}</beats><beat-type>{beat_type}</beat-type></time>{more}</attributes>"
    )


def harmony(root: str, kind: str = "major", more: str = "", text: str = "") -> str:
    """A chord symbol: ``harmony("Bb", "dominant")``."""
    alter = root.count("#") - root.count("b")
    return (
        f"<harmony><root><root-step>{root[0]}</root-step><root-alter>{alter}</root-alter></root>"
        f'<kind text="{text}">{kind}</kind>{more}</harmony>'
    )


def document(*parts: list[str], head: str = "", listed: list[str] | None = None) -> bytes:
    """A partwise document; each part is a list of what its measures hold.

    A measure that begins with ``@`` gives its attributes up to the next ``@``.
    """
    entries = listed or [""] * len(parts)
    text = "".join(
        f'<score-part id="P{index}">{entry or f"<part-name>Part {index}</part-name>"}</score-part>'
        for index, entry in enumerate(entries, 1)
    )
    body = ""
    for index, measures in enumerate(parts, 1):
        body += f'<part id="P{index}">'
        for number, content in enumerate(measures, 1):
            extra = f'number="{number}"'
            if content.startswith("@"):
                _, extra, content = content.split("@", 2)
            body += f"<measure {extra}>{content}</measure>"
        body += "</part>"
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>{DOCTYPE}<score-partwise version="4.0">'
        f"{head}<part-list>{text}</part-list>{body}</score-partwise>"
    ).encode()


def read(*parts: list[str], head: str = "", listed: list[str] | None = None) -> Score:
    """The Score of such a document."""
    return read_score(source_of(document(*parts, head=head, listed=listed), "snippet.musicxml"))


def one(*measures: str) -> tuple[Note, ...]:
    """The notes of a single part."""
    return read(list(measures)).parts[0].notes
