"""Broken files by the thousand, each opened by a process that may die of it.

    python -m tests.faults.fuzz CASES [--first NUMBER] [--json OUT]

A case is known by its number alone, so what goes wrong once goes wrong again. Two promises are
checked beside those of `tests.faults.watched`: the sentence of a refusal is one that people can
read, and a file outside the folder, which many cases try to reach, is never read: the time of its
last reading stays, and its content comes out nowhere.
"""

from __future__ import annotations

import argparse
import json
import os
import selectors
import subprocess
import sys
import tempfile
import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

#: One case in so many goes the whole path: engraved, exported, drawn.
WHOLE = 10
#: Seconds without an answer after which a process counts as hung, whatever the processor does.
PATIENCE = 300.0
_SECRET = "a secret that must stay where it is"


@dataclass
class Outcome:
    """What became of some cases."""

    counts: Counter[str] = field(default_factory=Counter)
    errors: Counter[str] = field(default_factory=Counter)
    wrong: list[dict[str, Any]] = field(default_factory=list)
    cut: list[dict[str, Any]] = field(default_factory=list)

    def add(self, said: dict[str, Any]) -> None:
        """Take in an answer."""
        self.counts[said["outcome"]] += 1
        if said["outcome"] == "refused":
            self.errors[said["error"]] += 1
        if said["outcome"] in ("hung", "died"):
            self.cut.append(said)
        if said["outcome"] == "uncaught" or said.get("strayed") or not readable(said):
            self.wrong.append(said)


def readable(said: dict[str, Any]) -> bool:
    """Whether a refusal is a sentence for people."""
    sentence = said.get("sentence")
    if sentence is None:
        return True
    clean = not any(unicodedata.category(one) == "Cc" for one in sentence)
    return (
        clean and len(sentence) < 400 and sentence.endswith(".") and _SECRET not in json.dumps(said)
    )


class Process:
    """A process that opens cases, replaced when it dies."""

    def __init__(self, folder: Path, secret: Path) -> None:
        self._arguments = [sys.executable, "-m", "tests.faults.watched", str(folder), str(secret)]
        self._folder = folder
        self._start()

    def run(self, number: int, whole: bool) -> dict[str, Any]:
        """What becomes of a case."""
        assert self._process.stdin
        self._process.stdin.write(json.dumps([number, whole]).encode() + b"\n")
        self._process.stdin.flush()
        said: dict[str, Any] = {"case": number, "phase": "start"}
        while "outcome" not in said:
            line = self._line()
            if line is None:
                return self._mourn(said, "hung")
            if not line:
                hung = self._process.wait() == -_PROF
                return self._mourn(said, "hung" if hung else "died")
            said = {**said, **json.loads(line)}
        return said

    def close(self) -> None:
        """End it."""
        self._process.kill()
        self._process.communicate()
        self._errors.close()

    def _start(self) -> None:
        self._errors = tempfile.TemporaryFile()  # noqa: SIM115 - open as long as the process lives
        environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "OMP_NUM_THREADS": "1"}
        self._process = subprocess.Popen(
            self._arguments,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._errors,
            env={**environment, "MALLOC_ARENA_MAX": "2", "OPENBLAS_NUM_THREADS": "1"},
            bufsize=0,
        )
        assert self._process.stdout
        self._rest = b""
        self._selector = selectors.DefaultSelector()
        self._selector.register(self._process.stdout, selectors.EVENT_READ)

    def _line(self) -> bytes | None:
        """The next line; None where none comes, empty where the process has ended."""
        assert self._process.stdout
        while b"\n" not in self._rest:
            if not self._selector.select(PATIENCE):
                return None
            piece = os.read(self._process.stdout.fileno(), 65536)
            if not piece:
                return b""
            self._rest += piece
        line, _, self._rest = self._rest.partition(b"\n")
        return line

    def _mourn(self, said: dict[str, Any], outcome: str) -> dict[str, Any]:
        self._process.kill()
        code = self._process.wait()
        self._errors.seek(0)
        words = self._errors.read().decode(errors="replace")[-1500:]
        if said["phase"] == "start":
            raise RuntimeError(f"the process dies before it opens anything: {words}")
        self.close()
        for left in self._folder.iterdir():
            left.unlink()
        self._start()
        return {**said, "outcome": outcome, "code": code, "words": words}


_PROF = 27


def fuzz(numbers: Iterable[tuple[int, bool]]) -> Iterator[dict[str, Any]]:
    """What becomes of cases, each with whether it goes the whole path."""
    with tempfile.TemporaryDirectory(prefix="overstave-broken-") as name:
        folder, secret = Path(name) / "songs", Path(name) / "secret.xml"
        folder.mkdir()
        secret.write_text(f"<score-partwise>{_SECRET}</score-partwise>")
        os.utime(secret, (1_000_000, 2_000_000_000))
        process = Process(folder, secret)
        try:
            for number, whole in numbers:
                yield process.run(number, whole)
        finally:
            process.close()
        assert secret.stat().st_atime == 1_000_000, "a file outside the folder was read"
        secret.read_text()
        assert secret.stat().st_atime != 1_000_000, "reading leaves no trace here, so none is proof"


def main() -> None:
    """Run cases and print what became of them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("cases", type=int)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument(
        "--whole", type=int, default=WHOLE, help="one in so many goes the whole path"
    )
    parser.add_argument("--json", type=Path, help="write what went wrong or was cut here")
    chosen = parser.parse_args()
    outcome = Outcome()
    numbers = range(chosen.first, chosen.first + chosen.cases)
    for done, said in enumerate(
        fuzz((number, number % chosen.whole == 0) for number in numbers), 1
    ):
        outcome.add(said)
        if outcome.wrong and outcome.wrong[-1] is said:
            print(json.dumps(said)[:600], file=sys.stderr, flush=True)
        if done % 500 == 0:
            print(done, dict(outcome.counts), file=sys.stderr, flush=True)
        if chosen.json:
            chosen.json.write_text(
                json.dumps({"wrong": outcome.wrong, "cut": outcome.cut}, indent=1)
            )
    print(dict(outcome.counts), dict(outcome.errors), len(outcome.wrong), "wrong")
    sys.exit(bool(outcome.wrong))


if __name__ == "__main__":
    main()
