"""After check-in: order and notice, photos, job card; each leads on and may be left out."""

import json
import re
from typing import Any

import httpx
import pytest

from app.services import audit, photos, signatures
from app.services.lookup import job_row
from app.web.pages.calls import dial
from tests.services.forms import check_in_form
from tests.services.pictures import from_a_camera
from tests.web.shop import ORIGIN, Shop, Visitor, new_job, ready_job, text_of
from tests.web.test_failures import flat

WAY = "?arrival=yes"
READ = re.compile(r'name="read" value="([0-9a-f]+)"')


@pytest.fixture
def desk(shop: Shop) -> Visitor:
    return shop.signed_in("desk")


def unsigned() -> dict[str, Any]:
    """A check-in whose order is still to be signed."""
    return flat(check_in_form(authorised_by="", privacy_notice_given=""))


def multipart(
    visitor: Visitor, path: str, fields: dict[str, Any], contents: list[bytes]
) -> httpx.Response:
    """A form with several files under one name, as browsers send it."""
    border = "b0rder"
    pieces = []
    for name, value in {"form_token": visitor.token(), **fields}.items():
        head = f'--{border}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n'
        pieces.append(f"{head}{value}".encode())
    for place, content in enumerate(contents):
        head = f'form-data; name="photo"; filename="{place}.jpg"'
        told = f"--{border}\r\nContent-Disposition: {head}\r\nContent-Type: image/jpeg\r\n\r\n"
        pieces.append(told.encode() + content)
    return visitor.ask(
        "POST",
        path,
        content=b"\r\n".join([*pieces, f"--{border}--\r\n".encode()]),
        headers={"Origin": ORIGIN, "Content-Type": f"multipart/form-data; boundary={border}"},
    )


def kept(shop: Shop, number: str) -> int:
    with shop.database.read() as session:
        return len(photos.listing(session, shop.people["desk"], number))


def test_the_way_goes_on_by_itself(shop: Shop, desk: Visitor) -> None:
    answer = desk.post("/check-in", unsigned())
    place = "/jobs/J-2026-0001"
    assert answer.headers["location"] == f"{place}/order{WAY}"
    order = desk.get(answer.headers["location"]).text
    assert f'href="{place}/photos{WAY}">Later: on to the photos' in order
    signed = {"name": "Åse", "purpose": "authorisation", "how": "card", "arrival": "yes"}
    assert desk.post(f"{place}/order", signed).headers["location"] == f"{place}/photos{WAY}"
    empty = desk.get(f"{place}/photos{WAY}").text
    assert "Order signed by Åse, 2 March 2026" in text_of(empty)
    assert "No photos yet" in text_of(empty)
    assert "Order signed" not in text_of(desk.get(f"{place}/photos").text)
    assert f'href="{place}/card{WAY}">Later: on to the job card' in empty
    files = {"photo": ("1.jpg", from_a_camera(), "image/jpeg")}
    sent = desk.post(f"{place}/photos", {"arrival": "yes"}, files)
    assert sent.headers["location"] == f"{place}/photos{WAY}"
    assert f'class="go" href="{place}/card{WAY}"' in desk.get(f"{place}/photos{WAY}").text
    card = desk.get(f"{place}/card{WAY}").text
    assert f'href="{place}">To the job' in card


def test_every_stop_has_one_main_action(shop: Shop, desk: Visitor) -> None:
    number = new_job(shop, authorised_by="")
    for stop in ("order", "photos", "card"):
        page = desk.get(f"/jobs/{number}/{stop}{WAY}").text
        assert page.count('class="go"') == 1, stop
        assert page.count('aria-current="step"') == 1, stop
        assert "may be left out and done later" in page
        assert "may be left out" not in desk.get(f"/jobs/{number}/{stop}").text


