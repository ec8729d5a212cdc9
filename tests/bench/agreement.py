"""How far two analyses of one piece agree, as ``reference/README.md`` defines it.

An analysis is reduced to stretches of time with key, root, triad, seventh, inversion and target;
agreement is counted in quarter notes. Where the reference is silent (no chord, no root) nothing is
counted; where ours is, it is wrong.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any, Final, NamedTuple

from analysis.pitch import PitchName

_MINOR_LIKE: Final = ("minor", "dorian", "phrygian", "locrian", "aeolian")
_TRIADS: Final = {"maj": (0, 4, 7), "min": (0, 3, 7), "dim": (0, 3, 6), "aug": (0, 4, 8)}
_SCALES: Final = {False: {0, 2, 4, 5, 7, 9, 11}, True: {0, 2, 3, 5, 7, 8, 10, 11}}
#: A change of key counts as found this close, in quarter notes.
_NEAR: Final = 8.0


class Heard(NamedTuple):
    """One stretch of an analysis, reduced to what is compared; pitch classes as integers."""

    onset: float
    end: float
    tonic: int
    minor: bool
    root: int | None
    triad: str
    seventh: str
    inversion: int
    applied: int | None

    @property
    def degree(self) -> int | None:
        """Half steps from the tonic to the root; None without a chord."""
        return None if self.root is None else (self.root - self.tonic) % 12

    @property
    def aim(self) -> int | None:
        """Half steps from the tonic to the root it is applied to; None where it is not."""
        return None if self.applied is None else (self.applied - self.tonic) % 12

    @property
    def is_applied_dominant(self) -> bool:
        """A major or augmented triad a fifth above its target, or a diminished one below it."""
        if self.applied is None or self.root is None:
            return False
        step = (self.root - self.applied) % 12
        return (self.triad in ("maj", "aug") and step == 7) or (self.triad == "dim" and step == 11)

    @property
    def is_outside(self) -> bool:
        """Whether a tone of the triad is foreign to the key."""
        if self.degree is None or self.triad not in _TRIADS:
            return False
        return any((self.degree + s) % 12 not in _SCALES[self.minor] for s in _TRIADS[self.triad])

    @property
    def function(self) -> str:
        """T, S or D where the table is clear, else empty."""
        if self.applied is not None:
            return "D" if self.is_applied_dominant else ""
        third = self.triad
        match self.degree:
            case 0:
                return "" if self.inversion == 2 else "T"
            case 9 if not self.minor and third == "min":
                return "T"
            case 8 if self.minor and third == "maj":
                return "T"
            case 5:
                return "S"
            case 2 if third in ("min", "dim"):
                return "S"
            case 7 if third in ("maj", "aug"):
                return "D"
            case 11 if third == "dim":
                return "D"
        return ""


class Analysed(NamedTuple):
    """A score with what people said of it."""

    name: str
    path: Path
    chords: Sequence[Heard]


Analyst = Callable[[Analysed], Sequence[Heard]]


def heard_in(chords: Sequence[dict[str, Any]]) -> list[Heard]:
    """The stretches of a JSON list of chords, ours or a reference's."""
    return [
        Heard(
            onset=float(chord["onset"]),
            end=float(chord["onset"]) + float(chord["duration"]),
            tonic=PitchName.parse(chord["key"]["tonic"]).pc,
            minor=chord["key"]["mode"] in _MINOR_LIKE,
            root=None if chord.get("nc") or not chord.get("root") else _pc(chord["root"]),
            triad=chord.get("triad") or "",
            seventh=chord.get("seventh") or "",
            inversion=int(chord.get("inversion") or 0),
            applied=_pc(chord["applied_root"]) if chord.get("applied_root") else None,
        )
        for chord in chords
    ]


def _pc(name: str) -> int:
    return PitchName.parse(name).pc


def compare(reference: Sequence[Heard], found: Sequence[Heard]) -> Counter[str]:
    """Quarter notes of agreement and of what they are a share of, by name."""
    totals: Counter[str] = Counter()
    at = 0
    for right in reference:
        if right.root is None:
            continue
        while at < len(found) and found[at].end <= right.onset:
            at += 1
        covered = 0.0
        for other in found[at:]:
            if other.onset >= right.end:
                break
            time = min(right.end, other.end) - max(right.onset, other.onset)
            if time > 0:
                covered += time
                _count(totals, right, other, time)
        missing = right.end - right.onset - covered
        if missing > 1e-6:
            nothing = Heard(right.onset, right.end, -1, False, None, "", "", 0, None)
            _count(totals, right, nothing, missing)
    _count_changes(totals, reference, found)
    return totals


