"""The certificates that are signed for, finished one after the other in the background."""

import contextlib
import logging
import secrets
import threading
from datetime import datetime, timedelta
from typing import Any

from app.errors import JigbookError, NotFound
from app.records.session import Database
from app.services import issuing, issuing_tasks
from app.services.issuing_finish import Clock, finish
from app.services.issuing_tasks import Taken
from app.services.people import only_shop
from app.services.permissions import Actor
from app.services.press import Press
from app.services.register import CertificateView, Kind
from app.signing.keys import SigningKey

log = logging.getLogger(__name__)

RENEW = timedelta(seconds=5)
"""So often this program says that it lives; three times as often as others would take over."""
LOOK_S = 10.0
"""So often an idle one looks whether another program died."""


class Stopped(BaseException):
    """The program ends: what is being made is left to the next start. No failure, so whatever
    looks for those lets it pass."""


class IssuingQueue:
    """One thread that finishes what the records say is to be finished.

    The signing keys that were opened for that are kept here, in memory, and nowhere else.
    """

    def __init__(self, database: Database, press: Press, clock: Clock) -> None:
        self.database, self.press, self.clock = database, press, clock
        self.holder = secrets.token_hex(8)
        self._keys: dict[str, SigningKey] = {}
        self._news = threading.Event()
        self._ends = threading.Event()
        self._starting = threading.Lock()
        self._thread: threading.Thread | None = None
        self._renewed: datetime | None = None

    def sign_off(
        self,
        actor: Actor,
        job_number: str,
        kind: Kind,
        password: str,
        now: datetime,
        **words: Any,
    ) -> CertificateView:
        """Sign for a certificate, as `issuing.sign_off`, and have it finished in the background."""
        signed = issuing.sign_off(
            self.database,
            actor,
            job_number,
            kind,
            password,
            now,
            press=self.press,
            holder=self.holder,
            **words,
        )
        self.put(signed.view.number, signed.key)
        return signed.view

    def put(self, number: str, key: SigningKey | None) -> None:
        """There is something to do; key: to do it with, if it was opened already."""
        if key is not None:
            self.keep(number, key)
        self.start()

    def keep(self, number: str, key: SigningKey) -> None:
        """Hold the key of a number until that is done with."""
        self._keys[number] = key

    def key_for(self, number: str) -> SigningKey | None:
        """The key that was opened for a number, as long as this program runs."""
        return self._keys.get(number)

    def start(self) -> None:
        """Begin, or look again now."""
        with self._starting:
            if self._thread is None and not self._ends.is_set():
                self._thread = threading.Thread(target=self._run, name="issuing", daemon=True)
                self._thread.start()
        self._news.set()

    def close(self) -> None:
        """Stop at once: what is being made is begun anew by whoever comes next."""
        with self._starting:
            self._ends.set()
            self._news.set()
        if self._thread is not None:
            self._thread.join()
            self._keys.clear()

    def _run(self) -> None:
        while not self._ends.is_set():
            worked = False
            try:
                worked = self.finish_next()
            except Stopped:
                break
            except Exception:
                log.exception("the queue of certificates stumbled")
            if not worked:
                self._news.wait(RENEW.total_seconds() if self._keys else LOOK_S)
                self._news.clear()
        self._let_go()

    def finish_next(self) -> bool:
        """Finish one certificate in this thread; False when there is none to finish now."""
        if self._keys:
            self._say_alive()
        taken = self._taken()
        if taken is None:
            return False
        # What fails was written down on the certificate or its task, and logged.
        with contextlib.suppress(Exception):
            finish(
                self.database,
                taken,
                self.clock,
                press=self.press,
                key=self._keys.get(taken.number),
                while_waiting=self._go_on,
            )
        self._forget(taken.number)
        return True

    def _taken(self) -> Taken | None:
        """The next task. It is looked for without writing first: mostly there is none."""
        with self.database.read() as session:
            try:
                shop_id = only_shop(session)
            except NotFound:
                return None
            if issuing_tasks.waiting(session, shop_id, self.holder, self.clock()) is None:
                return None
        with self.database.write() as session:
            return issuing_tasks.take(session, shop_id, self.holder, self.clock())

    def _forget(self, number: str) -> None:
        """The key of a number that is done with."""
        with self.database.read() as session:
            if issuing_tasks.task_of(session, only_shop(session), number) is None:
                self._keys.pop(number, None)

    def _go_on(self) -> None:
        """Between two looks at the worker."""
        if self._ends.is_set():
            raise Stopped
        self._say_alive()

    def _say_alive(self) -> None:
        now = self.clock()
        if self._renewed is not None and timedelta() <= now - self._renewed < RENEW:
            return
        with self.database.write() as session:
            issuing_tasks.renew(session, only_shop(session), self.holder, now)
        self._renewed = now

    def _let_go(self) -> None:
        try:
            with self.database.write() as session:
                issuing_tasks.let_go(session, only_shop(session), self.holder)
        except JigbookError:
            log.exception("others have to wait before they go on with the certificates")
