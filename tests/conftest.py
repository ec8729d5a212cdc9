"""What every test shares: no display, repeatable properties, and sweeps on request.

The platform is set before anything can import Qt. Hypothesis has no deadline, since a busy machine
is no defect, and draws the same examples each time, so that the gate says the same thing twice;
with ``--full`` it draws many more, fresh ones.
"""

import os

os.environ["QT_QPA_PLATFORM"] = "offscreen"

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile(
    "gate",
    deadline=None,
    derandomize=True,
    max_examples=50,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(
    "full", settings.get_profile("gate"), derandomize=False, max_examples=1000
)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--full", action="store_true", help="run the slow sweeps too")


def pytest_configure(config: pytest.Config) -> None:
    settings.load_profile("full" if config.getoption("--full") else "gate")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--full"):
        return
    skip = pytest.mark.skip(reason="a slow sweep: run with --full")
    for test in items:
        if test.get_closest_marker("full"):
            test.add_marker(skip)
