"""The photos' pages: sent as files of a form, shown as text and JPEG, taken out, erased."""

import httpx
import pytest

from app.schemas.photo import MOST_AT_ONCE
from app.services import jobs, photos
from app.services.photos import PhotoView
from app.web.body import MEGABYTE, Limits
from tests.services.pictures import SECRET, from_a_camera, opened, plain
from tests.web.shop import ORIGIN, Shop, Visitor, new_job, text_of

SCRIPT = "<script>alert(1)</script>"


@pytest.fixture
def desk(shop: Shop) -> Visitor:
    return shop.signed_in("desk")


@pytest.fixture
def number(shop: Shop) -> str:
    return new_job(shop)


def kept(shop: Shop, number: str) -> tuple[PhotoView, ...]:
    with shop.database.read() as session:
        return photos.listing(session, shop.people["desk"], number)


def send(visitor: Visitor, number: str, content: bytes = b"", **fields: str) -> httpx.Response:
    files = {"photo": ("../../IMG 1.JPG", content, "image/jpeg")}
    return visitor.post(f"/jobs/{number}/photos", fields, files)


def send_many(visitor: Visitor, number: str, contents: list[bytes]) -> httpx.Response:
    """Several files under one name, as `multiple` sends them."""
    border, pieces = "b0rder", []
    for name, content in [("form_token", visitor.token().encode())]:
        pieces.append(
            f'--{border}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n'.encode()
            + content
        )
    for place, content in enumerate(contents):
        head = f'Content-Disposition: form-data; name="photo"; filename="{place}.jpg"'
        pieces.append(
            f"--{border}\r\n{head}\r\nContent-Type: image/jpeg\r\n\r\n".encode() + content
        )
    return visitor.ask(
        "POST",
        f"/jobs/{number}/photos",
        content=b"\r\n".join([*pieces, f"--{border}--\r\n".encode()]),
        headers={"Origin": ORIGIN, "Content-Type": f"multipart/form-data; boundary={border}"},
    )


@pytest.mark.parametrize("name", ["desk", "technician", "inspector", "boss"])
def test_everybody_who_works_here_adds_photos(shop: Shop, number: str, name: str) -> None:
    visitor = shop.signed_in(name)
    answer = send(visitor, number, from_a_camera(), about="zone.tank", caption="left")
    assert answer.headers["location"] == f"/jobs/{number}/photos?about=zone.tank"
    page = visitor.get(answer.headers["location"]).text
    assert '<option value="zone.tank" selected>' in page, "the next photo may show the same"
    (one,) = kept(shop, number)
    assert (one.about, one.caption) == ("zone.tank", "left")
    assert f"/jobs/{number}/photos/{one.id}/thumbnail" in page
    assert "IMG 1" not in page, "the sender's name of the file is nobody's business"


def test_a_photo_is_sent_as_a_jpeg_that_no_cache_keeps(
    shop: Shop, desk: Visitor, number: str
) -> None:
    send(desk, number, from_a_camera())
    (one,) = kept(shop, number)
    for end, size in (("whole", (640, 480)), ("thumbnail", (360, 270))):
        answer = desk.get(f"/jobs/{number}/photos/{one.id}/{end}")
        assert answer.headers["content-type"] == "image/jpeg"
        assert answer.headers["cache-control"] == "no-store"
        assert opened(answer.content).size == size
        assert SECRET.encode() not in answer.content
    assert shop.visitor().get(f"/jobs/{number}/photos/{one.id}/whole").status_code == 303


def test_several_are_taken_together_or_not_at_all(shop: Shop, desk: Visitor, number: str) -> None:
    assert send_many(desk, number, [plain(60), plain(70)]).status_code == 303
    assert len(kept(shop, number)) == 2
    refused = send_many(desk, number, [plain(80), b"no photo"])
    assert refused.status_code == 422
    assert "The file cannot be read as a photo" in text_of(refused.text)
    too_many = send_many(desk, number, [plain(90)] * (MOST_AT_ONCE + 1))
    assert too_many.status_code == 422
    assert "11 photos were chosen; at most 10 are sent at once" in text_of(too_many.text)
    assert len(kept(shop, number)) == 2


