"""A customer's page: put right, told what is kept, and erased, with every page standing after."""

import json
import re

import pytest

from app.records.scope import scoped
from app.records.tables import Certificate, Event
from app.schemas.correction import CorrectionIn
from app.schemas.note import NoteIn
from app.services import audit_check, corrections, notes, photos
from app.web.routes import ROUTES
from tests.services.pictures import prepared
from tests.services.staff import PASSWORD
from tests.web.pages.test_claim import Claim, claim, issue
from tests.web.routes import address_of
from tests.web.shop import Shop, Visitor, new_job, text_of

__all__ = ["claim"]

ONE = "/customers/1"
REASON = {"reason": "asked for it in writing"}
SPOKEN = "Ase wants the old fork back"
PERSONAL = ("Åse", "12 34-56", "Made-up Lane", "ase@example", "AB-12 CD", "Nobody was hurt", SPOKEN)


@pytest.fixture
def desk(shop: Shop) -> Visitor:
    return shop.signed_in("desk")


def said(visitor: Visitor, path: str) -> str:
    answer = visitor.get(path)
    assert answer.status_code == 200, path
    return " ".join(text_of(answer.text).split())


def events(shop: Shop, what: str) -> list[str]:
    with shop.database.read() as session:
        rows = scoped(session, shop.people["boss"], Event).where(Event.what == what)
        return [one.public for one in session.scalars(rows)]


def test_the_name_leads_there_from_a_job_and_from_a_search(shop: Shop, desk: Visitor) -> None:
    job = new_job(shop)
    assert f'href="{ONE}">Åse Invented' in desk.get(f"/jobs/{job}").text
    assert f'href="{ONE}">Åse Invented' in desk.get("/?q=ase").text
    page = said(desk, ONE)
    for met in ("+00 12 34-56", "1 Made-up Lane", "Fjordmark Skarv 700 (2021)", "AB-12 CD", job):
        assert met in page, met
    assert "Erase this customer" not in page
    technician = shop.signed_in("technician")
    assert job in said(technician, ONE)
    assert "12 34-56" not in said(technician, ONE) + said(technician, "/?q=ase")


def test_what_is_kept_is_put_right_unless_somebody_was_quicker(shop: Shop, desk: Visitor) -> None:
    new_job(shop)
    page = desk.get(f"{ONE}/change").text
    (seen,) = re.findall(r'name="seen" value="(\w+)"', page)
    form = {"name": "Åse Strand", "phone": "+00 99", "seen": seen}
    empty = desk.post(f"{ONE}/change", {**form, "name": ""})
    assert (empty.status_code, 'id="name-wrong1"' in empty.text) == (422, True)
    assert desk.post(f"{ONE}/change", form).status_code == 303
    assert "Åse Strand" in said(desk, ONE)
    assert desk.post(f"{ONE}/change", {**form, "name": "Late"}).status_code == 409
    assert "Late" not in said(desk, ONE)


def note_and_photo(shop: Shop, job: str) -> None:
    person, now = shop.people["desk"], shop.clock["now"]
    with shop.database.write() as session:
        notes.add(session, person, job, NoteIn(words=SPOKEN), now)
        photos.add(session, person, job, prepared(), None, "Åse beside it", now)


def test_all_that_is_kept_is_told_on_one_page_and_as_a_file(claim: Claim) -> None:
    note_and_photo(claim.shop, claim.job)
    with claim.shop.database.write() as session:
        done = CorrectionIn.model_validate({"text": "Åse's head pulled"})
        person, now = claim.shop.people["technician"], claim.shop.clock["now"]
        corrections.note(session, person, claim.job, done, now)
    desk = claim.shop.signed_in("desk")
    told, file = said(desk, f"{ONE}/kept"), desk.get(f"{ONE}/kept.json")
    assert "attachment" in file.headers["content-disposition"]
    data = file.content.decode()
    for kept in (*PERSONAL[:5], "Nobody was hurt", SPOKEN, "CL/2026-77", claim.certificate):
        assert kept in told, kept
        assert kept in data, kept
    assert f"{claim.job}, a correction Åse's head pulled" in told
    for further in ("1 photo, in the shop's records", "“Åse beside it”", "for adjuster, made 2"):
        assert further in told, further
    read = json.loads(data)
    assert [one["number"] for one in read["jobs"]] == [claim.job]
    assert {one["name"] for one in read["event_log"]} >= {"name", "phone", "plate", "words"}
    assert "person" not in data
    assert '"by"' not in data