def _count(totals: Counter[str], right: Heard, found: Heard, time: float) -> None:
    tonic = right.tonic == found.tonic
    root = found.root is not None and right.degree == found.degree
    quality = (right.triad, right.seventh) == (found.triad, found.seventh)
    numeral = root and quality and right.aim == found.aim
    inverted = numeral and right.inversion == found.inversion
    # The rock corpus files minor tonics under major, so the mode is also taken as theirs.
    theirs = found._replace(minor=right.minor)
    for name, holds in (
        ("time", True),
        ("key tonic", tonic),
        ("tonic and mode", tonic and right.minor == found.minor),
        ("root degree", root),
        ("numeral", numeral),
        ("numeral, inversion", inverted),
        ("numeral, inversion, key", inverted and tonic),
        ("time with function", bool(right.function)),
        ("function", bool(right.function) and right.function == found.function),
        ("applied", right.is_applied_dominant),
        ("applied found", found.is_applied_dominant),
        ("applied both", right.is_applied_dominant and found.is_applied_dominant),
        ("outside", right.is_outside),
        ("outside found", found.is_outside),
        ("outside both", right.is_outside and found.is_outside),
        ("outside found, their mode", theirs.is_outside),
        ("outside both, their mode", right.is_outside and theirs.is_outside),
    ):
        totals[name] += time * holds  # type: ignore[assignment]


def _count_changes(
    totals: Counter[str], reference: Sequence[Heard], found: Sequence[Heard]
) -> None:
    """Changes of tonic: how many there are, how many are found near, how many are false."""
    right, ours = list(_changes(reference)), list(_changes(found))
    hit = [
        any(abs(at - other) <= _NEAR and tonic == heard for other, heard in ours)
        for at, tonic in right
    ]
    totals["changes"] += len(right)
    totals["changes hit"] += sum(hit)
    totals["changes false"] += sum(
        not any(abs(at - other) <= _NEAR for other, _ in right) for at, _ in ours
    )
    totals["pieces"] += 1


def _changes(row: Sequence[Heard]) -> Iterator[tuple[float, int]]:
    for before, after in pairwise(row):
        if before.tonic != after.tonic:
            yield after.onset, after.tonic


#: Name of each share, its numerator and its denominator.
SHARES: Final = (
    ("key tonic", "key tonic", "time"),
    ("tonic and mode", "tonic and mode", "time"),
    ("root degree", "root degree", "time"),
    ("numeral", "numeral", "time"),
    ("numeral, inversion", "numeral, inversion", "time"),
    ("numeral, inversion, key", "numeral, inversion, key", "time"),
    ("function", "function", "time with function"),
    ("applied precision", "applied both", "applied found"),
    ("applied recall", "applied both", "applied"),
    ("outside precision", "outside both", "outside found"),
    ("outside recall", "outside both", "outside"),
    ("outside precision, their mode", "outside both, their mode", "outside found, their mode"),
    ("outside recall, their mode", "outside both, their mode", "outside"),
    ("changes found", "changes hit", "changes"),
    ("false changes a song", "changes false", "pieces"),
)


def shares(totals: Counter[str]) -> dict[str, float]:
    """The shares in per cent (false changes as a count a song)."""
    return {
        name: (1 if name.startswith("false") else 100) * totals[part] / max(totals[whole], 1e-9)
        for name, part, whole in SHARES
    }


def read_folder(scores: Path, reference: Path) -> Iterator[Analysed]:
    """Every score of a folder that has a reference of its stem, in order of name."""
    for path in sorted(scores.iterdir()):
        expected = reference / f"{path.stem}.json"
        if path.suffix in (".mxl", ".musicxml", ".xml") and expected.exists():
            chords = json.loads(expected.read_text("utf-8"))["chords"]
            yield Analysed(path.stem, path, heard_in(chords))


def score_pieces(pieces: Sequence[Analysed], analyst: Analyst) -> Counter[str]:
    """Agreement of an analyst over several pieces."""
    totals: Counter[str] = Counter()
    for piece in pieces:
        totals.update(compare(piece.chords, analyst(piece)))
    return totals
