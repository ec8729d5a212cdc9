"""What the export room says in words, and what it calls things."""

from __future__ import annotations

from typing import Final

from app.engraving.labels import Layer
from app.export.cautions import RIGHTS
from app.export.file_names import FIELDS
from app.export.folders import Outcome
from app.export.frames import TEXT_HEIGHT
from app.export.legibility import MOST_LINES
from app.interface_words import Phrase, counted, phrase, said, said_phrase
from app.worker.export_wishes import Sort
from app.worker.messages import Facts, Painted

SORT_WORDS: Final[dict[Sort, Phrase]] = {
    "stills": phrase("Stills"),
    "measures": phrase("Stretches"),
    "reveals": phrase("Reveals"),
    "cards": phrase("Cards"),
    "form": phrase("Form and sections"),
    "pages": phrase("Pages"),
    "score": phrase("Annotated score"),
    "tables": phrase("Tables and facts"),
    "script": phrase("Script"),
    "timeline": phrase("Captions and timeline"),
}
STEP_WORDS: Final[dict[str, Phrase]] = {
    "score": phrase("Score"),
    "symbols": phrase("Chord symbols"),
    "numerals": phrase("Numerals"),
    "functions": phrase("Functions"),
    "keys": phrase("Keys"),
    "mark": phrase("The mark in question"),
    "sentence": phrase("Sentence"),
}
LAYER_WORDS: Final[dict[Layer, Phrase]] = {
    "numerals": phrase("Numerals"),
    "functions": phrase("Functions"),
    "keys": phrase("Keys"),
    "cadences": phrase("Cadences"),
    "sections": phrase("Sections"),
    "phrases": phrase("Phrases and repeats"),
    "melody": phrase("Melody"),
    "lines": phrase("Lines and pedals"),
    "remarks": phrase("Remarks"),
}

#: What stands for what in names of files.
FIELD_WORDS: Final[dict[str, Phrase]] = {name: Phrase(words) for name, words in FIELDS.items()}
#: What every export reminds of.
RIGHTS_WORDS: Final = Phrase(RIGHTS)


def field_text(field: str) -> str:
    """What a field in names of files stands for."""
    return said_phrase(FIELD_WORDS[field])


def step_text(step: str) -> str:
    """What a step of a reveal adds."""
    return said_phrase(STEP_WORDS[step]) if step in STEP_WORDS else step


def seconds_text(fast: float, slow: float) -> str:
    """A reading time, from the fastest to the slowest reader."""
    if fast == slow:
        return said("{seconds} s", seconds=f"{fast:g}")
    return said("{fast} to {slow} s", fast=f"{fast:g}", slow=f"{slow:g}")


def facts_text(painted: Painted, stands: float | None) -> str:
    """Size, measures, size of text and reading time of a picture, on one line."""
    facts = painted.facts
    words = [f"{painted.width} × {painted.height}"]
    passages = [first if first == last else f"{first}–{last}" for first, last in facts.measures]
    if passages:
        words.append(_measures_text(passages))
    if facts.text_share:
        percent = f"{100 * facts.text_share:.1f}"
        words.append(said("smallest text {percent} % of the height", percent=percent))
    if facts.reading is not None:
        words.append(said("read in {time}", time=seconds_text(*facts.reading)))
    if stands is not None:
        words.append(said("stands for {seconds} s", seconds=f"{stands:.1f}"))
    return "  ·  ".join(words)


def note_text(facts: Facts, stands: float | None) -> str:
    """What would be hard to read, in few words; the whole sentences are the facts' warnings."""
    if not facts.warnings:
        return ""
    notes = []
    if 0 < facts.text_share < 0.99 * TEXT_HEIGHT:
        notes.append(said("small text ({percent} %)", percent=f"{100 * facts.text_share:.1f}"))
    if facts.reading is not None and stands is not None and stands < facts.reading[0]:
        needed, given = f"{facts.reading[0]:g}", f"{stands:.1f}"
        notes.append(said("read in {needed} s, stands {given}", needed=needed, given=given))
    if facts.lines > MOST_LINES:
        notes.append(counted("{count} line", "{count} lines", facts.lines))
    return ", ".join(notes) or facts.warnings[0]


def outcome_text(outcome: Outcome) -> str:
    """What an export did, in one or a few sentences."""
    new, changed, same = (len(names) for names in (outcome.new, outcome.changed, outcome.unchanged))
    if not new and not changed:
        text = counted(
            "Nothing changed: the one file is as it was.",
            "Nothing changed: all {count} files are as they were.",
            same,
        )
    else:
        parts = (
            counted("{count} new", "{count} new", new) if new else "",
            counted("{count} overwritten", "{count} overwritten", changed) if changed else "",
            counted("{count} as before", "{count} as before", same) if same else "",
        )
        text = said("Exported: {counts}.", counts=", ".join(filter(None, parts)))
    if not outcome.left_over:
        return text
    left = counted(
        "{count} file of an earlier export is no longer made and left where it is.",
        "{count} files of an earlier export are no longer made and left where they are.",
        len(outcome.left_over),
    )
    return f"{text} {left}"


def stopped_text(why: str, done: int, count: int) -> str:
    """What is there after an export that did not come to its end."""
    if not count:
        return why
    return said(
        "{why} {done} of {count} had been made; every file that is there is whole.",
        why=why,
        done=done,
        count=count,
    )


def _measures_text(passages: list[str]) -> str:
    """The measures of a picture: one, one passage, or passages."""
    if len(passages) > 1:
        return said("measures {passages}", passages=said(" and ").join(passages))
    if "–" in passages[0]:
        return said("measures {passages}", passages=passages[0])
    return said("measure {measure}", measure=passages[0])
