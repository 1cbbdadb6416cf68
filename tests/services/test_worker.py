"""The worker process: away from the pages, replaced when it dies, ended when it hangs."""

import os
import signal
import sys
import time
from collections.abc import Iterator

import pytest

from app.errors import Unavailable
from app.services.worker import Worker

TASKS = "tests.services.test_worker"


def process_id() -> int:
    return os.getpid()


def add(a: int, b: int) -> int:
    return a + b


def die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def hang() -> None:
    time.sleep(60)


def allocate(megabytes: int) -> str:
    try:
        return f"{len(bytearray(megabytes * 2**20))} bytes"
    except MemoryError:
        return "no memory"


def loaded() -> list[str]:
    return [name for name in sys.modules if name in ("weasyprint", "pyhanko")]


@pytest.fixture
def worker() -> Iterator[Worker]:
    made = Worker(TASKS)
    yield made
    made.close()


def test_tasks_run_in_one_process_that_is_not_this_one(worker: Worker) -> None:
    first = worker.run("process_id")
    assert first != os.getpid()
    assert worker.run("add", 2, 3) == 5
    assert worker.run("process_id") == first
    worker.close()
    assert worker.run("process_id") != first, "a closed one starts again when it is needed"


def test_a_worker_that_was_killed_is_replaced_without_losing_the_task(worker: Worker) -> None:
    first = worker.run("process_id")
    assert isinstance(first, int)
    os.kill(first, signal.SIGKILL)
    assert worker.run("add", 2, 3) == 5


def test_a_task_that_kills_it_twice_is_told(worker: Worker) -> None:
    with pytest.raises(Unavailable, match="worker_failed"):
        worker.run("die")
    assert worker.run("add", 1, 1) == 2


def test_a_task_that_hangs_is_ended(worker: Worker) -> None:
    worker.run("add", 1, 1)
    worker.time_limit_s = 0.2
    start = time.monotonic()
    with pytest.raises(Unavailable, match="worker_too_slow"):
        worker.run("hang")
    assert time.monotonic() - start < 10
    worker.time_limit_s = 60.0
    assert worker.run("add", 1, 1) == 2


def test_a_process_has_only_so_much_memory() -> None:
    worker = Worker(TASKS, memory_limit_bytes=500 * 2**20)
    assert worker.run("allocate", 50) == f"{50 * 2**20} bytes"
    assert worker.run("allocate", 1000) == "no memory"
    worker.close()


def test_starting_does_not_count_against_the_first_task() -> None:
    """A new process imports for half a second and more."""
    worker = Worker(TASKS, time_limit_s=0.2)
    assert worker.run("add", 2, 3) == 5
    worker.close()


def test_a_single_command_does_the_work_itself() -> None:
    assert Worker(TASKS, own_process=False).run("process_id") == os.getpid()
