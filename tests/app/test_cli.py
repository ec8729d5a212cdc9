"""The commands as scripts rely on them: exit codes, one sentence, nothing half-written."""

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

import sample_scores
from analysis.reading.sources import read_source
from app.cli import run
from app.export.talking_points import talking_points
from app.review.document import Decision, SourceInfo
from app.review.storage import write_review
from tests.app.reviews import read_sample

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
        ["annotate", str(SONG), "--out", "no/such/folder/x.pdf"],
        ["stills", str(SONG), "--out", "x", "--measures", "99"],
        ["stills", str(SONG), "--out", "x", "--measures", "8-5"],
        ["stills", str(SONG), "--out", "x", "--section", "Bridge 9"],
        ["stills", str(SONG), "--out", "x", "--span", "9000:9001"],
        ["stills", str(SONG), "--out", "x", "--only", "99"],
        ["stills", str(SONG), "--out", "x", "--parts", "Kazoo"],
        ["stills", str(SONG), "--out", "x", "--names", "{colour}"],
        ["stills", str(SONG), "--out", "x", "--theme", "none"],
        ["table", str(SONG), "--out", "x.doc"],
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
    ("arguments", "told"),
    [
        (["marks", "--json", "no/x.json"], "There is no folder no"),
        (["marks", "--json", "taken/x.json"], "There is no folder taken"),
        (["marks", "--json", "here"], "here is a folder"),
        (["annotate", "--out", "no/x.musicxml"], "There is no folder no"),
        (["annotate", "--out", "no/x.pdf"], "There is no folder no"),
        (["annotate", "--out", "x.mid"], ".musicxml"),
        (["strip", "--out", "no/x.xml"], "There is no folder no"),
        (["table", "--out", "x.doc"], ".csv"),
        (["table", "--out", "no/x.csv"], "There is no folder no"),
        (["outline", "--out", "no/x.md"], "There is no folder no"),
        (["timeline", "--out", "x.mov"], ".otio"),
        (["timeline", "--out", "no/x.srt"], "There is no folder no"),
        *(
            ([command, "--out", out], f"{out.partition('/')[0]} is no folder")
            for command in ("stills", "cards", "reveals", "form", "all")
            for out in ("taken", "taken/deeper")
        ),
        (["stills", "--out", "x", "--names", "{colour}"], "{colour}"),
        (["cards", "--out", "x", "--theme", "none"], "none"),
    ],
)
def test_where_a_result_goes_is_looked_at_before_anything_is_read(
    arguments: list[str],
    told: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "here").mkdir()
    (tmp_path / "taken").write_text("mine")
    command, *switches = arguments
    assert run([command, str(SONG), *switches]) == 1
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith("overstave: ")
    assert told in line
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["here", "taken"]
    assert (tmp_path / "taken").read_text() == "mine"


def test_a_folder_that_cannot_be_written_is_named_before_anything_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    # Whoever runs the tests may write everywhere, so the system's answer is stood in for.
    monkeypatch.setattr(os, "access", lambda path, mode: False)
    for arguments in (["annotate", str(tmp_path / "x.xml")], ["cards", str(tmp_path / "x")]):
        command, out = arguments
        assert run([command, str(SONG), "--out", out]) == 1
        (line,) = capsys.readouterr().err.splitlines()
        assert f"Nothing can be written into {tmp_path}" in line


