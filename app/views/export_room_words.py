"""What the export room says in words, and what it calls things."""

from __future__ import annotations

from typing import Final

from app.engraving.labels import Layer
from app.export.folders import Outcome
from app.export.frames import TEXT_HEIGHT
from app.export.legibility import MOST_LINES
from app.worker.export_wishes import Sort
from app.worker.messages import Facts, Painted

SORT_WORDS: Final[dict[Sort, str]] = {
    "stills": "Stills",
    "measures": "Stretches",
    "reveals": "Reveals",
    "cards": "Cards",
    "form": "Form and sections",
    "pages": "Pages",
    "score": "Annotated score",
    "tables": "Tables and facts",
    "script": "Script",
    "timeline": "Captions and timeline",
}
STEP_WORDS: Final[dict[str, str]] = {
    "score": "Score",
    "symbols": "Chord symbols",
    "numerals": "Numerals",
    "functions": "Functions",
    "keys": "Keys",
    "mark": "The mark in question",
    "sentence": "Sentence",
}
LAYER_WORDS: Final[dict[Layer, str]] = {
    "numerals": "Numerals",
    "functions": "Functions",
    "keys": "Keys",
    "cadences": "Cadences",
    "sections": "Sections",
    "phrases": "Phrases and repeats",
    "melody": "Melody",
    "lines": "Lines and pedals",
    "remarks": "Remarks",
}


def facts_text(painted: Painted, stands: float | None) -> str:
    """Size, measures, size of text and reading time of a picture, on one line."""
    facts = painted.facts
    words = [f"{painted.width} × {painted.height}"]
    passages = [first if first == last else f"{first}–{last}" for first, last in facts.measures]
    if passages:
        several = len(passages) > 1 or "–" in passages[0]
        words.append(f"measure{'s' if several else ''} {' and '.join(passages)}")
    if facts.text_share:
        words.append(f"smallest text {100 * facts.text_share:.1f} % of the height")
    if facts.reading is not None:
        fast, slow = facts.reading
        words.append(f"read in {fast:g} s" if fast == slow else f"read in {fast:g} to {slow:g} s")
    if stands is not None:
        words.append(f"stands for {stands:.1f} s")
    return "  ·  ".join(words)


def note_text(facts: Facts, stands: float | None) -> str:
    """What would be hard to read, in few words; the whole sentences are the facts' warnings."""
    if not facts.warnings:
        return ""
    notes = []
    if 0 < facts.text_share < 0.99 * TEXT_HEIGHT:
        notes.append(f"small text ({100 * facts.text_share:.1f} %)")
    if facts.reading is not None and stands is not None and stands < facts.reading[0]:
        notes.append(f"read in {facts.reading[0]:g} s, stands {stands:.1f}")
    if facts.lines > MOST_LINES:
        notes.append(f"{facts.lines} lines")
    return ", ".join(notes) or facts.warnings[0]


def outcome_text(outcome: Outcome) -> str:
    """What an export did, in one or a few sentences."""
    new, changed, same = (len(names) for names in (outcome.new, outcome.changed, outcome.unchanged))
    if not new and not changed:
        all_same = (
            "the one file is as it was" if same == 1 else f"all {same} files are as they were"
        )
        text = f"Nothing changed: {all_same}."
    else:
        parts = [
            f"{count} {word}"
            for count, word in ((new, "new"), (changed, "overwritten"), (same, "as before"))
            if count
        ]
        text = f"Exported: {', '.join(parts)}."
    if outcome.left_over:
        count = len(outcome.left_over)
        text += (
            f" {count} {'file' if count == 1 else 'files'} of an earlier export "
            f"{'is' if count == 1 else 'are'} no longer made and left where "
            f"{'it is' if count == 1 else 'they are'}."
        )
    return text


def stopped_text(why: str, done: int, count: int) -> str:
    """What is there after an export that did not come to its end."""
    if not count:
        return why
    return f"{why} {done} of {count} had been made; every file that is there is whole."
