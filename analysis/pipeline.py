"""From a score to its analysis: the detectors in order, each handed what came before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from analysis.chords import Chord
from analysis.form.habits import fold_habits
from analysis.form.section_comparisons import SectionPair
from analysis.form.section_marks import make_section_marks
from analysis.form.sections import find_sections
from analysis.form.talking_points import rank_marks
from analysis.groundwork import Groundwork, lay_groundwork
from analysis.harmony.cadences import find_cadences, make_cadence_marks
from analysis.harmony.chord_facts import mark_first_outside, row_of
from analysis.harmony.chord_marks import make_key_marks
from analysis.harmony.phrase_orders import find_phrase_orders, make_order_marks
from analysis.harmony.rhythms import find_rhythm_passages, find_section_rhythms, make_rhythm_marks
from analysis.keys.key_tables import KeyTables
from analysis.lines.bass_lines import find_lines
from analysis.lines.inner_lines import find_inner_lines
from analysis.lines.line_finds import LineFind
from analysis.lines.line_marks import make_line_marks, sure_lines
from analysis.lines.pedals import find_common_tones, find_pedals
from analysis.lines.stays import Stay, find_bass
from analysis.marks import (
    Analysis,
    ChordFact,
    Corrections,
    Evidence,
    KeyRegion,
    Mark,
    MelodyFact,
    PlacedChord,
    Repeat,
    Section,
    Settings,
)
from analysis.melody.melody_facts import weigh_raised_seconds
from analysis.melody.melody_marks import make_melody_marks
from analysis.melody.passages import find_passages
from analysis.melody.shape_marks import make_shape_marks
from analysis.pauses import collector_held
from analysis.pitch import Key
from analysis.returns.loop_marks import make_loop_marks
from analysis.returns.loops import find_loops
from analysis.returns.repeat_marks import make_repeat_marks
from analysis.score import Score
from analysis.timebase import Span
from analysis.updates import (
    changed_keys,
    changed_time,
    hull,
    update_chord_facts,
    update_chord_marks,
    update_melody,
    update_pairs,
    update_repeats,
)
from analysis.vocabulary.dominants import ChordInKey
from analysis.vocabulary.mark_words import add_words
from analysis.vocabulary.phrases import Phrase, find_phrases
from analysis.vocabulary.placements import lay_over
from analysis.vocabulary.voices import HeldNote


@dataclass(frozen=True)
class Worked:
    """An analysis with the workings that the next one of the same score can take over."""

    analysis: Analysis
    ground: Groundwork
    placed: tuple[PlacedChord, ...]
    row: tuple[ChordInKey, ...]
    plain_facts: tuple[ChordFact, ...]
    plain_melody: tuple[MelodyFact, ...]
    bass: tuple[Stay, ...]
    inner_lines: tuple[LineFind, ...]
    chord_marks: tuple[Mark, ...]
    shape_marks: tuple[Mark, ...]
    phrases: tuple[Phrase, ...]
    pairs: tuple[SectionPair, ...]
    news: tuple[Repeat, ...]


@collector_held()
def analyse(
    score: Score,
    settings: Settings = Settings(),
    corrections: Corrections = Corrections(),
    key_tables: KeyTables | None = None,
) -> Analysis:
    """All that can be said about a score.

    Parameters
    ----------
    score
        What was read.
    settings
        What may be used.
    corrections
        What the user set by hand; it is followed.
    key_tables
        Counted tables for the key finder in place of the package's own, for measuring.
    """
    return work(lay_groundwork(score, settings, corrections, key_tables), corrections).analysis


@collector_held()
def analyse_first(
    score: Score, settings: Settings = Settings(), corrections: Corrections = Corrections()
) -> Worked:
    """As `analyse`, with the workings that `analyse_again` needs."""
    return work(lay_groundwork(score, settings, corrections), corrections)


@collector_held()
def analyse_again(before: Worked, corrections: Corrections) -> Worked:
    """The analysis of the same score under other corrections, from what they leave as it was."""
    ground = before.ground
    if not ground.holds_for(corrections):
        return analyse_first(ground.score, ground.settings, corrections)
    return work(ground, corrections, before)


def work(ground: Groundwork, corrections: Corrections, before: Worked | None = None) -> Worked:
    """What follows from the groundwork under some corrections.

    Parameters
    ----------
    before
        The last workings on the same groundwork; what has not changed is taken from them.
    """
    score, line = ground.score, ground.line
    placed = lay_over(ground.placed, corrections.chords)
    regions = set_keys(ground.regions, corrections.keys)
    row = row_of(placed, regions)
    plain = update_chord_facts(
        (before.placed, before.row, before.plain_facts) if before else None, placed, row, line
    )
    chords = mark_first_outside(plain)
    last = before.analysis if before else None
    time = (
        hull(
            changed_time(last.chords, chords, score.span),
            changed_keys(last.key_regions, regions),
        )
        if last
        else score.span
    )
    plain_melody = update_melody(
        before.plain_melody if before else None, time, score, line, chords, regions
    )
    facts = weigh_raised_seconds(plain_melody)
    repeats = update_repeats(
        (ground.repeats, last.repeats) if last else None, time, ground, ground.repeats, chords
    )
    same_tones = before is not None and _tones(before.plain_facts) == _tones(plain)
    if before is not None and same_tones:
        bass, inner = before.bass, before.inner_lines
    else:
        bass = find_bass(chords, ground.low)
        inner = find_inner_lines(ground.inner, chords, line, bass)
    low = ground.low_part
    lines = (
        *find_lines(chords, bass, low, line),
        *find_pedals(chords, bass, low),
        *find_common_tones(chords, line),
        *inner,
    )
    sections = corrections.sections or find_sections(score, line, chords, repeats, ground.settings)
    pairs = update_pairs(
        (before.analysis.sections, before.pairs) if before else None, ground, sections, regions
    )
    passages = tuple(pair.passage for pair in pairs)
    news = update_repeats(
        (tuple(pair.passage for pair in before.pairs), before.news) if before else None,
        time,
        ground,
        passages,
        chords,
    )
    if before is not None and before.analysis.sections == sections:
        shapes, phrases = before.shape_marks, before.phrases
    else:
        shapes = tuple(make_shape_marks(score, line, sections))
        phrases = _phrases(score, line, sections)
    chord_marks = update_chord_marks(
        (before.analysis.chords, before.chord_marks) if before else None, chords, ground
    )
    orders = find_phrase_orders(phrases, chords)
    marks = (
        *ground.marks,
        *make_key_marks(regions, chords),
        *make_section_marks(
            score,
            sections,
            [replace(pair, passage=new) for pair, new in zip(pairs, news, strict=True)],
        ),
        *chord_marks,
        *make_melody_marks(
            score,
            line,
            facts,
            chords,
            regions,
            find_passages(score, facts, chords, regions),
            ground.relations,
            ground.words,
            sections,
        ),
        *make_line_marks(score, lines, line, chords, regions, ground.words),
        *shapes,
        *make_repeat_marks(score, repeats),
        *make_loop_marks(score, find_loops(score, chords)),
        *make_cadence_marks(find_cadences(phrases, chords)),
        *make_order_marks(orders, chords),
        *make_rhythm_marks(
            find_rhythm_passages(score, chords), find_section_rhythms(score, sections, chords)
        ),
    )
    folded = fold_habits(score, add_words(marks, line, ground.words))
    ranked = rank_marks(folded, sections)
    analysis = Analysis(
        key_regions=regions,
        sections=sections,
        chords=chords,
        melody=facts,
        repeats=repeats,
        lines=sure_lines(lines),
        marks=tuple(sorted(ranked, key=lambda mark: (mark.span, mark.kind, mark.id))),
        phrases=orders,
    )
    return Worked(
        analysis,
        ground,
        placed,
        row,
        plain,
        plain_melody,
        bass,
        inner,
        chord_marks,
        shapes,
        phrases,
        pairs,
        news,
    )


def _tones(facts: Sequence[ChordFact]) -> list[tuple[Span, Chord | None, str]]:
    """What bass and inner lines hear of chords: all but the key."""
    return [(fact.span, fact.chord, fact.symbol) for fact in facts]


def set_keys(
    regions: Sequence[KeyRegion], corrections: Sequence[tuple[Span, Key]]
) -> tuple[KeyRegion, ...]:
    """Regions with the keys set by hand laid over them; equal neighbours are joined."""
    row = list(regions)
    for span, key in corrections:
        cut = []
        for region in row:
            if region.span.start < span.start:
                left = Span(region.span.start, min(region.span.end, span.start))
                cut.append(KeyRegion(left, region.key, region.confidence, region.alternatives))
            if region.span.end > span.end:
                right = Span(max(region.span.start, span.end), region.span.end)
                cut.append(KeyRegion(right, region.key, region.confidence, region.alternatives))
        cut.append(KeyRegion(span, key, 1.0, evidence=(Evidence("Set by hand."),)))
        row = sorted(cut, key=lambda region: region.span)
    return tuple(row)


def _phrases(
    score: Score, line: Sequence[HeldNote], sections: Sequence[Section]
) -> tuple[Phrase, ...]:
    return find_phrases(line, score.measures, [section.span.start for section in sections])
