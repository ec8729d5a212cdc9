"""Which melody notes are worth pointing at, and what is said there.

Every note has its fact; a mark is made only of what a listener can notice: blue notes (one mark for
a run of the same), thirds that waver (one mark a group), passages in another scale (one mark each),
notes foreign to chord and key, leaning and held-over notes, tensions that are held. Where one blue
degree is sung in more places than a handful, each section gets one mark around all its notes, which
are listed with their chords and what they go to. Confidence here
is that a viewer who looks there agrees. Ordinary passing and neighbour notes get no mark, chromatic
ones that resolve by step one below what is shown by default. What was said before in the same piece
is said once: later places are listed with the first and kept below what is shown.

Common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from analysis.inference.chord_tones import in_scale
from analysis.marks import (
    ChordFact,
    Evidence,
    KeyRegion,
    Mark,
    MelodyFact,
    Reading,
    Section,
    mark_id,
)
from analysis.melody.blue_notes import (
    MixedThird,
    find_blue_runs,
    find_mixed_thirds,
    gather_blue_runs,
)
from analysis.melody.cross_relations import CrossRelation
from analysis.melody.melody_wording import (
    blue_group_sentence,
    cross_sentence,
    degree_reason,
    instance_words,
    lowered_words,
    measures_text,
    melody_sentence,
    mixed_third_sentence,
    note_label,
    passage_sentence,
    place_text,
    signed,
    told_chord,
)
from analysis.melody.passages import Passage
from analysis.score import Score
from analysis.timebase import Span
from analysis.vocabulary.accents import MetricGrid
from analysis.vocabulary.chord_rows import ChordRow
from analysis.vocabulary.voices import HeldNote, SungWord, join_words, sung_words
from analysis.vocabulary.wording import chord_text

#: Confidence that a claim keeps when the same was said before.
_REPEATED: Final = 0.45
#: Roles of notes that nobody needs be told of.
_PLAIN: Final = frozenset({"chord tone", "anticipation", ""})
#: Cross relations inside a passage of another scale that are each marked by themselves.
_SINGLE: Final = 3


@dataclass(frozen=True, slots=True)
class _Melody:
    """What all marks are made from: score, chords, and the melody's facts with their words."""

    score: Score
    grid: MetricGrid
    row: ChordRow
    facts: Sequence[MelodyFact]
    words: Sequence[SungWord | None]

    def sung(self, at: Sequence[int]) -> str:
        """The words from the first of these notes to the last."""
        return join_words(self.words[at[0] : at[-1] + 1])


def make_melody_marks(
    score: Score,
    line: Sequence[HeldNote],
    facts: Sequence[MelodyFact],
    chords: Sequence[ChordFact],
    regions: Sequence[KeyRegion],
    passages: Sequence[Passage] = (),
    relations: Sequence[CrossRelation] = (),
    words: Sequence[SungWord | None] | None = None,
    sections: Sequence[Section] = (),
) -> tuple[Mark, ...]:
    """Marks of the melody, in order of time.

    Parameters
    ----------
    line, facts
        The melody and its facts, note by note.
    chords, regions
        Chords in their keys and key regions, in order of time.
    passages
        Stretches in another scale: each gets one mark, its notes none.
    relations
        Cross relations with other voices.
    words
        The words sung on the melody's notes, where they are at hand.
    sections
        In whose frame a blue degree that is sung in many places is gathered.
    """
    words = sung_words(line) if words is None else words
    melody = _Melody(score, MetricGrid(score), ChordRow(chords, regions), facts, words)
    groups = find_mixed_thirds(facts, melody.row)
    told = {at for group in groups for at in group.at}
    crossed = _untold_relations(relations, told, passages)
    told |= {
        at
        for passage in passages
        for at in range(passage.first, passage.last + 1)
        if facts[at].blue or facts[at].role == "foreign"
    }
    told |= {relation.at for relation in crossed}
    blue = find_blue_runs(facts, told)
    told |= {at for run in blue for at in run}
    runs, gathered = gather_blue_runs(facts, blue, sections)
    others = [(at,) for at, fact in enumerate(facts) if at not in told and _may_be_told(fact)]
    marks = [
        *(_passage_mark(melody, passage) for passage in passages),
        *(_group_mark(melody, group) for group in groups),
        *(_cross_mark(melody, relation) for relation in crossed),
        *(_gathered_mark(melody, at, section) for section, at in gathered),
        *_said_once(melody, sorted([*runs, *others])),
    ]
    return tuple(sorted(marks, key=lambda mark: (mark.span, mark.id)))


def _untold_relations(
    relations: Sequence[CrossRelation], told: Collection[int], passages: Sequence[Passage]
) -> list[CrossRelation]:
    """Cross relations to be marked: not where a passage of another scale makes them all along."""
    inside = [
        next((at for at, one in enumerate(passages) if one.first <= relation.at <= one.last), -1)
        for relation in relations
    ]
    many = {at for at, count in Counter(inside).items() if at >= 0 and count > _SINGLE}
    return [
        relation
        for relation, at in zip(relations, inside, strict=True)
        if relation.at not in told and at not in many
    ]


