"""Photos that go with a claim are chosen on one page, and a signed certificate stays as it was."""

import io
import re
import zipfile

from app.services import photo_sharing, photos
from tests.services.pictures import prepared
from tests.web.pages.test_claim import Claim, claim
from tests.web.shop import Shop, new_job, text_of

__all__ = ["claim"]


def with_photos(shop: Shop, number: str, count: int, size: int = 60) -> list[int]:
    """The ids of so many photos of the job, none of which was chosen."""
    with shop.database.write() as session:
        desk, now = shop.people["desk"], shop.clock["now"]
        made = [
            photos.add(session, desk, number, prepared(size + n), None, f"shot {n}", now)
            for n in range(count)
        ]
    return [one.id for one in made]


def chosen(shop: Shop, number: str) -> list[int]:
    with shop.database.read() as session:
        found = photos.listing(session, shop.people["desk"], number)
    return [one.id for one in found if one.shared_at]


def words(page: str) -> str:
    return " ".join(text_of(page).split())


def test_photos_are_ticked_and_saved_at_once_and_it_goes_on_with_the_links(shop: Shop) -> None:
    number = new_job(shop)
    first, second, third = with_photos(shop, number, 3)
    desk, place = shop.signed_in("desk"), f"/jobs/{number}/claim-photos"
    assert f'href="{place}"' in desk.get(f"/jobs/{number}/links").text
    assert "none chosen · to be chosen before" in words(desk.get(f"/jobs/{number}").text)
    page = desk.get(place).text
    assert len(re.findall(r'type="checkbox" name="photo"', page)) == 3
    assert 'name="photo" value="1" checked' not in page
    (late,) = with_photos(shop, number, 1, size=90)
    with shop.database.write() as session:
        now = shop.clock["now"]
        photo_sharing.share(session, shop.people["desk"], number, late, now)
        photos.take_out(session, shop.people["desk"], number, third, "blurred", now)
    sent = {"asked": [str(one) for one in (first, second, third)], "photo": [str(second), "99"]}
    answer = desk.post(place, sent)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/jobs/{number}/links")
    assert chosen(shop, number) == [second, late], "what the page did not show stays as it was"
    assert desk.post(place, {"asked": [str(second)], "photo": ["x", "9" * 30]}).status_code == 303
    assert chosen(shop, number) == [late]
    back = shop.signed_in("inspector").post(place, {"back": "sign_off"})
    assert back.headers["location"] == f"/jobs/{number}/sign-off"
    assert shop.signed_in("technician").get(place).status_code == 403


def test_what_was_chosen_after_signing_is_told_apart_everywhere(claim: Claim) -> None:
    shop, number = claim.shop, claim.certificate
    photo = with_photos(shop, claim.job, 2)[0]
    desk, place = shop.signed_in("desk"), f"/jobs/{claim.job}/claim-photos"
    assert f"Certificate {number} is signed, and does not change" in words(desk.get(place).text)
    shop.later(minutes=5)
    desk.post(place, {"asked": [str(photo)], "photo": [str(photo)]})
    told = f"not in certificate {number}: chosen after it was signed"
    page = claim.page()
    assert f"1 photo was chosen after certificate {number} was signed" in page
    for way in (f"/jobs/{claim.job}/photos/{photo}", place):
        assert told in words(desk.get(way).text).replace("Not in", "not in"), way
    assert told in page
    assert told in words(shop.visitor().get(f"/claim/{claim.token}/photos/{photo}").text)
    with zipfile.ZipFile(io.BytesIO(claim.get(f"/{number}/bundle").content)) as packed:
        listed = packed.read("photos.txt").decode()
    assert "These are not in the certificate: they were chosen after it was signed" in listed
    assert "as well" not in listed
