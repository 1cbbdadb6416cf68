"""Photos behind a claim link: the chosen ones alone while they stand, each opening on record."""

import hashlib
from datetime import timedelta

import pytest

from app.errors import NotFound, TooManyTries
from app.services import claim_access, claims, customers, insurer_links, photo_sharing, photos
from app.services.claim_access import MOST_AN_HOUR
from app.services.claim_opening import open_link
from app.services.claim_photos import ClaimPhoto, open_photo, photo_bytes
from app.services.insurer_links import InsurerClaims
from app.services.throttle import FREE_TRIES
from tests.services.certifying import Bench
from tests.services.pictures import prepared
from tests.services.test_insurer_links import further

pytestmark = pytest.mark.usefixtures("quick")
FIRST, SECOND, THIRD = prepared(60, 40), prepared(80, 40), prepared(100, 40)
OFFICE, ELSEWHERE = "198.51.100.7", "203.0.113.9"
CHOSEN, KEPT, ALSO = 1, 2, 3
"""Ids of the photos: the one in the middle stays in the shop."""


@pytest.fixture
def token(done: Bench) -> str:
    """A link to a certified job, two of whose three photos go with the claim."""
    for one, caption in ((FIRST, "dent"), (SECOND, "the bay"), (THIRD, None)):
        done.workshop.do(photos.add, "desk", done.number, one, "zone.tank", caption)
    for photo in (CHOSEN, ALSO):
        done.workshop.do(photo_sharing.share, "desk", done.number, photo)
    done.issue()
    made: str = done.workshop.do(claims.create_link, "desk", done.number, note="adjuster").token
    return made


def opened(done: Bench, token: str, photo: int = CHOSEN, address: str = OFFICE) -> ClaimPhoto:
    shop = done.workshop
    return open_photo(shop.database, token, photo, shop.now, address=address)


def thumbnail(done: Bench, token: str, photo: int = CHOSEN, address: str = OFFICE) -> bytes:
    shop = done.workshop
    return photo_bytes(
        shop.database, token, photo, shop.now, address=address, thumbnail=True
    ).content


def whole(done: Bench, token: str, photo: int = CHOSEN, address: str = OFFICE) -> bytes:
    shop = done.workshop
    return photo_bytes(shop.database, token, photo, shop.now, address=address).content


def page(done: Bench, token: str, address: str = OFFICE) -> object:
    return open_link(done.workshop.database, token, done.workshop.now, address=address)


def uses(done: Bench) -> list[tuple[str, str]]:
    """The log, oldest first."""
    found = done.workshop.see(claims.accesses, "owner")
    return [(one.what, one.subject) for one in reversed(found)]


def test_the_chosen_photos_are_opened_byte_for_byte_and_the_others_are_not(
    done: Bench, token: str
) -> None:
    found = opened(done, token, ALSO)
    digest = hashlib.sha256(THIRD.whole).hexdigest()
    assert (found.photo.id, found.photo.place, found.photo.sha256) == (ALSO, 2, digest)
    assert [one.id for one in found.among] == [CHOSEN, ALSO]
    assert whole(done, token, ALSO) == THIRD.whole
    assert thumbnail(done, token) == FIRST.thumbnail
    for nowhere in (KEPT, 99, 0, -1, 10**30):
        for way in (opened, whole, thumbnail):
            with pytest.raises(NotFound, match="no_such_photo"):
                way(done, token, nowhere)


def test_what_was_kept_back_taken_out_or_erased_vanishes_at_once(done: Bench, token: str) -> None:
    page(done, token)
    opened(done, token)
    assert whole(done, token) == FIRST.whole
    done.workshop.do(photo_sharing.keep_back, "desk", done.number, CHOSEN)
    require_gone(done, token)
    done.workshop.do(photo_sharing.share, "desk", done.number, CHOSEN)
    assert thumbnail(done, token) == FIRST.thumbnail
    done.workshop.do(photos.take_out, "desk", done.number, CHOSEN, "blurred")
    require_gone(done, token)
    done.workshop.do(photos.erase, "owner", done.number, ALSO, "a face")
    for way in (opened, whole, thumbnail):
        with pytest.raises(NotFound, match="no_such_photo"):
            way(done, token, ALSO)


