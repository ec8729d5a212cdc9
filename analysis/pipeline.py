"""From a score to its analysis: the detectors in order, each handed what came before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from analysis.cadences import find_cadences, make_cadence_marks
from analysis.chord_facts import find_chord_facts
from analysis.chord_marks import make_chord_marks, make_key_marks, make_query_marks
from analysis.cross_relations import find_cross_relations
from analysis.echo_marks import make_echo_marks
from analysis.echoes import find_echoes
from analysis.inferred_chords import infer_chords, is_plain
from analysis.inner_lines import find_inner_lines
from analysis.key_tables import KeyTables
from analysis.keys import find_key_regions
from analysis.line_marks import make_line_marks, sure_lines
from analysis.lines import find_lines
from analysis.loop_marks import make_loop_marks
from analysis.loops import find_loops
from analysis.mark_words import add_words
from analysis.marks import (
    Analysis,
    Corrections,
    Evidence,
    KeyRegion,
    Section,
    Settings,
)
from analysis.melody import find_melody
from analysis.melody_marks import make_melody_marks
from analysis.passages import find_passages
from analysis.pedals import find_common_tones, find_pedals
from analysis.phrases import Phrase, find_phrases
from analysis.pitch import Key
from analysis.placements import lay_over, place_symbols
from analysis.reharmonisations import compare_harmony
from analysis.repeat_marks import make_repeat_marks
from analysis.repeats import find_repeats
from analysis.rhythms import find_rhythm_passages, find_section_rhythms, make_rhythm_marks
from analysis.roles import PartRole, find_melody_line, find_roles, part_of
from analysis.score import Score
from analysis.section_comparisons import pair_sections
from analysis.section_marks import make_section_marks
from analysis.sections import find_sections
from analysis.shape_marks import make_shape_marks
from analysis.stays import find_bass
from analysis.symbol_queries import check_symbols
from analysis.talking_points import rank_marks
from analysis.timebase import Span
from analysis.voices import HeldNote, lead_line


def analyse(
    score: Score,
    settings: Settings = Settings(),
    corrections: Corrections = Corrections(),
    previous: Analysis | None = None,
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
    previous
        The last analysis of the same score; what the corrections do not touch is taken from it.
    key_tables
        Counted tables for the key finder in place of the package's own, for measuring.
    """
    roles = find_roles(score, corrections)
    sung = part_of(roles, "melody")
    line = find_melody_line(score, roles)
    written = place_symbols(score) if settings.use_chord_symbols else ()
    if any(one.chord is not None for one in written):
        placed = lay_over(written, corrections.chords)
        regions = find_key_regions(score, placed, line, settings, key_tables)
        queries = check_symbols(score, written, sung)
    else:
        regions, inferred = infer_chords(score, settings, corrections)
        plain = is_plain(inferred)
        inferred = tuple(replace(one, weighed=not plain) for one in inferred)
        placed = lay_over(inferred, corrections.chords)
        queries = ()
        if plain:
            # The decoder's keys come from common practice; songs are better read by their chords.
            regions = find_key_regions(score, placed, line, settings, key_tables)
    regions = set_keys(regions, corrections.keys)
    chords = find_chord_facts(placed, regions, line)
    facts = find_melody(score, line, chords, regions)
    passages = find_passages(score, facts, chords, regions)
    relations = find_cross_relations(score, roles, line)
    low, bass = find_bass(score, roles, chords)
    lines = (
        *find_lines(chords, bass, low, line),
        *find_pedals(chords, bass, low),
        *find_common_tones(chords, line),
        *find_inner_lines(score, roles, chords, line, bass, low),
    )
    others = _other_lines(score, roles)
    repeats = compare_harmony(score, find_repeats(score, line, others), chords)
    sections = corrections.sections or find_sections(score, line, chords, repeats, settings)
    pairs = pair_sections(score, sections, line, regions, repeats)
    passages_of_pairs = compare_harmony(score, [pair.passage for pair in pairs], chords)
    news = [
        replace(pair, passage=passage)
        for pair, passage in zip(pairs, passages_of_pairs, strict=True)
    ]
    marks = (
        *make_key_marks(regions, chords),
        *make_section_marks(score, sections, news),
        *make_chord_marks(chords),
        *make_melody_marks(score, line, facts, chords, regions, passages, relations),
        *make_line_marks(score, lines, line, chords, regions),
        *make_shape_marks(score, line, sections),
        *make_repeat_marks(score, repeats),
        *make_echo_marks(
            score, line, find_echoes(score, line, [*others, *_bass_lines(score, roles)])
        ),
        *make_loop_marks(score, find_loops(score, chords)),
        *make_cadence_marks(find_cadences(_phrases(score, line, sections), chords)),
        *make_rhythm_marks(
            find_rhythm_passages(score, chords), find_section_rhythms(score, sections, chords)
        ),
        *make_query_marks(queries),
    )
    ranked = rank_marks(add_words(marks, line), sections)
    return Analysis(
        key_regions=regions,
        sections=sections,
        chords=chords,
        melody=facts,
        repeats=repeats,
        lines=sure_lines(lines),
        marks=tuple(sorted(ranked, key=lambda mark: (mark.span, mark.kind, mark.id))),
    )


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


def _bass_lines(score: Score, roles: Sequence[PartRole]) -> list[tuple[HeldNote, ...]]:
    """The line of every part that plays the bass; it may answer, but has no tune of its own."""
    return [lead_line(score.part(one.part)) for one in roles if one.role == "bass"]


def _other_lines(score: Score, roles: Sequence[PartRole]) -> list[tuple[HeldNote, ...]]:
    """The line of every part that may take up the melody."""
    return [
        lead_line(score.part(one.part))
        for one in roles
        if one.role in ("backing", "answer", "chords")
    ]
