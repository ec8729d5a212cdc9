"""From a score to its analysis: the detectors in order, each handed what came before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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
from analysis.harmony.chord_marks import make_chord_marks, make_key_marks
from analysis.harmony.phrase_orders import find_phrase_orders, make_order_marks
from analysis.harmony.played_orders import follow_playing
from analysis.harmony.rhythms import find_rhythm_passages, find_section_rhythms, make_rhythm_marks
from analysis.keys.key_tables import KeyTables
from analysis.lines.bass_lines import find_fifth_lines, find_stepwise_lines
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
    PhraseFact,
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
from analysis.returns.loops import Round, find_loops, find_rounds
from analysis.returns.repeat_marks import choose_repeats, mark_of
from analysis.score import Score
from analysis.timebase import Span
from analysis.updates import (
    Marked,
    PlainChords,
    changed_keys,
    changed_time,
    hand_over,
    hull,
    sounding_time,
    update_all,
    update_chord_facts,
    update_each,
    update_melody,
    update_pairs,
    update_repeats,
)
from analysis.vocabulary.chord_rows import ChordRow
from analysis.vocabulary.phrases import Phrase, find_phrases
from analysis.vocabulary.placements import lay_over


@dataclass(frozen=True)
class _Harmony:
    """Chords in their keys, and how they differ from those before.

    ``time`` is the stretch in which facts of chords or keys have changed, ``sounding`` that in
    which chords sound anew or in another key; None where nothing has. ``same_tones`` says that
    only keys have changed.
    """

    regions: tuple[KeyRegion, ...]
    plain: PlainChords
    chords: tuple[ChordFact, ...]
    time: Span | None
    sounding: Span | None
    same_tones: bool


@dataclass(frozen=True)
class _Lines:
    """The bass, the lines that are the same in any key, and all lines."""

    bass: tuple[Stay, ...]
    inner: tuple[LineFind, ...]
    stepwise: tuple[LineFind, ...]
    finds: tuple[LineFind, ...]


@dataclass(frozen=True)
class _Form:
    """Sections, those that come back beside the first, phrases, and returns.

    ``repeats`` are all returns compared in harmony, ``told`` the pairs of sections likewise.
    """

    sections: tuple[Section, ...]
    phrases: tuple[Phrase, ...]
    pairs: tuple[SectionPair, ...]
    told: tuple[SectionPair, ...]
    repeats: tuple[Repeat, ...]


@dataclass(frozen=True)
class Worked:
    """An analysis with the workings that the next one of the same score can take over."""

    analysis: Analysis
    ground: Groundwork
    harmony: _Harmony
    plain_melody: tuple[MelodyFact, ...]
    lines: _Lines
    form: _Form
    rounds: tuple[Round, ...]
    marks: Mapping[str, Marked]


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
    orders = find_phrase_orders(form.phrases, chords)
    kept = before is not None and harmony.same_tones
    rounds = before.rounds if before and kept else find_rounds(ground.score, chords)
    marks = _make_marks(ground, harmony, melody, lines, form, orders, rounds, before)
    analysis = Analysis(
        key_regions=regions,
        sections=form.sections,
        chords=chords,
        melody=melody,
        repeats=form.repeats,
        lines=sure_lines(lines.finds),
        marks=_rank(ground, form.sections, marks),
        phrases=orders,
    )
    return Worked(analysis, ground, harmony, plain_melody, lines, form, rounds, marks)


def _hear_chords(ground: Groundwork, corrections: Corrections, before: Worked | None) -> _Harmony:
    """The chords and keys that follow from the corrections."""
    last = before.harmony if before else None
    regions = set_keys(ground.regions, corrections.keys)
    placed = lay_over(ground.placed, corrections.chords)
    row = row_of(placed, regions)
    plain = update_chord_facts(last.plain if last else None, placed, row, ground.line)
    played = follow_playing(
        ground.score, placed, row, plain.facts, ground.line, plain.blues, plain.thirds
    )
    chords = mark_first_outside(played)
    if last is None:
        whole = ground.score.span
        return _Harmony(regions, plain, chords, whole, whole, same_tones=False)
    chords = hand_over(last.chords, chords)
    keys = changed_keys(last.regions, regions)
    return _Harmony(
        regions,
        plain,
        chords,
        hull(changed_time(last.chords, chords), keys),
        hull(sounding_time(last.chords, chords), keys),
        same_tones=_tones(last.chords) == _tones(chords),
    )


def _tones(facts: Sequence[ChordFact]) -> list[tuple[Span, Chord | None, str]]:
    """What bass, inner lines and rhythm hear of chords: all but the key."""
    return [(fact.span, fact.chord, fact.symbol) for fact in facts]


def _find_lines(ground: Groundwork, harmony: _Harmony, before: Worked | None) -> _Lines:
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
    return _Lines(bass, inner, stepwise, finds)


def _find_form(
    ground: Groundwork, corrections: Corrections, harmony: _Harmony, before: Worked | None
) -> _Form:
    """Sections with their phrases, and what comes back, over which chords."""
    score, line, chords = ground.score, ground.line, harmony.chords
    last = before.form if before else None
    sections = (
        corrections.sections
        or ground.named_sections
        or find_sections(score, line, chords, ground.repeats, ground.settings)
    )
    pairs = update_pairs(
        (last.sections, last.pairs) if last else None, ground, sections, harmony.regions
    )
    # All that came back is compared at once, sections as well as phrases.
    returned = (*ground.repeats, *(pair.passage for pair in pairs))
    compared = update_repeats(
        (
            (*ground.repeats, *(pair.passage for pair in last.pairs)),
            (*last.repeats, *(pair.passage for pair in last.told)),
        )
        if last
        else None,
        harmony.time,
        ground,
        returned,
        chords,
    )
    count = len(ground.repeats)
    told = tuple(
        replace(pair, passage=passage)
        for pair, passage in zip(pairs, compared[count:], strict=True)
    )
    if last is not None and last.sections == sections:
        phrases = last.phrases
    else:
        starts = [section.span.start for section in sections]
        phrases = find_phrases(line, score.measures, starts)
    return _Form(sections, phrases, pairs, told, compared[:count])


def _make_marks(
    ground: Groundwork,
    harmony: _Harmony,
    melody: Sequence[MelodyFact],
    lines: _Lines,
    form: _Form,
    orders: Sequence[PhraseFact],
    rounds: Sequence[Round],
    before: Worked | None,
) -> dict[str, Marked]:
    """All marks but those of the groundwork, by what they are about."""
    score, line, sung = ground.score, ground.line, ground.sung
    chords, regions, sections = harmony.chords, harmony.regions, form.sections
    old: Mapping[str, Marked] = before.marks if before else {}
    row = ChordRow(chords, regions)
    found = [(find, row.key_at(find.line.span.start)) for find in lines.finds]
    loops = find_loops(score, chords, rounds)
    told = {pair.later.span: pair for pair in form.told}
    rhythms = (_tones(chords), sections)
    return {
        "key": update_all(None, (), lambda: make_key_marks(regions, chords), sung),
        "section": update_each(
            old.get("section"),
            [(section, told.get(section.span)) for section in sections],
            lambda some: make_section_marks(score, some),
            sung,
        ),
        "chord": update_each(old.get("chord"), chords, make_chord_marks, sung),
        "melody": update_all(
            None,
            (),
            lambda: make_melody_marks(
                score,
                line,
                melody,
                chords,
                regions,
                find_passages(score, melody, chords, regions),
                ground.relations,
                ground.words,
                sections,
            ),
            sung,
        ),
        "line": update_each(
            old.get("line"), found, lambda some: make_line_marks(score, some, sung), sung
        ),
        "shape": update_all(
            old.get("shape"), (sections,), lambda: make_shape_marks(score, line, sections), sung
        ),
        "repeat": update_each(
            old.get("repeat"),
            choose_repeats(form.repeats),
            lambda some: (mark_of(score, repeat) for repeat in some),
            sung,
        ),
        "loop": update_each(
            old.get("loop"), loops, lambda some: make_loop_marks(score, some), sung
        ),
        "cadence": update_each(
            old.get("cadence"), find_cadences(form.phrases, chords), make_cadence_marks, sung
        ),
        "order": update_all(None, (), lambda: make_order_marks(orders, chords), sung),
        "rhythm": update_all(
            old.get("rhythm"),
            rhythms,
            lambda: make_rhythm_marks(
                find_rhythm_passages(score, chords), find_section_rhythms(score, sections, chords)
            ),
            sung,
        ),
    }


def _rank(
    ground: Groundwork, sections: Sequence[Section], marks: Mapping[str, Marked]
) -> tuple[Mark, ...]:
    """The marks in order of time, habits folded and talking points ranked."""
    # Equal fractions are equal floats, which compare much faster.
    row = sorted(
        (*ground.marks, *(mark for made in marks.values() for mark in made.marks)),
        key=lambda mark: (float(mark.span.start), float(mark.span.end), mark.kind, mark.id),
    )
    return rank_marks(fold_habits(ground.score, row), sections)


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