def test_a_refused_signature_stays_on_the_way(shop: Shop, desk: Visitor) -> None:
    number = new_job(shop, authorised_by="")
    sent = {"name": "", "purpose": "authorisation", "how": "card", "arrival": "yes"}
    again = desk.post(f"/jobs/{number}/order", sent)
    assert again.status_code == 422
    assert '<input type="hidden" name="arrival" value="yes">' in again.text
    assert "Later: on to the photos" in again.text


def test_what_is_odd_about_the_frame_number_is_told_and_changed_while_the_machine_is_there(
    shop: Shop, desk: Visitor
) -> None:
    answer = desk.post("/check-in", {**unsigned(), "machine.frame_number": "AB 123"})
    order = desk.get(answer.headers["location"]).text
    assert "AB123" in text_of(order)
    ways = re.findall(r'href="([^"]+)">Change the frame number<', order)
    assert ways == [f"/jobs/J-2026-0001/machine{WAY}#frame_number"]
    assert 'id="frame_number"' in desk.get(ways[0].partition("#")[0]).text
    photos_page = f"/jobs/J-2026-0001/photos{WAY}"
    assert "Change the frame number" not in shop.signed_in("technician").get(photos_page).text
    known = text_of(desk.post("/check-in/look-up", {"take": "1-1"}).text)
    assert "Is it wrong? The page that follows check-in" in known
    sound = new_job(shop, authorised_by="")
    assert "Change the frame number" not in desk.get(f"/jobs/{sound}/order{WAY}").text


@pytest.mark.parametrize("arrival", ["no", "<script>", "", "yes&photos_left_out=x-999-%00"])
def test_an_odd_address_is_no_way_and_no_crash(shop: Shop, desk: Visitor, arrival: str) -> None:
    number = new_job(shop)
    for stop in ("order", "photos", "card"):
        page = desk.get(f"/jobs/{number}/{stop}?arrival={arrival}")
        assert page.status_code == 200
        assert "<script>" not in page.text.replace("<script defer", "")
        assert "could not be kept" not in page.text


def test_photos_come_with_the_check_in(shop: Shop, desk: Visitor) -> None:
    pictures = [from_a_camera(), from_a_camera(320, 200)]
    answer = multipart(desk, "/check-in", unsigned(), pictures)
    assert answer.headers["location"] == f"/jobs/J-2026-0001/order{WAY}"
    assert kept(shop, "J-2026-0001") == 2


def test_a_refused_photo_never_loses_the_check_in(shop: Shop, desk: Visitor) -> None:
    bomb = b"\x89PNG\r\n\x1a\n" + b"\x00" * 200
    pictures = [from_a_camera(), b"GIF89a", from_a_camera(320, 200), bomb]
    answer = multipart(desk, "/check-in", unsigned(), pictures)
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/jobs/J-2026-0001/photos{WAY}&photos_left_out=2-4"
    page = text_of(desk.get(answer.headers["location"]).text)
    assert "numbers 2, 4 of those that were chosen" in page
    assert kept(shop, "J-2026-0001") == 2


def test_more_photos_than_one_form_takes_are_told_and_the_check_in_stands(
    shop: Shop, desk: Visitor
) -> None:
    pictures = [from_a_camera(32 + n, 24) for n in range(13)]
    answer = multipart(desk, "/check-in", unsigned(), pictures)
    assert answer.headers["location"].endswith("photos_left_out=11-12-13")
    assert kept(shop, "J-2026-0001") == 10


def test_a_refused_check_in_keeps_no_photo_and_asks_for_them_again(
    shop: Shop, desk: Visitor
) -> None:
    before = shop.digest()
    sent = {**unsigned(), "customer.name": ""}
    answer = multipart(desk, "/check-in", sent, [from_a_camera()])
    assert answer.status_code == 422
    assert answer.text.count("Choose the photos once more") == 2
    assert '<a href="#photo">Choose the photos once more' in answer.text
    assert shop.digest() == before
    looked = desk.post("/check-in/look-up", {**unsigned(), "photo": "IMG 1.JPG"})
    assert '<a href="#photo">Choose the photos once more' in looked.text


