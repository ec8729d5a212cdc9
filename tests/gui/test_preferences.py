"""A file of settings that something else wrote: every value is the right one or the usual one."""

from pathlib import Path

import pytest
from PySide6.QtCore import QSettings

from app.preferences import Preferences


def preferences(folder: Path, text: str) -> Preferences:
    path = folder / "settings.ini"
    path.write_text(f"[General]\n{text}\n", encoding="utf-8")
    return Preferences(QSettings(str(path), QSettings.Format.IniFormat))


@pytest.mark.parametrize(
    "value",
    [
        "@ByteArray(abc)",
        "@Invalid()",
        "/" + "x" * 5000,
        "a\\x0b",
        "@Size(9 9)",
        "@Variant(\\xff\\xff)",
        "x, @Point(1 2)",
    ],
)
def test_recent_files_are_those_that_there_are(tmp_path: Path, value: str) -> None:
    assert preferences(tmp_path, f"recent={value}").recent == []
    there = tmp_path / "settings.ini"
    assert preferences(tmp_path, f"recent={there}, {value}").recent == [there]


@pytest.mark.parametrize("value", ["@ByteArray(abc)", "@Point(1 2)", "@Size(9 9)"])
def test_hidden_layers_are_texts(tmp_path: Path, value: str) -> None:
    assert preferences(tmp_path, f"hidden_layers={value}").hidden_layers == []
    assert preferences(tmp_path, "").hidden_layers == ["degrees"]
    assert preferences(tmp_path, "hidden_layers=keys").hidden_layers == ["keys"]
