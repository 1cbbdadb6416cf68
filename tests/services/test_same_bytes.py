"""The same record gives the same data and the same unsigned file, whoever prints it where."""

import os
import subprocess
import sys
from datetime import timedelta, timezone
from pathlib import Path

from app.records.scope import scoped
from app.records.tables import Shop
from app.services import photo_sharing, photos
from tests.services.certifying import FILE, Bench
from tests.services.composed import composed
from tests.services.pictures import prepared

SCRIPT = Path(__file__).with_name("printed_elsewhere.py")
HERE = {"PYTHONHASHSEED": "1", "TZ": "UTC", "LC_ALL": "C"}
THERE = {
    "PYTHONHASHSEED": "2",
    "TZ": "Pacific/Auckland",
    "LC_ALL": "C.UTF-8",
    "LANGUAGE": "tr:ja",
    "PANGO_LANGUAGE": "ja:ar",
}


def started(job: Bench, place: dict[str, str], at: str, year: str) -> subprocess.Popen[str]:
    inspector = job.workshop.people["inspector"]
    folder = job.press.data_dir
    person, shop = str(inspector.person_id), str(inspector.shop_id)
    words = [str(folder / FILE), str(folder), shop, person, job.number, at, year]
    return subprocess.Popen(
        [sys.executable, "-P", str(SCRIPT), *words],
        env={**os.environ, **place},
        stdout=subprocess.PIPE,
        text=True,
    )


def in_denver(job: Bench) -> None:
    """The shop's own zone is neither that of this machine nor of those that print."""
    with job.workshop.database.write() as session:
        owner = job.workshop.people["owner"]
        session.scalars(scoped(session, owner, Shop)).one().time_zone = "America/Denver"


def test_two_processes_in_other_places_print_the_same_bytes(done: Bench) -> None:
    """Hash seed, time zone, locale, clock, and how the moment of issue is written all differ."""
    in_denver(done)
    shop = done.workshop
    photo = shop.do(photos.add, "desk", done.number, prepared(1300, 900), None, "as it came")
    shop.do(photo_sharing.share, "inspector", done.number, photo.id)
    assert len(composed(done).content.photos) == 1
    now = done.workshop.now
    elsewhere = now.astimezone(timezone(timedelta(hours=13)))
    printing = [
        started(done, HERE, now.isoformat(), "2026"),
        started(done, THERE, elsewhere.isoformat(), "2031"),
    ]
    said = [process.communicate()[0].split() for process in printing]
    assert [process.returncode for process in printing] == [0, 0]
    assert [len(digest) for digest in said[0]] == [64, 64]
    assert said[0] == said[1]


def test_moments_are_told_in_the_shops_zone_and_not_the_machines(done: Bench) -> None:
    """The survey says 09:00 at UTC+01:00, which is 01:00 in Denver on that day."""
    in_denver(done)
    content = composed(done).content
    dates = {line.label: line.value for line in content.dates}
    assert dates["Measured"] == "2 March 2026, 01:00 UTC−07:00"
    assert content.issued_at.endswith("-07:00")
    assert content.time_zone == "America/Denver"
