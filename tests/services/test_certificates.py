"""Issuing: three steps, nothing lost between them, every reason against it told at once."""

import contextlib
import dataclasses
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from app.errors import BadInput, Conflict, NotAllowed, NotSignedIn, RefusedToIssue, TooManyTries
from app.records.scope import scoped
from app.records.tables import Certificate, Shop
from app.services import certificates, check_in, instruments, jobs, surveys
from app.services.permissions import Role
from app.services.register import data_of
from app.signing.authority import FOLDER, authority_pem, change_password
from app.signing.checking import check
from tests.databases import CHEAP, actor_with
from tests.services.certifying import PASSWORD, Bench, Benches, see_cracks
from tests.services.documents import MOVED, SOUND, calibration, survey_document
from tests.services.forms import check_in_form

MEASURED_AT = "2026-03-02T09:00:00+01:00"


def survey(**header: Any) -> dict[str, Any]:
    return survey_document(measured_at=MEASURED_AT, **header)


def without(document: dict[str, Any], feature: str, *stations: str | None) -> dict[str, Any]:
    """The document without the points of a feature at these stations, or at all."""
    kept = [
        point
        for point in document["points"]
        if point["feature"] != feature or (stations and point.get("station") not in stations)
    ]
    return {**document, "points": kept}


def tamper(job: Bench, path: str, value: str) -> None:
    """Change a stored result behind the program's back."""
    with job.workshop.database.engine.begin() as connection:
        connection.exec_driver_sql(
            "UPDATE result SET document = json_set(document, ?, ?)", (path, value)
        )


def moved(job: Bench) -> None:
    job.measure("before", survey(rig=MOVED))


def orientation_unknown(job: Bench) -> None:
    tamper(job, "$.orientation", "not_checked")


def calibration_run_out(job: Bench) -> None:
    late = calibration(calibrated="2026-02-01", due="2026-02-20")
    arm = job.ready.instrument_id
    job.workshop.do(instruments.calibrate, "inspector", arm, late)
    job.measure("after")


def face_not_measured(job: Bench) -> None:
    job.measure("after", without(survey(), "head_face"))


def no_reference(job: Bench) -> None:
    machine = {**check_in_form()["machine"], "frame_number": "ZZZTEST00A1000018"}
    shop = job.workshop
    number = shop.do(check_in.check_in, "desk", check_in_form(machine=machine)).job_number
    shop.do(jobs.fix_instrument, "technician", number, job.ready.instrument_id)
    job.ready = dataclasses.replace(job.ready, number=number)
    job.measure("before")


def bent(job: Bench) -> None:
    job.measure("before")


def datum_once(job: Bench) -> None:
    job.measure("after", without(survey(), "pivot", "return"))


def pulled_after_measuring(job: Bench) -> None:
    job.workshop.do(jobs.note_correction, "technician", job.number, "one more pull")


def nothing(job: Bench) -> None:
    """As it is."""


REFUSED: dict[str, tuple[certificates.Kind, str, Callable[[Bench], None]]] = {
    "no_survey": ("report", "ready", nothing),
    "set_up_moved": ("report", "ready", moved),
    "orientation_not_checked": ("report", "corrected", orientation_unknown),
    "instrument_out_of_calibration": ("report", "ready", calibration_run_out),
    "required_missing": ("report", "ready", face_not_measured),
    "no_reference_revision": ("report", "ready", no_reference),
    "finding_not_within": ("completion", "ready", bent),
    "hold_open": ("completion", "corrected", see_cracks),
    "datum_not_measured_again": ("completion", "ready", datum_once),
    "corrected_since_measured": ("completion", "corrected", pulled_after_measuring),
}


@pytest.mark.parametrize("code", REFUSED)
def test_what_stands_against_it_is_refused_and_uses_no_number(
    benches: Benches, tmp_path: Path, code: str
) -> None:
    kind, start, make_it_so = REFUSED[code]
    job = benches.copy(tmp_path, of=start)
    assert start == "ready" or job.codes(kind) == []
    make_it_so(job)
    assert code in job.codes(kind)
    with pytest.raises(RefusedToIssue) as caught:
        job.issue(kind)
    assert [problem.code for problem in caught.value.reasons] == job.codes(kind)
    assert job.register() == {}
    job.workshop.database.close()


def test_every_reason_is_told_at_once(job: Bench) -> None:
    moved(job)
    see_cracks(job)
    codes = {"set_up_moved", "finding_not_within", "hold_open", "signer_may_not_sign"}
    assert codes <= set(job.codes("completion", role="desk"))
    assert set(job.codes("report")) == {"set_up_moved"}


def test_only_an_inspector_signs(done: Bench) -> None:
    for role in ("desk", "technician", "owner"):
        assert done.codes(role=role) == ["signer_may_not_sign"]
        with pytest.raises(NotAllowed):
            done.issue(role=role)
    assert done.codes() == []
    assert done.register() == {}


def test_where_the_shop_sets_so_who_measured_does_not_sign(job: Bench) -> None:
    shop = job.workshop
    with shop.database.write() as session:
        session.scalars(scoped(session, shop.people["owner"], Shop)).one().measurer_may_sign = False
    sent = {**survey(), "phase": "after"}
    shop.do(surveys.submit, "inspector", job.number, sent)
    assert job.codes() == ["signer_may_not_sign"]
    job.measure("after", survey(by="Tove"))
    assert job.codes() == []


def test_a_report_of_a_bent_machine_with_an_open_hold_is_issued(job: Bench, quick: None) -> None:
    bent(job)
    see_cracks(job)
    view = job.issue("report")
    assert (view.status, view.finding) == ("valid", "outside")
    content = job.workshop.see(certificates.certificate_content, "desk", view.number)
    (hold,) = content.visual_check.holds
    assert "still open" in hold.value


