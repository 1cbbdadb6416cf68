"""Points that another job had before show nothing of this machine: no certificate rests on them."""

import copy
import dataclasses
from typing import Any

import pytest

from app.errors import RefusedToIssue
from app.services import certificates, check_in, jobs
from app.services.same_points import SamePoints, same_points
from app.services.surveys import SurveyView
from app.wording.errors import explain
from tests.services.certifying import Bench
from tests.services.documents import survey_document
from tests.services.forms import check_in_form

MEASURED_AT = "2026-03-02T09:00:00+01:00"
CODE = "points_of_another_job"


def survey(seed: int = 17, **header: Any) -> dict[str, Any]:
    return survey_document(seed=seed, measured_at=MEASURED_AT, **header)


def another(job: Bench) -> Bench:
    """A second machine of the same shop, ready to be measured."""
    machine = {**check_in_form()["machine"], "frame_number": "ZZZTEST00A1000018"}
    shop = job.workshop
    number = shop.do(check_in.check_in, "desk", check_in_form(machine=machine)).job_number
    shop.do(jobs.fix_reference, "technician", number, job.ready.reference_id)
    shop.do(jobs.fix_instrument, "technician", number, job.ready.instrument_id)
    return dataclasses.replace(job, ready=dataclasses.replace(job.ready, number=number))


def met(job: Bench, measured: SurveyView) -> SamePoints | None:
    return job.workshop.see(same_points, "technician", measured)


def test_points_of_another_job_are_refused_for_every_kind_and_it_is_named(job: Bench) -> None:
    job.measure("before", survey())
    second = another(job)
    assert met(second, second.measure("before", survey())) == SamePoints(1, job.number, 1)
    for kind in ("completion", "report"):
        assert CODE in second.codes(kind)
    with pytest.raises(RefusedToIssue) as caught:
        second.issue("report")
    told = " ".join(explain(problem).sentence for problem in caught.value.reasons)
    assert f"has the very points of measurement 1 of job {job.number};" in told
    assert second.register() == {}


def test_the_job_that_had_them_first_keeps_its_certificate(job: Bench) -> None:
    job.measure("before", survey())
    another(job).measure("before", survey())
    assert job.codes("report") == []


def test_a_measurement_of_its_own_is_not_refused_nor_the_same_one_in_its_own_job(
    job: Bench,
) -> None:
    job.measure("before", survey())
    job.measure("before", survey())
    assert CODE not in job.codes("report")
    second = another(job)
    second.measure("before", survey(seed=18))
    assert CODE not in second.codes("report")


def test_other_names_header_and_order_do_not_hide_the_same_points(job: Bench) -> None:
    job.measure("before", survey())
    second = another(job)
    disguised = copy.deepcopy(survey(by="Somebody Else (invented)"))
    disguised["points"].reverse()
    for point in disguised["points"]:
        point["u"] = 0.11
    second.measure("before", disguised)
    assert CODE in second.codes("report")


def test_one_coordinate_apart_is_another_measurement(job: Bench) -> None:
    job.measure("before", survey())
    second, near = another(job), copy.deepcopy(survey())
    near["points"][0]["x"] += 0.001
    assert met(second, second.measure("before", near)) is None


def test_the_measurement_before_the_correction_must_be_the_machines_own_too(job: Bench) -> None:
    job.measure("before")
    second = another(job)
    second.measure("before")
    second.measure("after", survey(seed=18))
    shop = job.workshop
    with shop.database.read() as session:
        found = certificates.reasons_against(
            session, shop.people["inspector"], second.number, "completion", shop.now
        )
    (problem,) = [one for one in found if one.code == CODE]
    assert problem.facts == {"survey": 1, "job": job.number, "other": 1}


def test_what_was_sent_to_the_wrong_job_can_be_put_right(job: Bench) -> None:
    job.measure("before", survey())
    second = another(job)
    second.measure("before", survey())
    job.measure("before", survey(seed=18), supersedes=1, because="points of another machine")
    assert CODE not in second.codes("report")


def test_a_cancelled_job_gives_its_points_free(job: Bench) -> None:
    job.measure("before", survey())
    job.workshop.do(jobs.cancel, "desk", job.number, "checked in twice (invented)")
    second = another(job)
    second.measure("before", survey())
    assert CODE not in second.codes("report")


def test_what_was_certified_once_stays_taken(job: Bench, quick: None) -> None:
    job.measure("before", survey())
    job.issue("report")
    job.measure("before", survey(seed=18), supersedes=1, because="points of another machine")
    second = another(job)
    second.measure("before", survey())
    assert CODE in second.codes("report")