def _said_once(melody: _Melody, runs: Sequence[tuple[int, ...]]) -> Iterator[Mark]:
    """Marks of notes or runs; of the same claim again the first is shown, the rest listed there."""
    chosen = [(run, confidence) for run in runs if (confidence := _confidence(melody, run))]
    same: dict[tuple[str, ...], list[tuple[int, ...]]] = {}
    for run, _ in chosen:
        same.setdefault(_claim(melody, melody.facts[run[0]]), []).append(run)
    for run, confidence in chosen:
        mark = _note_mark(melody, run, confidence)
        alike = same[_claim(melody, melody.facts[run[0]])]
        if run != alike[0]:
            yield replace(mark, confidence=min(confidence, _REPEATED))
        elif len(alike) > 1:
            later = [melody.facts[at] for other in alike[1:] for at in other]
            numbers = [melody.grid.measure_at(fact.span.start).number for fact in later]
            again = f"The same comes again in {measures_text(numbers)}."
            more = Evidence(again, tuple(fact.note for fact in later))
            yield replace(mark, evidence=(*mark.evidence, more))
        else:
            yield mark


def _claim(melody: _Melody, fact: MelodyFact) -> tuple[str, ...]:
    """What is claimed of a note; what is sung against its chord, or foreign, is its own claim."""
    if fact.blue and fact.blue != "3" and not _against_chord(melody.row, fact):
        return ("blue", fact.blue)
    if fact.blue or fact.role == "foreign":
        return (fact.note,)
    return (fact.role, fact.degree, fact.chord_degree)


def _against_chord(row: ChordRow, fact: MelodyFact) -> bool:
    """Whether the chord at a blue note has the natural form of its degree."""
    sounding = row.at(fact.span.start)
    if sounding is None or sounding.chord is None:
        return False
    natural = (fact.pitch.midi + 1) % 12
    return natural in sounding.chord.pitch_classes


def _may_be_told(fact: MelodyFact) -> bool:
    """Whether a note is anything but a plain one, which has no confidence; most notes are plain."""
    return bool(fact.blue) or fact.blue_third or fact.role not in _PLAIN


def _confidence(melody: _Melody, run: Sequence[int]) -> float:
    """Confidence of a mark at a note or run, 0 where it is not worth one."""
    fact = melody.facts[run[0]]
    base = _blue_salience(melody.row, fact) or _salience(melody, fact)
    if not base:
        return 0.0
    sounding = melody.row.at(fact.span.start)
    return base if sounding is None or sounding.written else base * sounding.confidence


def _blue_salience(row: ChordRow, fact: MelodyFact) -> float:
    if fact.blue and _against_chord(row, fact):
        return 0.9
    if fact.blue:
        return 0.75 if fact.blue == "3" else 0.6
    # The lowered third by sound that is none by spelling: a raised second leading up.
    raised = fact.blue_third and fact.degree.startswith("#") and fact.role != "chord tone"
    return 0.55 if raised else 0.0


def _salience(melody: _Melody, fact: MelodyFact) -> float:
    if fact.role in _PLAIN:
        return 0.0
    length = fact.span.duration
    strong = melody.grid.grade(fact.span.start) >= 2
    key = melody.row.key_at(fact.span.start)
    outside = key is not None and not in_scale(fact.pitch.name, key)
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


def _note_mark(melody: _Melody, run: Sequence[int], confidence: float) -> Mark:
    members = [melody.facts[at] for at in run]
    fact = members[0]
    chord = told_chord(melody.row, fact)
    words = melody.sung(run)
    key = melody.row.key_at(fact.span.start)
    reasons = fact.reasons or (degree_reason(fact, chord, key),)
    return Mark(
        id=mark_id("melody", fact.part, fact.span.start, fact.degree, fact.role),
        kind="melody",
        span=Span(fact.span.start, members[-1].span.end),
        parts=(fact.part,),
        elements=tuple(member.note for member in members),
        label=note_label(fact),
        sentence=melody_sentence(fact, chord, key, words, len(members)),
        evidence=tuple(Evidence(reason, (fact.note,)) for reason in reasons),
        alternatives=_alternatives(fact),
        confidence=confidence,
        fact=fact,
        words=words,
    )


def _alternatives(fact: MelodyFact) -> tuple[Reading, ...]:
    if fact.blue and fact.role == "tension":
        return (Reading(signed(fact.chord_degree), "It can be heard as the chord's tension.", 0.3),)
    if fact.blue and fact.degree.startswith("#"):
        return (Reading("♯2", "It is written as a raised second.", 0.3),)
    if fact.blue_third and not fact.blue and fact.degree.startswith("#"):
        return (Reading("♭3", "By sound it is the lowered third over the tonic chord.", 0.4),)
    return ()


