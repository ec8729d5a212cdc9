"""The set-up is of one piece: locks, settings and the shape of the tree."""

import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def read_pins(lock: str) -> dict[str, str]:
    lines = (ROOT / lock).read_text(encoding="utf-8").splitlines()
    pins = [line.removesuffix(" \\").split("==") for line in lines if "==" in line]
    return {canonicalize_name(name): version for name, version in pins}


@pytest.mark.parametrize(
    ("lock", "wanted"),
    [
        ("app/requirements.txt", PROJECT["dependencies"]),
        ("tests/requirements.txt", PROJECT["dependencies"]),
        ("tests/requirements.txt", PROJECT["optional-dependencies"]["test"]),
    ],
)
def test_lock_holds_what_the_project_asks_for(lock: str, wanted: list[str]) -> None:
    pins = read_pins(lock)
    requirements = [Requirement(line) for line in wanted]
    refused = [
        str(requirement)
        for requirement in requirements
        if not requirement.specifier.contains(pins.get(canonicalize_name(requirement.name), "0"))
    ]
    assert refused == [], f"{lock} is older than pyproject.toml: lock anew (DEVELOPERS.md, Tests)"


def test_program_and_tests_run_on_the_same_versions() -> None:
    tested = read_pins("tests/requirements.txt")
    assert read_pins("app/requirements.txt").items() <= tested.items()


def test_no_source_file_is_over_400_lines() -> None:
    sources = [path for folder in ("analysis", "app") for path in (ROOT / folder).rglob("*.py")]
    assert sources
    long = {
        str(path.relative_to(ROOT)): count
        for path in sources
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > 400
    }
    assert long == {}
