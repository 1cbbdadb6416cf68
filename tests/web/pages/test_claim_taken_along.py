"""What an adjuster takes along of a claim: its photos, and the mail with everything in it."""

import email
import re

import pytest

from app.services import photo_sharing, photos
from tests.services.pictures import prepared
from tests.web.pages.test_claim import Claim, claim, list_link
from tests.web.shop import text_of

__all__ = ["claim"]


def test_photos_are_shown_only_when_they_were_chosen(claim: Claim) -> None:
    shop, now = claim.shop, claim.shop.clock["now"]
    with shop.database.write() as session:
        desk = shop.people["desk"]
        for size, caption in ((60, "dent in the tank"), (80, "the neighbour's car")):
            added = photos.add(session, desk, claim.job, prepared(size), None, caption, now)
        photo_sharing.share(session, desk, claim.job, added.id - 1, now)
    page = claim.page()
    assert "dent in the tank" in page
    assert "neighbour" not in page
    visitor = shop.signed_in("desk")
    path = f"/jobs/{claim.job}/photos/{added.id}"
    assert "It stays in the shop." in text_of(visitor.get(path).text)
    assert visitor.post(f"{path}/share").status_code == 303
    assert "It goes with the claim" in text_of(visitor.get(path).text)
    assert "Photos that go with the claim: 2 of 2." in text_of(
        visitor.get(f"/jobs/{claim.job}/links").text
    )
    visitor.post(f"{path}/keep-back")
    assert "neighbour" not in claim.page()


def test_photos_are_shown_small_with_captions_and_large_on_a_page_of_their_own(
    claim: Claim,
) -> None:
    shop, now = claim.shop, claim.shop.clock["now"]
    with shop.database.write() as session:
        desk = shop.people["desk"]
        for size, caption in ((60, "dent <in> the tank"), (80, None)):
            made = photos.add(session, desk, claim.job, prepared(size), "zone.tank", caption, now)
            photo_sharing.share(session, desk, claim.job, made.id, now)
    page = claim.get().text
    shots = re.findall(
        r'<a href="(/claim/[^"]+/photos/\d+)"><img src="([^"]+)" alt="([^"]+)"', page
    )
    assert [alt for _, _, alt in shots] == [
        "Photo 1: fuel tank, dent &lt;in&gt; the tank", "Photo 2: fuel tank",
    ]  # fmt: skip
    visitor = shop.visitor()
    small = visitor.get(shots[0][1])
    assert (small.headers["content-type"], small.content[:3]) == ("image/jpeg", b"\xff\xd8\xff")
    for way, image, _alt in shots:
        for path in (way, image, f"{way}/whole"):
            answer = visitor.get(path)
            assert answer.status_code == 200, path
            assert answer.headers["x-robots-tag"] == "noindex, nofollow, noarchive", path
            assert answer.headers["referrer-policy"] == "no-referrer", path
            assert answer.headers["cache-control"] == "no-store", path
    large = visitor.get(shots[0][0])
    told = " ".join(text_of(large.text).split())
    for said in ("Photo 1 of 2", "dent <in> the tank", "photo-0001.jpg", "The next photo"):
        assert said in told, said
    assert "The photo before it" not in told
    assert f'href="{shots[1][0]}"' in large.text
    assert f'href="/claim/{claim.token}#shots"' in large.text
    token = list_link(shop)
    listed = visitor.get(f"/claim/{token}").text
    assert f'href="/claim/{token}/jobs/{claim.job}#shots">2 photos' in listed
    assert "<img" not in listed
    in_list = visitor.get(f"/claim/{token}/photos/1").text
    assert f'href="/claim/{token}/jobs/{claim.job}#shots"' in in_list
    with shop.database.write() as session:
        photos.take_out(session, desk, claim.job, 1, "blurred", now)
    for path in (shots[0][0], shots[0][1], f"{shots[0][0]}/whole"):
        assert visitor.get(path).status_code == 404, path
    assert "dent" not in claim.page()


def test_a_mail_with_the_zip_is_offered_to_who_may_make_links(claim: Claim) -> None:
    number = claim.certificate
    for name, offered in (("desk", True), ("inspector", True), ("technician", False)):
        visitor = claim.shop.signed_in(name)
        way = f'href="/certificates/{number}/message"'
        assert (way in visitor.get(f"/certificates/{number}").text) is offered
        answer = visitor.get(f"/certificates/{number}/message")
        assert answer.status_code == (200 if offered else 403)
    answer = claim.shop.signed_in("desk").get(f"/certificates/{number}/message")
    assert answer.headers["content-type"] == "message/rfc822"
    assert f'filename="{number}.eml"' in answer.headers["content-disposition"]
    mail = email.message_from_bytes(answer.content)
    (attached,) = [one for one in mail.walk() if one.get_filename()]
    assert attached.get_payload(decode=True) == claim.get(f"/{number}/bundle").content


def test_a_zip_too_large_for_a_mail_is_told_with_its_size(
    claim: Claim, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.services.claim_message.MOST_BYTES", 10)
    answer = claim.shop.signed_in("desk").get(f"/certificates/{claim.certificate}/message")
    assert answer.status_code == 409
    page = text_of(answer.text)
    size = len(claim.get(f"/{claim.certificate}/bundle").content) / 1e6
    assert f"The zip of certificate {claim.certificate} has {size:.1f} MB" in page
    assert "send a link instead" in page