def test_a_refused_photo_leaves_the_form_as_it_was(shop: Shop, desk: Visitor, number: str) -> None:
    answer = send(desk, number, b"<html>", about="zone.fork", caption="bent leg")
    assert answer.status_code == 422
    assert '<a href="#photo">' in answer.text
    assert 'value="bent leg"' in answer.text
    assert '<option value="zone.fork" selected>' in answer.text
    nothing = desk.post(f"/jobs/{number}/photos", {"caption": "none"})
    assert "No photo was chosen" in text_of(nothing.text)
    assert send(desk, number, plain(), about="zone.moon").status_code == 422
    assert kept(shop, number) == ()


def test_a_caption_is_text_everywhere(shop: Shop, desk: Visitor, number: str) -> None:
    send(desk, number, plain(), caption=SCRIPT)
    (one,) = kept(shop, number)
    for path in ("photos", f"photos/{one.id}", f"photos/{one.id}/take-out", ""):
        page = desk.get(f"/jobs/{number}/{path}".rstrip("/")).text
        assert SCRIPT not in page
    assert "&lt;script&gt;" in desk.get(f"/jobs/{number}/photos").text


def test_what_it_shows_is_put_right(shop: Shop, desk: Visitor, number: str) -> None:
    send(desk, number, plain(), about="zone.tank")
    one = f"/jobs/{number}/photos/{kept(shop, number)[0].id}"
    assert desk.post(one, {"about": "zone.moon"}).status_code == 422
    told = {"about": "item.frame_cracks", "caption": "left spar"}
    assert desk.post(one, told).headers["location"] == f"/jobs/{number}/photos"
    assert "left spar" in text_of(desk.get(f"/jobs/{number}/photos").text)
    assert "Cracks in the frame" in text_of(desk.get(one).text)


def test_a_photo_taken_out_is_listed_apart_with_its_reason(
    shop: Shop, desk: Visitor, number: str
) -> None:
    send(desk, number, plain())
    one = f"/jobs/{number}/photos/{kept(shop, number)[0].id}"
    assert desk.post(f"{one}/take-out", {"reason": " "}).status_code == 422
    assert desk.post(f"{one}/take-out", {"reason": "another machine"}).status_code == 303
    page = desk.get(f"/jobs/{number}/photos").text
    assert "another machine" in page
    assert "/thumbnail" not in page
    alone = desk.get(one).text
    assert "another machine" in alone
    assert "/take-out" not in alone


def test_the_owner_erases_it_for_good(shop: Shop, desk: Visitor, number: str) -> None:
    send(desk, number, plain(), caption="a face")
    one = f"/jobs/{number}/photos/{kept(shop, number)[0].id}"
    assert f"{one}/erase" not in desk.get(one).text
    owner = shop.signed_in("boss")
    assert f"{one}/erase" in owner.get(one).text
    assert owner.post(f"{one}/erase", {"reason": "a stranger's face"}).status_code == 303
    assert owner.get(f"{one}/whole").status_code == 404
    page = owner.get(one).text
    assert "a face" not in text_of(page)
    assert "/whole" not in page
    assert owner.get(f"{one}/erase").status_code == 200, "told when it is tried again"
    assert owner.post(f"{one}/erase", {"reason": "again"}).status_code == 409


def test_a_closed_job_shows_its_photos_and_takes_none(
    shop: Shop, desk: Visitor, number: str
) -> None:
    send(desk, number, plain(), caption="dent")
    with shop.database.write() as session:
        jobs.cancel(session, shop.people["desk"], number, "sold", shop.clock["now"])
    page = desk.get(f"/jobs/{number}/photos").text
    assert "dent" in page
    assert 'type="file"' not in page
    assert send(desk, number, plain(90)).status_code == 409


def test_photos_may_be_larger_than_other_forms_of_a_job() -> None:
    limits = Limits()
    for path in ("/jobs/J-2026-0001/photos", "/jobs/J-2026-0001/visual-check/frame_cracks"):
        assert limits.of(path) == 24 * MEGABYTE
    assert limits.of("/api/v1/jobs/J-2026-0001/photos") == 16 * MEGABYTE
    for path in ("/jobs//photos", "/jobs/J-2026-0001/surveys", "/jobs/a/b/photos", "/jobs/"):
        assert limits.of(path) == 2 * MEGABYTE
    assert limits.of("/api/v1/jobs/J-2026-0001/surveys") == 2 * MEGABYTE
    assert limits.of("/photos") == limits.ordinary
