"""One process of the speed bench: it measures what the command line names and prints JSON.

``python -m tests.bench.speed_runs analysis 400`` measures reading and analysing beside music21,
``window 400`` the window beside verovio and Qt, ``growth`` the analysis of pieces ten times as
long. Each is a process of its own, so that its peak of memory is that of its work.
"""

from __future__ import annotations

import json
import sys

from tests.bench.speed_measures import measure_analysis, measure_growth
from tests.bench.speed_windows import measure_window


def main() -> None:
    """Measure what the command line names."""
    what, *sizes = sys.argv[1:]
    if what == "growth":
        print(json.dumps(measure_growth()))
    else:
        measure = {"analysis": measure_analysis, "window": measure_window}[what]
        print(json.dumps(measure(int(sizes[0]))))


if __name__ == "__main__":
    main()
