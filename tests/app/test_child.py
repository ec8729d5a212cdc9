"""A worker process by itself: it ends when its window does, however that ends."""

import pickle
import subprocess
import sys
from collections.abc import Iterator

import pytest

from app.worker.messages import Request

JOB = Request(1, "tests.gui.jobs:measure", (bytes(1000),), 60.0)


@pytest.fixture
def child() -> Iterator[subprocess.Popen[bytes]]:
    command = [sys.executable, "-m", "app.worker.child"]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as child:
        yield child
        child.kill()


@pytest.mark.parametrize("sent", [b"", pickle.dumps(JOB)[:-300], b"no pickle at all"])
def test_a_worker_ends_with_its_window_even_in_the_middle_of_a_request(
    child: subprocess.Popen[bytes], sent: bytes
) -> None:
    assert child.stdin is not None
    child.stdin.write(sent)
    child.stdin.close()
    assert child.wait(30) == 0


def test_a_worker_ends_with_its_window_in_the_middle_of_a_job(
    child: subprocess.Popen[bytes],
) -> None:
    assert child.stdin is not None
    assert child.stdout is not None
    pickle.dump(Request(1, "tests.gui.jobs:hang", (), 60.0), child.stdin)
    child.stdin.flush()
    pickle.load(child.stdout)  # it is ready
    pickle.load(child.stdout)  # and has begun
    child.stdin.close()
    assert child.wait(30) == 0
