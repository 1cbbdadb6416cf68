"""A certificate from the queue to the register against the layout engine's own time for its page.

Laid out by the worker process, signed, checked by the rule that recipients use, stored; all of it
warm. Beside it the engine makes a PDF/A of the very same page, in this process.
"""

import gc
import statistics
import time
from collections.abc import Callable
from dataclasses import replace

from app.benchmarks.certificate_shop import FullShop, full_shop
from app.benchmarks.ratio import Ratio
from app.documents import certificate as documents
from app.documents.first_page import fitting, with_all
from app.documents.pango import engine
from app.services import certificates, issuing, issuing_finish, issuing_tasks
from app.services.issuing_queue import IssuingQueue
from app.services.press import Press
from app.wording.translation import _

MOST = 1.3
AGAIN = "measured again, as the benchmark wants it"


def certificate_speed(rounds: int) -> Ratio:
    """Medians of both, one after the other in each round."""
    ours, theirs = [], []
    with full_shop(1) as shop:
        press = Press(shop.folder)
        try:
            issued = Issued(shop, press)
            plain = plain_pdf(issued.next_one)
            issued.finish()
            plain()
            for _round in range(rounds):
                issued.sign_off()
                ours.append(seconds(issued.finish))
                theirs.append(seconds(plain))
        finally:
            press.close()
        whole = issued.all_stored()
    return Ratio(
        what=_("certificate stored, its page laid out"),
        ours_s=statistics.median(ours),
        theirs_s=statistics.median(theirs),
        target=MOST,
        at_least=False,
        same_answer=whole,
    )


class Issued:
    """One job's certificate, again and again in place of the one before."""

    def __init__(self, shop: FullShop, press: Press) -> None:
        self.shop, self.press = shop, press
        self.queue = IssuingQueue(shop.database, press, lambda: shop.now)
        self.numbers: list[str] = []
        self.sign_off()

    def sign_off(self) -> None:
        """Take a number. No thread of the queue runs: `finish` is what is timed."""
        shop, before = self.shop, self.numbers[-1] if self.numbers else None
        signed = issuing.sign_off(
            shop.database,
            shop.owner,
            shop.jobs[0],
            "report",
            shop.password,
            shop.now,
            press=self.press,
            replaces=before,
            reason=AGAIN if before else None,
            holder=self.queue.holder,
        )
        self.numbers.append(signed.view.number)
        if signed.key is not None:
            self.queue.keep(signed.view.number, signed.key)

    def finish(self) -> None:
        """Take it from the queue into the register."""
        self.queue.finish_next()

    def next_one(self) -> issuing_finish.Sheet:
        """What the certificate that waits says."""
        with self.shop.database.write() as session:
            taken = issuing_tasks.take(
                session, self.shop.owner, self.queue.holder, self.shop.now, self.numbers[-1]
            )
        if taken is None:
            raise RuntimeError("nothing waits")
        with self.shop.database.read() as session:
            return issuing_finish.sheet_of(session, taken)

    def all_stored(self) -> bool:
        """Whether every number is in force or was replaced by one that is."""
        with self.shop.database.read() as session:
            views = certificates.certificates(session, self.shop.owner)
        ends = {"valid": 1, "superseded": len(self.numbers) - 1}
        return all(
            sum(view.status == status for view in views) == count for status, count in ends.items()
        )


def plain_pdf(sheet: Callable[[], issuing_finish.Sheet]) -> Callable[[], object]:
    """The engine alone: page and pictures in, a PDF of the same kind out."""
    found, printing = sheet(), engine()
    drawn = documents.prepared(found.content, found.data)
    tried = documents.foreseen(drawn, lambda fit: documents.reach_mm(replace(drawn, fit=fit)))
    fit = fitting(with_all(found.content), tried)
    page = documents.page_of(replace(drawn, fit=fit), "certificate.html")
    loaded = {**documents.assets(), **documents.small_photos(found.content, found.pictures)}
    return lambda: printing.by_the_engine(page, loaded)


def seconds(action: Callable[[], object]) -> float:
    """How long it takes, without this process collecting garbage meanwhile."""
    gc.collect()
    gc.disable()
    try:
        start = time.perf_counter()
        action()
        return time.perf_counter() - start
    finally:
        gc.enable()
