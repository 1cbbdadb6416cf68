"""Claim links, insurers' links, bundles and the register through the API."""

import email
import hashlib
import io
import json
import zipfile
from datetime import timedelta
from typing import Any

import pytest

from app.errors import NotFound
from app.services import audit_check, claim_opening, claims, photos, signing_keys
from app.services.claims import LONGEST_DAYS
from app.services.order import Made, Order
from app.services.permissions import Role
from app.services.press import Press
from app.services.register_export import TABLE
from app.web.pages.links import link_of
from tests.databases import NOW
from tests.services.pictures import prepared
from tests.services.staff import PASSWORD, Staff
from tests.signing.pages import signed_with, unsigned
from tests.web.api.client import Api
from tests.web.api.test_measuring import BEFORE, earlier, job

__all__ = ["job"]

KEY = {"Idempotency-Key": "link-1"}
OFFICE = "198.51.100.7"


def opened(api: Api, address: str) -> object:
    token = address.rpartition("/claim/")[2]
    return claim_opening.open_link(api.database, token, NOW, address=OFFICE)


@pytest.fixture
def certificate(api: Api, job: str, monkeypatch: pytest.MonkeyPatch) -> str:
    """The number of a report that is signed, but not laid out."""
    small = unsigned()

    def make(press: Press, order: Order, *more: object) -> Made:
        return Made(signed_with(order.key, order.when, small), None)

    monkeypatch.setattr(Press, "make", make)
    monkeypatch.setattr(Press, "problems_with", lambda *words: ())
    Staff(api.database, api.owner).add("ines", Role.INSPECTOR)
    api.as_role("technician").made("POST", f"/jobs/{job}/surveys", earlier(BEFORE))
    body = {"kind": "report", "signer": "ines", "password": PASSWORD}
    answer = api.as_role("inspector").ask(
        "POST", f"/jobs/{job}/certificates", body, headers={"Prefer": "wait=60"}
    )
    assert answer.status_code == 201, answer.text
    number: str = answer.json()["number"]
    return number


def test_a_link_is_made_opened_listed_and_revoked(api: Api, job: str) -> None:
    desk, inspector = api.as_role("desk"), api.as_role("inspector")
    path = f"/jobs/{job}/claim-links"
    made = inspector.made("POST", path, {"note": "adjuster", "valid_days": 7})
    assert made["job_number"] == job
    assert made["address"].startswith("http://127.0.0.1:8417/claim/")
    assert made["expires_at"] == (NOW + timedelta(days=7)).isoformat().replace("+00:00", "Z")
    opened(api, made["address"])
    (listed,) = desk.get(path)["items"]
    assert (listed["note"], listed["state"], listed["openings"]) == ("adjuster", "open", 1)
    assert listed["hint"] == made["address"].rpartition("/")[2][:6]
    assert desk.get("/claim-links")["items"] == [listed]
    assert desk.get(f"/claim-links/{made['id']}") == listed
    (use,) = desk.get(f"/claim-links/{made['id']}/uses")["items"]
    assert (use["what"], use["address"]) == ("viewed", "198.51.100.0/24")
    assert desk.get("/claim-links/uses")["items"] == [use]
    ended = inspector.made("POST", f"/claim-links/{made['id']}/revoke", None, 200)
    assert ended == {"id": made["id"], "state": "revoked", "revoked_at": "2026-03-02T09:00:00Z"}
    with pytest.raises(NotFound, match="claim_link_revoked"):
        opened(api, made["address"])
    assert desk.get(f"/claim-links/{made['id']}")["refused"] == 1
    assert inspector.made("POST", f"/claim-links/{made['id']}/revoke", None, 200) == ended


def test_a_repeat_gets_the_same_link_and_nobody_else_can_work_it_out(api: Api, job: str) -> None:
    """The answer to the first try may have been lost on its way."""
    path, body = f"/jobs/{job}/claim-links", {"note": "adjuster"}
    desk = api.as_role("desk")
    first, second = (desk.ask("POST", path, body, headers=KEY) for _ in range(2))
    assert (first.status_code, first.text) == (201, second.text)
    assert len(desk.get(path)["items"]) == 1
    opened(api, second.json()["address"])
    token = first.json()["address"].rpartition("/")[2]
    with api.database.engine.connect() as connection:
        rows = connection.exec_driver_sql("SELECT * FROM idempotency_key").all()
        tables = [
            str(connection.exec_driver_sql(f"SELECT * FROM {name}").all())
            for name in ("idempotency_key", "claim_link", "event", "personal_value")
        ]
    assert "odd" in str(rows)
    assert all(token not in table for table in tables), "only its digest is kept"
    assert hashlib.sha256(token.encode()).hexdigest() in tables[1]
    other = desk.ask("POST", path, {"note": "somebody else"}, headers=KEY)
    assert (other.status_code, other.json()["code"]) == (409, "idempotency_key_reused")
    third = api.as_role("owner").ask("POST", path, body, headers=KEY).json()
    fourth = desk.made("POST", path, body)
    addresses = {first.json()["address"], third["address"], fourth["address"]}
    assert len(addresses) == 3


