"""What every test shares: no display, no settings of the machine's user, repeatable properties.

The platform is set before anything can import Qt. Settings, state and sockets go to a folder that
lives as long as the run. Hypothesis has no deadline, since a busy machine is no defect, and draws
the same examples each time, so that the gate says the same thing twice. ``--full`` draws many more,
fresh ones, and runs the slow sweeps too. ``--shuffle SEED`` runs all tests in another order, which
must make no difference; a pair that cannot be parted is found by the seed.
"""

import os
import tempfile
from random import Random

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
    parser.addoption("--shuffle", type=int, metavar="SEED", help="run the tests in another order")


def pytest_configure(config: pytest.Config) -> None:
    home = tempfile.TemporaryDirectory(prefix="overstave-tests-")
    config.add_cleanup(home.cleanup)
    for kind in ("CONFIG_HOME", "DATA_HOME", "STATE_HOME", "RUNTIME_DIR"):
        os.environ[f"XDG_{kind}"] = os.path.join(home.name, kind)
        os.mkdir(os.environ[f"XDG_{kind}"], mode=0o700)
    settings.load_profile("full" if config.getoption("--full") else "gate")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    seed = config.getoption("--shuffle")
    if seed is not None:
        Random(seed).shuffle(items)
    if config.getoption("--full"):
        return
    skip = pytest.mark.skip(reason="a slow sweep: run with --full")
    for test in items:
        if test.get_closest_marker("full"):
            test.add_marker(skip)