def test_giving_it_is_noted_with_the_way(shop: Shop, desk: Visitor) -> None:
    new_job(shop)
    assert desk.post(f"{ONE}/kept").status_code == 422
    assert desk.post(f"{ONE}/kept", {"way": "by pigeon"}).status_code == 422
    assert events(shop, "customer.told") == []
    assert desk.post(f"{ONE}/kept", {"way": "paper"}).status_code == 303
    assert events(shop, "customer.told") == ['{"given":"paper"}']
    assert "given on paper, 2 March 2026" in said(desk, ONE)


def test_a_wish_to_be_erased_waits_on_the_owners_list(shop: Shop, desk: Visitor) -> None:
    new_job(shop)
    waits = "To be erased, as they asked: Åse Invented · asked on 2 March 2026"
    boss = shop.signed_in("boss")
    assert waits not in said(boss, "/")
    assert desk.post(f"{ONE}/erasure-asked").status_code == 303
    assert waits in said(boss, "/")
    assert waits not in said(desk, "/")
    assert desk.post(f"{ONE}/erase", {**REASON, "password": PASSWORD}).status_code == 403
    assert desk.post(f"{ONE}/erasure-not-asked").status_code == 303
    assert waits not in said(boss, "/")


def test_before_erasing_the_owner_reads_what_goes_and_what_stays(claim: Claim) -> None:
    note_and_photo(claim.shop, claim.job)
    boss = claim.shop.signed_in("boss")
    assert "Whoever opened a link" not in said(boss, f"{ONE}/erase")
    claim.page()
    page = said(boss, f"{ONE}/erase")
    for line in (
        "1 photo with its caption",
        "plate and note of 1 machine",
        "1 link to the claim: it opens nothing any more",
        f"Certificates, as they are: {claim.certificate} (in force)",
        f"The machine still stands in the shop: {claim.job}",
        "Whoever opened a link made for: adjuster.",
    ):
        assert line in page, line


def test_erasing_asks_for_a_reason_without_a_name_and_the_password(shop: Shop) -> None:
    new_job(shop)
    boss = shop.signed_in("boss")
    for form in (
        {"reason": "", "password": PASSWORD},
        {"reason": "Ase asked", "password": PASSWORD},
        {"reason": "the owner of AB12CD asked", "password": PASSWORD},
        {**REASON, "password": "wrong"},
    ):
        answer = boss.post(f"{ONE}/erase", form)
        assert answer.status_code in (403, 422), form
        assert "This cannot be taken yet" in answer.text
    assert "Åse Invented" in said(boss, ONE)
    assert events(shop, "customer.erased") == []


def erased(shop: Shop) -> Visitor:
    boss = shop.signed_in("boss")
    form = {**REASON, "password": PASSWORD}
    assert boss.post(f"{ONE}/erase", form).status_code == 303
    return boss


def test_after_erasing_every_page_stands_and_none_names_the_customer(claim: Claim) -> None:
    shop, job = claim.shop, claim.job
    note_and_photo(shop, job)
    boss = erased(shop)
    page = said(boss, ONE)
    assert "Erased on 2 March 2026" in page
    assert "Photos 1" in page
    for name in ("desk", "inspector", "boss"):
        for path, text in pages_of(shop.signed_in(name), job):
            told = [one for one in PERSONAL if one in text]
            assert told == [], (name, path, told)
    assert "customer erased" in said(boss, f"/jobs/{job}")
    assert "customer erased" in said(boss, f"/?q={job}")
    assert "Åse" not in said(boss, "/?q=ase")
    assert claim.get().status_code == 410
    with shop.database.read() as session:
        assert audit_check.verify(session, shop.people["boss"]).breaks == ()


HANDED_OVER = {"handed_over_to": "Mina", "given_back": ["one key", "top case"]}
AT_RECEIPT = "Receipt, to be printed and signed"
WHERE_STATED = "erased on 2 March 2026, if it was stated"


