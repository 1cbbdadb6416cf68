"""A shop with one measurement in progress, served by `jigbook serve` as a process of its own."""

import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from app import resources
from app.benchmarks.command import jigbook
from app.records.migrating import upgrade
from app.records.session import Database
from app.schemas.instrument import CalibrationIn, InstrumentIn
from app.schemas.visual_check import ITEMS, VisualCheckIn
from app.services import drafts, floor, instruments, jobs, references, visual_checks
from app.services.check_in import check_in
from app.services.joining import first_start
from app.services.passwords import one_time_password
from app.services.permissions import Actor
from app.services.sign_in import change_password, sign_in
from app.settings import sqlite_url

OWNER = "owner"
HERE = "127.0.0.1"
SAYS_WHERE = "Jigbook is at "
LOG = "server.log"
MACHINE = {"make": "Fjordmark", "model": "Skarv 700"}
BEFORE_THE_POINTS = ("cautions", "play", "mounting", "temperature", "rig")
CHECK_IN = {"customer": {"name": "Åse Invented"}, "incident": {"impact_kind": "front_on"}}


@dataclass(frozen=True, slots=True)
class Served:
    """Where the server is, how to get in, and where the measurements are."""

    address: str
    password: str
    drafts: tuple[str, ...]
    """Paths of measurements without any point, each of its own job."""


@contextmanager
def served_shop(count: int) -> Iterator[Served]:
    """Serve a shop with `count` measurements just opened; everything is gone at the end."""
    with tempfile.TemporaryDirectory() as folder:
        password = one_time_password()
        places = _furnish(Path(folder), count, password)
        process = _start(Path(folder))
        try:
            yield Served(address_of(process, Path(folder) / LOG), password, places)
        finally:
            process.terminate()
            process.communicate(timeout=30)


def _start(folder: Path) -> subprocess.Popen[str]:
    command = [*jigbook(), "serve", "--data", str(folder), "--host", HERE, "--port", "0"]
    with (folder / LOG).open("w", encoding="utf-8") as log:
        return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=log, text=True)


def address_of(process: subprocess.Popen[str], log: Path) -> str:
    """Where it says that it is. Raises RuntimeError when it ended instead."""
    for line in process.stdout or ():
        if line.startswith(SAYS_WHERE):
            return line.removeprefix(SAYS_WHERE).strip()
    raise RuntimeError(log.read_text(encoding="utf-8"))


def _furnish(folder: Path, count: int, password: str) -> tuple[str, ...]:
    """The records, made by the services as a shop would."""
    folder.chmod(0o700)
    upgrade(sqlite_url(folder))
    database, now = Database(sqlite_url(folder)), datetime.now(UTC)
    try:
        owner = owner_of_new_shop(database, password, now)
        return tuple(_measurement(database, owner, number, now) for number in range(count))
    finally:
        database.close()


def owner_of_new_shop(database: Database, password: str, now: datetime) -> Actor:
    """The first person, with a password of their own, an instrument and a reference."""
    given = first_start(database, now)
    if given is None:
        raise RuntimeError("a new database has people already")
    first = sign_in(database, OWNER, given.password, HERE, now)
    change_password(database, first, given.password, password, now)
    owner = sign_in(database, OWNER, password, HERE, now)
    arm = InstrumentIn(name="invented measuring arm", kind="measuring arm")
    day = now.date()
    calibration = CalibrationIn(
        standard_uncertainty_mm=0.1,
        offset_u_mm=0.02,
        scale_u_ppm=20.0,
        probe_radius_mm=3.0,
        calibrated=day,
        due=day + timedelta(days=365),
    )
    document = (resources.seed_data() / "reference.json").read_text(encoding="utf-8")
    with database.write() as session:
        instruments.create(session, owner, arm, now, calibration)
        references.create(session, owner, document, now)
    return owner


def _measurement(database: Database, owner: Actor, number: int, now: datetime) -> str:
    """A machine checked in and looked all over, and its measurement opened."""
    machine = {**MACHINE, "frame_number": f"ZZZTEST00A{number:07d}"}
    with database.write() as session:
        job = check_in(
            session, owner, {**CHECK_IN, "rideable": "no", "machine": machine}, now
        ).job_number
        jobs.fix_reference(session, owner, job, 1, now)
        jobs.fix_instrument(session, owner, job, 1, now)
        looked = [VisualCheckIn.model_validate({"item": i, "answer": "not_seen"}) for i in ITEMS]
        visual_checks.answer(session, owner, job, looked, now)
        heading = {"by": owner.name, "measured_at": now.isoformat()}
        draft = drafts.open_draft(session, owner, job, "before", now, heading)
        for step in BEFORE_THE_POINTS:
            floor.record(session, owner, job, draft.id, step, {}, step, now)
    return f"/jobs/{job}/drafts/{draft.id}"
