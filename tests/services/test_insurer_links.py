"""One link for all claims of an insurer: the list, each claim behind it, and nothing of others."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from app.errors import BadInput, NotAllowed, NotFound
from app.schemas.insurer import InsurerIn
from app.services import certificates, check_in, claims, insurer_links, insurers, jobs
from app.services.claim_opening import (
    ClaimView,
    open_bundle,
    open_claim,
    open_data,
    open_file,
    open_link,
)
from app.services.insurer_links import InsurerClaims, NewInsurerLink
from tests.services.certifying import Bench
from tests.services.forms import check_in_form

pytestmark = pytest.mark.usefixtures("quick")
OFFICE = "198.51.100.7"
MUTUAL = 1
"""The id of the insurer of the job that the tests certify."""


def link_to(done: Bench, insurer: int = MUTUAL, role: str = "desk", **words: Any) -> NewInsurerLink:
    said = {"note": "claims office", **words}
    made: NewInsurerLink = done.workshop.do(insurer_links.create_link, role, insurer, **said)
    return made


def listed(done: Bench, token: str) -> InsurerClaims:
    found = open_link(done.workshop.database, token, done.workshop.now, address=OFFICE)
    assert isinstance(found, InsurerClaims)
    return found


def behind(done: Bench, token: str, number: str) -> ClaimView:
    shop = done.workshop
    return open_claim(shop.database, token, number, shop.now, address=OFFICE)


def further(done: Bench, serial: str, **claim: Any) -> str:
    """Another machine, with this claim."""
    machine = {"make": "Fjordmark", "model": "Skarv 900", "frame_number": f"ZZZTEST{serial}"}
    form = check_in_form(machine=machine, claim=claim)
    return done.workshop.do(check_in.check_in, "desk", form).job_number


def test_the_list_holds_the_insurers_claims_with_status_and_certificate(done: Bench) -> None:
    waiting = further(done, "2", insurer_id=MUTUAL, claim_number="CL/2026-90")
    link = link_to(done)
    certificate = done.issue().number
    found = listed(done, link.token)
    (entry,) = done.workshop.see(claims.accesses, "owner", link.id)
    assert (entry.what, entry.subject) == ("listed", "")
    assert (found.shop, found.insurer) == ("Invented Workshop", "Invented Mutual")
    first, second = found.claims
    assert (first.job_number, first.claim_number) == (waiting, "CL/2026-90")
    assert (first.certificate, first.status, first.cancelled) == (None, None, False)
    assert first.machine == "Fjordmark Skarv 900, ZZZTEST2"
    assert (second.job_number, second.claim_number) == (done.number, "CL/2026-77")
    assert (second.certificate, second.kind, second.status) == (certificate, "completion", "valid")
    done.workshop.do(certificates.withdraw, "inspector", certificate, "another machine")
    done.workshop.do(jobs.cancel, "desk", waiting, "sold")
    first, second = listed(done, link.token).claims
    assert first.cancelled
    assert (second.status, second.status_since) == (
        "withdrawn", done.workshop.now - timedelta(minutes=1),
    )  # fmt: skip


def test_a_list_too_long_for_a_page_says_so(done: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    further(done, "2", insurer_id=MUTUAL)
    token = link_to(done).token
    for most, more in ((2, False), (1, True)):
        monkeypatch.setattr(insurer_links, "MOST_LISTED", most)
        found = listed(done, token)
        assert (len(found.claims), found.more) == (most, more)


def test_each_claim_of_the_list_opens_and_gives_its_files(done: Bench) -> None:
    link = link_to(done)
    number = done.issue().number
    view = behind(done, link.token, done.number)
    assert (view.job_number, view.claim_number, view.in_list) == (done.number, "CL/2026-77", True)
    assert [one.view.number for one in view.certificates] == [number]
    shop = done.workshop
    opened = {"address": OFFICE}
    assert open_file(shop.database, link.token, number, shop.now, **opened).pdf == done.pdf(number)
    data = open_data(shop.database, link.token, number, shop.now, **opened)
    assert b'"format":"jigbook.certificate/1"' in data.content
    made = open_bundle(shop.database, link.token, number, shop.now, press=done.press, **opened)
    assert b"".join(made.archive.pieces()).startswith(b"PK")
    log = shop.see(claims.accesses, "owner", link.id)
    assert [(one.what, one.subject) for one in log] == [
        ("bundle", number), ("data", number), ("downloaded", number), ("viewed", done.number),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "other",
    [{"insurer": {"name": "Other Invented"}, "claim_number": "X-1"}, {"claim_number": "X-2"}],
)
def test_nothing_of_other_insurers_and_of_none_is_shown(done: Bench, other: dict[str, Any]) -> None:
    number = done.issue().number
    elsewhere = further(done, "3", **other)
    theirs = done.workshop.do(insurers.create, "desk", InsurerIn(name="Third Invented")).id
    mine, empty = link_to(done), link_to(done, theirs)
    assert [one.job_number for one in listed(done, mine.token).claims] == [done.number]
    assert listed(done, empty.token).claims == ()
    refusals = set()
    for token, job in (
        (mine.token, elsewhere),
        (mine.token, "J-2026-9999"),
        (empty.token, done.number),
    ):
        with pytest.raises(NotFound) as caught:
            behind(done, token, job)
        refusals.add(caught.value.code)
    assert refusals == {"no_such_job"}, "the same for what is another's and for what is not there"
    shop = done.workshop
    reading: list[Callable[..., object]] = [open_file, open_data]
    for read in reading:
        with pytest.raises(NotFound, match="no_such_certificate"):
            read(shop.database, empty.token, number, shop.now, address=OFFICE)
    (entry, *_rest) = shop.see(claims.accesses, "owner", empty.id)
    assert (entry.what, entry.subject) == ("refused", number)


def test_a_link_to_one_job_opens_no_other_job(done: Bench) -> None:
    other = further(done, "4", insurer_id=MUTUAL)
    link = done.workshop.do(claims.create_link, "desk", done.number, note="adjuster")
    for number in (other, done.number):
        with pytest.raises(NotFound, match="no_such_job"):
            behind(done, link.token, number)


def test_it_ends_and_is_revoked_like_the_others(done: Bench) -> None:
    link = link_to(done, valid_days=2, note="claims office")
    (view,) = done.workshop.see(claims.links, "owner", done.workshop.now, insurer_id=MUTUAL)
    assert (view.insurer, view.job_number, view.note) == ("Invented Mutual", "", "claims office")
    kept = done.workshop.now
    done.workshop.now = link.expires_at
    with pytest.raises(NotFound, match="claim_link_expired"):
        listed(done, link.token)
    done.workshop.now = kept
    done.workshop.do(insurer_links.revoke, "desk", MUTUAL, link.id)
    with pytest.raises(NotFound, match="claim_link_revoked"):
        listed(done, link.token)
    with pytest.raises(BadInput):
        link_to(done, valid_days=366)


def test_any_link_is_revoked_by_who_may_revoke_it_alone(done: Bench) -> None:
    shop = done.workshop
    of_job = shop.do(claims.create_link, "inspector", done.number, note="adjuster")
    of_insurer = link_to(done)
    with pytest.raises(NotAllowed):
        shop.do(insurer_links.revoke_any, "technician", of_job.id)
    with pytest.raises(NotAllowed):
        shop.do(insurer_links.revoke_any, "inspector", of_insurer.id)
    assert shop.do(insurer_links.revoke_any, "inspector", of_job.id).state == "revoked"
    assert shop.do(insurer_links.revoke_any, "desk", of_insurer.id).state == "revoked"
    with pytest.raises(NotFound, match="no_such_claim_link"):
        shop.do(insurer_links.revoke_any, "desk", of_insurer.id + 1)


def test_the_desk_and_the_owner_make_and_revoke_them(done: Bench) -> None:
    for role in ("technician", "inspector"):
        with pytest.raises(NotAllowed):
            link_to(done, role=role)
    link = link_to(done, role="owner")
    with pytest.raises(NotAllowed):
        done.workshop.do(insurer_links.revoke, "inspector", MUTUAL, link.id)
    with pytest.raises(NotFound, match="no_such_claim_link"):
        done.workshop.do(claims.revoke, "inspector", link.id)
    with pytest.raises(NotFound, match="no_such_claim_link"):
        done.workshop.do(insurer_links.revoke, "desk", MUTUAL + 1, link.id)
    with pytest.raises(NotFound, match="no_such_insurer"):
        link_to(done, 99)
