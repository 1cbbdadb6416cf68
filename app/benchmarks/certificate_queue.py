"""Many certificates at once in the queue of a served shop: all done, nothing kept waiting."""

import json
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from app.benchmarks.certificate_server import COMMAND, READINGS
from app.benchmarks.certificate_shop import FullShop, full_shop
from app.benchmarks.floor_speed import expected, sign_in
from app.benchmarks.one_client import Client
from app.benchmarks.ratio import Bound
from app.benchmarks.shop_server import Served, address_of
from app.records.scope import scoped
from app.records.tables import Certificate
from app.services import issuing
from app.services.press import Press
from app.wording.translation import _

QUEUED = 50
WARM_AFTER = 10
"""Certificates after which caches are full: memory is compared with what it was then."""
MOST_LATE_MS, MOST_GROWTH, MOST_SLOWER = 20.0, 1.1, 3.0
PAUSE_S = 0.1
PATIENCE_S = 1200.0
PAGES = ("/", "/certificates", "/sign-off")


@dataclass
class Seen:
    """What was met while the queue was worked off."""

    busy_s: list[float] = field(default_factory=list)
    """Of every page that was asked for meanwhile."""
    idle_s: list[float] = field(default_factory=list)
    latest_s: float = 0.0
    memory_kb: list[tuple[int, int]] = field(default_factory=list)
    """Certificates done, and what server and workers hold."""
    open_at_the_end: int = QUEUED


def certificates_queued(count: int = QUEUED) -> tuple[Bound, ...]:
    """A server that finds so many signed for when it starts, and is asked for pages meanwhile."""
    with full_shop(count) as shop:
        sign_for_all(shop)
        with served(shop) as place, Client(place.address) as client:
            seen = work_off(shop, client, place, count)
    grown = memory_after(seen, count) / memory_after(seen, min(WARM_AFTER, count))
    slower = statistics.median(seen.busy_s) / statistics.median(seen.idle_s)
    return (
        Bound(_("{count} queued, not done").format(count=count), seen.open_at_the_end, 0.0, ""),
        Bound(_("event loop meanwhile, latest"), 1e3 * seen.latest_s, MOST_LATE_MS, "ms"),
        Bound(_("memory at the end, after the first"), grown, MOST_GROWTH, ""),
        Bound(_("page meanwhile, page afterwards"), slower, MOST_SLOWER, ""),
    )


def sign_for_all(shop: FullShop) -> None:
    """Sign for every job before the server starts: it finds all of them at once."""
    press = Press(shop.folder, own_process=False)
    for number in shop.jobs:
        issuing.sign_off(
            shop.database, shop.owner, number, "report", shop.password, shop.now, press=press
        )


@dataclass(frozen=True, slots=True)
class Place(Served):
    """Where the server is, and which process."""

    process: int


@contextmanager
def served(shop: FullShop, *, killed: bool = False) -> Iterator[Place]:
    """The server in a process of its own, which is told to stop at the end, or killed."""
    command = [sys.executable, "-c", COMMAND, str(shop.folder)]
    log = shop.folder / "server.log"
    with log.open("w", encoding="utf-8") as told:
        process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=told, text=True)
    try:
        yield Place(address_of(process, log), shop.password, (), process.pid)
    finally:
        (process.kill if killed else process.terminate)()
        process.communicate(timeout=60)


def work_off(shop: FullShop, client: Client, place: Place, count: int) -> Seen:
    """Ask for pages until nothing is left to do, then as often again."""
    seen = Seen()
    sign_in(client, place)
    readings(client)
    end = time.monotonic() + PATIENCE_S
    while (left := unfinished(shop)) and time.monotonic() < end:
        seen.busy_s.append(page_s(client, len(seen.busy_s)))
        note(seen, client, count - left)
        time.sleep(PAUSE_S)
    note(seen, client, count - left)
    seen.open_at_the_end = count - in_force(shop)
    seen.idle_s = [page_s(client, place) for place in range(len(seen.busy_s))]
    return seen


def note(seen: Seen, client: Client, done: int) -> None:
    """How late the event loop was, and what memory is held."""
    told = readings(client)
    seen.latest_s = max(seen.latest_s, float(told["latest_s"]))
    seen.memory_kb.append((done, held_kb([str(one) for one in told["processes"]])))


def readings(client: Client) -> dict[str, Any]:
    """What the server's watch saw since it was asked last."""
    told: dict[str, Any] = json.loads(expected(client.get(READINGS)).body)
    return told


def page_s(client: Client, turn: int) -> float:
    """Seconds that a page takes."""
    return expected(client.get(PAGES[turn % len(PAGES)])).seconds


def held_kb(processes: list[str]) -> int:
    """Memory of the processes, as the system tells it."""
    command = ["ps", "-o", "rss=", "-p", ",".join(processes)]
    told = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    return sum(int(line) for line in told.split())


def memory_after(seen: Seen, done: int) -> float:
    """What was held once so many were done: the median of a few looks, since the last one ran."""
    found = [held for count, held in seen.memory_kb if count >= done]
    return statistics.median(found[:5])


def unfinished(shop: FullShop) -> int:
    """Numbers that are still being issued."""
    return sum(status == "issuing" for status in statuses(shop))


def in_force(shop: FullShop) -> int:
    """Numbers with a file."""
    return sum(status == "valid" for status in statuses(shop))


def statuses(shop: FullShop) -> list[str]:
    with shop.database.read() as session:
        rows = scoped(session, shop.owner, Certificate).with_only_columns(Certificate.status)
        return [row.status for row in session.execute(rows)]