def test_after_erasing_the_desk_is_told_what_was_erased_not_that_it_was_never_given(
    claim: Claim,
) -> None:
    shop, job = claim.shop, f"/jobs/{claim.job}"
    note_and_photo(shop, claim.job)
    desk = shop.signed_in("desk")
    assert desk.post(f"{job}/hand-over", HANDED_OVER).status_code == 303
    assert desk.post(f"{ONE}/erasure-asked").status_code == 303
    before = said(desk, job)
    assert "The customer asked on 2 March 2026 to be erased." in before
    assert AT_RECEIPT in before
    shop.later(minutes=1)
    erased(shop)
    page = said(desk, job)
    for told in (
        "The customer was erased on 2 March 2026.", f"Plate {WHERE_STATED}",
        f"Account {WHERE_STATED}", f"Left with the machine {WHERE_STATED}",
        f"Order given by {WHERE_STATED}", "1 photo was erased on 2 March 2026.",
        "to a person (name erased).", "what was given back was erased", "Where it stood bay 3",
    ):  # fmt: skip
        assert told in page, told
    for untrue in (AT_RECEIPT, "to not stated", "None yet", "asked on", "Where it stands"):
        assert untrue not in page, untrue
    receipt = said(desk, f"{job}/receipt")
    assert "The paper that was signed when it left stands" in receipt
    assert "To whom" not in receipt
    card = said(desk, f"{job}/card")
    assert "plate erased" in card
    assert f"Left with the machine {WHERE_STATED}" in card
    assert "stands at" not in card
    assert "if it was stated" not in said(desk, f"{ONE}/kept")
    links = said(desk, f"{job}/links")
    assert f"Certificate {claim.certificate} is signed and still names the customer" in links
    assert "adjuster · ended: the customer was erased" in links


def test_what_leaves_after_erasing_has_its_receipt(shop: Shop, desk: Visitor) -> None:
    job = f"/jobs/{new_job(shop, belongings=[])}"
    erased(shop)
    shop.later(minutes=1)
    assert desk.post(f"{job}/hand-over", {"handed_over_to": "Mina"}).status_code == 303
    assert AT_RECEIPT in said(desk, job)
    assert "Handed over to Mina" in said(desk, job)
    assert "To whom Mina" in said(desk, f"{job}/receipt")


def pages_of(visitor: Visitor, job: str) -> list[tuple[str, str]]:
    """Every page of the job and the customer, the list of the day and the event log."""
    parts = {"number": job, "survey": "1", "customer": "1", "photo": "1"}
    found = []
    for route in ROUTES.values():
        if (route.method, route.door) != ("GET", "pages") or route.path.startswith("/cert"):
            continue
        if set(re.findall(r"\{(\w+)\}", route.path)) <= set(parts):
            path = address_of(route, **parts)
            answer = visitor.get(path)
            assert answer.status_code in (200, 303, 403, 404, 409), path
            found.append((path, answer.text))
    assert len(found) > 50
    return found


def test_a_certificate_is_put_right_without_the_name_after_erasing(claim: Claim) -> None:
    erased(claim.shop)
    claim.shop.later(minutes=1)
    later = issue(claim.shop, claim.job, replaces=claim.certificate, reason="without the name")
    boss = claim.shop.signed_in("boss")
    with claim.shop.database.read() as session:
        rows = session.scalars(scoped(session, claim.shop.people["boss"], Certificate))
        names = {row.number: "Åse" in (row.content or "") for row in rows}
    assert names == {claim.certificate: True, later: False}
    told = said(boss, f"{ONE}/kept")
    assert (
        f"{claim.certificate} (completion certificate), issued 2 March 2026, replaced: it" in told
    )
    assert f"{later} (completion certificate), issued 2 March 2026, in force:" not in told


def test_an_erased_customer_is_neither_put_right_nor_asked_again(shop: Shop) -> None:
    new_job(shop)
    boss = erased(shop)
    for path, form in (
        ("change", {"name": "Back", "seen": ""}),
        ("erasure-asked", {}),
        ("erase", {**REASON, "password": PASSWORD}),
    ):
        assert boss.post(f"{ONE}/{path}", form).status_code == 409, path
    assert boss.get(f"{ONE}/erase").status_code == 409
    assert "Back" not in said(boss, ONE)
