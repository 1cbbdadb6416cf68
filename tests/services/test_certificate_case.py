"""Which measurement before the correction is set beside the one after it."""

import dataclasses
from pathlib import Path

from app.services import certificates, check_in, jobs, surveys
from tests.services.certifying import Bench, Benches
from tests.services.documents import BENT, MOVED, survey_document
from tests.services.forms import check_in_form


def basis(job: Bench) -> tuple[int | None, int | None]:
    """What a certificate rests on; the page "before and after" must show the same two."""
    certified, before = job.workshop.see(certificates.basis, "inspector", job.number)
    compared = job.workshop.see(surveys.compare, "inspector", job.number)
    shown = (compared.after.number, compared.before.number) if compared else (certified, None)
    assert shown == (certified, before)
    return certified, before


def not_judged(job: Bench) -> None:
    """Another job, measured before its reference was fixed."""
    machine = {**check_in_form()["machine"], "frame_number": "ZZZTEST00A1000018"}
    shop = job.workshop
    number = shop.do(check_in.check_in, "desk", check_in_form(machine=machine)).job_number
    shop.do(jobs.fix_instrument, "technician", number, job.ready.instrument_id)
    job.ready = dataclasses.replace(job.ready, number=number)
    job.measure("before")


def fix_reference(job: Bench) -> None:
    job.workshop.do(jobs.fix_reference, "technician", job.number, job.ready.reference_id)


def test_the_latest_before_is_taken_and_not_the_first(benches: Benches, tmp_path: Path) -> None:
    job = benches.copy(tmp_path, of="ready")
    assert basis(job) == (None, None)
    job.measure("before")
    job.measure("before")
    assert basis(job) == (2, None)
    job.measure("after")
    assert basis(job) == (3, 2)


def test_one_judged_by_the_reference_goes_before_one_that_was_not(
    benches: Benches, tmp_path: Path
) -> None:
    job = benches.copy(tmp_path, of="ready")
    not_judged(job)
    fix_reference(job)
    job.measure("before")
    job.measure("after")
    assert basis(job) == (3, 2)


def test_where_none_was_judged_by_it_the_latest_is_taken(benches: Benches, tmp_path: Path) -> None:
    job = benches.copy(tmp_path, of="ready")
    not_judged(job)
    job.measure("before")
    fix_reference(job)
    job.measure("after")
    assert basis(job) == (3, 2)


def test_one_whose_set_up_moved_stands_back(benches: Benches, tmp_path: Path) -> None:
    job = benches.copy(tmp_path, of="ready")
    job.measure("before")
    job.measure("before", survey_document(BENT, MOVED, measured_at="2026-03-02T09:00:00+01:00"))
    job.measure("after")
    assert basis(job) == (3, 1)
