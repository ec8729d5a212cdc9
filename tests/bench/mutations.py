"""Mutation testing: small wrong changes in a module, each of which some test should notice.

    python -m tests.bench.mutations [MODULE ...] [--sample 60] [--seed 1] [--json OUT]

A mutant is the module with one change in its syntax tree: a comparison, a sum or a condition turned
round, a number moved by one, a short text altered, a row of a table left out or two rows' values
swapped. Long texts (sentences for people) and annotations are left alone. Each mutant runs the
tests of its module alone, in a fork of a process that has loaded the libraries, until the first
failure or the time limit; nothing on the disk is changed. What survives is printed with its line:
either a test is missing, or the change changes nothing that can be seen.

``--sample`` draws that many mutants of each module by the seed; 0 takes all.

References
----------
DeMillo, Lipton & Sayward: Hints on test data selection, IEEE Computer 11(4), 1978, for the idea;
the operators are the usual ones, from memory.
"""

from __future__ import annotations

import argparse
import ast
import copy
import importlib.abc
import importlib.machinery
import json
import os
import resource
import signal
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from random import Random
from types import CodeType, ModuleType
from typing import Any, Final

import hypothesis
import jsonschema
import lxml.etree
import music21
import numpy
import pytest
import quicktions  # type: ignore[import-not-found]

#: Loaded before the forks, so that no mutant waits for them.
_LOADED: Final = (hypothesis, jsonschema, lxml.etree, music21, numpy, quicktions)
#: The quickest first, so that most mutants fall soon.
_CHORDS: Final = ("test_chord_tables", "test_resolutions", "test_function_tables")
_SPECIAL: Final = ("test_other_readings", "test_special_chords", "test_chord_contexts")
_NAMES: Final = ("test_placements", "test_typed_chords", "test_typed_numerals")
_SUNG: Final = ("test_melody_properties", "test_melody_samples")
_LINES: Final = ("test_lines", "test_melody_properties", "test_melody_samples")
_RETURNS: Final = ("test_repeats", "test_repeat_marks", "test_repeat_properties")
_CARRIED: Final = ("test_carry_reports", "test_carried_corrections", "test_alignments")