@pytest.mark.parametrize(
    ("body", "code"),
    [({"valid_days": 0}, "too_small"), ({"valid_days": LONGEST_DAYS + 1}, "too_large"),
     ({"valid_days": "soon"}, "wrong_type"), ({"days": 3}, "unknown_key"),
     ({"note": "a\nb"}, "not_printable"), ({"note": " "}, "missing")],
)  # fmt: skip
def test_a_link_that_makes_no_sense_is_refused_by_field(
    api: Api, job: str, body: dict[str, Any], code: str
) -> None:
    insurer = api.as_role("desk").made("POST", "/insurers", {"name": "Invented Mutual"})["id"]
    for path in (f"/jobs/{job}/claim-links", f"/insurers/{insurer}/claim-links"):
        answer = api.as_role("desk").ask("POST", path, {**body, "note": body.get("note", "office")})
        assert answer.status_code == 422
        assert answer.headers["content-type"] == "application/problem+json"
        (problem,) = answer.json()["errors"]
        assert (problem["code"], problem["field"]) == (code, next(iter(body)))
    assert api.as_role("owner").get("/claim-links")["items"] == []


def test_an_insurer_is_made_changed_and_given_a_link(api: Api) -> None:
    desk = api.as_role("desk")
    made = desk.made("POST", "/insurers", {"name": "Invented Mutual"})
    path = f"/insurers/{made['id']}"
    desk.made("PUT", path, {"name": "Invented Mutual", "email": "claims@invented.test"}, 200)
    assert desk.get(path)["email"] == "claims@invented.test"
    assert [one["id"] for one in desk.get("/insurers?search=mutual")["items"]] == [made["id"]]
    first, second = (
        desk.ask("POST", f"{path}/claim-links", {"note": "office"}, headers=KEY) for _ in range(2)
    )
    assert (first.status_code, first.text) == (201, second.text)
    link = first.json()
    assert (link["job_number"], link["insurer_id"]) == (None, made["id"])
    opened(api, link["address"])
    (listed,) = desk.get(f"{path}/claim-links")["items"]
    assert (listed["insurer"], listed["openings"]) == ("Invented Mutual", 1)
    wrong = desk.ask("POST", f"/claim-links/{link['id']}/revoke")
    assert (wrong.status_code, wrong.json()["code"]) == (404, "no_such_claim_link")
    desk.made("POST", f"{path}/claim-links/{link['id']}/revoke", None, 200)
    with pytest.raises(NotFound, match="claim_link_revoked"):
        opened(api, link["address"])


def test_where_there_is_nothing_it_says_so(api: Api) -> None:
    desk = api.as_role("desk")
    for method, path, body, code in (
        ("GET", "/claim-links/9", None, "no_such_claim_link"),
        ("GET", "/claim-links/9/uses", None, "no_such_claim_link"),
        ("GET", "/insurers/9/claim-links", None, "no_such_insurer"),
        ("GET", "/jobs/J-2026-9999/claim-links", None, "no_such_job"),
        ("POST", "/insurers/9/claim-links", {"note": "office"}, "no_such_insurer"),
        ("POST", "/insurers/9/claim-links/9/revoke", None, "no_such_claim_link"),
        ("GET", "/certificates/C-2026-9999/bundle", None, "no_such_certificate"),
    ):
        answer = desk.ask(method, path, body)
        assert (answer.status_code, answer.json()["code"]) == (404, code), path


def test_uses_come_in_pages(api: Api, job: str) -> None:
    desk = api.as_role("desk")
    made = desk.made("POST", f"/jobs/{job}/claim-links", {"note": "adjuster"})
    for _ in range(3):
        opened(api, made["address"])
    first = desk.get("/claim-links/uses?limit=2")
    assert len(first["items"]) == 2
    rest = desk.get(first["next"].removeprefix("/api/v1"))
    assert (len(rest["items"]), rest["next"]) == (1, None)


