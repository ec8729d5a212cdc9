"""The marks of a score as JSON, for checks and for other programs.

The shape is described by ``marks.schema.json`` beside this file. Onsets and durations are quarter
notes from the first measure in written order.
"""

from __future__ import annotations

import json
from typing import Any

from analysis.harmony.rhythms import find_section_rhythms
from analysis.marks import Analysis, ChordFact, KeyRegion, Mark, MelodyFact, Reading, Repeat
from analysis.pitch import Key
from analysis.score import Score
from analysis.timebase import Fraction, Span
from analysis.vocabulary.wording import chord_text


def to_json(analysis: Analysis, score: Score, name: str = "", digest: str = "") -> str:
    """All facts and marks as indented JSON text, ending in a newline.

    Parameters
    ----------
    name, digest
        File name and SHA-256 of the source, empty where there is no file.
    """
    rhythms = find_section_rhythms(score, analysis.sections, analysis.chords)
    facts = {
        "source": {"name": name, "sha256": digest, "title": score.title},
        "key_regions": [_key_region(region) for region in analysis.key_regions],
        "sections": [
            {
                **_when(section.span),
                "label": section.label,
                "name": section.name,
                "changes_per_measure": round(rhythm.rate, 3),
                "evidence": [one.statement for one in section.evidence],
            }
            for section, rhythm in zip(analysis.sections, rhythms, strict=True)
        ],
        "phrases": [
            {
                **_when(phrase.span),
                "part": phrase.part,
                "order": phrase.order,
                "back": _when(phrase.back) if phrase.back else None,
            }
            for phrase in analysis.phrases
        ],
        "chords": [_chord(fact, score) for fact in analysis.chords],
        "melody": [_melody_note(fact) for fact in analysis.melody],
        "repeats": [_repeat(repeat) for repeat in analysis.repeats],
        "lines": [
            {
                **_when(line.span),
                "kind": line.kind,
                "part": line.part,
                "direction": line.direction,
                "notes": [str(name) for name in line.notes],
            }
            for line in analysis.lines
        ],
        "marks": [_mark(mark) for mark in analysis.marks],
    }
    return json.dumps(facts, ensure_ascii=False, indent=1) + "\n"


def number(value: Fraction) -> int | float:
    """A count of quarter notes as a JSON number, whole where it is whole."""
    return int(value) if value.denominator == 1 else float(value)


def _when(span: Span) -> dict[str, int | float]:
    return {"onset": number(span.start), "duration": number(span.duration)}


def _key(key: Key) -> dict[str, str]:
    return {"tonic": str(key.tonic), "mode": key.mode}


def _key_region(region: KeyRegion) -> dict[str, Any]:
    return {
        **_when(region.span),
        "key": _key(region.key),
        "confidence": round(region.confidence, 3),
        "alternatives": [
            {"key": _key(key), "confidence": round(confidence, 3)}
            for key, confidence in region.alternatives
        ],
        "change": region.change,
        "evidence": [one.statement for one in region.evidence],
    }


def _reading(reading: Reading) -> dict[str, Any]:
    return {
        "label": reading.label,
        "reason": reading.reason,
        "confidence": round(reading.confidence, 3),
        "function": reading.function,
        "key": _key(reading.key) if reading.key else None,
    }


def _chord(fact: ChordFact, score: Score) -> dict[str, Any]:
    chord = fact.chord
    numeral = fact.numeral
    return {
        **_when(fact.span),
        "measure": score.measure_at(fact.span.start).number,
        "beat": number(score.beat_at(fact.span.start)),
        "key": _key(fact.key),
        "symbol": chord_text(chord),
        "numeral": numeral.text if numeral else "",
        "root": str(chord.root) if chord else "",
        "bass": str(chord.bass) if chord else "",
        "triad": chord.triad if chord else "",
        "seventh": chord.seventh if chord else "",
        "inversion": chord.inversion if chord else 0,
        "nc": chord is None,
        "applied_root": str(numeral.applied_root) if numeral and numeral.applied_root else "",
        "applied_to": numeral.applied_to if numeral else "",
        "function": fact.function,
        "outside_key": fact.outside_key,
        "written": fact.written,
        "resolution": fact.resolution,
        "expected": fact.expected,
        "came": fact.came,
        "tags": list(fact.tags),
        "scale": fact.scale,
        "reasons": list(fact.reasons),
        "alternatives": [_reading(reading) for reading in fact.alternatives],
        "confidence": round(fact.confidence, 3),
    }


def _melody_note(fact: MelodyFact) -> dict[str, Any]:
    return {
        **_when(fact.span),
        "part": fact.part,
        "pitch": str(fact.pitch),
        "degree": fact.degree,
        "role": fact.role,
        "chord_degree": fact.chord_degree,
        "blue_third": fact.blue_third,
        "blue": fact.blue,
        "confidence": round(fact.confidence, 3),
    }


def _repeat(repeat: Repeat) -> dict[str, Any]:
    return {
        "first": _when(repeat.first),
        "later": _when(repeat.later),
        "part": repeat.part,
        "later_part": repeat.later_part or repeat.part,
        "transposition": repeat.transposition,
        "similarity": round(repeat.similarity, 3),
        "reharmonised": repeat.reharmonised,
        "differences": [
            {
                "first_at": number(difference.first_at),
                "later_at": number(difference.later_at),
                "was": difference.was,
                "now": difference.now,
                "was_numeral": difference.was_numeral,
                "now_numeral": difference.now_numeral,
                "was_function": difference.was_function,
                "now_function": difference.now_function,
                "effect": difference.effect,
                "roles": list(difference.roles),
            }
            for difference in repeat.differences
        ],
    }


def _mark(mark: Mark) -> dict[str, Any]:
    return {
        "id": mark.id,
        "kind": mark.kind,
        **_when(mark.span),
        "parts": list(mark.parts),
        "elements": list(mark.elements),
        "label": mark.label,
        "sentence": mark.sentence,
        "words": mark.words,
        "evidence": [
            {"statement": one.statement, "elements": list(one.elements)} for one in mark.evidence
        ],
        "alternatives": [_reading(reading) for reading in mark.alternatives],
        "confidence": round(mark.confidence, 3),
        "rank": mark.rank,
    }
