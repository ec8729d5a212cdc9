"""The commands as scripts rely on them: exit codes, one sentence, nothing half-written."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from lxml import etree

import sample_scores
from analysis.sources import read_source
from app.cli import run

SONG = Path(sample_scores.__path__[0]) / "wednesday-table.musicxml"
BLUES = next(Path(sample_scores.__path__[0]).glob("slow*.musicxml"))


def sentence(capsys: pytest.CaptureFixture[str]) -> str:
    """The last line on standard error."""
    return capsys.readouterr().err.strip().splitlines()[-1]


def test_marks_on_standard_output_are_json_and_nothing_else(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["marks", str(SONG), "--json", "-"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["source"]["name"] == SONG.name
    assert found["chords"]
    assert found["marks"]


def test_marks_of_many_scores_go_on_after_one_that_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = tmp_path / "bad.musicxml"
    bad.write_text("<score-partwise>")
    out = tmp_path / "deep" / "marks"
    assert run(["marks", str(bad), str(SONG), str(BLUES), "--into", str(out)]) == 1
    assert {path.name for path in out.iterdir()} == {f"{SONG.stem}.json", f"{BLUES.stem}.json"}
    told = capsys.readouterr().err
    assert "bad.musicxml" in told
    assert "Traceback" not in told


def test_scores_of_one_name_do_not_write_over_each_other(tmp_path: Path) -> None:
    assert run(["marks", str(SONG), str(SONG), "--into", str(tmp_path)]) == 0
    assert len(list(tmp_path.iterdir())) == 2


def test_switches_reach_the_analysis(tmp_path: Path) -> None:
    one, other = tmp_path / "one.json", tmp_path / "other.json"
    assert run(["marks", str(SONG), "--json", str(one)]) == 0
    assert run(["marks", str(SONG), "--json", str(other), "--ignore-rehearsal-marks"]) == 0
    names = [[s["name"] for s in json.loads(p.read_text())["sections"]] for p in (one, other)]
    assert "Pre-chorus" in names[0]
    assert "Pre-chorus" not in names[1]


def test_an_unknown_melody_part_is_named_with_those_there_are(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["marks", str(SONG), "--json", "-", "--melody", "Kazoo"]) == 1
    assert "Kazoo" in (told := sentence(capsys))
    assert "Voice" in told


def test_annotating_and_stripping_gives_the_score_back(tmp_path: Path) -> None:
    marked, again = tmp_path / "marked.musicxml", tmp_path / "again.musicxml"
    assert run(["annotate", str(SONG), "--out", str(marked)]) == 0
    assert marked.read_bytes() != SONG.read_bytes()
    assert run(["strip", str(marked), "--out", str(again)]) == 0
    original = read_source(SONG).original
    assert canonical(again.read_bytes()) == canonical(original)


@pytest.mark.parametrize(
    "arguments",
    [
        ["marks", "missing.musicxml", "--json", "-"],
        ["annotate", "missing.musicxml", "--out", "x.musicxml"],
        ["strip", "missing.musicxml", "--out", "x.musicxml"],
        ["stills", "missing.musicxml", "--out", "x"],
        ["cards", "missing.musicxml", "--out", "x"],
        ["all", "missing.musicxml", "--out", "x"],
        ["outline", "missing.musicxml", "--out", "x.md"],
        ["outline", str(SONG), "--out", "no/such/folder/x.md"],
        ["timeline", "missing.musicxml", "--out", "x.otio"],
        ["timeline", str(SONG), "--out", "x.mov"],
        ["timeline", str(SONG), "--out", "x.otio", "--rate", "26"],
        [
            "timeline",
            str(SONG),
            "--out",
            "x.otio",
            "--rate",
            "29.97-drop",
            "--start",
            "00:01:00;00",
        ],
        ["annotate", str(SONG), "--out", "x.musicxml", "--review", "missing.review.json"],
        ["annotate", str(SONG), "--out", "no/such/folder/x.musicxml"],
    ],
)
def test_a_named_error_is_one_sentence_and_leaves_nothing(
    arguments: list[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(arguments) == 1
    told = capsys.readouterr()
    assert told.err.strip().splitlines()[-1].startswith("overstave: ")
    assert "Traceback" not in told.err
    assert not told.out
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    "arguments",
    [
        ["marks"],
        ["marks", "a.xml", "b.xml", "--json", "-"],
        ["marks", "a.xml", "--json", "-", "--into", "b"],
        ["annotate", "a.xml"],
        ["stills", "a.xml", "--out", "b", "--size", "large"],
        ["timeline", "a.xml", "--out", "b.otio", "--first-note", "soon"],
        ["--nonsense"],
    ],
)
def test_bad_use_exits_with_two(arguments: list[str]) -> None:
    with pytest.raises(SystemExit) as exit_:
        run(arguments)
    assert exit_.value.code == 2


def test_help_has_examples_and_loads_no_library() -> None:
    script = (
        "import sys, app.cli\n"
        "try: app.cli.run(['--help'])\n"
        "except SystemExit: pass\n"
        "heavy = {'music21', 'verovio', 'PySide6', 'lxml', 'numpy'} & set(sys.modules)\n"
        "sys.exit(f'loaded {heavy}' if heavy else 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert "overstave marks song.musicxml --json -" in done.stdout


def canonical(xml: bytes) -> bytes:
    return etree.tostring(etree.fromstring(xml), method="c14n")