@pytest.mark.parametrize("password", ["", "a wrong password"])
def test_the_signers_own_password_is_asked_again(done: Bench, password: str) -> None:
    with pytest.raises(BadInput, match="bad_input"):
        done.issue(password=password)
    assert done.register() == {}


def test_guessing_the_signers_password_is_slowed_down(done: Bench) -> None:
    for _ in range(10):
        with contextlib.suppress(BadInput, TooManyTries):
            done.issue(password="guess")
    with pytest.raises(TooManyTries):
        done.issue(password=PASSWORD)


def test_a_token_never_signs(done: Bench, quick: None) -> None:
    shop = done.workshop
    token = actor_with(shop.people["owner"].shop_id, Role.INSPECTOR)
    # A token holds the inspector's role, and is no person all the same.
    shop.people["token"] = dataclasses.replace(token, token_id=1)
    with pytest.raises(NotSignedIn, match="not_a_person"):
        done.issue(role="token")
    assert done.register() == {}


def test_the_owners_key_password_is_needed_once_set(done: Bench) -> None:
    done.issue("report")
    change_password(done.press.data_dir / FOLDER, None, "the key of the owner")
    with pytest.raises(NotAllowed, match="signing_password_needed"):
        done.issue("completion")
    with pytest.raises(NotAllowed, match="signing_password_wrong"):
        done.issue("completion", key_password="another")
    assert list(done.register()) == ["C-2026-0001"]
    assert done.issue("completion", key_password="the key of the owner").number == "C-2026-0002"


def test_a_replacement_supersedes_the_old_one_and_names_it(done: Bench, quick: None) -> None:
    old = done.issue()
    shop = done.workshop
    new = certificates.replace(
        shop.database,
        shop.people["inspector"],
        old.number,
        "completion",
        PASSWORD,
        "the plate was mistyped",
        shop.now + timedelta(hours=1),
        press=done.press,
        passwords=CHEAP,
    )
    assert (new.status, new.replaces) == ("valid", old.number)
    content = shop.see(certificates.certificate_content, "desk", new.number)
    assert old.number in content.replaces
    assert str(old.pdf_sha256) in content.replaces
    assert "the plate was mistyped" in content.replaces
    ended = shop.see(certificates.certificate, "desk", old.number)
    assert (ended.status, ended.replaced_by) == ("superseded", new.number)
    assert ended.status_reason == "the plate was mistyped"
    with pytest.raises(RefusedToIssue, match="certificate_refused"):
        done.issue(replaces=old.number, reason="again")


def test_a_certificate_of_another_job_is_not_replaced(done: Bench, quick: None) -> None:
    old = done.issue()
    no_reference(done)
    with pytest.raises(RefusedToIssue) as caught:
        done.issue("report", replaces=old.number, reason="by mistake")
    assert "certificate_not_valid" in [problem.code for problem in caught.value.reasons]


def test_withdrawing_needs_a_reason_and_is_done_once(done: Bench, quick: None) -> None:
    number = done.issue().number
    shop = done.workshop
    with pytest.raises(BadInput):
        shop.do(certificates.withdraw, "inspector", number, "  ")
    with pytest.raises(NotAllowed):
        shop.do(certificates.withdraw, "owner", number, "reason")
    view = shop.do(certificates.withdraw, "inspector", number, "wrong machine")
    assert (view.status, view.status_reason) == ("withdrawn", "wrong machine")
    assert view.status_since == shop.now
    assert done.pdf(number), "the file stays on record"
    with pytest.raises(Conflict, match="certificate_not_valid"):
        shop.do(certificates.withdraw, "inspector", number, "again")


def test_the_data_holds_what_the_certificate_rests_on(done: Bench, quick: None) -> None:
    number = done.issue().number
    with done.workshop.rows() as (session, owner):
        row = session.scalars(scoped(session, owner, Certificate)).one()
        data = data_of(row)
    assert data["number"] == number
    assert data["measurement"]["survey"]["format"] == "jigbook.survey/1"
    assert data["measurement_before"]["result"]["finding"]["verdict"] == "outside"
    assert data["reference"]["format"] == "jigbook.reference/1"
    assert len(data["measurement"]["survey"]["points"]) == len(survey()["points"])


def test_a_completion_is_issued_signed_and_kept(done: Bench) -> None:
    view = done.issue()
    assert (view.number, view.status, view.kind) == ("C-2026-0001", "valid", "completion")
    assert (view.finding, view.job_number) == ("within", done.number)
    assert (view.signed_by, view.issued_at) == ("Ines", done.workshop.now)
    assert view.machine == "Fjordmark Skarv 700, ZZZTEST00A1000017"
    authority = authority_pem(done.press.data_dir / FOLDER)
    assert check(done.pdf(view.number), [authority], done.workshop.now).unaltered
    file = done.workshop.see(certificates.certificate_file, "desk", view.number)
    assert (file.filename, file.pdf_sha256) == ("C-2026-0001.pdf", view.pdf_sha256)
    assert done.workshop.see(certificates.certificate, "desk", view.number) == view
    assert done.workshop.see(certificates.certificates, "desk", done.number) == (view,)
    assert done.ready.status() == "certified"


def test_the_measurement_certified_is_the_last_standing_one(job: Bench, quick: None) -> None:
    first = job.measure("before")
    job.measure("after")
    later = survey(pose=SOUND, seed=8, by="Second Hand")
    job.measure("after", later, supersedes=2, because="bumped")
    assert first.number == 1
    number = job.issue().number
    content = job.workshop.see(certificates.certificate_content, "desk", number)
    assert content.people.measured_by == "Second Hand"
