"""From a score to its analysis: the detectors in order, each handed what came before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from analysis.form.section_comparisons import SectionPair
from analysis.form.sections import find_sections
from analysis.groundwork import Groundwork, lay_groundwork
from analysis.harmony.chord_facts import mark_first_outside, row_of
from analysis.harmony.phrase_orders import find_phrase_orders
from analysis.harmony.played_orders import follow_playing
from analysis.keys.key_tables import KeyTables
from analysis.lines.bass_lines import find_fifth_lines, find_stepwise_lines
from analysis.lines.inner_lines import find_inner_lines
from analysis.lines.line_marks import sure_lines
from analysis.lines.pedals import find_common_tones, find_pedals
from analysis.lines.stays import find_bass
from analysis.marks import Analysis, Corrections, Evidence, KeyRegion, Repeat, Settings
from analysis.melody.melody_facts import weigh_raised_seconds
from analysis.pauses import collector_held
from analysis.piece_marks import make_marks, order_marks
from analysis.pitch import Key
from analysis.returns.loops import find_rounds
from analysis.score import Score
from analysis.timebase import Span
from analysis.updates import (
    changed_keys,
    changed_time,
    hand_over,
    hull,
    sounding_time,
    update_chord_facts,
    update_melody,
    update_pairs,
    update_repeats,
)
from analysis.vocabulary.phrases import find_phrases
from analysis.vocabulary.placements import lay_over
from analysis.workings import Form, Harmony, Lines, Worked, tones_of

_BY_HAND: Final = Evidence("Set by hand.")
_LEFT_OVER: Final = Evidence(
    "A longer stretch was heard so before a key was set by hand beside it."
)


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
    harmony = _hear_chords(ground, corrections, before)
    chords, regions = harmony.chords, harmony.regions
    plain_melody = update_melody(
        before.plain_melody if before else None,
        harmony.sounding,
        ground.score,
        ground.line,
        chords,
        regions,
    )
    melody = hand_over(before.analysis.melody if before else (), weigh_raised_seconds(plain_melody))
    lines = _find_lines(ground, harmony, before)
    form = _find_form(ground, corrections, harmony, before)
    marks = make_marks(ground, harmony, melody, lines, form, before.marks if before else {})
    analysis = Analysis(
        key_regions=regions,
        sections=form.sections,
        chords=chords,
        melody=melody,
        repeats=form.repeats,
        lines=sure_lines(lines.finds),
        marks=order_marks(ground, form.sections, marks),
        phrases=form.orders,
    )
    return Worked(analysis, ground, harmony, plain_melody, lines, form, marks)


def _hear_chords(ground: Groundwork, corrections: Corrections, before: Worked | None) -> Harmony:
    """The chords and keys that follow from the corrections."""
    last = before.harmony if before else None
    regions = set_keys(ground.regions, corrections.keys)
    placed = lay_over(ground.placed, corrections.chords)
    row = row_of(placed, regions)
    plain = update_chord_facts(last.plain if last else None, placed, row, ground.line)
    played, seams = follow_playing(
        ground.score,
        plain.placed,
        plain.row,
        plain.facts,
        ground.line,
        plain.blues,
        plain.thirds,
        last.seams if last else (),
    )
    chords = mark_first_outside(played)
    if last is None:
        whole = ground.score.span
        return Harmony(regions, plain, seams, chords, whole, whole, same_tones=False)
    chords = hand_over(last.chords, chords)
    keys = changed_keys(last.regions, regions)
    return Harmony(
        regions,
        plain,
        seams,
        chords,
        hull(changed_time(last.chords, chords), keys),
        hull(sounding_time(last.chords, chords), keys),
        same_tones=tones_of(last.chords) == tones_of(chords),
    )


def _find_lines(ground: Groundwork, harmony: Harmony, before: Worked | None) -> Lines:
    """The lines of the bass and of inner voices, pedals and common tones."""
    chords, part = harmony.chords, ground.low_part
    if before is not None and harmony.same_tones:
        bass, inner, stepwise = before.lines.bass, before.lines.inner, before.lines.stepwise
    else:
        bass = find_bass(chords, ground.low)
        inner = find_inner_lines(ground.inner, chords, ground.line, bass)
        stepwise = find_stepwise_lines(chords, bass, part, ground.line)
    finds = (
        *stepwise,
        *find_fifth_lines(chords, bass, part),
        *find_pedals(chords, bass, part),
        *find_common_tones(chords, ground.kept),
        *inner,
    )
    return Lines(bass, inner, stepwise, finds)


def _find_form(
    ground: Groundwork, corrections: Corrections, harmony: Harmony, before: Worked | None
) -> Form:
    """Sections with their phrases, and what comes back, over which chords."""
    score, line, chords = ground.score, ground.line, harmony.chords
    last = before.form if before else None
    sections = (
        corrections.sections
        or ground.named_sections
        or find_sections(score, line, chords, ground.repeats, ground.settings)
    )
    if last is not None and last.sections == sections:
        phrases = last.phrases
    else:
        starts = [section.span.start for section in sections]
        phrases = find_phrases(line, score.measures, starts)
    pairs = update_pairs(
        (last.sections, last.pairs) if last else None, ground, sections, harmony.regions
    )
    told, repeats = _compare_returns(ground, harmony, pairs, last)
    rounds = last.rounds if last and harmony.same_tones else find_rounds(score, chords)
    orders = find_phrase_orders(phrases, chords)
    return Form(sections, phrases, orders, pairs, told, repeats, rounds)


def _compare_returns(
    ground: Groundwork, harmony: Harmony, pairs: Sequence[SectionPair], last: Form | None
) -> tuple[tuple[SectionPair, ...], tuple[Repeat, ...]]:
    """Sections and phrases that come back, compared in harmony: all at once, which is less work."""
    plain = (*(pair.passage for pair in pairs), *ground.repeats)
    before = None
    if last is not None:
        before = (
            (*(pair.passage for pair in last.pairs), *ground.repeats),
            (*(pair.passage for pair in last.told), *last.repeats),
        )
    compared = update_repeats(before, harmony.time, ground, plain, harmony.chords)
    told = tuple(
        replace(pair, passage=passage)
        for pair, passage in zip(pairs, compared[: len(pairs)], strict=True)
    )
    return told, compared[len(pairs) :]


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
                cut.append(_cut_to(region, left))
            if region.span.end > span.end:
                right = Span(max(region.span.start, span.end), region.span.end)
                right_part = _cut_to(region, right)
                # How it was reached is not known of the key set by hand.
                cut.append(
                    replace(right_part, change="") if right.start == span.end else right_part
                )
        cut.append(KeyRegion(span, key, 1.0, evidence=(_BY_HAND,)))
        row = sorted(cut, key=lambda region: region.span)
    return tuple(row)


def _cut_to(region: KeyRegion, span: Span) -> KeyRegion:
    """What is left of a region; shares and counts of the whole no longer speak for it."""
    if span == region.span:
        return region
    kept = region.evidence if _BY_HAND in region.evidence else (_LEFT_OVER,)
    return KeyRegion(span, region.key, region.confidence, region.alternatives, kept)
