"""What carrying a review over to a changed transcription did, entry by entry, for people.

Four groups: *moved* (kept as it is, in another measure), *changed* (the music or the claim under a
decision is another), *unplaced* (kept in the file, but nothing to attach it to), *returned* (left
over earlier, and now back in its place). What was simply kept is only counted.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from analysis.timebase import Span
from app.review.alignments import Alignment
from app.review.document import Document
from app.review.selection import NOTHING, Selection

Group = Literal["moved", "changed", "unplaced", "returned"]
GROUPS: Final[tuple[Group, ...]] = ("unplaced", "changed", "moved", "returned")


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing to know about.

    Parameters
    ----------
    name
        What it is about: a mark's label, a key, a section.
    sentence
        What happened to it.
    was, now
        Printed numbers of its measure; ``now`` is empty where it has none.
    selection
        Where to look; for what is unplaced, where its measure would be.
    left
        Digest of the transcription and id of the mark by which `app.review.leftover_edits` know
        what is unplaced; empty for everything else, corrections among it.
    """

    group: Group
    name: str
    sentence: str
    was: str
    now: str
    selection: Selection = NOTHING
    left: tuple[str, str] = ("", "")


@dataclass(frozen=True, slots=True)
class CarryReport:
    """What became of a review.

    ``statements`` say what is different about the transcription, one sentence each; ``kept`` counts
    what stands where it stood.
    """

    statements: tuple[str, ...]
    kept: int
    entries: tuple[Entry, ...]

    def group(self, group: Group) -> tuple[Entry, ...]:
        """The entries of one group, in order of time."""
        return tuple(entry for entry in self.entries if entry.group == group)

    @property
    def summary(self) -> str:
        """All in one line."""
        words: dict[Group, tuple[str, str]] = {
            "unplaced": ("could not be placed", "could not be placed"),
            "changed": (
                "has other music or another reading under it",
                "have other music or another reading under them",
            ),
            "moved": ("moved with its measure", "moved with their measures"),
            "returned": ("found its place again", "found their places again"),
        }
        counts = Counter(entry.group for entry in self.entries)
        stood = "stands where it stood" if self.kept == 1 else "stand where they stood"
        parts = [f"{self.kept} {stood}"]
        parts += [f"{counts[one]} {words[one][counts[one] > 1]}" for one in GROUPS if counts[one]]
        return "; ".join(parts) + "."


def leftover_entries(document: Document) -> tuple[Entry, ...]:
    """What is left over in a document, whoever remembers how that came about."""
    entries = []
    for left in document.leftovers:
        sentence = f"Left over from {left.source.name}."
        named = {mark.id: mark.label for mark in left.own_marks}
        for mark_id, decision in left.decisions.items():
            label = decision.mark.label if decision.mark else mark_id
            named[mark_id] = label if decision.label is None else decision.label
        digest = left.source.digest
        for mark_id, name in named.items():
            entries.append(Entry("unplaced", name, sentence, "", "", left=(digest, mark_id)))
    return tuple(entries)


def number_now(alignment: Alignment, span: Span) -> str:
    """The printed number of the measure in which a span of now begins."""
    onsets = alignment.onsets_now
    index = max((at for at, onset in enumerate(onsets[:-1]) if onset <= span.start), default=0)
    return alignment.now.measures[index].number


def statements(alignment: Alignment) -> Iterator[str]:
    """What is different about the transcription, the largest first."""
    yield from _transposition(alignment)
    yield from _parts(alignment)
    yield from _measures(alignment)
    yield from _elements(alignment)


def _transposition(alignment: Alignment) -> Iterator[str]:
    interval = alignment.interval
    if not interval.fifths:
        return
    steps = interval.half_steps
    how = "half step" if abs(steps) == 1 else "half steps"
    if steps:
        yield f"The song is {abs(steps)} {how} {'higher' if steps > 0 else 'lower'}."
    else:
        yield "The song is spelled in another key of the same sound."


def _parts(alignment: Alignment) -> Iterator[str]:
    names = {part.id: part.name for part in alignment.now.parts}
    for part in alignment.then.parts:
        now = alignment.parts.get(part.id)
        if now is None:
            yield f"The part “{part.name or part.id}” is gone."
        elif names[now] != part.name:
            yield f"The part “{part.name or part.id}” is now called “{names[now] or now}”."
    known = set(alignment.parts.values())
    for part in alignment.now.parts:
        if part.id not in known:
            yield f"The part “{part.name or part.id}” is new."


def _measures(alignment: Alignment) -> Iterator[str]:
    there = {index for index in alignment.measures if index is not None}
    new = [at for at in range(len(alignment.now.measures)) if at not in there]
    numbers = [measure.number for measure in alignment.now.measures]
    for run in _runs(new):
        yield f"{_named(run, numbers)} {'is' if len(run) == 1 else 'are'} new."
    gone = [at for at, index in enumerate(alignment.measures) if index is None]
    numbers = [measure.number for measure in alignment.then.measures]
    for run in _runs(gone):
        yield f"{_named(run, numbers)} of before {'is' if len(run) == 1 else 'are'} gone."


def _elements(alignment: Alignment) -> Iterator[str]:
    counts = Counter(one.change for one in alignment.elements.values())
    for change, one, many in (
        ("pitch", "note has another pitch", "notes have another pitch"),
        ("place", "note or chord symbol stands elsewhere in its measure",
         "notes and chord symbols stand elsewhere in their measures"),
        ("duration", "note has another duration", "notes have another duration"),
        ("spelling", "note is spelled differently", "notes are spelled differently"),
        ("symbol", "chord symbol says something else", "chord symbols say something else"),
    ):  # fmt: skip
        count = counts[change]  # type: ignore[index]
        if count:
            yield f"{count} {one if count == 1 else many}."


def _runs(indexes: Sequence[int]) -> list[list[int]]:
    """Indexes that follow each other, together."""
    runs: list[list[int]] = []
    for index in indexes:
        if runs and runs[-1][-1] == index - 1:
            runs[-1].append(index)
        else:
            runs.append([index])
    return runs


def _named(run: Sequence[int], numbers: Sequence[str]) -> str:
    first, last = numbers[run[0]], numbers[run[-1]]
    return f"Measure {first}" if len(run) == 1 else f"Measures {first} to {last}"
