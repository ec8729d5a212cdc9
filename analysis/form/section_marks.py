"""Marks for sections: what each is, and what is new when it comes back.

Common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from typing import Final

from analysis.form.section_comparisons import SectionPair
from analysis.marks import ChordDifference, Evidence, Mark, Section, mark_id
from analysis.score import Score
from analysis.vocabulary.numerals import label_of
from analysis.vocabulary.wording import at_start, key_text, section_text, with_signs

#: How many news a sentence tells.
_TOLD: Final = 2


def make_section_marks(
    score: Score, sections: Sequence[tuple[Section, SectionPair | None]]
) -> tuple[Mark, ...]:
    """One mark for each section, in order.

    Parameters
    ----------
    sections
        Each with what tells it from the first of its letter, chords included; None where it does
        not come back.
    """
    marks = []
    for section, pair in sections:
        news = list(_news(score, pair)) if pair else []
        same = list(_same(pair)) if pair else []
        marks.append(
            Mark(
                id=mark_id("section", section.span.start, section.label),
                kind="section",
                span=section.span,
                parts=(),
                elements=(),
                label=section.name or section.label,
                sentence=_sentence(score, section, pair, [short for short, _ in news]),
                evidence=(
                    *section.evidence,
                    *(Evidence(long) for _, long in news),
                    *(Evidence(text) for text in same),
                ),
                confidence=section.confidence,
                fact=section,
            )
        )
    return tuple(marks)


def _name(section: Section) -> str:
    return section_text(section.name, section.label)


def _sentence(score: Score, section: Section, pair: SectionPair | None, news: Sequence[str]) -> str:
    name = at_start(_name(section))
    if pair is None:
        at = bisect_left(score.measures, section.span.start, key=lambda measure: measure.onset)
        first = score.measures[at] if at < len(score.measures) else None
        if first is None or first.onset >= section.span.end:
            return f"{name} begins here."
        if first.pickup:
            return f"{name} begins with the pickup."
        return f"{name} begins in measure {first.number}."
    if not news:
        return f"{name} is {_name(pair.first)} again."
    return f"{name} brings {_name(pair.first)} back; new: {', '.join(news[:_TOLD])}."


def _news(score: Score, pair: SectionPair) -> Iterator[tuple[str, str]]:
    """What is new, the most striking first: a few words, and a sentence."""
    name = _name(pair.first)
    if pair.keys[0] != pair.keys[1]:
        one, two = (key_text(key) for key in pair.keys)
        yield f"{two} instead of {one}", f"It stands in {two}, {name} in {one}."
    sung = [each for each in pair.passage.differences if each.roles]
    if sung:
        yield _other_chords(score, pair, sung[0], len(sung))
    if not pair.same_melody:
        share = round(100 * pair.melody)
        yield (
            "another melody in part" if share else "another melody",
            f"{share} % of its melody is that of {name}.",
        )
    if pair.measures[0] != pair.measures[1]:
        count = _count(pair.measures[1], "measure")
        yield (
            f"{count} instead of {pair.measures[0]}",
            f"It has {count}, {name} {pair.measures[0]}.",
        )
    if pair.joining:
        names = _list(pair.joining)
        yield f"{names} {'joins' if len(pair.joining) == 1 else 'join'}", f"New here: {names}."
    if pair.resting:
        names = _list(pair.resting)
        yield f"{names} {'rests' if len(pair.resting) == 1 else 'rest'}", f"Silent here: {names}."
    if pair.same_words is False:
        yield "other words", f"It has other words than {name}."


def _other_chords(
    score: Score, pair: SectionPair, one: ChordDifference, count: int
) -> tuple[str, str]:
    here = score.measure_at(one.later_at).number
    there = score.measure_at(one.first_at).number
    now, was = label_of(one.now_numeral), label_of(one.was_numeral)
    if not pair.half_steps:
        # In one key the names of the chords say it best.
        now, was = f"{with_signs(one.now)} ({now})", f"{with_signs(one.was)} ({was})"
    return (
        f"{now} in measure {here} where {was} was",
        f"Measure {here} has {now} where measure {there} has {was}; "
        f"other chords in {_count(count, 'place')}.",
    )


def _same(pair: SectionPair) -> Iterator[str]:
    if pair.same_melody:
        yield f"The melody is that of {_name(pair.first)}."
    if pair.same_words:
        yield "The words are the same."


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _list(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
