"""Which melody notes are worth pointing at, and what is said there.

Every note has its fact; a mark is made only of what a listener can notice: blue notes, thirds that
waver (one mark a group), notes foreign to chord and key, leaning and held-over notes, tensions
that are held. Confidence here is that a viewer who looks there agrees; ordinary passing and
neighbour notes get none. Chromatic notes that resolve by step get a mark below what is shown by
default.

Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from analysis.accents import metric_grade
from analysis.blue_notes import MixedThird, find_mixed_thirds
from analysis.chord_rows import ChordRow
from analysis.chord_tones import in_scale
from analysis.marks import (
    ChordFact,
    Evidence,
    KeyRegion,
    Mark,
    MelodyFact,
    Reading,
    mark_id,
)
from analysis.melody_wording import (
    instance_words,
    melody_sentence,
    mixed_third_sentence,
    signed,
)
from analysis.score import Score
from analysis.timebase import Offset
from analysis.voices import HeldNote, SungWord, join_words, sung_words


def make_melody_marks(
    score: Score,
    line: Sequence[HeldNote],
    facts: Sequence[MelodyFact],
    chords: Sequence[ChordFact],
    regions: Sequence[KeyRegion],
) -> tuple[Mark, ...]:
    """Marks of the melody, in order of time.

    Parameters
    ----------
    line, facts
        The melody and its facts, note by note.
    chords, regions
        Chords in their keys and key regions, in order of time.
    """
    row = ChordRow(chords, regions)
    words = sung_words(line)
    groups = find_mixed_thirds(facts)
    grouped = {at for group in groups for at in group.at}
    marks = [_group_mark(score, row, facts, words, group) for group in groups]
    for at, fact in enumerate(facts):
        confidence = 0.0 if at in grouped else _confidence(score, row, fact)
        if confidence:
            word = words[at]
            marks.append(_note_mark(row, fact, word.text if word else "", confidence))
    return tuple(sorted(marks, key=lambda mark: (mark.span, mark.id)))


def place_text(score: Score, offset: Offset) -> str:
    """A place in words: ``measure 3, beat 2½``."""
    beat = score.beat_at(offset)
    whole, rest = divmod(beat, 1)
    part = {Fraction(0): "", Fraction(1, 2): "½", Fraction(1, 4): "¼", Fraction(3, 4): "¾"}
    text = f"{whole}{part[rest]}" if rest in part else f"{float(beat):.2f}"
    return f"measure {score.measure_at(offset).number}, beat {text}"


def _confidence(score: Score, row: ChordRow, fact: MelodyFact) -> float:
    """Confidence of a mark at one note, 0 where it is not worth one."""
    base = _salience(score, row, fact)
    sounding = row.at(fact.span.start)
    if sounding is not None and not sounding.written:
        base *= sounding.confidence
    return base


def _salience(score: Score, row: ChordRow, fact: MelodyFact) -> float:
    length = fact.span.duration
    strong = metric_grade(score, fact.span.start) >= 2
    key = row.key_at(fact.span.start)
    outside = key is not None and not in_scale(fact.pitch.name, key)
    if fact.blue:
        return {"3": 0.9, "7": 0.7, "5": 0.7}[fact.blue]
    match fact.role:
        case "foreign" if outside:
            return 0.75 if strong or length >= 1 else 0.45
        case "foreign":
            return 0.6 if strong and length >= 2 else 0.3
        case "tension" if fact.chord_degree[0] in "b#":
            return 0.65 if length >= 1 else 0.4
        case "tension" | "added tone":
            return 0.55 if length >= 3 else 0.3 if length >= 2 else 0.0
        case "suspension" | "retardation":
            return 0.6 if length >= 1 else 0.4
        case "appoggiatura":
            return (0.65 if outside else 0.55) if length >= 1 else 0.35
        case "passing" | "neighbour" | "double neighbour" | "escape":
            return 0.4 if outside else 0.0
        case _:
            return 0.0


def _note_mark(row: ChordRow, fact: MelodyFact, words: str, confidence: float) -> Mark:
    sounding = row.at(fact.span.start)
    chord = sounding.chord if sounding else None
    key = row.key_at(fact.span.start)
    relative = fact.role in ("tension", "added tone", "suspension", "retardation", "appoggiatura")
    label = fact.chord_degree if relative and not fact.blue else fact.degree
    return Mark(
        id=mark_id("melody", fact.part, fact.span.start, fact.degree, fact.role),
        kind="melody",
        span=fact.span,
        parts=(fact.part,),
        elements=(fact.note,),
        label=signed(label),
        sentence=melody_sentence(fact, chord, key, words),
        evidence=tuple(Evidence(reason, (fact.note,)) for reason in fact.reasons),
        alternatives=_alternatives(fact),
        confidence=confidence,
        fact=fact,
        words=words,
    )


def _alternatives(fact: MelodyFact) -> tuple[Reading, ...]:
    if fact.blue and fact.role == "tension":
        return (Reading(signed(fact.chord_degree), "A tension of the chord.", 0.4),)
    return ()


def _group_mark(
    score: Score,
    row: ChordRow,
    facts: Sequence[MelodyFact],
    words: Sequence[SungWord | None],
    group: MixedThird,
) -> Mark:
    members = [facts[at] for at in group.at]
    lowered = next(fact for fact, low in zip(members, group.lowered, strict=True) if low)
    natural = next(fact for fact, low in zip(members, group.lowered, strict=True) if not low)
    sounding = row.at(lowered.span.start)
    chord = sounding.chord if sounding else None
    sung = join_words(words[group.at[0] : group.at[-1] + 1])
    key = row.key_at(lowered.span.start)
    return Mark(
        id=mark_id("mixed third", lowered.part, group.span.start, len(members)),
        kind="mixed third",
        span=group.span,
        parts=(lowered.part,),
        elements=tuple(fact.note for fact in members),
        label="♭3/3",
        sentence=mixed_third_sentence(lowered, natural, chord, key, sung),
        evidence=tuple(_instances(score, facts, group)),
        confidence=0.95,
        fact=lowered,
        words=sung,
    )


def _instances(score: Score, facts: Sequence[MelodyFact], group: MixedThird) -> Iterator[Evidence]:
    """Each third of the group with its place and what it goes to."""
    for at, low in zip(group.at, group.lowered, strict=True):
        fact = facts[at]
        after = facts[at + 1] if at + 1 < len(facts) else None
        if after is not None and after.span.start - fact.span.end > 1:
            after = None
        place = place_text(score, fact.span.start)
        yield Evidence(instance_words(fact, after, place, low), (fact.note,))
