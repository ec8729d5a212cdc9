"""A worker process may do what it likes: each request ends in words, and the next one works."""

from collections.abc import Iterator

import pytest
from pytestqt.qtbot import QtBot

from analysis.errors import ReadingError
from app.worker.messages import Answer, Done, Failed, Message, Step
from app.worker.processes import WorkerProcess

JOBS = "tests.gui.jobs"


class Diary:
    """A worker with all it has said."""

    def __init__(self, qtbot: QtBot) -> None:
        self.qtbot = qtbot
        self.worker = WorkerProcess("reading", ())
        self.said: list[Message] = []
        self.worker.answered.connect(self.said.append)

    def ask(self, job: str, *arguments: object, limit: float = 60.0) -> list[Message]:
        """All answers to one request."""
        self.said.clear()
        request = self.worker.request(f"{JOBS}:{job}", *arguments, limit=limit)
        self.qtbot.waitUntil(
            lambda: bool(self.said) and isinstance(self.said[-1], Done | Failed), timeout=30_000
        )
        assert all(getattr(message, "request", None) == request for message in self.said)
        return list(self.said)


@pytest.fixture
def diary(qtbot: QtBot) -> Iterator[Diary]:
    diary = Diary(qtbot)
    yield diary
    diary.worker.close()


def values(messages: list[Message]) -> list[object]:
    return [message.value for message in messages if isinstance(message, Answer)]


def test_results_come_in_order_and_then_the_end(diary: Diary) -> None:
    said = diary.ask("count", 3)
    assert values(said) == [0, 1, 2]
    assert isinstance(said[-1], Done)
    assert not diary.worker.busy


def test_a_payload_larger_than_any_pipe_arrives(diary: Diary) -> None:
    assert values(diary.ask("measure", bytes(5_000_000))) == [5_000_000]


def test_what_a_library_prints_does_not_get_among_the_answers(diary: Diary) -> None:
    assert values(diary.ask("chatter")) == [1]


def test_steps_are_told(diary: Diary) -> None:
    assert values(diary.ask("steps")) == [Step("half done")]


def test_a_named_error_crosses_with_its_details(diary: Diary) -> None:
    last = diary.ask("refuse")[-1]
    assert isinstance(last, Failed)
    assert isinstance(last.error, ReadingError)
    assert (str(last.error), last.error.details) == ("This is not a score.", "line 7")


def test_an_unexpected_error_is_told_with_its_traceback(diary: Diary) -> None:
    last = diary.ask("stumble")[-1]
    assert isinstance(last, Failed)
    assert "ZeroDivisionError" in str(last.error)
    assert "1 // 0" in last.error.details


@pytest.mark.parametrize(("job", "trace"), [("die", "Segmentation fault"), ("leave", "last word")])
def test_a_crash_is_told_and_the_next_request_works(diary: Diary, job: str, trace: str) -> None:
    last = diary.ask(job)[-1]
    assert isinstance(last, Failed)
    assert "reading stopped unexpectedly" in str(last.error)
    assert trace in last.error.details
    assert values(diary.ask("count", 1)) == [0]


def test_an_answer_that_cannot_be_read_ends_the_request_and_not_the_window(diary: Diary) -> None:
    last = diary.ask("speak_another_language")[-1]
    assert isinstance(last, Failed)
    assert "stopped unexpectedly" in str(last.error)
    assert "ZeroDivisionError" in last.error.details
    assert values(diary.ask("count", 1)) == [0]


def test_a_hang_is_ended_at_the_limit(diary: Diary) -> None:
    diary.ask("count", 1)  # the process is up, so that the limit below is the job's alone
    said = diary.ask("hang", limit=0.5)
    assert values(said) == [1]
    assert isinstance(said[-1], Failed)
    assert "too long" in str(said[-1].error)
    assert values(diary.ask("count", 1)) == [0]


def test_cancelling_silences_the_job_at_once(diary: Diary, qtbot: QtBot) -> None:
    diary.ask("count", 1)
    diary.worker.request(f"{JOBS}:hang")
    first_pid = diary.worker.pid
    qtbot.waitUntil(lambda: Answer(2, 1) in diary.said)
    diary.worker.cancel()
    assert not diary.worker.busy
    assert diary.worker.pid != first_pid
    assert values(diary.ask("count", 2)) == [0, 1]


def test_a_process_killed_while_idle_is_replaced(diary: Diary, qtbot: QtBot) -> None:
    diary.ask("count", 1)
    child = diary.worker._child
    assert child
    child.process.kill()
    qtbot.waitUntil(lambda: diary.worker._child not in (None, child))
    assert values(diary.ask("count", 1)) == [0]


def test_a_process_that_cannot_start_is_not_started_for_ever(qtbot: QtBot) -> None:
    worker = WorkerProcess("reading", (f"{JOBS}:nothing_of_that_name",))
    qtbot.waitUntil(lambda: worker.pid is None, timeout=30_000)
    with qtbot.waitSignal(worker.answered, timeout=30_000) as answer:
        worker.request(f"{JOBS}:count", 1)
    assert "nothing_of_that_name" in answer.args[0].error.details
    worker.close()
