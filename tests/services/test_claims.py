"""Claim links: a secret address that shows one job's certificates, for a while, to who holds it."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from app.errors import BadInput, NotAllowed, NotFound, TooManyTries
from app.services import certificates, claims
from app.services.claim_opening import ClaimView, open_file, open_link
from app.services.claims import NewLink
from app.services.order import Made
from app.services.throttle import FREE_TRIES
from app.wording.moments import moment_with_zone
from tests.services.certifying import Bench, Benches

ADJUSTER = "198.51.100.7"
NETWORK = "198.51.100.0/24"


@pytest.fixture
def done(benches: Benches, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    """A corrected job; its files are not laid out."""
    monkeypatch.setattr(
        "app.services.press.Press.make",
        lambda press, order, *more: Made(b"%PDF " + order.data, None),
    )
    made = benches.copy(tmp_path)
    yield made
    made.workshop.database.close()


def link_to(done: Bench, role: str = "desk", **words: object) -> NewLink:
    return done.workshop.do(claims.create_link, role, done.number, **{"note": "adjuster", **words})


def opened(done: Bench, token: str) -> ClaimView:
    found = open_link(done.workshop.database, token, done.workshop.now, address=ADJUSTER)
    assert isinstance(found, ClaimView)
    return found


def test_a_link_shows_the_jobs_certificates_newest_first(done: Bench) -> None:
    link = link_to(done)
    before = opened(done, link.token)
    assert (before.certificates, before.machine) == ((), "")
    report, completion = done.issue("report"), done.issue()
    view = opened(done, link.token)
    assert view.job_number == done.number
    assert view.shop == "Invented Workshop"
    assert view.machine == "Fjordmark Skarv 700, ZZZTEST00A1000017"
    assert [one.view for one in view.certificates] == [completion, report]
    assert view.certificates[0].content.finding == "within"
    assert view.certificates[0].content.outline["measured"]


def test_the_file_is_given_and_both_openings_are_logged(done: Bench) -> None:
    link = link_to(done, note="Adjuster of the invented insurer")
    number = done.issue().number
    opened(done, link.token)
    shop = done.workshop
    file = open_file(shop.database, link.token, number, shop.now, address=ADJUSTER)
    assert file.pdf == done.pdf(number)
    log = done.workshop.see(claims.accesses, "owner", link.id)
    assert [(one.what, one.address) for one in log] == [
        ("downloaded", NETWORK),
        ("viewed", NETWORK),
    ]
    (line,) = done.workshop.see(claims.links, "owner", done.workshop.now, done.number)
    assert (line.openings, line.fetched, line.state) == (1, 1, "open")
    assert line.created_by == "Dora"
    assert line.note == "Adjuster of the invented insurer"
    assert link.token.startswith(line.hint)


def test_withdrawn_and_replaced_ones_say_so(done: Bench) -> None:
    link = link_to(done)
    old = done.issue().number
    new = done.issue(replaces=old, reason="plate corrected").number
    done.workshop.do(certificates.withdraw, "inspector", new, "another machine")
    seen = {one.view.number: one.view for one in opened(done, link.token).certificates}
    assert (seen[new].status, seen[new].status_reason) == ("withdrawn", "another machine")
    assert (seen[old].status, seen[old].replaced_by) == ("superseded", new)


def test_void_and_unfinished_ones_are_not_shown(
    done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    link = link_to(done)

    def broken(press: object, order: object, *more: object) -> Made:
        raise ZeroDivisionError

    monkeypatch.setattr("app.services.press.Press.make", broken)
    with pytest.raises(ZeroDivisionError):
        done.issue()
    assert opened(done, link.token).certificates == ()
    shop = done.workshop
    with pytest.raises(NotFound, match="no_such_certificate"):
        open_file(shop.database, link.token, "C-2026-0001", shop.now, address=ADJUSTER)


def test_only_the_digest_of_the_token_is_stored(done: Bench) -> None:
    link = link_to(done)
    assert len(link.token) >= 43, "256 bits"
    file = done.workshop.database.file
    assert file is not None
    done.workshop.database.close()
    stored = b"".join(path.read_bytes() for path in file.parent.glob(f"{file.name}*"))
    assert link.token.encode() not in stored


def test_a_link_ends_after_its_days(done: Bench) -> None:
    link = link_to(done, valid_days=2)
    done.workshop.now = link.expires_at - timedelta(seconds=1)
    assert opened(done, link.token).expires_at == link.expires_at
    done.workshop.now = link.expires_at
    with pytest.raises(NotFound, match="claim_link_expired") as caught:
        opened(done, link.token)
    assert caught.value.facts["expired_at"] == moment_with_zone(link.expires_at)
    (line,) = done.workshop.see(claims.links, "owner", done.workshop.now)
    assert (line.state, line.openings, line.refused) == ("expired", 1, 1)
    log = done.workshop.see(claims.accesses, "owner", link.id)
    assert [(one.what, one.address) for one in log] == [
        ("refused", NETWORK),
        ("viewed", NETWORK),
    ]


def test_thirty_days_unless_told(done: Bench) -> None:
    link = link_to(done)
    assert link.expires_at == done.workshop.now + timedelta(days=30)


@pytest.mark.parametrize(
    ("days", "code"), [(0, "too_small"), (-1, "too_small"), (366, "too_large")]
)
def test_days_out_of_range_are_refused(done: Bench, days: int, code: str) -> None:
    with pytest.raises(BadInput) as caught:
        link_to(done, valid_days=days)
    assert caught.value.problems[0].code == code


@pytest.mark.parametrize("note", ["", " \t"])
def test_a_link_is_for_somebody(done: Bench, note: str) -> None:
    with pytest.raises(BadInput) as caught:
        link_to(done, note=note, valid_days=0)
    told = [(one.code, one.field) for one in caught.value.problems]
    assert told == [("link_for_nobody", "note"), ("too_small", "valid_days")]


def test_who_makes_links_of_a_job_sees_and_revokes_them_and_no_others(done: Bench) -> None:
    link = link_to(done, role="inspector")
    shop = done.workshop
    (line,) = shop.see(claims.links, "inspector", shop.now, done.number)
    assert (line.id, line.state) == (link.id, "open")
    for look in (
        lambda: shop.see(claims.links, "inspector", shop.now),
        lambda: shop.see(claims.links, "inspector", shop.now, insurer_id=1),
        lambda: shop.see(claims.accesses, "inspector", link.id),
        lambda: shop.see(claims.links, "technician", shop.now, done.number),
    ):
        with pytest.raises(NotAllowed):
            look()
    assert shop.do(claims.revoke, "inspector", link.id).state == "revoked"


def test_a_revoked_link_is_dead_at_once_and_stays_so(done: Bench) -> None:
    link = link_to(done)
    first = done.workshop.do(claims.revoke, "desk", link.id)
    assert first.state == "revoked"
    assert first.revoked_at is not None
    again = done.workshop.do(claims.revoke, "owner", link.id)
    assert again.revoked_at == first.revoked_at
    with pytest.raises(NotFound, match="claim_link_revoked") as caught:
        opened(done, link.token)
    assert caught.value.facts["revoked_at"] == moment_with_zone(first.revoked_at)
    (entry,) = done.workshop.see(claims.accesses, "owner", link.id)
    assert entry.what == "refused", "the try stays on record though it was refused"


def test_one_address_tries_only_so_many_links_that_lead_nowhere(done: Bench) -> None:
    link = link_to(done)
    for _ in range(FREE_TRIES["claim"]):
        opened(done, link.token)
    for n in range(FREE_TRIES["claim"]):
        with pytest.raises(NotFound):
            opened(done, f"guess {n}")
    with pytest.raises(TooManyTries):
        opened(done, link.token)


@pytest.mark.parametrize("token", ["", "x", "A" * 43, "\x00", "a" * 10_000])
def test_a_token_nobody_was_given_opens_nothing(done: Bench, token: str) -> None:
    link_to(done)
    with pytest.raises(NotFound, match="claim_link_unknown"):
        opened(done, token)


def test_who_may_make_and_see_links(done: Bench) -> None:
    with pytest.raises(NotAllowed):
        link_to(done, role="technician")
    link = link_to(done, role="inspector")
    with pytest.raises(NotAllowed):
        done.workshop.see(claims.accesses, "technician", link.id)
    with pytest.raises(NotFound, match="no_such_claim_link"):
        done.workshop.see(claims.accesses, "owner", link.id + 1)
    with pytest.raises(NotFound, match="no_such_job"):
        done.workshop.do(claims.create_link, "desk", "J-2026-9999", note="adjuster")
