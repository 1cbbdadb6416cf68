"""Certificates through the API: refused with reasons, issued, downloaded, verified, withdrawn."""

import pytest

from app.errors import Unavailable
from app.services import issuing_tasks
from app.services.issuing_queue import IssuingQueue
from app.services.order import Made
from app.services.permissions import Role
from app.web.api.waiting import seconds_to_wait
from tests.services.staff import PASSWORD, Staff
from tests.web.api.client import Api
from tests.web.api.test_measuring import BEFORE, earlier, job

__all__ = ["job"]

PDF = "application/pdf"
SIGNED = {"signer": "ines", "password": PASSWORD}


@pytest.fixture
def staff(api: Api) -> Staff:
    """An inspector and a technician with passwords of their own."""
    made = Staff(api.database, api.owner)
    made.add("ines", Role.INSPECTOR)
    made.add("tom", Role.TECHNICIAN)
    return made


def test_every_reason_against_a_certificate_is_told_at_once(
    api: Api, job: str, staff: Staff
) -> None:
    inspector = api.as_role("inspector")
    path = f"/jobs/{job}/certificates"
    obstacles = inspector.get(f"{path}/obstacles?kind=completion")["items"]
    assert "no_survey" in {one["code"] for one in obstacles}
    refused = inspector.ask("POST", path, {"kind": "completion", **SIGNED})
    assert refused.status_code == 409
    told = refused.json()
    assert told["code"] == "certificate_refused"
    assert {one["code"] for one in told["errors"]} == {one["code"] for one in obstacles}
    assert all(one["message"] for one in told["errors"])
    assert inspector.get("/certificates")["items"] == []


@pytest.mark.parametrize(
    ("signed", "status", "code"),
    [
        ({}, 422, "missing"),
        ({"signer": "ines"}, 422, "missing"),
        ({"signer": "ines", "password": "not hers"}, 403, "wrong_password"),
        ({"signer": "nobody", "password": PASSWORD}, 403, "wrong_password"),
        ({"signer": "tom", "password": PASSWORD}, 403, "not_allowed"),
    ],
)
def test_only_a_person_who_is_an_inspector_signs(
    api: Api, job: str, staff: Staff, signed: dict[str, str], status: int, code: str
) -> None:
    api.as_role("technician").made("POST", f"/jobs/{job}/surveys", earlier(BEFORE))
    inspector = api.as_role("inspector")
    answer = inspector.ask("POST", f"/jobs/{job}/certificates", {"kind": "report", **signed})
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert inspector.get("/certificates")["items"] == []


def test_guessing_a_signers_password_is_slowed_down(api: Api, job: str, staff: Staff) -> None:
    inspector, path = api.as_role("inspector"), f"/jobs/{job}/certificates"
    for _ in range(6):
        body = {"kind": "report", "signer": "ines", "password": "guess"}
        answer = inspector.ask("POST", path, body)
    assert answer.status_code == 429
    assert answer.headers["retry-after"] == "60"
    assert inspector.ask("POST", path, {"kind": "report", **SIGNED}).status_code == 429


def test_a_report_is_issued_once_downloaded_verified_and_withdrawn(
    api: Api, job: str, staff: Staff
) -> None:
    technician, inspector = api.as_role("technician"), api.as_role("inspector")
    technician.made("POST", f"/jobs/{job}/surveys", earlier(BEFORE))
    path, key = f"/jobs/{job}/certificates", {"Idempotency-Key": "sign-1", "Prefer": "wait=60"}
    body = {"kind": "report", **SIGNED}
    first, second = (inspector.ask("POST", path, body, headers=key) for _ in range(2))
    assert first.status_code == 201, first.text
    assert second.text == first.text
    number = first.json()["number"]
    assert first.json()["signed_by"] == "Ines"
    twice = inspector.ask("POST", path, body)
    assert twice.json()["errors"][0]["code"] == "certificate_already_there"
    require_no_password_kept(api)
    assert [one["number"] for one in inspector.get("/certificates")["items"]] == [number]
    assert [one["number"] for one in inspector.get(path)["items"]] == [number]
    file = inspector.ask("GET", f"/certificates/{number}/pdf")
    assert file.headers["content-type"] == PDF
    assert file.content.startswith(b"%PDF-")
    require_in_force(api, file.content)
    reason, place = {"reason": "wrong machine"}, f"/certificates/{number}/withdraw"
    assert inspector.ask("POST", place, reason).status_code == 422
    guessed = inspector.ask("POST", place, {**reason, "signer": "ines", "password": "not hers"})
    assert (guessed.status_code, guessed.json()["code"]) == (403, "wrong_password")
    inspector.made("POST", place, {**reason, **SIGNED}, 200)
    assert inspector.get(f"/certificates/{number}")["status"] == "withdrawn"
    report = api.ask("POST", "/certificates/verify", content=file.content, media_type=PDF).json()
    assert (report["unaltered"], report["in_force"]) == (True, False)
    assert "wrong machine" not in str(report), "why is for the shop and the adjuster"


def require_no_password_kept(api: Api) -> None:
    with api.database.engine.connect() as connection:
        for table in ("idempotency_key", "event", "personal_value"):
            rows = connection.exec_driver_sql(f"SELECT * FROM {table}").all()
            assert PASSWORD not in str(rows)


