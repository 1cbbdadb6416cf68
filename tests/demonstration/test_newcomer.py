"""What a newcomer does in the demonstration with the files of `seed_data`, through the services."""

import json
import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

import pytest

from app import resources
from app.records.session import Database
from app.schemas.visual_check import ITEMS, VisualCheckIn
from app.services import (
    certificates,
    check_in,
    instruments,
    jobs,
    people,
    references,
    surveys,
    visual_checks,
)
from app.services.permissions import Actor, command_line
from app.services.references import ReferenceView
from tests.demonstration.conftest import Filled, NoPango

T = TypeVar("T")


class Newcomer:
    """Acts in a copy of the demonstration, signed in as its people."""

    def __init__(self, filled: Filled, folder: Path) -> None:
        for part in filled.folder.glob("jigbook.sqlite3*"):
            shutil.copy(part, folder)
        self.database = Database(f"sqlite:///{folder / 'jigbook.sqlite3'}")
        self.now, self.jobs = filled.now, filled.made.jobs
        with self.database.read() as session:
            known = people.list_people(session, command_line(1))
        self.people = {
            one.sign_in_name: Actor(1, one.name, one.roles, person_id=one.id) for one in known
        }

    def do(self, function: Callable[..., T], role: str, *args: Any) -> T:
        with self.database.write() as session:
            return function(session, self.people[role], *args, now=self.now)

    def see(self, function: Callable[..., T], *args: Any, **kwargs: Any) -> T:
        with self.database.read() as session:
            return function(session, self.people["inspector"], *args, **kwargs)


@pytest.fixture
def newcomer(demonstration: Filled, tmp_path: Path) -> Iterator[Newcomer]:
    made = Newcomer(demonstration, tmp_path)
    yield made
    made.database.close()


@pytest.fixture
def years_later(tmp_path: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Newcomer]:
    """In a demonstration that is filled years from now, where no PDFs can be made."""
    folder = tmp_path_factory.mktemp("later")
    filled = Filled(folder, datetime(2031, 5, 6, 10, 30, tzinfo=UTC), NoPango(folder))
    made = Newcomer(filled, tmp_path)
    yield made
    made.database.close()
    filled.database.close()


def seed(name: str) -> str:
    return (resources.seed_data() / name).read_text(encoding="utf-8")


def example(newcomer: Newcomer, model: str = "Example 700") -> ReferenceView:
    found = newcomer.see(references.find, "invented works example")
    (reference,) = [one for one in found if one.latest.model == model]
    return reference


def test_the_whole_road_with_the_seed_files(newcomer: Newcomer) -> None:
    go_the_whole_road(newcomer)


def test_the_same_road_years_later(years_later: Newcomer) -> None:
    """No calibration runs out: files state none, the record's is as old as the demonstration."""
    go_the_whole_road(years_later)
    numbers = [f"J-2031-{number:04d}" for number in range(1, years_later.jobs + 2)]
    measured = [one for number in numbers for one in years_later.see(surveys.listing, number)]
    assert len(measured) >= years_later.jobs // 2
    assert all(survey.in_calibration for survey in measured)


def go_the_whole_road(newcomer: Newcomer) -> None:
    form = {
        "customer": {"name": "A Newcomer"},
        "machine": {"make": "Invented Works", "model": "Example 700", "frame_number": "NEW-1"},
    }
    number = newcomer.do(check_in.check_in, "desk", form).job_number
    reference = example(newcomer)
    assert reference.latest.document == json.loads(seed("reference.json"))
    newcomer.do(jobs.fix_reference, "technician", number, reference.id)
    arm = newcomer.see(instruments.listing)[0]
    newcomer.do(jobs.fix_instrument, "technician", number, arm.id)
    looked = [VisualCheckIn.model_validate({"item": i, "answer": "not_seen"}) for i in ITEMS]
    newcomer.do(visual_checks.answer, "technician", number, looked)

    before = newcomer.do(surveys.submit, "technician", number, seed("before-head-bent.json"))
    assert (before.result["finding"]["verdict"], before.in_calibration) == ("outside", True)
    assert before.instrument_name == "invented measuring arm"
    assert before.calibration is not None
    newcomer.do(jobs.note_correction, "technician", number, "pulled forward")
    after = newcomer.do(surveys.submit, "technician", number, seed("after-corrected.json"))
    assert (after.result["finding"]["verdict"], after.in_calibration) == ("within", True)

    job = newcomer.see(jobs.read, number)
    assert (job.status, job.waits_for) == ("to_sign", "inspector")
    assert newcomer.see(certificates.reasons_against, number, "completion", now=newcomer.now) == ()
    assert newcomer.see(certificates.remarks, number, "completion", now=newcomer.now) == ()


def test_the_file_whose_set_up_moved_cannot_be_certified(newcomer: Newcomer) -> None:
    form = {
        "customer": {"name": "A Newcomer"},
        "machine": {"make": "Invented Works", "model": "Example 700", "frame_number": "NEW-2"},
    }
    number = newcomer.do(check_in.check_in, "desk", form).job_number
    reference = example(newcomer)
    newcomer.do(jobs.fix_reference, "technician", number, reference.id)

    stored = newcomer.do(surveys.submit, "technician", number, seed("before-set-up-moved.json"))

    assert stored.result["rig_check"]["verdict"] == "moved"
    reasons = newcomer.see(certificates.reasons_against, number, "report", now=newcomer.now)
    assert "set_up_moved" in [reason.code for reason in reasons]


def test_the_full_survey_is_judged_by_its_reference(newcomer: Newcomer) -> None:
    form = {
        "customer": {"name": "A Newcomer"},
        "machine": {"make": "Invented Works", "model": "Example 700", "frame_number": "NEW-3"},
    }
    number = newcomer.do(check_in.check_in, "desk", form).job_number
    reference = example(newcomer, "Example 700 complete")
    newcomer.do(jobs.fix_reference, "technician", number, reference.id)

    stored = newcomer.do(surveys.submit, "technician", number, seed("full-survey.json"))

    assert stored.in_calibration is True
    assert len(stored.result["characteristics"]) > 40
    assert len(stored.result["handling"]) == 5
    assert newcomer.see(certificates.reasons_against, number, "report", now=newcomer.now) == ()