def test_the_same_check_in_twice_makes_one_job(shop: Shop, desk: Visitor) -> None:
    """A double press without script, the back button, a second tab."""
    assert desk.post("/check-in", unsigned()).status_code == 303
    again = desk.post("/check-in", unsigned())
    assert again.status_code == 422
    assert "J-2026-0001" in text_of(again.text)
    assert desk.get("/jobs/J-2026-0002").status_code == 404


def test_an_unsigned_order_is_told_in_the_list_and_on_the_job(shop: Shop, desk: Visitor) -> None:
    number = new_job(shop, authorised_by="")
    assert "the order is not signed" in text_of(desk.get("/").text)
    assert "not signed yet" in text_of(desk.get(f"/jobs/{number}").text)
    sent = {"name": "Åse", "purpose": "authorisation", "how": "card"}
    desk.post(f"/jobs/{number}/order", sent)
    assert "the order is not signed" not in text_of(desk.get("/").text)
    with shop.database.read() as session:
        assert signatures.standing(session, shop.people["desk"], number)


def test_the_floor_is_told_at_its_first_step_while_nobody_ordered(shop: Shop) -> None:
    """The page is made once a change: signing is one, though nothing was measured."""
    number = ready_job(shop)
    with shop.database.write() as session:
        row = job_row(session, shop.people["desk"], number)
        row.authorised_by, row.authorised_at = "", None
    technician = shop.signed_in("technician")
    assert technician.post(f"/jobs/{number}/drafts", {"phase": "before"}).status_code == 303
    first, second = (f"/jobs/{number}/drafts/1/steps/{step}" for step in ("cautions", "play"))
    for _time in range(2):
        assert "The order is not signed: ask the desk" in text_of(technician.get(first).text)
    assert "The order is not signed" not in text_of(technician.get(second).text)
    sent = {"name": "Åse", "purpose": "authorisation", "how": "card"}
    assert shop.signed_in("desk").post(f"/jobs/{number}/order", sent).status_code == 303
    assert "The order is not signed" not in text_of(technician.get(first).text)


def test_nobody_signs_for_what_they_have_not_read(shop: Shop, desk: Visitor) -> None:
    """Another tab changes what was left here, while the customer reads."""
    number = new_job(shop, authorised_by="")
    read = READ.search(desk.get(f"/jobs/{number}/order").text)
    assert read is not None
    sent = {"name": "Åse", "purpose": "authorisation", "how": "screen", "read": read[1]}
    drawn = json.dumps([[[0, 0], [500, 100]]])
    with shop.database.write() as session:
        row = job_row(session, shop.people["desk"], number)
        row.keys_and_accessories = "nothing at all"
    refused = desk.post(f"/jobs/{number}/order", {**sent, "strokes": drawn})
    assert refused.status_code == 409
    assert "nothing at all" in refused.text
    assert 'name="strokes" value=""' in refused.text
    again = READ.search(refused.text)
    assert again is not None
    signed = desk.post(f"/jobs/{number}/order", {**sent, "read": again[1], "strokes": drawn})
    assert signed.status_code == 303
    with shop.database.read() as session:
        owner = shop.people["owner"]
        told = audit.words_about(session, owner, "customer:1")
    assert any("Left with the machine: nothing at all" in text for text in told)


@pytest.mark.parametrize(
    ("phone", "dialled"),
    [
        ("+49 (0)30 12-34", "tel:+49301234"),
        ("(030) 12 34", "tel:0301234"),
        ("00 1 (2)", "tel:0012"),
        ("call him", ""),
        ("", ""),
    ],
)
def test_a_number_is_dialled_as_a_telephone_needs_it(phone: str, dialled: str) -> None:
    """RFC 3966; a nought in brackets after a country's number is common practice, no source."""
    assert dial(phone) == dialled
