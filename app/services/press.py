"""The press: what certificates are made with, kept for the life of the program."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from app.documents.content import CertificateContent
from app.errors import Problem, RefusedToIssue, Unavailable
from app.services.order import Failed, Made, Order
from app.services.worker import Worker

if TYPE_CHECKING:
    from app.signing.checking import Check
    from app.signing.trust import Trust

TASKS = "app.services.printing"
"""Named, not imported: what it needs takes a second to import, and only the worker needs it."""
LETTERING = "app.services.lettering"
EXAMINING = "app.services.examining"

EXAMINING_S = 5.0
"""Longest time for a file that anybody may send: our own take a tenth of a second."""
EXAMINING_BYTES = 320 * 2**20
"""Address space for it: a checker needs 70 MB, and a few times the size of the file."""
MOST_EXAMINED = 2
"""Files at once, one in work and one that waits; each keeps a thread of the pages' own."""


class Press:
    """Where the keys lie, what address is printed, and who works: one lays out and signs, one
    checks what strangers send, so that no stranger keeps a certificate waiting."""

    def __init__(
        self, data_dir: Path, public_url: str | None = None, *, own_process: bool = True
    ) -> None:
        """data_dir: the data folder. public_url: the address that others reach, if any.

        own_process: False for a single command, which then does the work itself.
        """
        self.data_dir = data_dir
        self.public_url = public_url
        # Whoever waits for a certificate has it tried again, so a dead worker is told at once.
        self.worker = Worker(TASKS, own_process=own_process, tries=1)
        self.letters = Worker(LETTERING, own_process=False)
        self.checker = Worker(
            EXAMINING,
            own_process=own_process,
            time_limit_s=EXAMINING_S,
            memory_limit_bytes=EXAMINING_BYTES,
        )
        self._can_print = False
        self._may_examine = threading.BoundedSemaphore(MOST_EXAMINED)

    def check_address(self, number: str) -> str:
        """Where outsiders check a certificate; empty without a public address."""
        return f"{self.public_url}/verify/{number}" if self.public_url else ""

    def problems_with(
        self, content: CertificateContent, box: tuple[str, ...]
    ) -> tuple[Problem, ...]:
        """What of the content, or of the visible signature's lines, cannot be printed.

        It is looked at here: the worker may have many certificates before it.
        Raises Unavailable (`pdf_needs_pango`) when documents cannot be made here at all.
        """
        if not self._can_print:
            found: Failed | None = self.worker.run("ready")  # type: ignore[assignment]
            if found is not None:
                raise found.error()
            self._can_print = True
        return self.letters.run("letters_missing", content, box)  # type: ignore[return-value]

    def draft(self, content: CertificateContent, pictures: dict[str, bytes]) -> bytes:
        """The pages of a certificate that is none. Raises Unavailable; RefusedToIssue with what
        cannot be printed."""
        if problems := self.problems_with(content, ()):
            raise RefusedToIssue(problems)
        made: bytes | Failed = self.worker.run(  # type: ignore[assignment]
            "draft", content, pictures
        )
        if isinstance(made, Failed):
            raise made.error()
        return made

    def make(self, order: Order, while_waiting: Callable[[], None] | None = None) -> Made:
        """A signed and checked certificate. Raises Unavailable with what went wrong, and what
        `while_waiting` raises."""
        made: Made | Failed = self.worker.run(  # type: ignore[assignment]
            "make", order, while_waiting=while_waiting
        )
        if isinstance(made, Failed):
            raise made.error()
        return made

    def examine(self, pdf: bytes, trust: Trust, now: datetime) -> Check:
        """Apply the strict rule to a file, away from the pages and from issuing.

        Raises Unavailable: `checks_busy` at once while as many as may are being checked,
        `worker_too_slow` for a file made to take for ever.
        """
        if not self._may_examine.acquire(blocking=False):
            raise Unavailable("checks_busy", None, retry_after_s=int(EXAMINING_S))
        try:
            checked: Check = self.checker.run(  # type: ignore[assignment]
                "examine", pdf, trust, now
            )
        finally:
            self._may_examine.release()
        return checked

    def close(self) -> None:
        """End the worker processes, as far as they were started."""
        self.worker.close()
        self.checker.close()
