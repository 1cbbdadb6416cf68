"""Shops whose jobs can be signed for: with 25 characteristics, three views each of before and
after, four photos; or with the twist of a head, measured once."""

import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from numpy.random import PCG64, Generator

from app import resources
from app.benchmarks.invented_photos import picture
from app.benchmarks.shop_server import CHECK_IN, owner_of_new_shop
from app.records.migrating import upgrade
from app.records.session import Database
from app.schemas.visual_check import ITEMS, VisualCheckIn
from app.services import jobs, photo_sharing, photos, references, surveys, visual_checks
from app.services.check_in import check_in
from app.services.darkroom import Darkroom
from app.services.passwords import one_time_password
from app.services.permissions import Actor
from app.services.prepared_photo import PreparedPhoto
from app.settings import sqlite_url

CHARACTERISTICS, REQUIRED, PHOTOS = 25, 8, 4
NOT_MEASURED = frozenset({"control", "axis"})
NOT_MEASURED_PAIR = "tail"
"""What the shop left out of the file to try by hand, so that as many characteristics remain; the
head angle is set by the levelling points then."""
NOT_STATED = frozenset({"control_points", "control_weights", "handling"})
OF_CONTROL_POINTS = ("control.", "distance.", "datum_", "axis_")
OF_THE_AXIS = ("head_twist", "axis_distance")
NOISE_MM = 0.02
"""Between two measurements: the very same points in two jobs would refuse certificates."""
MACHINE = {"make": "Fjordmark", "model": "Skarv 700"}


@dataclass(frozen=True, slots=True)
class FullShop:
    """Where the records lie, who may do everything, and the jobs that can be signed for."""

    folder: Path
    database: Database
    owner: Actor
    password: str
    jobs: tuple[str, ...]
    now: datetime


@dataclass(frozen=True, slots=True)
class Wanted:
    """What each job of a shop has on record."""

    reference: Callable[[], dict[str, Any]]
    surveys: Callable[[int], Sequence[dict[str, Any]]]
    """The measurements of a job by its serial number, each with its phase."""
    photos: Callable[[], tuple[PreparedPhoto, ...]]


def full() -> Wanted:
    """Everything, before and after."""
    return Wanted(
        reference=reference,
        surveys=lambda serial: [
            survey(phase, 2 * serial + place) for place, phase in enumerate(("before", "after"))
        ],
        photos=lambda: invented_photos(),
    )


def twist_alone() -> Wanted:
    """As little as a certificate can be of: how the steering axis stands, measured once."""
    return Wanted(reference=reference_of_twist, surveys=surveys_of_twist, photos=lambda: ())


def reference_of_twist() -> dict[str, Any]:
    """Limits for what needs neither levelling nor the head's face."""
    document = read("reference.json")
    del document["levelling"]
    asked = {key: document["characteristics"][key] for key in OF_THE_AXIS}
    return {**document, "materials": {"frame": "steel"}, "characteristics": asked}


def surveys_of_twist(_serial: int) -> list[dict[str, Any]]:
    """The head survey of the other benchmarks without the head's face."""
    document = read("head_survey.json")
    points = [one for one in document["points"] if one["feature"] != "head_face"]
    return [{**document, "phase": "before", "points": points}]


@contextmanager
def full_shop(count: int) -> Iterator[FullShop]:
    """A shop with so many jobs measured before and after; everything is gone at the end."""
    with shop_with(full(), count) as shop:
        yield shop


