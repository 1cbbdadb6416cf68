"""Who used a claim link: slowed down, written down cut short, and forgotten after a while."""

from datetime import timedelta

import pytest

from app.errors import NotFound, TooManyTries
from app.services import claims
from app.services.claim_access import KEPT, MOST_AN_HOUR, forget_at_start, shortened
from app.services.claim_opening import open_link
from app.services.claims import AccessView, NewLink
from app.services.throttle import FREE_TRIES
from tests.services.certifying import Bench

pytestmark = pytest.mark.usefixtures("quick")


def link_to(job: Bench) -> NewLink:
    made: NewLink = job.workshop.do(claims.create_link, "desk", job.number, note="adjuster")
    return made


def opened(job: Bench, token: str, address: str = "198.51.100.7") -> object:
    return open_link(job.workshop.database, token, job.workshop.now, address=address)


def log(job: Bench, link: NewLink) -> tuple[AccessView, ...]:
    return job.workshop.see(claims.accesses, "owner", link.id)


def test_one_link_is_used_so_often_within_an_hour_wherever_from(job: Bench) -> None:
    link, other = link_to(job), link_to(job)
    for number in range(MOST_AN_HOUR):
        opened(job, link.token, f"203.0.113.{number}")
    with pytest.raises(TooManyTries) as caught:
        opened(job, link.token, "192.0.2.1")
    assert caught.value.retry_after_s == 3600
    assert len(log(job, link)) == MOST_AN_HOUR, "what is turned away is not written down again"
    opened(job, other.token, "192.0.2.1")
    job.workshop.now += timedelta(hours=1)
    opened(job, link.token)


def test_a_dead_link_is_slowed_down_as_well(job: Bench) -> None:
    link = link_to(job)
    job.workshop.do(claims.revoke, "desk", link.id)
    for number in range(MOST_AN_HOUR):
        with pytest.raises(NotFound, match="claim_link_revoked"):
            opened(job, link.token, f"203.0.113.{number}")
    with pytest.raises(TooManyTries):
        opened(job, link.token)


def test_guessing_from_one_network_is_slowed_down(job: Bench) -> None:
    link = link_to(job)
    for number in range(FREE_TRIES["claim"]):
        with pytest.raises(NotFound, match="claim_link_unknown"):
            opened(job, f"guess {number}", f"2001:db8::{number}")
    with pytest.raises(TooManyTries):
        opened(job, link.token, "2001:db8::ffff")
    opened(job, link.token, "2001:db8:0:1::1")


@pytest.mark.parametrize(
    ("address", "kept"),
    [
        ("198.51.100.7", "198.51.100.0/24"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1::/48"),
        ("::ffff:198.51.100.7", "198.51.100.0/24"),
        ("::1", "::/48"),
        ("somewhere", ""),
        ("", ""),
    ],
)
def test_addresses_are_kept_cut_short(job: Bench, address: str, kept: str) -> None:
    assert shortened(address) == kept
    link = link_to(job)
    opened(job, link.token, address)
    (entry,) = log(job, link)
    assert entry.address == kept


def test_what_is_old_is_forgotten_when_a_link_is_used_and_when_the_program_starts(
    job: Bench,
) -> None:
    words = {"note": "adjuster", "valid_days": 365}
    link = job.workshop.do(claims.create_link, "desk", job.number, **words)
    opened(job, link.token)
    job.workshop.now += KEPT
    opened(job, link.token)
    assert len(log(job, link)) == 2, "to the day"
    job.workshop.now += timedelta(seconds=1)
    opened(job, link.token)
    assert len(log(job, link)) == 2
    job.workshop.now += KEPT + timedelta(seconds=1)
    forget_at_start(job.workshop.database, job.workshop.now)
    assert log(job, link) == ()
