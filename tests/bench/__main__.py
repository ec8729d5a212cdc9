"""Run benchmarks: ``python -m tests.bench NAME --json OUT``, or ``all`` of them.

Each module named here has ``measure``, which returns figures as plain dictionaries: at least
``name``, ``value``, ``limit`` (None where none is asked for) and ``holds``. A table is printed, the
JSON is the list of all figures, and the exit is 1 where one misses its limit.
"""

from __future__ import annotations

import argparse
import json
import sys
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final

#: In the order in which ``all`` runs them.
NAMES: Final = ("accuracy", "melody", "openings", "interaction", "journals", "pictures", "speed")


def main() -> int:
    """Run what the command line asks for."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    known = [name for name in NAMES if find_spec(f"tests.bench.{name}")]
    parser.add_argument("name", choices=[*known, "all"])
    parser.add_argument("--json", type=Path, help="where to write the figures")
    parser.add_argument("--scores", type=Path, help="accuracy: a folder of scores")
    parser.add_argument("--reference", type=Path, help="accuracy: a folder of reference JSON")
    parser.add_argument(
        "--slow",
        action="store_true",
        help="accuracy: all madrigals too (minutes); without it the bench takes under five minutes",
    )
    parser.add_argument("--quick", action="store_true", help="speed: short scores only")
    parser.add_argument("--seed", default="", help="melody: a word that draws other songs")
    chosen = parser.parse_args()
    if (chosen.scores is None) != (chosen.reference is None):
        parser.error("--scores and --reference go together")
    figures: list[dict[str, Any]] = []
    for name in known if chosen.name == "all" else [chosen.name]:
        print(f"== {name}", file=sys.stderr)
        measure = import_module(f"tests.bench.{name}").measure
        options: dict[str, Any] = {}
        if name == "accuracy" and chosen.scores is not None:
            options = {"scores": chosen.scores, "reference": chosen.reference}
        elif name == "accuracy":
            options = {"slow": chosen.slow}
        elif name == "melody":
            options = {"seed": chosen.seed}
        elif name == "speed":
            options = {"quick": chosen.quick}
        figures += measure(**options)
    table = ""
    for figure in figures:
        if figure["name"].partition(":")[0] != table:
            table = figure["name"].partition(":")[0]
            print()
        print(_row(figure))
    if chosen.json:
        chosen.json.write_text(json.dumps(figures, indent=1, ensure_ascii=False) + "\n", "utf-8")
    return 0 if all(figure["holds"] for figure in figures) else 1


def _row(figure: dict[str, Any]) -> str:
    limit = "" if figure["limit"] is None else f"limit {figure['limit']:g}"
    verdict = "" if figure["limit"] is None else ("holds" if figure["holds"] else "MISSED")
    beside = "".join(
        f"  {name} {figure[name]:.1f}" for name in ("music21", "fitted") if name in figure
    )
    return (
        f"{figure['name']:<52} {figure['value']:>10.3f}  {limit:<14} {verdict:<6}{beside}".rstrip()
    )


if __name__ == "__main__":
    sys.exit(main())