@contextmanager
def shop_with(wanted: Wanted, count: int) -> Iterator[FullShop]:
    """A shop with so many such jobs; everything is gone at the end."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o700)
        upgrade(sqlite_url(folder))
        database = Database(sqlite_url(folder))
        try:
            yield furnished(folder, database, wanted, count)
        finally:
            database.close()


def furnished(folder: Path, database: Database, wanted: Wanted, count: int) -> FullShop:
    """The records, made by the services as a shop would."""
    password, now = one_time_password(), datetime.now(UTC)
    owner = owner_of_new_shop(database, password, now)
    with database.write() as session:
        judged_by = references.create(session, owner, json.dumps(wanted.reference()), now)
    taken = wanted.photos()
    numbers = []
    for serial in range(count):
        number = job(database, owner, judged_by.id, serial, taken, now)
        measure(database, owner, number, wanted.surveys(serial), now)
        numbers.append(number)
    later = now + timedelta(minutes=5)
    return FullShop(folder, database, owner, password, tuple(numbers), later)


def reference() -> dict[str, Any]:
    """What the file to try by hand says of these characteristics, the first of them required."""
    document = {
        key: one for key, one in read("full_reference.json").items() if key not in NOT_STATED
    }
    kept = [key for key in document["characteristics"] if is_asked(key)]
    asked = {
        key: {**document["characteristics"][key], "required": place < REQUIRED}
        for place, key in enumerate(kept)
    }
    return {**document, "levelling": "by_line", "characteristics": asked}


def is_asked(key: str) -> bool:
    """Whether a characteristic comes from what the shop measured."""
    return not key.startswith(OF_CONTROL_POINTS) and not key.endswith("." + NOT_MEASURED_PAIR)


def survey(phase: str, seed: int) -> dict[str, Any]:
    """The measurement to try by hand as far as the shop made it, with other noise on each
    reading."""
    document = read("full_survey.json")
    document.pop("fork_runout_mm")
    noise = Generator(PCG64(seed))
    points = [one for one in document["points"] if is_measured(one)]
    for point in points:
        for axis in "xyz":
            point[axis] = round(point[axis] + float(noise.normal(0.0, NOISE_MM)), 3)
    return {**document, "phase": phase, "points": points}


def is_measured(point: dict[str, Any]) -> bool:
    """Whether the shop measured this point."""
    pair = str(point.get("label", "")).partition(".")[0]
    return point["feature"] not in NOT_MEASURED and pair != NOT_MEASURED_PAIR


def read(name: str) -> dict[str, Any]:
    """One of the benchmarks' files."""
    text = (resources.seed_data() / "benchmarks" / name).read_text(encoding="utf-8")
    document: dict[str, Any] = json.loads(text)
    return document


def invented_photos() -> tuple[PreparedPhoto, ...]:
    """Drawn pictures, kept as the shop keeps what a telephone took."""
    darkroom = Darkroom(own_process=False)
    return tuple(darkroom.prepare(picture(seed)) for seed in range(PHOTOS))


def job(
    database: Database,
    owner: Actor,
    reference_id: int,
    serial: int,
    taken: tuple[PreparedPhoto, ...],
    now: datetime,
) -> str:
    """A machine checked in, looked all over and photographed."""
    machine = {**MACHINE, "frame_number": f"ZZZTEST00B{serial:07d}"}
    form = {**CHECK_IN, "rideable": "no", "machine": machine}
    with database.write() as session:
        number = check_in(session, owner, form, now).job_number
        jobs.fix_reference(session, owner, number, reference_id, now)
        jobs.fix_instrument(session, owner, number, 1, now)
        looked = [VisualCheckIn.model_validate({"item": i, "answer": "not_seen"}) for i in ITEMS]
        visual_checks.answer(session, owner, number, looked, now)
        for place, one in enumerate(taken):
            added = photos.add(session, owner, number, one, None, f"invented {place}", now)
            photo_sharing.share(session, owner, number, added.id, now)
    return number


def measure(
    database: Database,
    owner: Actor,
    number: str,
    documents: Sequence[dict[str, Any]],
    now: datetime,
) -> None:
    """The measurements of a job, a minute after each other."""
    for place, document in enumerate(documents):
        with database.write() as session:
            surveys.submit(session, owner, number, document, now + timedelta(minutes=1 + place))
