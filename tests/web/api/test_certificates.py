"""Certificates through the API: refused with reasons, issued, downloaded, verified, withdrawn."""

import pytest

from app.services.permissions import Role
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
    reason = {"reason": "wrong machine"}
    inspector.made("POST", f"/certificates/{number}/withdraw", reason, 200)
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
