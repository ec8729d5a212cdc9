"""All marks of a piece: made where something is new under them, put in order, folded and ranked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from analysis.form.habits import fold_habits
from analysis.form.section_marks import make_section_marks
from analysis.form.talking_points import rank_marks
from analysis.groundwork import Groundwork
from analysis.harmony.cadences import find_cadences, make_cadence_marks
from analysis.harmony.chord_marks import make_chord_marks, make_key_marks
from analysis.harmony.phrase_orders import make_order_marks
from analysis.harmony.rhythms import find_rhythms, make_rhythm_marks
from analysis.lines.line_marks import make_line_marks
from analysis.marks import Mark, MelodyFact, Section
from analysis.melody.melody_marks import make_melody_marks
from analysis.melody.passages import find_passages
from analysis.melody.shape_marks import make_shape_marks
from analysis.returns.loop_marks import make_loop_marks
from analysis.returns.loops import find_loops
from analysis.returns.repeat_marks import choose_repeats, mark_of
from analysis.updates import update_all, update_each
from analysis.vocabulary.chord_rows import ChordRow
from analysis.workings import Form, Harmony, Lines, Marked, tones_of


def make_marks(
    ground: Groundwork,
    harmony: Harmony,
    melody: Sequence[MelodyFact],
    lines: Lines,
    form: Form,
    old: Mapping[str, Marked],
) -> dict[str, Marked]:
    """All marks but those of the groundwork, by what they are about.

    ``old`` are those of the last analysis, empty at first; each is kept while what it was made
    from is as it was.
    """
    score, line, sung = ground.score, ground.line, ground.sung
    chords, regions, sections = harmony.chords, harmony.regions, form.sections
    row = ChordRow(chords, regions)
    begun = [(find, row.key_at(find.line.span.start)) for find in lines.finds]
    loops = find_loops(score, chords, form.rounds)
    told = {pair.later.span: pair for pair in form.told}
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
            old.get("line"), begun, lambda some: make_line_marks(score, some, sung), sung
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
        "order": update_all(None, (), lambda: make_order_marks(form.orders, chords), sung),
        "rhythm": update_all(
            old.get("rhythm"),
            (tones_of(chords), sections),
            lambda: make_rhythm_marks(*find_rhythms(score, sections, chords)),
            sung,
        ),
    }


def order_marks(
    ground: Groundwork, sections: Sequence[Section], marks: Mapping[str, Marked]
) -> tuple[Mark, ...]:
    """The marks in order of time, habits folded and talking points ranked."""
    # Equal fractions are equal floats, which compare much faster.
    row = sorted(
        (*ground.marks, *(mark for made in marks.values() for mark in made.marks)),
        key=lambda mark: (float(mark.span.start), float(mark.span.end), mark.kind, mark.id),
    )
    return rank_marks(fold_habits(ground.score, row), sections)
