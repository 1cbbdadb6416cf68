"""What the floor tells with the answer to a reading, and what it offers beforehand."""

import pytest

from tests.services.documents import SOUND
from tests.services.floor_readings import bench
from tests.web.pages.taking import STATIONS_AND_DATUM, put, take, words
from tests.web.shop import Shop, Visitor, ready_job, text_of


@pytest.fixture
def technician(shop: Shop) -> Visitor:
    return shop.signed_in("technician")


@pytest.fixture
def place(shop: Shop, technician: Visitor) -> str:
    """A measurement that was just opened."""
    number = ready_job(shop)
    answer = technician.post(f"/jobs/{number}/drafts", {"phase": "before"})
    assert answer.status_code == 303, text_of(answer.text)
    return f"/jobs/{number}/drafts/1"


def test_how_the_machine_stands_is_said_and_never_guessed(technician: Visitor, place: str) -> None:
    step = f"{place}/steps/mounting"
    page = technician.get(step)
    assert '<option value="" selected>' in page.text
    assert "the number that grows is the axis" in words(page)
    empty = technician.post(step, {"mounting": "", "up": ""})
    assert empty.status_code == 422
    said = words(empty)
    assert "What it stands on is empty" in said
    assert "Which axis points up is empty" in said
    assert "1 point" not in words(technician.get(place))
    assert technician.post(step, {"mounting": "on stands", "up": "unknown"}).status_code == 303
    assert '<option value="unknown" selected>' in technician.get(step).text


def test_the_axis_that_a_table_would_have_is_no_answer_to_the_step(
    shop: Shop, technician: Visitor
) -> None:
    number = ready_job(shop)
    technician.post(f"/jobs/{number}/drafts", {"phase": "before", "up": "z"})
    page = technician.get(f"/jobs/{number}/drafts/1/steps/mounting")
    assert '<option value="" selected>' in page.text


def test_an_instrument_that_stands_tilted_gives_its_own_direction(
    technician: Visitor, place: str
) -> None:
    step = f"{place}/steps/mounting"
    half = technician.post(step, {"mounting": "on stands", "up": "own", "up.x": "12,5"})
    assert half.status_code == 422
    assert "Y of the direction that is up is empty" in words(half)
    sent = {"mounting": "on stands", "up": "own", "up.x": "12,5", "up.y": "-3", "up.z": "998"}
    assert technician.post(step, sent).status_code == 303
    page = technician.get(step)
    assert '<option value="own" selected>' in page.text
    assert 'name="up.x" value="12.5"' in page.text
    assert "The instrument stands tilted" in words(page)


def test_a_station_too_near_is_told_with_the_answer_and_taken_back_in_one_touch(
    technician: Visitor, place: str
) -> None:
    data = bench(SOUND)
    for step in ("pivot.left", "pivot.right", "station.left", "station.ahead", "station.right"):
        take(technician, place, step, data)
    for reading in data.of("station.left"):
        near = {name: f"{value + 0.1:.3f}" for name, value in reading.items()}
        answer = put(technician, place, "station.half_left", near)
    assert answer.headers["location"].startswith(f"{place}/steps/station.half_left?taken=")
    page = technician.get(answer.headers["location"])
    said = words(page)
    assert said.index("Taken") < said.index("Station half left is turned only")
    assert "Take this station back and measure it anew" in said
    back = technician.post(f"{place}/steps/station.half_left/undo", {"all": "1"})
    assert back.headers["location"].startswith(f"{place}/steps/station.half_left?gone=")
    told = words(technician.get(back.headers["location"]))
    assert "0 of 2 points" in told
    assert told.count("Taken back: steering target") == 2


def test_which_station_was_measured_once_more_is_told_on_the_page_that_follows(
    technician: Visitor, place: str
) -> None:
    data = bench(SOUND)
    for step in STATIONS_AND_DATUM:
        take(technician, place, step, data)
    for reading in data.of("return.station"):
        sent = {name: f"{value:.3f}" for name, value in reading.items()}
        answer = put(technician, place, "return.station", sent)
    following = technician.get(answer.headers["location"])
    assert "Once more: frame face beside the pivot" in words(following)
    assert "Found again: station" in words(following)
    assert "something was noticed" not in words(technician.get(place))


def test_ends_of_the_pivot_too_far_apart_are_told_at_once_with_a_way_to_the_other_end(
    technician: Visitor, place: str
) -> None:
    data = bench(SOUND)
    take(technician, place, "pivot.left", data)
    (right,) = data.of("pivot.right")
    sent = {name: f"{value + 700.0 * (name == 'x'):.3f}" for name, value in right.items()}
    answer = put(technician, place, "pivot.right", sent)
    assert answer.headers["location"].startswith(f"{place}/steps/pivot.right?taken=")
    page = technician.get(answer.headers["location"])
    assert "Implausible" in words(page)
    assert f'<a href="{place}/steps/pivot.left">To the step: ' in page.text
    other = technician.get(f"{place}/steps/pivot.left")
    assert f'<a href="{place}/steps/pivot.right">To the step' in other.text
    assert "Replace it by this one" in words(other)


def test_the_form_holds_the_target_that_slipped_not_the_one_read_last(
    technician: Visitor, place: str
) -> None:
    data = bench(SOUND)
    for step in STATIONS_AND_DATUM:
        take(technician, place, step, data)
    first, last = data.of("return.station")
    slipped = {**first, "z": first["z"] + 1.5}
    for reading in (slipped, last):
        sent = {name: f"{value:.3f}" for name, value in reading.items()}
        answer = put(technician, place, "return.station", sent)
        assert answer.headers["location"].startswith(f"{place}/steps/return.station?taken=")
        page = technician.get(answer.headers["location"])
        told = "do not lie as they lay there" in words(page)
        assert told == (reading is last)
    assert f'name="readings.0.z" value="{slipped["z"]:.3f}"' in page.text
    assert "Implausible" not in words(page)
    assert "Replace it by this one" in words(page)
