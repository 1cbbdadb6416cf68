"""Certificates through the API: refused with reasons, issued, downloaded, verified, withdrawn."""

from tests.web.api.client import Api
from tests.web.api.test_measuring import BEFORE, earlier, job

__all__ = ["job"]

PDF = "application/pdf"


def test_every_reason_against_a_certificate_is_told_at_once(api: Api, job: str) -> None:
    inspector = api.as_role("inspector")
    path = f"/jobs/{job}/certificates"
    obstacles = inspector.get(f"{path}/obstacles?kind=completion")["items"]
    assert "no_survey" in {one["code"] for one in obstacles}
    refused = inspector.ask("POST", path, {"kind": "completion"})
    assert refused.status_code == 409
    told = refused.json()
    assert told["code"] == "certificate_refused"
    assert {one["code"] for one in told["errors"]} == {one["code"] for one in obstacles}
    assert all(one["message"] for one in told["errors"])
    assert inspector.get("/certificates")["items"] == []


def test_a_report_is_issued_once_downloaded_verified_and_withdrawn(api: Api, job: str) -> None:
    technician, inspector = api.as_role("technician"), api.as_role("inspector")
    technician.made("POST", f"/jobs/{job}/surveys", earlier(BEFORE))
    path, key = f"/jobs/{job}/certificates", {"Idempotency-Key": "sign-1"}
    first, second = (inspector.ask("POST", path, {"kind": "report"}, headers=key) for _ in range(2))
    assert first.status_code == 201, first.text
    assert second.text == first.text
    number = first.json()["number"]
    assert [one["number"] for one in inspector.get("/certificates")["items"]] == [number]
    assert [one["number"] for one in inspector.get(path)["items"]] == [number]
    file = inspector.ask("GET", f"/certificates/{number}/pdf")
    assert file.headers["content-type"] == PDF
    assert file.content.startswith(b"%PDF-")
    require_in_force(api, file.content)
    body = {"reason": "wrong machine"}
    inspector.made("POST", f"/certificates/{number}/withdraw", body, 200)
    assert inspector.get(f"/certificates/{number}")["status"] == "withdrawn"
    report = api.ask("POST", "/certificates/verify", content=file.content, media_type=PDF).json()
    assert (report["unaltered"], report["in_force"]) == (True, False)


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