def require_in_force(api: Api, pdf: bytes) -> None:
    """Anybody may ask, without a token."""
    report = api.ask("POST", "/certificates/verify", content=pdf, media_type=PDF).json()
    assert (report["unaltered"], report["in_force"]) == (True, True)
    for content in (b"", b"not a pdf", b"%PDF-1.7\n" + b"x" * 100_000):
        report = api.ask("POST", "/certificates/verify", content=content, media_type=PDF).json()
        assert report["unaltered"] is False
    altered = pdf[:-400] + bytes([pdf[-400] ^ 1]) + pdf[-399:]
    report = api.ask("POST", "/certificates/verify", content=altered, media_type=PDF).json()
    assert (report["unaltered"], report["in_force"]) == (False, False)


def test_a_shop_without_certificates_says_so_and_not_where_its_keys_would_be(api: Api) -> None:
    answer = api.ask("POST", "/certificates/verify", content=b"%PDF-1.7", media_type=PDF)
    assert (answer.status_code, answer.json()["code"]) == (503, "no_certificate_yet")
    assert "/" not in answer.json()["detail"]


def test_only_a_pdf_is_verified(api: Api) -> None:
    answer = api.ask("POST", "/certificates/verify", content=b"{}")
    assert (answer.status_code, answer.json()["code"]) == (415, "wrong_media_type")


def reported(api: Api, job: str) -> tuple[Api, str, dict[str, str]]:
    """An inspector's program, the address of a measured job's certificates, what it sends."""
    api.as_role("technician").made("POST", f"/jobs/{job}/surveys", earlier(BEFORE))
    return api.as_role("inspector"), f"/jobs/{job}/certificates", {"kind": "report", **SIGNED}


@pytest.fixture
def by_hand(monkeypatch: pytest.MonkeyPatch) -> None:
    """Files that are not laid out, and a queue that goes on only when a test says so."""
    monkeypatch.setattr(IssuingQueue, "start", lambda queue: None)
    monkeypatch.setattr("app.services.press.Press.problems_with", lambda *words: ())
    monkeypatch.setattr(
        "app.services.press.Press.make", lambda press, order, beat=None: Made(b"%PDF", None)
    )


def test_a_certificate_is_accepted_at_once_and_told_where_it_will_be(
    api: Api, job: str, staff: Staff, by_hand: None
) -> None:
    inspector, path, body = reported(api, job)
    key = {"Idempotency-Key": "sign-1"}
    accepted = inspector.ask("POST", path, body, headers=key)
    assert accepted.status_code == 202, accepted.text
    assert accepted.json()["status"] == "issuing"
    assert accepted.headers["location"] == f"/api/v1/certificates/{accepted.json()['number']}"
    again = inspector.ask("POST", path, body, headers=key)
    assert (again.status_code, again.text) == (202, accepted.text)
    number = accepted.json()["number"]
    told = inspector.get(f"/certificates/{number}/progress")
    assert (told["state"], told["ahead"]) == ("queued", 0)
    file = inspector.ask("GET", f"/certificates/{number}/pdf")
    assert (file.status_code, file.json()["code"]) == (409, "certificate_has_no_file")
    queue_of(api).finish_next()
    assert inspector.get(f"/certificates/{number}/progress")["state"] == "stored"


def test_a_client_that_waits_gets_the_finished_one_or_why_there_is_none(
    api: Api, job: str, staff: Staff, by_hand: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    inspector, path, body = reported(api, job)
    late = inspector.ask("POST", path, body, headers={"Prefer": "wait=1"})
    assert late.status_code == 202, "the time was over"
    number = late.json()["number"]
    inspector.made("POST", f"/certificates/{number}/give-up", {"reason": "too late"}, 200)

    def broken(press: object, order: object, beat: object = None) -> Made:
        raise Unavailable("render_refused")

    monkeypatch.setattr("app.services.press.Press.make", broken)
    monkeypatch.setattr(IssuingQueue, "start", lambda queue: queue.finish_next())
    refused = inspector.ask("POST", path, body, headers={"Prefer": "respond-async, wait=30"})
    assert (refused.status_code, refused.json()["code"]) == (409, "certificate_not_made")
    assert "render_refused" in refused.json()["detail"]


def test_one_that_waits_is_resumed_and_one_given_up_is_void(
    api: Api, job: str, staff: Staff, by_hand: None
) -> None:
    inspector, path, body = reported(api, job)
    number = inspector.made("POST", path, body, 202)["number"]
    early = inspector.ask("POST", f"/certificates/{number}/resume", {})
    assert (early.status_code, early.json()["code"]) == (409, "certificate_not_waiting")
    with api.database.write() as session:
        task = issuing_tasks.task_of(session, api.owner, number)
        assert task is not None
        issuing_tasks.wait_for(task, "person", "worker_failed")
    assert inspector.get(f"/certificates/{number}/progress")["problem"] == "worker_failed"
    resumed = inspector.made("POST", f"/certificates/{number}/resume", {}, 200)
    assert resumed["state"] == "queued"
    gone = inspector.made("POST", f"/certificates/{number}/give-up", {"reason": "wrong job"}, 200)
    assert (gone["status"], gone["status_reason"]) == ("void", "wrong job")


def queue_of(api: Api) -> IssuingQueue:
    queue: IssuingQueue = api.state.issuing
    return queue


@pytest.mark.parametrize(
    ("preference", "seconds"),
    [("", 0), ("wait=10", 10), ("respond-async, wait=30", 30), ('wait="5"; x', 5),
     ("wait=9999", 60), ("wait", 0), ("nowait=3", 0), ("wait=-1", 0)],
)  # fmt: skip
def test_a_preference_to_wait_is_read_as_rfc_7240_writes_it(preference: str, seconds: int) -> None:
    assert seconds_to_wait(preference) == seconds
