"""What is heard before keys and chords are set by hand, and so need not be heard again.

The roles of the parts, the melody, the written chords, the keys found from them, returns and
echoes, doubts about symbols: all that a correction of a key or of a chord leaves as it is. Keys
are found from the chords as written; a chord set by hand changes its own reading, and a key is
changed by setting it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from analysis.form.sections import find_named_sections
from analysis.harmony.chord_marks import make_query_marks
from analysis.inference.chord_weights import FittedModel
from analysis.inference.inferred_chords import infer_chords, is_songlike
from analysis.inference.symbol_queries import check_symbols, doubted
from analysis.keys.key_regions import find_key_regions
from analysis.keys.key_tables import KeyTables
from analysis.lines.inner_lines import InnerVoice, find_inner_voices
from analysis.lines.pedals import KeptPitch, find_kept_pitches
from analysis.lines.stays import VoiceUnderChords, find_low_line
from analysis.marks import Corrections, KeyRegion, Mark, PlacedChord, Repeat, Section, Settings
from analysis.melody.cross_relations import CrossRelation, find_cross_relations
from analysis.returns.echo_marks import make_echo_marks
from analysis.returns.echoes import find_echoes
from analysis.returns.repeats import find_repeats
from analysis.score import Score
from analysis.vocabulary.mark_words import SungLine
from analysis.vocabulary.placements import place_symbols
from analysis.vocabulary.roles import PartRole, find_melody_line, find_roles, part_of
from analysis.vocabulary.voices import HeldNote, PitchedNotes, SungWord, Voices, sung_words


@dataclass(frozen=True)
class Groundwork:
    """What one score gives before corrections of keys and chords.

    ``placed`` are the chords before any is set by hand, ``regions`` the keys likewise; ``repeats``
    are not yet compared in harmony; ``marks`` are those of echoes and of doubts about symbols.
    ``named_sections`` are those that rehearsal marks name, None where the form is to be found.
    ``words`` are sung on the notes of the ``line``, ``sung`` is asked for those under a mark,
    ``kept`` are the pitches that the line holds or repeats. ``low`` is the lowest line (of
    ``low_part``, empty where none is low), ``inner`` are the voices between.
    """

    score: Score
    settings: Settings
    corrections: Corrections
    written: bool
    roles: tuple[PartRole, ...]
    voices: Voices
    line: tuple[HeldNote, ...]
    words: tuple[SungWord | None, ...]
    sung: SungLine
    kept: tuple[KeptPitch, ...]
    low_part: str
    low: VoiceUnderChords
    inner: tuple[InnerVoice, ...]
    placed: tuple[PlacedChord, ...]
    regions: tuple[KeyRegion, ...]
    repeats: tuple[Repeat, ...]
    named_sections: tuple[Section, ...] | None
    relations: Sequence[CrossRelation]
    notes: PitchedNotes
    marks: tuple[Mark, ...]

    def holds_for(self, corrections: Corrections) -> bool:
        """Whether the same would be heard under other corrections.

        Chords inferred from notes follow the keys that are set, so there these must be the same.
        """
        ours = self.corrections
        parts = (ours.melody_part, ours.roles) == (corrections.melody_part, corrections.roles)
        return parts and (self.written or ours.keys == corrections.keys)


def lay_groundwork(
    score: Score,
    settings: Settings,
    corrections: Corrections,
    key_tables: KeyTables | None = None,
    chord_model: FittedModel | None = None,
) -> Groundwork:
    """Hear a score for the first time; arguments as for the whole analysis.

    ``chord_model`` holds weights of the chord decoder in place of the package's, for measuring.
    """
    voices = Voices(score)
    roles = find_roles(score, corrections, voices)
    sung = part_of(roles, "melody")
    line = find_melody_line(score, roles, voices)
    placed = place_symbols(score) if settings.use_chord_symbols else ()
    written = any(one.chord is not None for one in placed)
    if written:
        regions = find_key_regions(score, placed, line, settings, key_tables)
        queries = check_symbols(score, placed, sung)
        placed = doubted(placed, queries)
    else:
        regions, placed = infer_chords(score, settings, corrections, chord_model)
        songlike = is_songlike(placed, regions)
        placed = tuple(replace(one, weighed=not songlike) for one in placed)
        queries = ()
        if songlike:
            # The decoder's keys come from common practice; songs are better read by their chords.
            regions = find_key_regions(score, placed, line, settings, key_tables)
    others = _lines(voices, roles, "backing", "answer", "chords")
    echoes = find_echoes(score, line, others, _lines(voices, roles, "bass"))
    words = sung_words(line)
    sung_line = SungLine(line, words)
    low_part, low = find_low_line(score, roles, voices)
    return Groundwork(
        score=score,
        settings=settings,
        corrections=corrections,
        written=written,
        roles=tuple(roles),
        line=tuple(line),
        placed=tuple(placed),
        regions=tuple(regions),
        repeats=tuple(find_repeats(score, line, others)),
        named_sections=find_named_sections(score, settings),
        voices=voices,
        words=words,
        sung=sung_line,
        kept=find_kept_pitches(line),
        low_part=low_part,
        low=VoiceUnderChords(score, low),
        inner=find_inner_voices(score, roles, line, low_part, voices),
        relations=find_cross_relations(score, roles, line, voices),
        notes=PitchedNotes(score),
        marks=sung_line.add_to((*make_echo_marks(score, line, echoes), *make_query_marks(queries))),
    )


def _lines(voices: Voices, roles: Sequence[PartRole], *wanted: str) -> list[tuple[HeldNote, ...]]:
    """The line of every part with one of some roles: it may take up or answer the melody."""
    return [voices.line(one.part) for one in roles if one.role in wanted]