def require_gone(done: Bench, token: str) -> None:
    for way in (opened, whole, thumbnail):
        with pytest.raises(NotFound, match="no_such_photo"):
            way(done, token)


def test_an_erased_customers_photos_vanish(done: Bench, token: str) -> None:
    """The link ends; one that is made for the claim later shows none either."""
    assert thumbnail(done, token) == FIRST.thumbnail
    done.workshop.do(customers.erase, "owner", 1, "asked for it")
    for way in (opened, whole, thumbnail):
        with pytest.raises(NotFound, match="claim_link_revoked"):
            way(done, token)
    later = done.workshop.do(claims.create_link, "desk", done.number, note="adjuster").token
    require_gone(done, later)


def test_no_photo_is_shown_before_there_is_a_certificate(job: Bench) -> None:
    job.workshop.do(photos.add, "desk", job.number, FIRST, None, None)
    job.workshop.do(photo_sharing.share, "desk", job.number, CHOSEN)
    token = job.workshop.do(claims.create_link, "desk", job.number, note="adjuster").token
    require_gone(job, token)


def test_each_photo_opened_large_is_on_record_and_a_pages_pictures_are_not(
    done: Bench, token: str
) -> None:
    page(done, token)
    for _ in range(3):
        thumbnail(done, token)
    opened(done, token)
    whole(done, token)
    assert uses(done) == [("viewed", ""), ("photo", "photo-0001")]


def test_pictures_fetched_without_their_page_are_on_record(done: Bench, token: str) -> None:
    thumbnail(done, token)
    page(done, token, ELSEWHERE)
    thumbnail(done, token)
    opened(done, token)
    whole(done, token, ALSO)
    first = ("photo", "photo-0001")
    assert uses(done) == [first, ("viewed", ""), first, first, ("photo", "photo-0003")]


def test_a_page_opened_long_ago_lets_no_picture_pass_unseen(done: Bench, token: str) -> None:
    page(done, token)
    done.workshop.now += claim_access.HOUR
    thumbnail(done, token)
    assert uses(done)[-1] == ("photo", "photo-0001")


def test_a_dead_link_shows_no_photo_and_the_try_is_on_record(done: Bench, token: str) -> None:
    page(done, token)
    opened(done, token)
    done.workshop.do(claims.revoke, "desk", 1)
    for way in (opened, whole, thumbnail):
        with pytest.raises(NotFound, match="claim_link_revoked"):
            way(done, token)
    assert [what for what, _ in uses(done)[-3:]] == ["refused"] * 3
    words = {"note": "adjuster", "valid_days": 1}
    ended = done.workshop.do(claims.create_link, "desk", done.number, **words).token
    done.workshop.now += timedelta(days=1)
    with pytest.raises(NotFound, match="claim_link_expired"):
        thumbnail(done, ended)


def test_guessing_and_using_photos_too_much_are_slowed_down(done: Bench, token: str) -> None:
    for number in range(FREE_TRIES["claim"]):
        with pytest.raises(NotFound, match="claim_link_unknown"):
            thumbnail(done, f"guess-{number}", address=ELSEWHERE)
    with pytest.raises(TooManyTries):
        opened(done, token, address=ELSEWHERE)
    for _ in range(MOST_AN_HOUR):
        opened(done, token)
    with pytest.raises(TooManyTries):
        opened(done, token)


def test_an_insurers_link_shows_the_photos_of_its_claims_alone(done: Bench, token: str) -> None:
    of_insurer = done.workshop.do(insurer_links.create_link, "desk", 1, note="office").token
    listed = page(done, of_insurer)
    assert isinstance(listed, InsurerClaims)
    assert [one.photos for one in listed.claims] == [2]
    assert thumbnail(done, of_insurer) == FIRST.thumbnail
    assert opened(done, of_insurer).in_list
    other = further(done, "2", insurer={"name": "Other Invented"}, claim_number="X-1")
    done.workshop.do(photos.add, "desk", other, FIRST, None, None)
    done.workshop.do(photo_sharing.share, "desk", other, 4)
    for link in (of_insurer, token):
        with pytest.raises(NotFound, match="no_such_photo"):
            opened(done, link, 4)
