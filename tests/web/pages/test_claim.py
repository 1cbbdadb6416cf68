"""The claim as outsiders see it: standing first, before and now in plain words, dead ends."""

import io
import json
import re
import zipfile
from typing import Any, NamedTuple

import httpx
import pytest

from app.schemas.visual_check import VisualCheckIn
from app.services import (
    certificates,
    claims,
    insurer_links,
    visual_checks,
)
from app.services.certificates import Kind
from app.services.order import Made, Order
from app.services.press import Press
from app.services.throttle import FREE_TRIES
from tests.databases import CHEAP
from tests.services.staff import PASSWORD
from tests.signing.pages import signed_with, unsigned
from tests.web.shop import Shop, measured_job, new_job, state_of, text_of

BOTH = ("before-head-bent.json", "after-corrected.json")


class Claim(NamedTuple):
    """A shop with one certified job, and a link to it."""

    shop: Shop
    job: str
    certificate: str
    token: str

    def get(self, path: str = "") -> httpx.Response:
        return self.shop.visitor().get(f"/claim/{self.token}{path}")

    def page(self) -> str:
        return " ".join(text_of(self.get().text).split())


@pytest.fixture
def claim(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> Claim:
    """Signed, but not laid out."""
    small = unsigned()

    def made(press: Press, order: Order, *more: object) -> Made:
        return Made(signed_with(order.key, order.when, small), None)

    monkeypatch.setattr(Press, "make", made)
    job = measured_job(shop, BOTH)
    return Claim(shop, job, issue(shop, job), link_to(shop, job))


def issue(shop: Shop, job: str, kind: Kind = "completion", **more: Any) -> str:
    press = Press(state_of(shop).press.data_dir, own_process=False)
    words: dict[str, Any] = {"press": press, "passwords": CHEAP, **more}
    inspector, now = shop.people["inspector"], shop.clock["now"]
    view = certificates.issue(shop.database, inspector, job, kind, PASSWORD, now, **words)
    return view.number


def link_to(shop: Shop, job: str) -> str:
    with shop.database.write() as session:
        desk, now = shop.people["desk"], shop.clock["now"]
        return claims.create_link(session, desk, job, now, note="adjuster").token


def list_link(shop: Shop, insurer: int = 1) -> str:
    with shop.database.write() as session:
        desk, now = shop.people["desk"], shop.clock["now"]
        return insurer_links.create_link(session, desk, insurer, now, note="claims office").token


def test_it_says_at_once_that_it_is_in_force_and_tells_before_and_now(claim: Claim) -> None:
    page = claim.page()
    for said in (
        "In force, since 2 March 2026",
        "Before the correction one part was not where it should be: the steering head.",
        "All that had to be measured is where it should be: the steering head.",
        "In the certificate's own words:",
        "cracks",
        "claim CL/2026-77",
        "Fjordmark Skarv 700, ZZZTEST00A1000017",
    ):
        assert said in page, said
    order = [page.index(word) for word in ("In force", "Before the", "All that", "Download the")]
    assert order == sorted(order)
    assert claim.get().text.count("<svg") > 3, "the drawing and the bars"


def test_damage_that_was_seen_stands_beside_a_finding_within(claim: Claim) -> None:
    assert "visual check was seen" not in claim.page()
    sent = {"item": "fork_tubes", "answer": "seen", "note": "left leg"}
    seen = VisualCheckIn.model_validate(sent)
    technician, now = claim.shop.people["technician"], claim.shop.clock["now"]
    with claim.shop.database.write() as session:
        visual_checks.answer(session, technician, claim.job, [seen], now)
    issue(claim.shop, claim.job, replaces=claim.certificate, reason="fork looked at again")
    told = "the steering head. But at the visual check was seen: bent or marked fork legs."
    assert told in claim.page()


def test_what_was_done_stands_between_before_and_now(claim: Claim) -> None:
    """The part that was bent when it came in: the adjuster looks for what became of it."""
    assert "None was noted between the two measurements." in claim.page()
    form = {"part": "fork", "method": "replaced", "text": "with a new one", "done_on": "2026-03-02"}
    form |= {"agreed": "yes", "agreed_by": "Åse Invented"}
    answer = claim.shop.signed_in("technician").post(f"/jobs/{claim.job}/correction", form)
    assert answer.status_code == 303, text_of(answer.text)
    issue(claim.shop, claim.job, "report", replaces=claim.certificate, reason="fork added")
    page = claim.page()
    told = "fork: part replaced (with a new one), 2 March 2026"
    assert page.index("Before the correction") < page.index(told) < page.index("All that had to")
    assert "All of these were noted before the measurement" in page


def test_what_was_not_told_apart_is_said_without_jargon(claim: Claim) -> None:
    page = claim.page()
    assert "control points (fixed places of the frame)" in page
    assert "nor a head that leans to one side from one that is turned" in page
    assert "yaw" not in page


def test_replaced_and_withdrawn_are_told_before_all_else(claim: Claim) -> None:
    new = issue(claim.shop, claim.job, replaces=claim.certificate, reason="plate corrected")
    page = claim.page()
    assert f"Not in force: {new} took its place" in page, "of the earlier one"
    assert "plate corrected" in page
    assert page.index("In force, since") < page.index("Not in force:")
    with claim.shop.database.write() as session:
        inspector, now = claim.shop.people["inspector"], claim.shop.clock["now"]
        certificates.withdraw(session, inspector, new, "another machine", now)
    page = claim.page()
    assert "Not in force: withdrawn, 2 March 2026" in page
    assert page.index("another machine") < page.index("Download the withdrawn file")


def test_a_withdrawn_one_asks_nobody_to_download_it_and_keeps_no_colour(claim: Claim) -> None:
    finding = re.compile(r'<span class="verdict (\w+)">')
    valid = claim.get().text
    assert finding.findall(valid)[0] == "within"
    assert f'class="go" href="/claim/{claim.token}/{claim.certificate}/pdf"' in valid
    with claim.shop.database.write() as session:
        inspector, now = claim.shop.people["inspector"], claim.shop.clock["now"]
        certificates.withdraw(session, inspector, claim.certificate, "another machine", now)
    ended = claim.get().text
    assert finding.findall(ended)[0] == "no_tolerance"
    assert 'class="go"' not in ended
    assert "What was found then:" in text_of(ended)
    assert "Download the withdrawn file" in text_of(ended)
    assert "All that had to be measured is where it should be" in valid
    assert "All that had to be measured was where it should be" in ended
    assert '<dd class="muted">All that had' in ended
    assert "is where it should be" not in ended


def test_the_old_files_check_page_says_so_at_once(claim: Claim) -> None:
    """What the code on the old PDF leads to, and what the check of its file answers."""
    old = claim.shop.signed_in("desk").get(f"/certificates/{claim.certificate}/pdf").content
    new = issue(claim.shop, claim.job, replaces=claim.certificate, reason="plate corrected")
    outside = claim.shop.visitor()
    for answer in (
        outside.get(f"/verify/{claim.certificate}"),
        outside.post("/verify", {}, {"document": ("c.pdf", old, "application/pdf")}),
    ):
        assert f"Not in force: replaced by {new}" in text_of(answer.text)
    with claim.shop.database.write() as session:
        inspector, now = claim.shop.people["inspector"], claim.shop.clock["now"]
        certificates.withdraw(session, inspector, new, "another machine", now)
    assert "Not in force: withdrawn" in text_of(outside.get(f"/verify/{new}").text)


def test_pdf_data_and_everything_in_one_are_given(claim: Claim) -> None:
    pdf = claim.get(f"/{claim.certificate}/pdf")
    data = claim.get(f"/{claim.certificate}/data")
    bundle = claim.get(f"/{claim.certificate}/bundle")
    assert pdf.headers["content-type"] == "application/pdf"
    assert json.loads(data.content)["number"] == claim.certificate
    assert data.headers["content-type"] == "application/json"
    assert f'filename="{claim.certificate}.zip"' in bundle.headers["content-disposition"]
    assert int(bundle.headers["content-length"]) == len(bundle.content)
    with zipfile.ZipFile(io.BytesIO(bundle.content)) as opened:
        assert opened.read(f"{claim.certificate}.pdf") == pdf.content
        assert opened.read(f"{claim.certificate}.json") == data.content
    inside = claim.shop.signed_in("technician").get(f"/certificates/{claim.certificate}/bundle")
    assert inside.content == bundle.content


def test_the_steps_to_check_it_stand_on_the_page(claim: Claim) -> None:
    page = claim.page()
    assert f"pdfsig -nssdir sql:trusted {claim.certificate}.pdf" in page
    assert "certutil -A -d sql:trusted -n shop -t ,C, -i shop-authority.pem" in page


def test_an_insurers_link_lists_its_claims_and_opens_each(claim: Claim) -> None:
    other = new_job(
        claim.shop,
        machine={"make": "Fjordmark", "model": "Skarv", "frame_number": "ZZZOTHER"},
        claim={"insurer": {"name": "Other Invented"}, "claim_number": "X-1"},
    )
    token = list_link(claim.shop)
    visitor = claim.shop.visitor()
    answer = visitor.get(f"/claim/{token}")
    page = text_of(answer.text)
    assert "Claims of Invented Mutual" in page
    for said in ("CL/2026-77", "in force", claim.certificate, "Skarv 700"):
        assert said in page, said
    for hidden in ("X-1", other, "ZZZOTHER", "Other Invented"):
        assert hidden not in answer.text, hidden
    (way,) = re.findall(r'class="row" href="([^"]+)"', answer.text)
    view = visitor.get(way)
    assert "In force, since" in text_of(view.text)
    assert f'href="/claim/{token}"' in view.text, "back to the list"
    assert visitor.get(f"/claim/{token}/jobs/{other}").status_code == 404
    assert visitor.get(f"/claim/{token}/{claim.certificate}/pdf").status_code == 200


def test_the_desk_makes_an_insurers_link_and_the_owner_sees_who_used_it(claim: Claim) -> None:
    desk = claim.shop.signed_in("desk")
    assert 'href="/insurers/1/links"' in desk.get("/links").text
    page = desk.post("/insurers/1/links", {"note": "claims office", "valid_days": "7"}).text
    found = re.search(r'id="claim-link" href="[^"]+(/claim/[^"]+)"', page)
    assert found is not None
    claim.shop.visitor().get(found[1])
    claim.get(f"/{claim.certificate}/bundle")
    told = " ".join(text_of(claim.shop.signed_in("boss").get("/links").text).split())
    for said in (
        "all claims of Invented Mutual", "claims office", "the list of claims",
        f"everything in one file, {claim.certificate}", "deleted after 180 days",
    ):  # fmt: skip
        assert said in told, said
    assert claim.token[6:] not in told
    assert desk.post("/insurers/1/links/2/revoke").status_code == 303
    assert claim.shop.visitor().get(found[1]).status_code == 410


def test_dead_links_say_whether_they_expired_or_were_withdrawn(claim: Claim) -> None:
    claim.shop.signed_in("desk").post(f"/jobs/{claim.job}/links/1/revoke")
    for path in ("", f"/{claim.certificate}/pdf", f"/{claim.certificate}/data"):
        answer = claim.get(path)
        assert answer.status_code == 410
        assert "This link was withdrawn on 2 March 2026" in text_of(answer.text)
    token = link_to(claim.shop, claim.job)
    claim.shop.later(days=30)
    answer = claim.shop.visitor().get(f"/claim/{token}")
    assert answer.status_code == 410
    assert "This link ended on" in text_of(answer.text)


def test_every_unknown_address_gets_the_same_answer(claim: Claim) -> None:
    near = claim.token[:-1] + ("A" if claim.token[-1] != "A" else "B")
    number = claim.certificate
    answers = {
        (one.status_code, one.text)
        for path in (
            f"/claim/{near}", "/claim/x", f"/claim/{'a' * 500}", f"/claim/{near}/jobs/{claim.job}",
            f"/claim/{near}/{number}/pdf", f"/claim/x/{number}/data", f"/claim/x/{number}/bundle",
            f"/claim/{claim.token.swapcase()}",
        )
        for one in [claim.shop.visitor().get(path)]
    }  # fmt: skip
    ((status, page),) = answers
    assert status == 404
    assert "This link leads nowhere" in text_of(page)


def test_no_answer_of_a_claim_is_indexed_kept_or_told_elsewhere(claim: Claim) -> None:
    token = list_link(claim.shop)
    number = claim.certificate
    for path in (
        f"/claim/{claim.token}", f"/claim/{claim.token}/{number}/pdf", f"/claim/{token}",
        f"/claim/{claim.token}/{number}/data", f"/claim/{claim.token}/{number}/bundle",
        f"/claim/{token}/jobs/{claim.job}", "/claim/unknown", f"/claim/{token}/jobs/unknown",
        f"/claim/{claim.token}/no/such/page",
    ):  # fmt: skip
        answer = claim.shop.visitor().get(path)
        assert answer.headers["x-robots-tag"] == "noindex, nofollow, noarchive", path
        assert answer.headers["referrer-policy"] == "no-referrer", path
        assert answer.headers["cache-control"] == "no-store", path
        if answer.headers["content-type"].startswith("text/html"):
            assert '<meta name="robots" content="noindex, nofollow, noarchive">' in answer.text
    robots = claim.shop.visitor().get("/robots.txt")
    assert robots.text == "User-agent: *\nDisallow: /\n"
    assert claim.shop.visitor().get("/verify").headers["referrer-policy"] == "same-origin"


def test_guessing_and_using_a_link_too_much_are_slowed_down(
    claim: Claim, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.services.claim_access.MOST_AN_HOUR", 5)
    for number in range(FREE_TRIES["claim"]):
        assert claim.shop.visitor().get(f"/claim/guess-{number}").status_code == 404
    answer = claim.get()
    assert answer.status_code == 429
    assert int(answer.headers["retry-after"]) > 0
    claim.shop.later(hours=2)
    for _ in range(5):
        assert claim.get(f"/{claim.certificate}/data").status_code == 200
    answer = claim.get()
    assert answer.status_code == 429
    assert 0 < int(answer.headers["retry-after"]) <= 3600
