"""A worker process of our own: one task at a time, with a time limit, replaced when it dies.

Laying out a document takes half a second of work and a library that is not made for threads; a
process of its own keeps both away from the pages. It is spawned, never forked, and ends when
this program ends.
"""

import gc
import importlib
import multiprocessing
import resource
import signal
import threading
from collections.abc import Callable, Sequence
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

from app.errors import Unavailable

STARTING_S = 60.0
"""Longest time for a new process to import what it works with."""
SLICE_S = 0.25
"""So often somebody who waits for a task is asked whether to go on."""


def call(module: str, task: str, arguments: Sequence[object]) -> object:
    """Call a task by its name. The module is imported here, where the work is done."""
    return getattr(importlib.import_module(module), task)(*arguments)


def serve(module: str, connection: Connection, memory_limit_bytes: int) -> None:
    """What the process does: take tasks until the other end closes.

    A file made to unpack to gigabytes runs into the limit on this process alone.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_AS, (memory_limit_bytes, memory_limit_bytes))
    importlib.import_module(module)
    # Looking for garbage takes a third of the time of a layout: it is done after the answer, once
    # whoever waited has what is left to do done, or has the next task.
    gc.freeze()
    gc.disable()
    connection.send(None)
    while True:
        try:
            task, arguments = connection.recv()
        except EOFError:
            return
        connection.send(call(module, task, arguments))
        connection.poll(SLICE_S)
        gc.collect()


class Worker:
    """Runs the tasks of one module in its own process, or in this one for a single command."""

    def __init__(
        self,
        module: str,
        *,
        own_process: bool = True,
        time_limit_s: float = 60.0,
        memory_limit_bytes: int = 2**30,
        tries: int = 2,
    ) -> None:
        """memory_limit_bytes: of address space, for the process of its own. tries: how often a
        task is asked for when the process dies of it."""
        self.module = module
        self.own_process = own_process
        self.time_limit_s = time_limit_s
        self.memory_limit_bytes = memory_limit_bytes
        self.tries = tries
        self._one_at_a_time = threading.Lock()
        self._process: BaseProcess | None = None
        self._connection: Connection | None = None
        self._idle = True

    def run(
        self, task: str, *arguments: object, while_waiting: Callable[[], None] | None = None
    ) -> object:
        """Run a task and give its answer; a worker that died is replaced and asked again.

        The answer of a task is a value: an error that it raises ends the process.
        while_waiting: called several times a second; what it raises ends the task.
        Raises Unavailable (`worker_failed`, `worker_too_slow`).
        """
        with self._one_at_a_time:
            if not self.own_process:
                return call(self.module, task, arguments)
            for _ in range(self.tries):
                try:
                    return self._ask(task, arguments, while_waiting)
                except (EOFError, OSError) as error:
                    died = error
                finally:
                    self._end_unless_idle()
            raise Unavailable("worker_failed", None, task=task) from died

    def close(self) -> None:
        """End the process, if there is one."""
        with self._one_at_a_time:
            self._end()

    def _ask(
        self, task: str, arguments: Sequence[object], while_waiting: Callable[[], None] | None
    ) -> object:
        connection = self._started(while_waiting)
        self._idle = False
        connection.send((task, arguments))
        answer = self._answer(connection, self.time_limit_s, while_waiting)
        self._idle = True
        return answer

    def _answer(
        self, connection: Connection, limit_s: float, while_waiting: Callable[[], None] | None
    ) -> object:
        waited_s = 0.0
        while not connection.poll(min(SLICE_S, limit_s - waited_s)):
            waited_s += SLICE_S
            if waited_s >= limit_s:
                raise Unavailable("worker_too_slow", None, limit_s=limit_s)
            if while_waiting is not None:
                while_waiting()
        return connection.recv()

    def _end_unless_idle(self) -> None:
        """Whatever a process still owes would be taken for the answer to the next task."""
        if not self._idle:
            self._end()

    def _started(self, while_waiting: Callable[[], None] | None) -> Connection:
        if self._connection is not None:
            return self._connection
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        arguments = (self.module, theirs, self.memory_limit_bytes)
        process = context.Process(target=serve, args=arguments, daemon=True)
        process.start()
        theirs.close()
        self._process, self._connection, self._idle = process, ours, False
        # Importing takes a second or more: it must not count against the first task's time.
        self._answer(ours, STARTING_S, while_waiting)
        return ours

    def _end(self) -> None:
        if self._connection is not None:
            self._connection.close()
        if self._process is not None:
            self._process.kill()
            self._process.join()
        self._process = self._connection = None
        self._idle = True
