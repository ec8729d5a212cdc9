"""How much of the time two rows of labels agree, as the reference README defines it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Final

from tests.bench.inferred_pieces import Label, Stretch

#: What is reported, in order: name and what it is a share of.
SHARES: Final = (
    ("key tonic", "time"),
    ("tonic and mode", "time"),
    ("root degree", "time"),
    ("numeral", "time"),
    ("numeral, inversion", "time"),
    ("the same, key right", "time"),
    ("function", "time with function"),
    ("applied precision", "applied, found"),
    ("applied recall", "applied"),
)


def is_applied_dominant(label: Label) -> bool:
    """A major, augmented or diminished chord that leads to its target by a fifth or half step."""
    if label.target is None:
        return False
    above = (label.root - label.target) * 7 % 12
    fifth = label.triad in ("maj", "aug") and above == 7
    return fifth or (label.triad == "dim" and above == 11)


def function_of(label: Label) -> str | None:
    """T, S or D where the table is clear, else None."""
    if label.target is not None:
        return "D" if is_applied_dominant(label) else None
    degree = label.root * 7 % 12
    if degree == 0:
        return None if label.inversion == 2 else "T"
    if degree == 9 and label.mode == 0:
        return None if label.triad == "maj" else "T"
    if degree == 5:
        return "S"
    if degree == 2:
        return "S" if label.triad in ("min", "dim") else None
    if degree == 7:
        return "D" if label.triad in ("maj", "aug") else None
    return "D" if degree == 11 and label.triad == "dim" else None


def compare(reference: Sequence[Stretch], found: Sequence[Stretch]) -> Counter[str]:
    """Quarter notes of agreement between two rows of labels, by kind of agreement."""
    totals: Counter[str] = Counter()
    first = 0
    for right in reference:
        if right.label is None:
            continue
        while first < len(found) and found[first].end <= right.onset:
            first += 1
        for other in found[first:]:
            if other.onset >= right.end:
                break
            shared = min(right.end, other.end) - max(right.onset, other.onset)
            if shared > 0 and other.label is not None:
                _count(totals, right.label, other.label, shared)
    return totals


def _count(totals: Counter[str], right: Label, found: Label, time: float) -> None:
    def same(one: int, other: int) -> bool:
        return (one - other) * 7 % 12 == 0

    tonic = same(right.tonic, found.tonic)
    root = same(right.root, found.root)
    if right.target is None or found.target is None:
        applied = right.target is found.target
    else:
        applied = same(right.target, found.target)
    quality = (right.triad, right.seventh) == (found.triad, found.seventh)
    numeral = root and applied and quality
    inverted = numeral and right.inversion == found.inversion
    function = function_of(right)
    both = is_applied_dominant(right), is_applied_dominant(found)
    for name, holds in (
        ("time", True),
        ("key tonic", tonic),
        ("tonic and mode", tonic and right.mode == found.mode),
        ("root degree", root),
        ("numeral", numeral),
        ("numeral, inversion", inverted),
        ("the same, key right", inverted and tonic),
        ("time with function", function is not None),
        ("function", function is not None and function == function_of(found)),
        ("applied", both[0]),
        ("applied, found", both[1]),
        ("applied precision", all(both)),
        ("applied recall", all(both)),
    ):
        totals[name] += time * holds  # type: ignore[assignment]


def report(totals: Counter[str]) -> str:
    """The shares in per cent, in one line."""
    return "  ".join(
        f"{name} {100 * totals[name] / max(totals[whole], 1e-9):.1f}" for name, whole in SHARES
    )


def summed(counts: Iterable[Counter[str]]) -> Counter[str]:
    """The sum of several counts."""
    total: Counter[str] = Counter()
    for count in counts:
        total.update(count)
    return total
