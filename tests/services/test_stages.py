"""Before, during and after: which measurements stand beside each other."""

import pytest

from app.demonstration.pose import Pose
from app.demonstration.rigs import Rig
from app.demonstration.seed_files import RIG
from app.errors import NotAllowed
from app.services import jobs
from app.services.permissions import Actor
from app.services.stages import Stages, stages
from tests.services.documents import BENT, MOVED, SOUND, survey_document
from tests.services.measuring import MEASURED_AT, Ready, ready
from tests.services.workshop import Workshop


@pytest.fixture
def job(workshop: Workshop) -> Ready:
    return ready(workshop)


def found(job: Ready, during: int | None = None) -> Stages | None:
    return job.workshop.see(stages, "desk", job.number, during)


def numbers(shown: Stages | None) -> list[tuple[str, int]]:
    return [] if shown is None else [(view.phase, view.number) for view in shown.shown]


def measured(
    job: Ready, phase: str, pose: Pose, rig: Rig = RIG, supersedes: int | None = None
) -> None:
    document = {**survey_document(pose, rig, measured_at=MEASURED_AT), "phase": phase}
    job.submit(document, supersedes=supersedes, because="bumped" if supersedes else None)


def test_one_phase_alone_has_nothing_beside_it(job: Ready) -> None:
    assert found(job) is None
    measured(job, "before", BENT)
    measured(job, "before", SOUND)
    assert found(job) is None


def test_during_stands_between_before_and_after_and_the_latest_is_taken(job: Ready) -> None:
    measured(job, "before", BENT)
    job.workshop.do(jobs.note_correction, "technician", job.number, "pulled 8 mm forward")
    measured(job, "during", BENT)
    assert numbers(found(job)) == [("before", 1), ("during", 2)]
    measured(job, "during", SOUND)
    measured(job, "after", SOUND)
    shown = found(job)
    assert numbers(shown) == [("before", 1), ("during", 3), ("after", 4)]
    assert shown is not None
    assert shown.during == (2, 3)
    assert shown.same_reference
    assert numbers(found(job, 2)) == [("before", 1), ("during", 2), ("after", 4)]
    assert numbers(found(job, 99)) == numbers(shown)


def test_the_change_is_told_from_the_first_to_the_last(job: Ready) -> None:
    measured(job, "before", BENT)
    job.workshop.do(jobs.note_correction, "technician", job.number, "pulled 8 mm forward")
    measured(job, "during", SOUND)
    shown = found(job)
    assert shown is not None
    assert shown.change is not None
    twist = {one["key"]: one for one in shown.change["characteristics"]}["head_twist"]
    first, last = (
        next(one for one in view.result["characteristics"] if one["key"] == "head_twist")
        for view in (shown.first, shown.last)
    )
    assert twist["change"] == pytest.approx(last["value"] - first["value"])
    assert shown.no_change_because == ""


def test_a_moved_set_up_leaves_no_change_to_tell_and_says_so(job: Ready) -> None:
    measured(job, "before", BENT, MOVED)
    job.workshop.do(jobs.note_correction, "technician", job.number, "pulled 8 mm forward")
    measured(job, "after", SOUND)
    shown = found(job)
    assert shown is not None
    assert shown.change is None
    assert "moved" in shown.no_change_because


def test_what_was_replaced_stands_beside_nothing(job: Ready) -> None:
    measured(job, "before", BENT)
    job.workshop.do(jobs.note_correction, "technician", job.number, "pulled 8 mm forward")
    measured(job, "during", BENT)
    measured(job, "during", SOUND, supersedes=2)
    shown = found(job)
    assert numbers(shown) == [("before", 1), ("during", 3)]
    assert shown is not None
    assert shown.during == (3,)


def test_who_may_not_read_measurements_sees_none(job: Ready) -> None:
    nobody = Actor(job.workshop.people["desk"].shop_id, "Nobody", frozenset())
    with job.workshop.database.read() as session, pytest.raises(NotAllowed):
        stages(session, nobody, job.number)