def _passage_mark(melody: _Melody, passage: Passage) -> Mark:
    at = range(passage.first, passage.last + 1)
    members = [melody.facts[index] for index in at]
    sung = melody.sung(at)
    against = tuple(fact.note for fact in members if fact.blue or fact.role == "foreign")
    key = melody.row.key_at(passage.span.start)
    return Mark(
        id=mark_id("passage", members[0].part, passage.span.start, passage.kind),
        kind="passage",
        span=passage.span,
        parts=(members[0].part,),
        elements=tuple(fact.note for fact in members),
        label=passage.kind,
        sentence=passage_sentence(passage.kind, key, sung),
        evidence=(Evidence(lowered_words(passage.lowered, len(members)), against),),
        confidence=0.8 if passage.lowered > 2 else 0.65,
        words=sung,
    )


def _gathered_mark(melody: _Melody, at: Sequence[int], section: Section) -> Mark:
    """One mark for all notes of one blue degree in a section."""
    members = [melody.facts[index] for index in at]
    fact = members[0]
    sounding = [melody.row.at(member.span.start) for member in members]
    key = melody.row.key_at(fact.span.start)
    return Mark(
        id=mark_id("melody", fact.part, fact.span.start, fact.degree, fact.role),
        kind="melody",
        span=Span(fact.span.start, members[-1].span.end),
        parts=(fact.part,),
        elements=tuple(member.note for member in members),
        label=f"♭{fact.blue}",
        sentence=blue_group_sentence(
            members, [one.chord if one else None for one in sounding], key, section.name
        ),
        evidence=tuple(_places(melody, at)),
        confidence=max(_confidence(melody, (index,)) for index in at),
        fact=fact,
        words=melody.sung(at),
    )


def _places(melody: _Melody, at: Sequence[int]) -> Iterator[Evidence]:
    """Each note with its place, its chord and what it goes to."""
    for index in at:
        fact = melody.facts[index]
        sounding = melody.row.at(fact.span.start)
        over = f" over {chord_text(sounding.chord)}" if sounding and sounding.chord else ""
        place = place_text(melody.score, fact.span.start) + over
        after = _after(melody.facts, index)
        yield Evidence(instance_words(fact, after, place, lowered=True), (fact.note,))


def _after(facts: Sequence[MelodyFact], at: int) -> MelodyFact | None:
    """The note that a note goes to; None where a rest of more than a quarter comes first."""
    after = facts[at + 1] if at + 1 < len(facts) else None
    return after if after and after.span.start - facts[at].span.end <= 1 else None


def _group_mark(melody: _Melody, group: MixedThird) -> Mark:
    members = [melody.facts[at] for at in group.at]
    lowered = next(fact for fact, low in zip(members, group.lowered, strict=True) if low)
    natural = next(fact for fact, low in zip(members, group.lowered, strict=True) if not low)
    sounding = melody.row.at(lowered.span.start)
    sung = melody.sung(group.at)
    key = melody.row.key_at(lowered.span.start)
    chord = sounding.chord if sounding else None
    return Mark(
        id=mark_id("mixed third", lowered.part, group.span.start, len(members)),
        kind="mixed third",
        span=group.span,
        parts=(lowered.part,),
        elements=tuple(fact.note for fact in members),
        label="♭3/3",
        sentence=mixed_third_sentence(lowered, natural, chord, key, sung),
        evidence=tuple(_instances(melody, group)),
        confidence=0.95,
        fact=lowered,
        words=sung,
    )


def _cross_mark(melody: _Melody, relation: CrossRelation) -> Mark:
    fact, other = melody.facts[relation.at], relation.other
    key = melody.row.key_at(fact.span.start)
    third = key is not None and {
        (sound - key.tonic.pc) % 12 for sound in (fact.pitch.midi, other.midi)
    } == {3, 4}
    part = melody.score.part(other.part).name or "another voice"
    words = melody.sung([relation.at])
    confidence = (0.8 if relation.together else 0.6) if third else 0.45
    return Mark(
        id=mark_id("mixed third", fact.part, other.part, relation.span.start, fact.degree),
        kind="mixed third" if third else "melody",
        span=relation.span,
        parts=(fact.part, other.part),
        elements=(fact.note, other.id),
        label="♭3/3" if third else f"{signed(fact.degree)} ×",
        sentence=cross_sentence(fact, other.pitch.name, part, relation.together, words),
        evidence=(
            Evidence(f"The melody has it at {place_text(melody.score, fact.span.start)}."),
            Evidence(f"{part} has it at {place_text(melody.score, other.onset)}.", (other.id,)),
        ),
        confidence=confidence,
        fact=fact,
        words=words,
    )


def _instances(melody: _Melody, group: MixedThird) -> Iterator[Evidence]:
    """Each third of the group with its place and what it goes to."""
    facts = melody.facts
    for at, low in zip(group.at, group.lowered, strict=True):
        fact = facts[at]
        place = place_text(melody.score, fact.span.start)
        yield Evidence(instance_words(fact, _after(facts, at), place, low), (fact.note,))
