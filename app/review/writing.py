"""How things are written: numerals, names of notes, degrees of the melody. No window needed.

What the analysis and the user say is kept in one form: numerals by the convention of the files,
English letters. Views show it in the form that the user reads: `written` gives a document whose
marks are worded so. Ids stay, so edits made in views mean the document underneath. Words that the
user typed are never rewritten.

A numeral in a sentence is known by what stands beside it, never by its letters: “Em7 (vi⁷)” and
“D7 is V⁷” name a chord of the piece with its numeral. A cadence says the numerals alone; they are
those that its evidence names.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final, Literal

from analysis.marks import ChordFact, KeyRegion, Mark, Numeral, Reading
from analysis.pitch import Key, PitchName
from analysis.vocabulary.note_names import Naming, read_name_at, written_name
from analysis.vocabulary.numerals import OWN, Convention, Target, label_of, name_numeral
from analysis.vocabulary.wording import chord_text
from app.review.document import Document

Degrees = Literal["numbers", "movable do"]
#: A chord's name and its numeral, as both are kept in sentences.
Named = tuple[str, str]

_NOTHING_SAID: Final[Mapping[Named, str]] = MappingProxyType({})
#: Kinds whose sentences name notes; a section's letter is no note.
_SILENT: Final = frozenset({"section"})
#: A note name in a sentence, alone or with what makes it a chord; “B flat” is part of an
#: instrument's name, since the analysis writes signs.
_NAME: Final = re.compile(
    r"(?<![A-Za-z♭♯])([A-G])([♭♯]?)(?! flat\b| sharp\b)"
    r"(?=(?:maj|min|dim|aug|sus|add|m(?![a-z])|[0-9ø°+(/⁰-⁹₀-₉]|[^A-Za-z♭♯0-9]|$))"
)
#: What follows “A” where it is a chord or a key and not the article.
_AFTER_A: Final = re.compile(
    r"\s(?:is|was|in|and|or|to|comes|came|takes|fills|over|instead|major|minor|mixolydian|dorian|"
    r"lydian|phrygian|locrian|resolves|falls|held|stands)\b|\s*[,.;:)–-]|$"
)
#: A chord's name and, in brackets or after “is”, what may be its numeral.
_CHORD_WITH: Final = re.compile(r"(?<!\S)(\S+)( \()(\S+?)(?=\)(?:[.,:;]?(?:\s|$)))")
_CHORD_IS: Final = re.compile(r"(?<!\S)(\S+)( is )(\S+?)(?=[.,:;]?(?:\s|$))")
_WORD: Final = re.compile(r"(?<!\S)\S+?(?=[.,:;]?(?:\s|$))")
_SPECIAL: Final = re.compile(r"(N|It|Fr|Ger|Cad|CT)(?![a-z])")
_MOVABLE: Final[dict[str, str]] = {
    "1": "do", "#1": "di", "b2": "ra", "2": "re", "#2": "ri", "b3": "me", "3": "mi", "4": "fa",
    "#4": "fi", "b5": "se", "5": "sol", "#5": "si", "b6": "le", "6": "la", "#6": "li", "b7": "te",
    "7": "ti", "b4": "fe", "b1": "de", "#3": "mis", "#7": "tis", "bb7": "tay",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Writing:
    """The user's choices."""

    convention: Convention = OWN
    naming: Naming = "english"
    degrees: Degrees = "numbers"

    @property
    def plain(self) -> bool:
        """Whether everything is shown as it is kept."""
        return self.convention == OWN and self.naming == "english"


#: As everything is kept.
PLAIN: Final = Writing()


def written(document: Document, writing: Writing) -> Document:
    """The document with its marks in the user's writing; itself where that is how it is kept."""
    if writing.plain:
        return document
    said = _said(document, writing.convention)
    marks = tuple(rewritten(mark, writing, said) for mark in document.analysis.marks)
    decisions = {
        mark_id: replace(decision, mark=rewritten(decision.mark, writing, said))
        if decision.mark
        else decision
        for mark_id, decision in document.decisions.items()
    }
    analysis = replace(document.analysis, marks=marks)
    return replace(
        document,
        analysis=analysis,
        decisions=decisions,
        convention=writing.convention,
        naming=writing.naming,
    )


