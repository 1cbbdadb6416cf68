"""Certificates issued while workers and servers are killed at random: none lost, none doubled.

Numbers are signed for before the server starts. A server then works them off; again and again it,
or its worker, is killed as a power cut would, and the next one goes on. At the end every number is
in force with one file, or void with its reason, and each measurement has one certificate.
"""

import os
import signal
import subprocess
import time
from collections import Counter
from collections.abc import Callable

from numpy.random import PCG64, Generator

from app.benchmarks.certificate_queue import served, sign_for_all, statuses
from app.benchmarks.certificate_shop import FullShop, full_shop
from app.benchmarks.ratio import Bound
from app.records.scope import scoped
from app.records.tables import Certificate, CertificateFile, IssuingTask
from app.services import audit_check, issuing_progress, issuing_tasks
from app.services.issuing_queue import IssuingQueue
from app.services.press import Press
from app.wording.translation import _

CERTIFICATES, KILLS = 24, 24
SHORTEST_S, LONGEST_S = 0.3, 12.0
"""Between the start of a server and its end: sometimes before it has done anything."""
SEED = 20260301
LAST_S = 1800.0
LOOK_S = 0.5


def certificates_through_kills(count: int = CERTIFICATES, kills: int = KILLS) -> tuple[Bound, ...]:
    """Sign for `count`, kill `kills` times, let the last server finish, and count."""
    chance = Generator(PCG64(SEED))
    with full_shop(count) as shop:
        sign_for_all(shop)
        for turn in range(kills):
            wait_s = float(chance.uniform(SHORTEST_S, LONGEST_S))
            kill(shop, wait_s, worker_first=turn % 2 == 0)
            try_again(shop)
        with served(shop):
            until(lambda: not unfinished(shop))
        return counted(shop, count, kills)


def kill(shop: FullShop, wait_s: float, *, worker_first: bool) -> None:
    """Start a server, let it work, kill its worker or itself, then itself."""
    with served(shop, killed=True) as place:
        time.sleep(wait_s)
        if worker_first:
            for child in children_of(place.process):
                os.kill(child, signal.SIGKILL)
            time.sleep(wait_s / 4)


def children_of(process: int) -> list[int]:
    """The processes that it has started."""
    told = subprocess.run(
        ["ps", "-o", "pid=", "--ppid", str(process)], capture_output=True, text=True, check=False
    )
    return [int(line) for line in told.stdout.split()]


def try_again(shop: FullShop) -> None:
    """As an inspector does with those that wait for a person, since programs ended on them."""
    press = Press(shop.folder, own_process=False)
    queue = IssuingQueue(shop.database, press, lambda: shop.now)
    for number in waiting(shop):
        issuing_progress.resume(queue, shop.owner, number, None, shop.now)
    queue.close()


def waiting(shop: FullShop) -> list[str]:
    """Numbers with which nothing goes on by itself."""
    with shop.database.read() as session:
        tasks = issuing_tasks.every(session, shop.owner)
        return [number for number, task in tasks if task.waits_for is not None]


def unfinished(shop: FullShop) -> bool:
    """Something is left to do, which a person may have to say."""
    try_again(shop)
    return "issuing" in statuses(shop)


def until(true: Callable[[], bool]) -> None:
    """Wait, but not for ever."""
    end = time.monotonic() + LAST_S
    while not true() and time.monotonic() < end:
        time.sleep(LOOK_S)


def counted(shop: FullShop, count: int, kills: int) -> tuple[Bound, ...]:
    """What is missing and what is there twice."""
    with shop.database.read() as session:
        rows = session.scalars(scoped(session, shop.owner, Certificate)).all()
        files = session.scalars(
            scoped(session, shop.owner, CertificateFile).with_only_columns(
                CertificateFile.certificate_id
            )
        ).all()
        left = session.scalars(scoped(session, shop.owner, IssuingTask)).all()
        breaks = audit_check.verify(session, shop.owner).breaks
    valid = {row.id for row in rows if row.status == "valid"}
    jobs = Counter(row.job_id for row in rows if row.status in ("valid", "issuing"))
    lost = count - len(valid & set(files)) + len(left) + len(breaks)
    doubled = sum(many - 1 for many in jobs.values()) + len(files) - len(set(files))
    told = {"count": count, "kills": kills}
    return (
        Bound(_("{count} through {kills} kills, lost").format(**told), lost, 0.0, ""),
        Bound(_("{count} through {kills} kills, doubled").format(**told), doubled, 0.0, ""),
    )
