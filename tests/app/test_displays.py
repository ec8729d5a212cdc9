"""What is said where no window can be shown, by the command itself in a process of its own."""

import os
import shutil
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from app.displays import missing_display

linux = pytest.mark.skipif(sys.platform != "linux", reason="elsewhere there is always a display")


def start(**told: str) -> subprocess.CompletedProcess[str]:
    """The command that opens a window, where these variables alone say what display there is."""
    names = {"DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM", "XDG_RUNTIME_DIR"}
    environment = {name: value for name, value in os.environ.items() if name not in names}
    return subprocess.run(
        [sys.executable, "-m", "app", "song.musicxml"],
        env=environment | told, capture_output=True, text=True, timeout=60,
    )  # fmt: skip


@linux
def test_without_a_display_the_command_says_so() -> None:
    done = start()
    assert done.returncode == 1
    assert done.stderr.startswith("overstave: There is no display")


@linux
@pytest.mark.parametrize(
    "told",
    [
        {"DISPLAY": ":987"},
        {"DISPLAY": "no display at all"},
        {"WAYLAND_DISPLAY": "wayland-987", "XDG_RUNTIME_DIR": "/nowhere"},
        {"DISPLAY": ":987", "WAYLAND_DISPLAY": "wayland-987"},
        {"DISPLAY": ":987", "QT_QPA_PLATFORM": "xcb"},
    ],
)
def test_a_display_that_does_not_answer_is_named_and_nothing_aborts(told: dict[str, str]) -> None:
    done = start(**told)
    assert done.returncode == 1
    (line,) = done.stderr.splitlines()
    assert line.startswith("overstave: The display")
    assert "does not answer" in line
    assert any(f"“{name}”" in line for name in told.values())


@linux
def test_a_display_that_answers_is_believed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)  # the path of a socket must be short
    with socket.socket(socket.AF_UNIX) as server:
        server.bind("wayland-1")
        server.listen()
        told = {"XDG_RUNTIME_DIR": ".", "WAYLAND_DISPLAY": "wayland-1"}
        assert missing_display(told) == ""
        assert missing_display({**told, "DISPLAY": ":987"}) == ""
        assert missing_display({**told, "DISPLAY": ":987", "QT_QPA_PLATFORM": "xcb"})
    assert missing_display({"QT_QPA_PLATFORM": "offscreen"}) == ""


@pytest.mark.skipif(shutil.which("Xvfb") is None, reason="needs a virtual X server")
def test_an_x_server_that_answers_is_believed_until_it_goes() -> None:
    reading, writing = os.pipe()
    with subprocess.Popen(
        ["Xvfb", "-displayfd", str(writing), "-nolisten", "tcp"],
        pass_fds=(writing,), stderr=subprocess.DEVNULL,
    ) as server:  # fmt: skip
        os.close(writing)
        with os.fdopen(reading) as told:
            name = f":{told.readline().strip()}"
        assert missing_display({"DISPLAY": name}) == ""
        server.terminate()
    assert name in missing_display({"DISPLAY": name})
