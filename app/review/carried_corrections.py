"""Corrections carried over to a changed transcription: keys, chords, sections, melody, roles.

What is carried follows its measures and the transposition of the song. Sections are joined up
again, so that they tile the piece as it is now.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from analysis.chords import Chord
from analysis.marks import Corrections, Section
from analysis.timebase import Span
from analysis.vocabulary.wording import chord_text, key_text
from app.review.alignments import Alignment
from app.review.carry_reports import Entry, number_now
from app.review.correction_edits import in_order, outside
from app.review.selection import Selection


@dataclass(slots=True)
class CarriedCorrections:
    """What of the corrections has a place, what has none, and what there is to tell."""

    placed: Corrections
    left: Corrections
    kept: int = 0
    entries: list[Entry] = field(default_factory=list)


def carry_corrections(
    corrections: Corrections,
    alignment: Alignment,
    onto: Corrections = Corrections(),
    *,
    back: bool = False,
) -> CarriedCorrections:
    """Carry corrections over.

    Parameters
    ----------
    onto
        Corrections that hold already, which these give way to.
    back
        Whether these were left over from an earlier transcription: then it is told what returns,
        and not once more what does not.
    """
    carried = CarriedCorrections(onto, Corrections())
    _carry_keys(corrections, alignment, carried, back)
    _carry_chords(corrections, alignment, carried, back)
    _carry_sections(corrections.sections or (), alignment, carried, back)
    _carry_parts(corrections, alignment, carried, back)
    return carried


def _carry_keys(
    corrections: Corrections, alignment: Alignment, carried: CarriedCorrections, back: bool
) -> None:
    fifths = alignment.interval.fifths
    for span, key in corrections.keys:
        placed = carried.placed.keys
        moved = _moved(span, alignment, [held for held, _ in placed])
        _tell(carried, alignment, f"Key {key_text(key)}", span, moved, back)
        if moved:
            moved_key = replace(key, tonic=key.tonic + fifths)
            keys = in_order((*placed, (moved, moved_key)))
            carried.placed = replace(carried.placed, keys=keys)
        else:
            carried.left = replace(carried.left, keys=(*carried.left.keys, (span, key)))


def _carry_chords(
    corrections: Corrections, alignment: Alignment, carried: CarriedCorrections, back: bool
) -> None:
    fifths = alignment.interval.fifths
    for span, chord in corrections.chords:
        placed = carried.placed.chords
        moved = _moved(span, alignment, [held for held, _ in placed])
        _tell(carried, alignment, f"Chord {chord_text(chord)}", span, moved, back)
        if moved:
            chords = in_order((*placed, (moved, _transposed_chord(chord, fifths))))
            carried.placed = replace(carried.placed, chords=chords)
        else:
            carried.left = replace(carried.left, chords=(*carried.left.chords, (span, chord)))


def _transposed_chord(chord: Chord | None, fifths: int) -> Chord | None:
    if chord is None or not fifths:
        return chord
    return replace(chord, root=chord.root + fifths, bass=chord.bass + fifths)


def _carry_sections(
    sections: Sequence[Section], alignment: Alignment, carried: CarriedCorrections, back: bool
) -> None:
    placed = [(one.span, one) for one in carried.placed.sections or ()]
    for section in sections:
        moved = _moved(section.span, alignment, [])
        _tell(carried, alignment, f"Section {section.name or section.label}", section.span, moved,
              back)  # fmt: skip
        if moved:
            placed = [*outside(placed, moved), (moved, section)]
        else:
            left = (*(carried.left.sections or ()), section)
            carried.left = replace(carried.left, sections=left)
    if placed and sections:
        tiled = _tiled(in_order(placed), Span(alignment.onsets_now[0], alignment.onsets_now[-1]))
        carried.placed = replace(carried.placed, sections=tiled)


def _tiled(placed: Sequence[tuple[Span, Section]], piece: Span) -> tuple[Section, ...]:
    """Sections of which each reaches to the next, from the start of the piece to its end."""
    starts = [piece.start, *(span.start for span, _ in placed[1:])]
    ends = [*starts[1:], piece.end]
    return tuple(
        replace(section, span=Span(start, end))
        for (_, section), start, end in zip(placed, starts, ends, strict=True)
    )


def _carry_parts(
    corrections: Corrections, alignment: Alignment, carried: CarriedCorrections, back: bool
) -> None:
    wanted = [(corrections.melody_part, "melody")] if corrections.melody_part else []
    names = {part.id: part.name or part.id for part in alignment.then.parts}
    for part, role in [*wanted, *corrections.roles]:
        placed, now = carried.placed, alignment.parts.get(part)
        taken = {held for held, _ in placed.roles} | {placed.melody_part}
        is_melody = (part, role) in wanted
        if now is None or now in taken or (is_melody and placed.melody_part):
            if is_melody:
                carried.left = replace(carried.left, melody_part=part)
            else:
                carried.left = replace(carried.left, roles=(*carried.left.roles, (part, role)))
            if not back:
                name = names.get(part, part)
                sentence = f"The role “{role}” was set for the part “{name}”, which is gone."
                carried.entries.append(Entry("unplaced", name, sentence, "", ""))
            continue
        carried.kept += 1
        if is_melody:
            carried.placed = replace(placed, melody_part=now)
        else:
            carried.placed = replace(placed, roles=tuple(sorted((*placed.roles, (now, role)))))


def _moved(span: Span, alignment: Alignment, held: Sequence[Span]) -> Span | None:
    """Where the span is now; None where that is nowhere, or where something else holds."""
    moved = alignment.span(span)
    if moved is None or any(moved.span.overlaps(other) for other in held):
        return None
    return moved.span


def _tell(
    carried: CarriedCorrections,
    alignment: Alignment,
    name: str,
    span: Span,
    moved: Span | None,
    back: bool,
) -> None:
    """Say what became of one correction."""
    was = alignment.number_at(span.start)
    if moved is None:
        if not back:
            at = alignment.near(span.start)
            place = Selection(span=Span(at, at + 1))
            sentence = "Set by hand; its measures are gone."
            carried.entries.append(Entry("unplaced", name, sentence, was, "", place))
        return
    now = number_now(alignment, moved)
    place = Selection(span=moved)
    if back:
        carried.entries.append(
            Entry("returned", name, "Set by hand, and back in its place.", was, now, place)
        )
    elif was != now:
        sentence = f"Set by hand; from measure {was} to measure {now}."
        carried.entries.append(Entry("moved", name, sentence, was, now, place))
    else:
        carried.kept += 1
