"""Photos through the API: one file a call, what it shows beside it, the JPEG back."""

import hashlib

import pytest

from app.services.prepared_photo import LARGEST_BYTES
from tests.services.forms import check_in_form
from tests.services.pictures import SECRET, from_a_camera, opened, plain
from tests.web.api.client import Api

JPEG = "image/jpeg"


@pytest.fixture
def desk(api: Api) -> Api:
    return api.as_role("desk")


@pytest.fixture
def photos(desk: Api) -> str:
    """The address of a job's photos."""
    number = desk.made("POST", "/jobs", check_in_form())["job_number"]
    return f"/jobs/{number}/photos"


def test_a_photo_comes_back_upright_and_without_what_the_camera_wrote(
    desk: Api, photos: str
) -> None:
    sent = from_a_camera(640, 480, orientation=6)
    made = desk.ask(
        "POST", f"{photos}?about=zone.tank&caption=left%20side", content=sent, media_type=JPEG
    )
    assert made.status_code == 201, made.text
    told = made.json()
    assert (told["about"], told["caption"], told["width"]) == ("zone.tank", "left side", 480)
    whole = desk.ask("GET", f"{photos}/{told['id']}/whole")
    assert whole.headers["content-type"] == JPEG
    assert hashlib.sha256(whole.content).hexdigest() == told["sha256"]
    assert SECRET.encode() not in whole.content
    assert opened(whole.content).size == (480, 640)
    small = desk.ask("GET", f"{photos}/{told['id']}/thumbnail")
    assert opened(small.content).size == (270, 360)
    assert desk.get(f"{photos}/{told['id']}") == told
    assert desk.get(photos)["items"] == [told]


def test_the_same_call_again_adds_nothing(desk: Api, photos: str) -> None:
    key = {"Idempotency-Key": "one"}
    answers = [
        desk.ask("POST", photos, content=plain(), media_type="image/png", headers=key)
        for _ in range(2)
    ]
    assert [one.status_code for one in answers] == [201, 201]
    assert answers[0].text == answers[1].text
    other = desk.ask("POST", photos, content=plain(80), media_type="image/png", headers=key)
    assert (other.status_code, other.json()["code"]) == (409, "idempotency_key_reused")
    assert len(desk.get(photos)["items"]) == 1


def test_described_taken_out_and_erased(api: Api, desk: Api, photos: str) -> None:
    made = desk.ask("POST", photos, content=plain(), media_type="image/png").json()
    one = f"{photos}/{made['id']}"
    told = {"about": "item.frame_cracks", "caption": "left spar"}
    assert desk.made("PUT", one, told, 200)["about"] == "item.frame_cracks"
    gone = desk.made("POST", f"{one}/take-out", {"reason": "blurred"}, 200)
    assert gone["taken_out_because"] == "blurred"
    assert desk.ask("POST", f"{one}/erase", {"reason": "a face"}).status_code == 403
    owner = api.as_role("owner")
    assert owner.made("POST", f"{one}/erase", {"reason": "a face"}, 200)["erased_at"]
    assert owner.ask("GET", f"{one}/whole").status_code == 404


@pytest.mark.parametrize(
    ("content", "media_type", "query", "status", "code"),
    [
        (b"<svg/>", "image/svg+xml", "", 415, "wrong_media_type"),
        (b"<html>", JPEG, "", 422, "photo_unreadable"),
        (b"", JPEG, "", 422, "photo_empty"),
        (bytes(LARGEST_BYTES + 1), JPEG, "", 422, "photo_too_large"),
        (plain(), "image/png", "?about=zone.moon", 422, "photo_about_unknown"),
    ],
)
def test_what_is_no_photo_is_refused_and_nothing_is_kept(
    desk: Api, photos: str, content: bytes, media_type: str, query: str, status: int, code: str
) -> None:
    answer = desk.ask("POST", photos + query, content=content, media_type=media_type)
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert desk.get(photos)["items"] == []


def test_a_job_that_is_not_there_gets_no_photo(desk: Api) -> None:
    answer = desk.ask("POST", "/jobs/J-2026-9999/photos", content=plain(), media_type="image/png")
    assert (answer.status_code, answer.json()["code"]) == (404, "no_such_job")


def test_signatures_are_read_by_the_desk_and_not_by_technicians(
    api: Api, desk: Api, photos: str
) -> None:
    address = photos.replace("photos", "signatures")
    assert desk.get(address)["items"] == []
    assert api.as_role("technician").ask("GET", address).status_code == 403