@pytest.mark.parametrize(
    "arguments",
    [
        ["marks"],
        ["marks", "a.xml", "b.xml", "--json", "-"],
        ["marks", "a.xml", "--json", "-", "--into", "b"],
        ["annotate", "a.xml"],
        ["stills", "a.xml", "--out", "b", "--size", "large"],
        ["stills", "a.xml", "--out", "b", "--kinds", "gif"],
        ["stills", "a.xml", "--out", "b", "--only", "first"],
        ["stills", "a.xml", "--out", "b", "--layers", "colours"],
        ["stills", "a.xml", "--out", "b", "--span", "5:4"],
        ["stills", "a.xml", "--out", "b", "--ground", "red"],
        ["reveals", "a.xml", "--out", "b", "--steps", "score,score"],
        ["reveals", "a.xml", "--out", "b", "--steps", "colours"],
        ["timeline", "a.xml", "--out", "b.otio", "--first-note", "soon"],
        ["timeline", "a.xml", "--out", "b.otio", "--rate", "7x"],
        ["timeline", "a.xml", "--out", "b.otio", "--start", "soon"],
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


def listed(folder: Path) -> list[str]:
    """The files that a folder's manifest lists, all of which are there."""
    files = [row["file"] for row in json.loads((folder / "manifest.json").read_text())]
    assert all((folder / file).is_file() for file in files)
    return files


def test_pictures_are_named_chosen_and_made_as_the_switches_say(tmp_path: Path) -> None:
    out = tmp_path / "cards"
    arguments = ["cards", str(BLUES), "--out", str(out), "--size", "480x270"]
    more = ["--only", "2-3", "--names", "{song} {number}", "--kinds", "svg,pdf"]
    assert run([*arguments, *more]) == 0
    files = listed(out)
    assert [file[-6:] for file in files] == ["02.svg", "03.svg"]
    assert {path.suffix for path in out.iterdir()} == {".svg", ".pdf", ".json"}


def test_stills_of_measures_sections_spans_and_pages(tmp_path: Path) -> None:
    out = tmp_path / "stills"
    where = ["--measures", "5-6", "--section", "verse 2", "--span", "16:20", "--pages", "--whole"]
    assert run(["stills", str(SONG), "--out", str(out), "--size", "480x270", *where]) == 0
    rows = json.loads((out / "manifest.json").read_text())
    assert [row["file"] for row in rows[:3]] == [
        "measures-5-6.png",
        "section-verse-2.png",
        "span-16-20.png",
    ]
    assert rows[0]["measures"] == [["5", "6"]]
    assert rows[2]["span"] == {"onset": 16.0, "duration": 4.0}
    pages = rows[3:]
    assert [row["file"] for row in pages] == [f"page-{n + 1}.png" for n in range(len(pages))]
    assert pages


def test_reveals_have_the_steps_that_are_asked_for_in_their_order(tmp_path: Path) -> None:
    out = tmp_path / "reveals"
    arguments = ["reveals", str(SONG), "--out", str(out), "--size", "480x270", "--only", "1"]
    assert run([*arguments, "--steps", "sentence,score"]) == 0
    assert [file.rsplit("-", 1)[-1] for file in listed(out)] == [
        "sentence.png",
        "added.png",
        "score.png",
        "added.png",
    ]


@pytest.mark.parametrize(
    "command",
    [["marks", "--json"], ["annotate", "--out"], ["strip", "--out"], ["outline", "--out"]],
)
def test_what_is_read_is_never_written_over(
    command: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    score, link = tmp_path / "song.musicxml", tmp_path / "link.musicxml"
    score.write_bytes(BLUES.read_bytes())
    link.symlink_to(score)
    for out in (score, link):
        assert run([command[0], str(score), command[1], str(out)]) == 1
        assert "never written over" in sentence(capsys)
    assert score.read_bytes() == BLUES.read_bytes()
    assert link.is_symlink()


def test_a_review_is_never_written_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source, document = read_sample(BLUES.stem)
    info = SourceInfo(BLUES.name, str(BLUES), source.digest)
    review = tmp_path / "song.review.json"
    write_review(review, replace(document, source=info))
    before = review.read_bytes()
    assert run(["table", str(review), "--out", str(review)]) == 1
    assert run(["table", str(BLUES), "--review", str(review), "--out", str(review)]) == 1
    assert "never written over" in sentence(capsys)
    assert review.read_bytes() == before


@pytest.mark.parametrize("command", ["annotate", "strip"])
def test_a_score_is_not_written_under_the_name_of_another_format(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([command, str(BLUES), "--out", str(tmp_path / "song.mxl")]) == 1
    assert "song.mxl" in sentence(capsys)
    assert not list(tmp_path.iterdir())


def test_a_review_file_stands_for_its_score(tmp_path: Path) -> None:
    score = tmp_path / "song.musicxml"
    score.write_bytes(SONG.read_bytes())
    source, document = read_sample("wednesday-table")
    first = talking_points(document)[0]
    document = replace(document, decisions={first.id: Decision("edited", sentence="Mine.")})
    info = SourceInfo(score.name, str(score), source.digest)
    write_review(tmp_path / "song.review.json", replace(document, source=info))
    table = tmp_path / "song.csv"
    assert run(["table", str(tmp_path / "song.review.json"), "--out", str(table)]) == 0
    assert "Mine." in table.read_text()


def test_exporting_again_says_that_nothing_has_changed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["cards", str(BLUES), "--out", str(tmp_path / "c"), "--size", "480x270"]
    for said in ("2 new, 0 changed, 0 unchanged", "0 new, 0 changed, 2 unchanged"):
        assert run([*arguments, "--only", "1"]) == 0
        assert said in sentence(capsys)
