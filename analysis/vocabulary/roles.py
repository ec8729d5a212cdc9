"""Which part is what: melody, backing voices, answering lines, bass, chords, percussion.

The task is to give every part one role, so that whatever is said of *the melody* or *the bass* is
said of the right part. What the user sets is followed. Otherwise, in this order: words (the part
with most syllables is the melody, others with words are backing voices), register (the lowest
instrument is the bass), texture (several notes at once are chords), activity (a line that plays
where the melody rests answers it). Names of parts decide only where these leave a draw, so that a
part may be called anything.

References
----------
Common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final, Literal, get_args

from analysis.marks import Corrections
from analysis.score import Part, Score
from analysis.vocabulary.voices import HeldNote, Voices

Role = Literal["melody", "backing", "answer", "bass", "chords", "percussion", ""]
ROLES: Final[tuple[Role, ...]] = get_args(Role)

_LEAD_NAMES: Final = ("melod", "lead", "vocal", "voice", "voc", "sing", "solo", "soprano", "song")
_BACKING_NAMES: Final = ("back", "b.v", "bv", "choir", "harmon", "alto", "tenor", "ooh", "2")
#: Median key number below which the lowest instrument counts as a bass (the B flat below middle C).
BASS_BELOW: Final = 58
#: Share of onsets with several notes from which a part plays chords.
_CHORDAL: Final = 0.3
#: A part with at least this share of the most syllables could be the melody as well.
_RIVAL: Final = 0.67


@dataclass(frozen=True, slots=True)
class PartRole:
    """The role of one part, with the reason for it."""

    part: str
    role: Role
    reason: str
    confidence: float = 1.0


@dataclass(frozen=True, slots=True)
class _Playing:
    """What a part does: sounding notes, its line, syllables, chords, register."""

    part: Part
    held: tuple[HeldNote, ...]
    syllables: int
    chordal: float
    register: float

    @property
    def name(self) -> str:
        return self.part.name.lower()

    @property
    def variety(self) -> int:
        return len({note.pitch.name.pc for note in self.held})


def find_roles(
    score: Score, corrections: Corrections = Corrections(), voices: Voices | None = None
) -> tuple[PartRole, ...]:
    """The role of every part, in part order. At most one part is the melody."""
    voices = voices or Voices(score)
    playing = [_playing(part, voices) for part in score.parts]
    roles: dict[str, PartRole] = {}
    for part, role in corrections.roles:
        if role in ROLES:
            roles[part] = PartRole(part, role, "Set by hand.")
    if any(part.id == corrections.melody_part for part in score.parts):
        for part, held in list(roles.items()):
            if held.role == "melody":
                del roles[part]
        chosen = corrections.melody_part
        roles[chosen] = PartRole(chosen, "melody", "Set by hand.")
    for one in playing:
        if one.part.id not in roles and not one.held:
            percussive = one.part.percussion or any(note.pitch is None for note in one.part.notes)
            reason = "It has no pitched notes."
            roles[one.part.id] = PartRole(one.part.id, "percussion" if percussive else "", reason)
    if all(role.role != "melody" for role in roles.values()):
        _choose_melody([one for one in playing if one.part.id not in roles], roles)
    _choose_bass([one for one in playing if one.part.id not in roles], roles)
    melody = next((one for one in playing if _is(roles, one, "melody")), None)
    for one in playing:
        if one.part.id not in roles:
            roles[one.part.id] = _accompanying(one, melody)
    return tuple(roles[part.id] for part in score.parts)


def part_of(roles: Sequence[PartRole], role: Role) -> str:
    """Id of the first part with a role, empty where there is none."""
    return next((one.part for one in roles if one.role == role), "")


def find_melody_line(
    score: Score, roles: Sequence[PartRole], voices: Voices | None = None
) -> tuple[HeldNote, ...]:
    """The melody: the line of the part whose role it is; empty where no part has it."""
    chosen = part_of(roles, "melody")
    return (voices or Voices(score)).line(chosen) if chosen else ()


def _is(roles: dict[str, PartRole], one: _Playing, role: Role) -> bool:
    return one.part.id in roles and roles[one.part.id].role == role


def _playing(part: Part, voices: Voices) -> _Playing:
    held = () if part.percussion else voices.held(part.id)
    syllables = sum(1 for note in held if any(lyric.verse in ("1", "") for lyric in note.lyrics))
    syllables = syllables or sum(1 for note in held if note.lyrics)
    together = Counter(note.onset for note in held)
    chordal = sum(1 for count in together.values() if count > 1) / max(len(together), 1)
    register = median([note.midi for note in held]) if held else 0.0
    return _Playing(part, held, syllables, chordal, float(register))


def _choose_melody(free: Sequence[_Playing], roles: dict[str, PartRole]) -> None:
    if not free:
        return
    most = max(one.syllables for one in free)
    rivals = [one for one in free if one.syllables >= _RIVAL * most]
    if most and len(rivals) == 1:
        reason, confidence = "It has most of the words.", 0.98
    elif most:
        reason, confidence = "Of the parts with words it is named or pitched as the lead.", 0.85
    else:
        reason, confidence = "No part has words; it is the leading line.", 0.7
    chosen = max(rivals, key=_leading) if most else max(free, key=_leading)
    roles[chosen.part.id] = PartRole(chosen.part.id, "melody", reason, confidence)


def _leading(one: _Playing) -> tuple[int, float, int]:
    """How much a part looks like a lead: by name, then by register among single lines."""
    named = any(word in one.name for word in _LEAD_NAMES) - any(
        word in one.name for word in _BACKING_NAMES
    )
    return (named, one.register - 24 * min(one.chordal, 0.5), one.syllables)


def _choose_bass(free: Sequence[_Playing], roles: dict[str, PartRole]) -> None:
    if any(role.role == "bass" for role in roles.values()):
        return
    low = [one for one in free if one.register < BASS_BELOW and one.chordal < _CHORDAL]
    # Timpani lie low too, but have few pitches.
    most = max((one.variety for one in low), default=0)
    low = [one for one in low if 2 * one.variety >= most]
    wordless = [one for one in low if not one.syllables] or low
    if wordless:
        chosen = min(wordless, key=lambda one: one.register)
        roles[chosen.part.id] = PartRole(chosen.part.id, "bass", "It is the lowest line.", 0.95)


def _accompanying(one: _Playing, melody: _Playing | None) -> PartRole:
    if one.syllables:
        return PartRole(one.part.id, "backing", "It has words and is not the lead.", 0.95)
    if one.part.staves > 1 or one.chordal >= _CHORDAL:
        return PartRole(one.part.id, "chords", "It plays several notes at once.", 0.9)
    if melody is not None and _rests_filled(one, melody) >= 0.5:
        return PartRole(one.part.id, "answer", "It plays where the melody rests.", 0.8)
    leaps = [
        abs(right.midi - left.midi) > 2
        for left, right in zip(one.held, one.held[1:], strict=False)
        if left.midi != right.midi
    ]
    if leaps and sum(leaps) > 0.6 * len(leaps):
        return PartRole(one.part.id, "chords", "It breaks chords.", 0.7)
    return PartRole(one.part.id, "answer", "It is a line of its own.", 0.7)


def _rests_filled(one: _Playing, melody: _Playing) -> float:
    """Share of a part's notes that begin while the melody rests."""
    silent = 0
    at = 0
    sung = melody.held
    for note in one.held:
        while at < len(sung) and sung[at].end <= note.onset:
            at += 1
        silent += at == len(sung) or sung[at].onset > note.onset
    return silent / max(len(one.held), 1)