def rewritten(mark: Mark, writing: Writing, said: Mapping[Named, str] = _NOTHING_SAID) -> Mark:
    """A mark in the user's writing; ``said`` is how the numerals of other chords are written."""
    mark = _numbered(mark, said) if said else mark
    sentence = in_words(mark.sentence, writing) if mark.kind not in _SILENT else mark.sentence
    label = mark.label
    fact = mark.fact
    if isinstance(fact, ChordFact) and fact.numeral and label == label_of(fact.numeral.text):
        label = numeral_label(fact, writing.convention)
        sentence = sentence.replace(f" is {mark.label} ", f" is {label} ")
    elif isinstance(fact, KeyRegion):
        label = key_words(fact.key, writing)
    elif mark.kind in ("pedal", "line"):
        label = in_words(label, writing)
    readings = tuple(_reading(one, writing) for one in mark.alternatives)
    evidence = tuple(
        replace(one, statement=in_words(one.statement, writing)) for one in mark.evidence
    )
    return replace(mark, label=label, sentence=sentence, alternatives=readings, evidence=evidence)


def _said(document: Document, convention: Convention) -> dict[Named, str]:
    """How the user writes the numeral of each chord, by its name and its numeral as it is kept.

    What would be written in two ways (in two keys) is left out: it stays as it is kept.
    """
    found: dict[Named, set[str]] = {}
    for fact in document.analysis.chords:
        if fact.chord is not None and fact.numeral is not None:
            named = chord_text(fact.chord), label_of(fact.numeral.text)
            found.setdefault(named, set()).add(numeral_label(fact, convention))
    return {named: labels.pop() for named, labels in found.items() if len(labels) == 1}


def _numbered(mark: Mark, said: Mapping[Named, str]) -> Mark:
    """A mark whose words say the numerals of chords as the user writes them."""
    named = [_CHORD_IS.match(one.statement) for one in mark.evidence if mark.kind == "cadence"]
    told = {found[3]: said.get((found[1], found[3]), found[3]) for found in named if found}

    def one(match: re.Match[str]) -> str:
        return match[1] + match[2] + said.get((match[1], match[3]), match[3])

    def words(text: str) -> str:
        return _CHORD_IS.sub(one, _CHORD_WITH.sub(one, text))

    evidence = tuple(replace(one, statement=words(one.statement)) for one in mark.evidence)
    sentence = words(mark.sentence)
    if told:
        sentence = _WORD.sub(lambda m: told.get(m[0], m[0]), sentence)
    return replace(mark, sentence=sentence, evidence=evidence)


def numeral_label(fact: ChordFact, convention: Convention) -> str:
    """The numeral of a chord by a convention, as it stands on a page; empty for N.C."""
    numeral, chord = fact.numeral, fact.chord
    if numeral is None or chord is None:
        return ""
    special = _SPECIAL.match(numeral.text)
    if convention == OWN or (special and special[1] in ("Cad", "CT")):
        return label_of(numeral.text)
    name = special[1] if special else ""
    target = _target(numeral)
    return label_of(name_numeral(chord, fact.key, target, special=name, convention=convention).text)


def key_words(key: Key, writing: Writing) -> str:
    """A key such as ``B♭ major``, its tonic in the user's letters."""
    return f"{written_name(key.tonic, writing.naming)} {key.mode}"


def degree_words(degree: str, degrees: Degrees) -> str:
    """A degree of the scale as a number or as a syllable.

    Examples
    --------
    >>> degree_words("b3", "numbers"), degree_words("b3", "movable do")
    ('♭3', 'me')
    """
    if degrees == "movable do" and degree in _MOVABLE:
        return _MOVABLE[degree]
    return degree.replace("b", "♭").replace("#", "♯")


def in_words(text: str, writing: Writing) -> str:
    """A sentence with its note names in the user's letters."""
    if writing.naming == "english":
        return text

    def name(match: re.Match[str]) -> str:
        if match[0] == "A" and not _AFTER_A.match(text, match.end()):
            follows = text[match.end() : match.end() + 1]
            if follows.isspace():
                return "A"
        return written_name(PitchName.parse(match[1] + match[2]), writing.naming)

    return _NAME.sub(name, text)


def in_naming(naming: Naming) -> Callable[[str], str]:
    """A function that rewrites a chord symbol or note name from English letters."""

    def rewrite(text: str) -> str:
        parts = []
        for part in text.split("/"):
            found = read_name_at(part)
            if found is None or not part[0].isupper():
                parts.append(part)
            else:
                parts.append(written_name(found[0], naming) + part[found[1] :])
        return "/".join(parts)

    return rewrite


def _reading(reading: Reading, writing: Writing) -> Reading:
    return replace(reading, reason=in_words(reading.reason, writing))


def _target(numeral: Numeral) -> Target | None:
    if not numeral.applied_to or numeral.applied_root is None:
        return None
    return Target(numeral.applied_root, numeral.applied_to.lstrip("b#").islower())