def test_who_may_make_a_link_but_not_see_its_uses_is_not_told_of_them(api: Api, job: str) -> None:
    inspector = api.as_role("inspector")
    made = inspector.made("POST", f"/jobs/{job}/claim-links", {"note": "adjuster"})
    assert set(made) == {"id", "job_number", "insurer_id", "expires_at", "address"}
    assert inspector.ask("GET", f"/claim-links/{made['id']}/uses").status_code == 403
    assert inspector.ask("GET", "/claim-links").status_code == 403
    assert [one["id"] for one in inspector.get(f"/jobs/{job}/claim-links")["items"]] == [made["id"]]
    assert inspector.ask("POST", "/insurers/1/claim-links", {}).status_code == 403


def test_the_shops_pages_say_that_a_program_made_it(api: Api, job: str) -> None:
    api.as_role("desk").made("POST", f"/jobs/{job}/claim-links", {"note": "adjuster"})
    with api.database.read() as session:
        (link,) = claims.links(session, api.owner, NOW)
    assert link_of(link).made.endswith("by a program")


def test_photos_are_chosen_for_the_claim(api: Api, job: str) -> None:
    with api.database.write() as session:
        photo = photos.add(session, api.owner, job, prepared(), None, "dent", NOW).id
    path = f"/jobs/{job}/photos/{photo}"
    desk = api.as_role("desk")
    assert desk.made("POST", f"{path}/share", None, 200)["shared_at"] is not None
    assert desk.made("POST", f"{path}/keep-back", None, 200)["shared_at"] is None
    assert api.as_role("technician").ask("POST", f"{path}/share").status_code == 403


def test_the_bundle_holds_the_certificate_byte_for_byte(api: Api, certificate: str) -> None:
    technician = api.as_role("technician")
    answer = technician.ask("GET", f"/certificates/{certificate}/bundle")
    assert answer.headers["content-type"] == "application/zip"
    assert f'filename="{certificate}.zip"' in answer.headers["content-disposition"]
    with zipfile.ZipFile(io.BytesIO(answer.content)) as files:
        pdf = technician.ask("GET", f"/certificates/{certificate}/pdf").content
        assert files.read(f"{certificate}.pdf") == pdf


def test_the_mail_carries_the_bundle(api: Api, certificate: str) -> None:
    path = f"/certificates/{certificate}"
    answer = api.as_role("inspector").ask("GET", f"{path}/message")
    assert answer.headers["content-type"] == "message/rfc822"
    assert f'filename="{certificate}.eml"' in answer.headers["content-disposition"]
    mail = email.message_from_bytes(answer.content)
    (attached,) = [one for one in mail.walk() if one.get_filename()]
    bundle = api.as_role("desk").ask("GET", f"{path}/bundle").content
    assert attached.get_payload(decode=True) == bundle
    assert api.as_role("technician").ask("GET", f"{path}/message").status_code == 403


def test_the_register_is_exported_signed_and_on_record(api: Api, certificate: str) -> None:
    inspector = api.as_role("inspector")
    answer = inspector.ask("POST", "/register/export", {})
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "application/zip"
    with zipfile.ZipFile(io.BytesIO(answer.content)) as files:
        told = json.loads(files.read("register.json"))
        assert certificate in files.read(TABLE).decode()
        assert files.read("register.json.p7s")
    assert [one["number"] for one in told["entries"]] == [certificate]
    with api.database.read() as session:
        assert audit_check.verify(session, api.owner).whole
    with api.database.engine.connect() as connection:
        events = connection.exec_driver_sql("SELECT what FROM event").scalars().all()
    assert "register.exported" in events


def test_the_password_of_the_key_is_asked_for(api: Api, certificate: str) -> None:
    state = api.state
    with api.database.write() as session:
        signing_keys.set_password(
            session, api.owner, None, "a key kept by the owner", NOW, press=state.press
        )
    inspector = api.as_role("inspector")
    for sent in ({}, {"key_password": "wrong"}):
        answer = inspector.ask("POST", "/register/export", sent)
        assert (answer.status_code, answer.json()["errors"][0]["field"]) == (422, "key_password")
    good = {"key_password": "a key kept by the owner"}
    assert inspector.ask("POST", "/register/export", good).status_code == 200


def test_without_a_certificate_there_is_nothing_to_sign_with(api: Api) -> None:
    answer = api.as_role("owner").ask("POST", "/register/export", {})
    assert (answer.status_code, answer.json()["code"]) == (503, "no_authority")
