"""A shop whose jobs can be signed for: 25 characteristics before and after, four photos."""

import io
import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from numpy.random import PCG64, Generator
from PIL import Image

from app import resources
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
PHOTO_SIZE = (2400, 1800)
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


@contextmanager
def full_shop(count: int) -> Iterator[FullShop]:
    """A shop with so many jobs measured before and after; everything is gone at the end."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o700)
        upgrade(sqlite_url(folder))
        database = Database(sqlite_url(folder))
        try:
            yield furnished(folder, database, count)
        finally:
            database.close()


def furnished(folder: Path, database: Database, count: int) -> FullShop:
    """The records, made by the services as a shop would."""
    password, now = one_time_password(), datetime.now(UTC)
    owner = owner_of_new_shop(database, password, now)
    with database.write() as session:
        wanted = references.create(session, owner, json.dumps(reference()), now)
    taken = invented_photos()
    numbers = [job(database, owner, wanted.id, serial, taken, now) for serial in range(count)]
    later = now + timedelta(minutes=5)
    return FullShop(folder, database, owner, password, tuple(numbers), later)


def reference() -> dict[str, Any]:
    """The first characteristics of the file to try by hand, and the first of them required."""
    document = read("full_reference.json")
    kept = list(document["characteristics"].items())[:CHARACTERISTICS]
    asked = {key: {**one, "required": place < REQUIRED} for place, (key, one) in enumerate(kept)}
    return {**document, "characteristics": asked}


def survey(phase: str, seed: int) -> dict[str, Any]:
    """The measurement to try by hand with other noise on each reading."""
    document = read("full_survey.json")
    noise = Generator(PCG64(seed))
    for point in document["points"]:
        for axis in "xyz":
            point[axis] = round(point[axis] + float(noise.normal(0.0, NOISE_MM)), 3)
    return {**document, "phase": phase}


def read(name: str) -> dict[str, Any]:
    """One of the benchmarks' files."""
    text = (resources.seed_data() / "benchmarks" / name).read_text(encoding="utf-8")
    document: dict[str, Any] = json.loads(text)
    return document


def invented_photos() -> tuple[PreparedPhoto, ...]:
    """Pictures with as much detail as a camera's, made of noise and a few colours."""
    darkroom = Darkroom(own_process=False)
    return tuple(darkroom.prepare(picture(seed)) for seed in range(PHOTOS))


def picture(seed: int) -> bytes:
    """A coarse pattern made large: its file is about as long as a camera's."""
    coarse = Generator(PCG64(seed)).bytes(3 * 240 * 180)
    image = Image.frombytes("RGB", (240, 180), coarse).resize(PHOTO_SIZE, Image.Resampling.BICUBIC)
    kept = io.BytesIO()
    image.save(kept, "JPEG", quality=85)
    return kept.getvalue()


def job(
    database: Database,
    owner: Actor,
    reference_id: int,
    serial: int,
    taken: tuple[PreparedPhoto, ...],
    now: datetime,
) -> str:
    """A machine checked in, looked all over, measured, corrected, measured again."""
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
    for place, phase in enumerate(("before", "after")):
        moment = now + timedelta(minutes=1 + place)
        document = survey(phase, 2 * serial + place)
        with database.write() as session:
            surveys.submit(session, owner, number, document, moment)
    return number