#: Which tests are run for which module; its own doctests are run first.
TARGETS: Final[dict[str, tuple[str, ...]]] = {
    "analysis.timebase": ("test_timebase",),
    "analysis.pitch": ("test_pitch",),
    "analysis.vocabulary.note_names": ("test_note_names",),
    "analysis.vocabulary.numerals": (*_NAMES, *_CHORDS, *_SPECIAL),
    "analysis.harmony.typed_numerals": (*_NAMES, "test_chord_properties"),
    "analysis.harmony.typed_chords": _NAMES,
    "analysis.harmony.functions": (*_SPECIAL, *_CHORDS, "test_chord_properties"),
    "analysis.vocabulary.dominants": (
        "test_dominants",
        *_SPECIAL,
        *_CHORDS,
        "test_sample_chords",
    ),
    "analysis.harmony.cadences": ("test_cadences", *_CHORDS, "test_sample_chords"),
    "analysis.harmony.chord_scales": ("test_chord_scales", "test_resolutions"),
    "analysis.keys.key_regions": ("test_keys", "test_key_names", "test_plain_songs"),
    "analysis.keys.key_cues": ("test_keys", "test_plain_songs"),
    "analysis.keys.key_reasons": ("test_keys", "test_plain_songs"),
    "analysis.melody.melody_facts": ("test_melody", "test_blue_notes", *_SUNG),
    "analysis.melody.embellishments": ("test_melody", *_SUNG),
    "analysis.melody.blue_notes": ("test_blue_notes", *_SUNG),
    "analysis.melody.cross_relations": ("test_blue_notes", *_SUNG),
    "analysis.melody.passages": ("test_passages", "test_blue_notes", *_SUNG),
    "analysis.melody.shapes": ("test_shapes", *_SUNG),
    "analysis.lines.line_runs": ("test_line_runs", *_LINES),
    "analysis.lines.bass_lines": _LINES,
    "analysis.lines.inner_lines": _LINES,
    "analysis.lines.pedals": _LINES,
    "analysis.lines.stays": _LINES,
    "analysis.returns.measure_contents": ("test_measure_contents", *_RETURNS),
    "analysis.returns.reharmonisations": ("test_reharmonisations", *_RETURNS),
    "analysis.returns.repeats": _RETURNS,
    "app.review.carrying": ("test_carrying", *_CARRIED),
    "app.review.moved_marks": ("test_carrying", *_CARRIED),
    "app.review.files": ("test_files", "test_safekeeping", "test_storage"),
    "app.review.storage": ("test_storage", "test_plain_values"),
    "app.review.edits": ("test_edit_words", "test_mark_edits", "test_document"),
    "app.review.document": ("test_edit_words", "test_mark_edits", "test_document"),
    "app.review.correction_edits": ("test_edit_words", "test_correction_edits"),
    "app.review.section_edits": ("test_edit_words", "test_section_edits"),
    "app.review.mark_edits": ("test_edit_words", "test_mark_edits"),
}
#: Seconds that any mutant may take, and times the tests' own length.
LEAST: Final = 20.0
TIMES: Final = 5.0
#: Texts up to this length, without spaces, are values; longer ones are words for people.
_SHORT: Final = 8
_COMPARISONS: Final[dict[type[ast.cmpop], type[ast.cmpop]]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
_SUMS: Final[dict[type[ast.operator], type[ast.operator]]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.FloorDiv, ast.FloorDiv: ast.Mult,
    ast.Div: ast.Mult, ast.Mod: ast.FloorDiv, ast.BitOr: ast.BitAnd, ast.BitAnd: ast.BitOr,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Mutant:
    """A changed module: the line of the change, what it is, and the whole as code."""

    line: int
    change: str
    code: CodeType


@dataclass(frozen=True, slots=True)
class Verdict:
    """What became of a mutant: ``killed``, ``survived`` or ``late`` (noticed by its time)."""

    module: str
    line: int
    change: str
    fate: str


def mutants(text: str, name: str, sample: int = 0, seed: int = 1) -> tuple[list[Mutant], int]:
    """Mutants of a module's text in order of line, all or a sample; how many there are in all."""
    count = sum(1 for _ in _changes(ast.parse(text)))
    numbers = range(count)
    chosen = Random(seed).sample(numbers, sample) if 0 < sample < count else numbers
    found = []
    for number in chosen:
        tree = ast.parse(text)
        node, change, apply = next(islice(_changes(tree), number, None))
        line = getattr(node, "lineno", 0)
        apply()
        ast.fix_missing_locations(tree)
        found.append(Mutant(line, change, compile(tree, name, "exec")))
    return sorted(found, key=lambda one: (one.line, one.change)), count


_Change = tuple[ast.AST, str, Callable[[], None]]


def _changes(tree: ast.Module) -> Iterator[_Change]:
    """Each change that can be made to a tree; making one spoils the tree for the others."""
    quiet = _quiet(tree)
    for node in ast.walk(tree):
        if id(node) in quiet:
            continue
        if isinstance(node, ast.Compare):
            yield from _compared(node)
        elif isinstance(node, ast.BinOp) and type(node.op) in _SUMS:
            yield _set(node, "op", _SUMS[type(node.op)]())
        elif isinstance(node, ast.BoolOp):
            yield _set(node, "op", ast.Or() if isinstance(node.op, ast.And) else ast.And())
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
            yield _set(node, "op", ast.UAdd())
        elif isinstance(node, ast.If | ast.IfExp | ast.While):
            yield _set(node, "test", ast.UnaryOp(ast.Not(), node.test))
        elif isinstance(node, ast.comprehension) and node.ifs:
            change = f"{ast.unparse(node.ifs[0])}  ->  always"
            yield node.ifs[0], change, lambda node=node: node.ifs.clear()  # type: ignore[misc]
        elif isinstance(node, ast.Constant):
            yield from _constant(node)
        elif isinstance(node, ast.Dict | ast.Tuple | ast.List | ast.Set):
            yield from _rows(node)


def _quiet(tree: ast.Module) -> set[int]:
    """Annotations, docstrings, sentences put together, type aliases: nothing runs on them."""
    roots: list[ast.AST] = []
    for node in ast.walk(tree):
        if isinstance(node, ast.AnnAssign) or (isinstance(node, ast.arg) and node.annotation):
            roots += [node.annotation] if node.annotation else []
        elif isinstance(node, ast.FunctionDef):
            roots += [node.returns] if node.returns else []
            roots += node.decorator_list
        elif isinstance(node, ast.ClassDef):
            roots += node.decorator_list
        elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            roots.append(node.value)
        elif isinstance(node, ast.JoinedStr):
            roots += [one for one in node.values if isinstance(one, ast.Constant)]
            roots += [one.format_spec for one in node.values if
                      isinstance(one, ast.FormattedValue) and one.format_spec]  # fmt: skip
        elif isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            roots += [node.test, *node.body]
            roots.append(node)
        elif isinstance(node, ast.Assign) and _names_a_type(node):
            roots.append(node.value)
    quiet = {
        id(inner) for root in roots if not isinstance(root, ast.If) for inner in ast.walk(root)
    }
    return quiet | {id(root) for root in roots}


def _names_a_type(node: ast.Assign) -> bool:
    """Whether an assignment is a type alias by its look, or ``__slots__``, ``__all__``.

    An alias is named in CapWords and put together of names, subscripts and ``|`` alone.
    """
    name = ast.unparse(node.targets[0])
    if name.startswith("__"):
        return True
    capitals = name.lstrip("_")[:1].isupper() and not name.isupper()
    return capitals and isinstance(node.value, ast.Subscript | ast.BinOp | ast.Name)


def _set(node: Any, name: str, value: ast.AST) -> _Change:
    before = ast.unparse(node) if not isinstance(node, ast.If | ast.While) else ""
    changed = copy.copy(node)
    setattr(changed, name, value)
    shown = f"{before}  ->  {ast.unparse(changed)}" if before else f"if not {_head(node)}"
    return node, shown[:160], lambda: setattr(node, name, value)


def _head(node: ast.If | ast.While) -> str:
    return ast.unparse(node.test)


def _compared(node: ast.Compare) -> Iterator[_Change]:
    for at, operator in enumerate(node.ops):
        other = [*node.ops]
        other[at] = _COMPARISONS[type(operator)]()
        changed = ast.Compare(node.left, other, node.comparators)
        shown = f"{ast.unparse(node)}  ->  {ast.unparse(changed)}"
        yield node, shown, lambda other=other: setattr(node, "ops", other)  # type: ignore[misc]


def _constant(node: ast.Constant) -> Iterator[_Change]:
    value = node.value
    others: list[Any] = []
    if isinstance(value, bool):
        others = [not value]
    elif isinstance(value, int):
        others = [value + 1]
    elif isinstance(value, float):
        others = [value * 1.5 + 0.1]
    elif isinstance(value, str) and len(value) <= _SHORT and " " not in value:
        others = [f"{value}~"]
    for other in others:
        change = f"{value!r}  ->  {other!r}"
        yield node, change, lambda other=other: setattr(node, "value", other)  # type: ignore[misc]


def _rows(node: ast.Dict | ast.Tuple | ast.List | ast.Set) -> Iterator[_Change]:
    """A row left out, and two neighbouring values of a dictionary swapped."""
    values = node.values if isinstance(node, ast.Dict) else node.elts
    if isinstance(getattr(node, "ctx", ast.Load()), ast.Store) or len(values) < 3:
        return
    for at, value in enumerate(values):
        yield value, f"without row {ast.unparse(value)[:60]}", lambda at=at: _drop(node, at)  # type: ignore[misc]
    if isinstance(node, ast.Dict):
        for at in range(len(values) - 1):
            if ast.dump(values[at]) != ast.dump(values[at + 1]):
                change = f"swapped {ast.unparse(values[at])[:40]} and the next"
                yield values[at], change, lambda at=at: _swap(node, at)  # type: ignore[misc]


def _drop(node: Any, at: int) -> None:
    if isinstance(node, ast.Dict):
        del node.keys[at], node.values[at]
    else:
        del node.elts[at]


def _swap(node: ast.Dict, at: int) -> None:
    node.values[at], node.values[at + 1] = node.values[at + 1], node.values[at]


class _Replaced(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives one module other code than its file has; a plugin of pytest.

    It goes before pytest's own importer, which takes the files that are named on its command line.
    """

    def __init__(self, name: str, code: CodeType) -> None:
        self.name = name
        self.code = code

    def pytest_sessionstart(self) -> None:
        assert self.name not in sys.modules
        sys.meta_path.insert(0, self)

    def find_spec(
        self, name: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> importlib.machinery.ModuleSpec | None:
        if name != self.name:
            return None
        spec = importlib.machinery.PathFinder.find_spec(name, path, target)
        assert spec is not None
        spec.loader = self
        return spec

    def exec_module(self, module: ModuleType) -> None:
        exec(self.code, module.__dict__)


def run(name: str, code: CodeType | None, limit: float) -> tuple[str, float]:
    """Run a module's tests in a fork, with other code for it; the fate and the seconds."""
    begun = time.perf_counter()
    child = os.fork()
    if child == 0:
        _live(name, code, limit)
    _, status = os.waitpid(child, 0)
    seconds = time.perf_counter() - begun
    if os.WIFSIGNALED(status):
        return ("late" if os.WTERMSIG(status) == signal.SIGALRM else "killed"), seconds
    return ("survived" if os.WEXITSTATUS(status) == 0 else "killed"), seconds


def _live(name: str, code: CodeType | None, limit: float) -> None:
    """The life of a fork; it never returns."""
    signal.alarm(round(limit))
    resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30))
    nothing = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nothing, stream)
    plugins = [] if code is None else [_Replaced(name, code)]
    loaded = "ignore::pytest.PytestAssertRewriteWarning"
    options = ["-x", "-q", "-n", "0", "-p", "no:cacheprovider", "-W", loaded]
    try:
        status = int(pytest.main([*options, *tests_of(name)], plugins))
    except BaseException:
        status = 1
    os._exit(status)


