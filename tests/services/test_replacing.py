"""One measurement takes the place of another: of its own phase, with a reason, by each way in."""

import pytest

from app.errors import BadInput, Conflict, NotFound
from app.services import drafts, replacing, surveys
from app.services.drafts import DraftView
from tests.services.documents import SOUND, survey_document
from tests.services.measuring import MEASURED_AT, Ready, ready
from tests.services.workshop import Workshop

DOCUMENT = survey_document(SOUND, measured_at=MEASURED_AT)
HEADER = {"measured_at": MEASURED_AT, "up": DOCUMENT["up"], "part_temperature_c": 20.0}


@pytest.fixture
def job(workshop: Workshop) -> Ready:
    """A job that was measured once, before the correction."""
    job = ready(workshop)
    job.submit(DOCUMENT)
    return job


def begin(job: Ready, phase: str = "before", **told: object) -> DraftView:
    return job.workshop.do(
        drafts.open_draft, "technician", job.number, phase, header=HEADER, **told
    )


def finish(job: Ready, draft: DraftView, **told: object) -> int:
    """Take all points and submit; the number of the measurement."""
    points = DOCUMENT["points"]
    job.workshop.do(drafts.add_points, "technician", job.number, draft.id, points)
    return job.workshop.do(drafts.submit, "technician", job.number, draft.id, **told).number


def refused(error: pytest.ExceptionInfo[BadInput]) -> tuple[str, str]:
    (problem,) = error.value.problems
    return problem.code, problem.field


def test_none_is_replaced_without_a_word(job: Ready) -> None:
    for because in (None, "", " "):
        with pytest.raises(BadInput) as error:
            job.submit(DOCUMENT, supersedes=1, because=because)
        assert refused(error) == ("replaces_without_reason", "because")
        with pytest.raises(BadInput) as error:
            begin(job, supersedes=1, because=because)
        assert refused(error) == ("replaces_without_reason", "because")
    assert job.workshop.counts()["survey"] == 1
    assert job.workshop.counts()["draft"] == 0


@pytest.mark.parametrize("phase", ["during", "after"])
def test_a_finding_before_the_correction_is_not_lost_to_a_later_one(job: Ready, phase: str) -> None:
    with pytest.raises(BadInput) as error:
        job.submit({**DOCUMENT, "phase": phase}, supersedes=1, because="measured again")
    assert refused(error) == ("replaces_other_phase", "supersedes")
    with pytest.raises(BadInput) as error:
        begin(job, phase, supersedes=1, because="measured again")
    assert refused(error) == ("replaces_other_phase", "supersedes")
    assert job.workshop.counts()["survey"] == 1


def test_a_draft_takes_the_place_that_was_chosen_when_it_was_begun(job: Ready) -> None:
    draft = begin(job, supersedes=1, because="the rig had slipped")
    assert (draft.supersedes, draft.because) == (1, "the rig had slipped")

    number = finish(job, draft)

    made = job.workshop.see(surveys.read, "desk", job.number, number)
    assert (made.supersedes, made.supersedes_because) == (1, "the rig had slipped")


def test_the_choice_can_be_put_right_until_it_is_submitted(job: Ready) -> None:
    draft = begin(job)
    told = ("technician", job.number, draft.id)
    later = job.workshop.do(replacing.set_replacing, *told, 1, "a foot had slipped")
    assert (later.supersedes, later.version) == (1, draft.version + 1)
    none = job.workshop.do(replacing.set_replacing, *told, None, None, version=later.version)
    assert (none.supersedes, none.because) == (None, None)

    with pytest.raises(Conflict, match="draft_changed"):
        job.workshop.do(replacing.set_replacing, *told, 1, "late", version=later.version)
    with pytest.raises(NotFound, match="no_such_survey"):
        job.workshop.do(replacing.set_replacing, *told, 7, "which?")
    number = finish(job, draft)
    assert job.workshop.see(surveys.read, "desk", job.number, number).supersedes is None
    with pytest.raises(Conflict, match="draft_not_open"):
        job.workshop.do(replacing.set_replacing, *told, 1, "late")


def test_one_that_was_replaced_meanwhile_is_said_before_anything_is_stored(job: Ready) -> None:
    draft = begin(job, supersedes=1, because="the rig had slipped")
    job.submit(DOCUMENT, supersedes=1, because="somebody was quicker")

    with pytest.raises(Conflict, match="survey_superseded"):
        finish(job, draft)

    job.workshop.do(replacing.set_replacing, "technician", job.number, draft.id, 2, "once more")
    made = job.workshop.do(drafts.submit, "technician", job.number, draft.id)
    assert made.supersedes == 2
