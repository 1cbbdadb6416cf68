"""A certificate from the queue to the register against the layout engine's own time for its page.

Laid out by the worker process, signed, checked by the rule that recipients use, stored; all of it
warm. Beside it the engine makes a PDF/A of the very same page, in this process.
"""

import gc
import io
import statistics
import time
from collections.abc import Callable
from dataclasses import replace

import pikepdf

from app.benchmarks.certificate_shop import FullShop, Wanted, full, shop_with, twist_alone
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
    """A certificate with everything on it."""
    return speed_of(full(), rounds)


def short_certificate_speed(rounds: int) -> Ratio:
    """One of as few pages as can be: what does not grow with the pages weighs most in it."""
    return speed_of(twist_alone(), rounds)


def speed_of(wanted: Wanted, rounds: int) -> Ratio:
    """Medians of both, one after the other in each round."""
    ours, theirs = [], []
    with shop_with(wanted, 1) as shop:
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
        whole, pages = issued.all_stored(), issued.pages()
    return Ratio(
        what=_("certificate of {count} pages, laid out").format(count=pages),
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

    def pages(self) -> int:
        """Of the certificate that is in force."""
        with self.shop.database.read() as session:
            file = certificates.certificate_file(session, self.shop.owner, self.numbers[-1])
        with pikepdf.open(io.BytesIO(file.pdf)) as opened:
            return len(opened.pages)

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