def tests_of(name: str) -> list[str]:
    """The files that are run for a module, those that are there."""
    folder = Path("tests/analysis" if name.startswith("analysis") else "tests/app")
    own = Path(*name.split(".")).with_suffix(".py")
    tests = [folder / f"{test}.py" for test in TARGETS[name]]
    doctests = [str(own)] if name.startswith("analysis") else []
    return doctests + [str(path) for path in tests if path.exists()]


def measure(names: Sequence[str], sample: int, seed: int) -> list[Verdict]:
    """The fate of each mutant of these modules, or of a sample of each."""
    verdicts = []
    for name in names:
        path = Path(*name.split(".")).with_suffix(".py")
        found, total = mutants(path.read_text("utf-8"), str(path), sample, seed)
        fate, seconds = run(name, None, 600)
        if fate != "survived":
            raise RuntimeError(f"the tests of {name} fail by themselves")
        print(f"== {name}: {len(found)} of {total} mutants, {seconds:.1f} s a run", flush=True)
        for mutant in found:
            fate, _ = run(name, mutant.code, max(LEAST, TIMES * seconds))
            verdicts.append(Verdict(name, mutant.line, mutant.change, fate))
            if fate == "survived":
                print(f"   {path}:{mutant.line}: {mutant.change}", flush=True)
        killed = sum(one.fate != "survived" for one in verdicts if one.module == name)
        print(f"   {killed} of {len(found)} noticed", flush=True)
    return verdicts


def main() -> int:
    """Run what the command line asks for."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.mutations")
    parser.add_argument("modules", nargs="*", default=list(TARGETS), metavar="MODULE")
    parser.add_argument("--sample", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", type=Path)
    chosen = parser.parse_args()
    verdicts = measure(chosen.modules, chosen.sample, chosen.seed)
    rows = []
    for name in chosen.modules:
        fates = [one.fate for one in verdicts if one.module == name]
        rows.append({"name": name, "value": 1 - fates.count("survived") / len(fates),
                     "mutants": len(fates), "survived": fates.count("survived"),
                     "late": fates.count("late")})  # fmt: skip
        print("{name:<32} {value:>6.1%}  {survived} of {mutants} survived".format(**rows[-1]))
    survivors = [
        {"module": one.module, "line": one.line, "change": one.change}
        for one in verdicts
        if one.fate == "survived"
    ]
    if chosen.json:
        chosen.json.write_text(json.dumps({"figures": rows, "survivors": survivors}, indent=1))
    return 0 if all(row["value"] >= 0.9 for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
