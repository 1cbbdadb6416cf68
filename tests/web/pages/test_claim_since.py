"""What the claim's page says beyond the certificate: what became of a hold, whom to ask, when."""

import re

import pytest
from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.tables import Shop as ShopRow
from app.schemas.visual_check import VisualCheckIn
from app.services import certificates, visual_checks
from tests.web.pages.test_claim import Claim, claim, issue, list_link
from tests.web.shop import Shop, text_of

__all__ = ["claim"]
ITEMS = ("frame_cracks", "frame_wrinkles")
INSPECTOR = "Inspector"
"""What the inspector of the tests' shop is called."""


def see(shop: Shop, job: str, item: str) -> int:
    """Something is seen that opens a hold; its number."""
    sent = VisualCheckIn.model_validate({"item": item, "answer": "seen"})
    with shop.database.write() as session:
        technician, now = shop.people["technician"], shop.clock["now"]
        return max(one.id for one in visual_checks.answer(session, technician, job, [sent], now))


def close(shop: Shop, job: str, hold: int, reason: str) -> None:
    with shop.database.write() as session:
        inspector, now = shop.people["inspector"], shop.clock["now"]
        visual_checks.close_hold(session, inspector, job, hold, reason, now)


def test_a_hold_that_was_closed_since_is_told_as_that(claim: Claim) -> None:
    cracks, wrinkles = (see(claim.shop, claim.job, item) for item in ITEMS)
    close(claim.shop, claim.job, wrinkles, "a scratch in the paint")
    claim.shop.later(minutes=30)
    issue(claim.shop, claim.job, "report")
    before = claim.page()
    assert "opened on 2 March 2026, still open" in before
    assert f"closed on 2 March 2026 by {INSPECTOR}: a scratch in the paint" in before
    claim.shop.later(days=2)
    see(claim.shop, claim.job, "fork_yokes")
    close(claim.shop, claim.job, cracks, "frame changed")
    after = claim.page()
    assert "still open" not in after
    told = (
        "cracks in the frame opened on 2 March 2026, open when this certificate was signed; "
        f"closed since, on 4 March 2026 by {INSPECTOR}: frame changed"
    )
    assert told in after
    assert f"closed on 2 March 2026 by {INSPECTOR}: a scratch in the paint" in after
    assert "fork yokes" not in after, "what came later is not the certificate's"


def set_reach(session: Session, shop: Shop, phone: str, email: str) -> None:
    row = session.scalars(scoped(session, shop.people["owner"], ShopRow)).one()
    row.phone, row.email = phone, email


@pytest.mark.parametrize(
    ("phone", "email", "told"),
    [
        ("+47 00 00 01 00", "desk@shop.example", "+47 00 00 01 00 · desk@shop.example"),
        ("+47 00 00 01 00", "", "+47 00 00 01 00"),
        ("", "desk@shop.example", "desk@shop.example"),
        ("", "", ""),
    ],
)
def test_the_shops_telephone_and_mail_stand_where_they_are_on_record(
    claim: Claim, phone: str, email: str, told: str
) -> None:
    with claim.shop.database.write() as session:
        set_reach(session, claim.shop, phone, email)
    listed = claim.shop.visitor().get(f"/claim/{list_link(claim.shop)}")
    for answer in (claim.get(), listed):
        said = " ".join(text_of(answer.text).split())
        assert ("Questions to Workshop:" in said) == bool(told)
        assert told in said
        assert ('href="tel:+4700000100"' in answer.text) == bool(phone)
        assert ('href="mailto:desk@shop.example"' in answer.text) == bool(email)


def test_a_link_that_has_ended_says_whom_to_ask_and_nothing_of_the_claim(claim: Claim) -> None:
    with claim.shop.database.write() as session:
        set_reach(session, claim.shop, "+47 00 00 01 00", "")
    claim.shop.later(days=30)
    expired = claim.get()
    revoked_token = list_link(claim.shop)
    claim.shop.signed_in("desk").post("/insurers/1/links/2/revoke")
    revoked = claim.shop.visitor().get(f"/claim/{revoked_token}")
    for answer in (expired, revoked, claim.get(f"/{claim.certificate}/pdf")):
        assert answer.status_code == 410
        assert "Workshop" in text_of(answer.text)
        assert 'href="tel:+4700000100"' in answer.text
        hidden = ("CL/2026-77", claim.job, claim.certificate, "Fjordmark", "Invented Mutual")
        assert [one for one in hidden if one in answer.text] == []
        assert "Back to the start" not in answer.text, "which asks an outsider for a password"
    unknown = claim.shop.visitor().get("/claim/unknown").text
    assert "tel:" not in unknown, "who guesses learns nothing"


def test_a_correcting_certificate_is_told_before_all_else(claim: Claim) -> None:
    assert "counts now" not in claim.page()
    claim.shop.later(days=1)
    new = issue(claim.shop, claim.job, replaces=claim.certificate, reason="plate corrected")
    page = claim.page()
    told = (
        f"Only {new} (completion certificate) counts now. {new} took the place of "
        f"{claim.certificate} on 3 March 2026: plate corrected."
    )
    assert told in page
    assert page.index(told) < page.index("In force, since")
    report = issue(claim.shop, claim.job, "report")
    page = claim.page()
    assert (
        f"What counts now: {report} (measurement report), {new} (completion certificate)." in page
    )
    for number in (report, new):
        with claim.shop.database.write() as session:
            inspector, now = claim.shop.people["inspector"], claim.shop.clock["now"]
            certificates.withdraw(session, inspector, number, "another machine", now)
    assert "No certificate of this job is in force now." in claim.page()


def test_each_moment_that_outsiders_read_has_its_zone(claim: Claim) -> None:
    """Nobody outside knows by which clock a shop tells its time."""
    issue(claim.shop, claim.job, replaces=claim.certificate, reason="plate corrected")
    visitor = claim.shop.visitor()
    for path in (
        f"/claim/{claim.token}", f"/claim/{list_link(claim.shop)}", f"/verify/{claim.certificate}",
        "/authority",
    ):  # fmt: skip
        said = " ".join(text_of(visitor.get(path).text).split())
        told = re.findall(r"2\d\d\d, \d\d:\d\d(.{4})", said)
        assert set(told) <= {" UTC"}, (path, said)
        assert told or "Claims of" in said, "in the list only of what is not in force any more"
