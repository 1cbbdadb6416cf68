"""What was noticed on the floor is put right where it stands, and never submitted unread."""

import re

import httpx
import pytest

from tests.services.documents import MOVED, SOUND
from tests.services.floor_readings import bench
from tests.web.pages.taking import STATIONS_AND_DATUM, key_of, put, read, take, words
from tests.web.shop import Shop, Visitor, ready_job, text_of

HIDDEN = re.compile(r'name="version" value="([0-9]+)"')


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


def texts(reading: dict[str, float]) -> dict[str, str]:
    return {name: f"{value:.3f}" for name, value in reading.items()}


def far(reading: dict[str, float]) -> dict[str, str]:
    """The reading with a coordinate that cannot be."""
    return texts({**reading, "x": reading["x"] + 4000.0})


def id_of(answer: httpx.Response) -> str:
    return answer.headers["location"].rpartition("taken=")[2]


def test_an_implausible_reading_is_replaced_in_one_request_stored_once(
    technician: Visitor, place: str
) -> None:
    data = bench(SOUND)
    take(technician, place, "pivot.left", data)
    (right,) = data.of("pivot.right")
    wrong = put(technician, place, "pivot.right", far(right))
    page = technician.get(wrong.headers["location"])
    assert "Implausible" in words(page)
    assert "Replace it by this one" in words(page)
    assert f'name="readings.0.x" value="{far(right)["x"]}"' in page.text
    assert "done · implausible reading" in words(technician.get(place))
    form = {
        **read(texts(right)), "readings.0.supersedes": id_of(wrong), "request_key": key_of(page),
    }  # fmt: skip
    for _ in range(2):
        answer = technician.post(f"{place}/steps/pivot.right", form)
        assert answer.status_code == 303
        assert "/steps/pivot.right" not in answer.headers["location"]
    after = technician.get(f"{place}/steps/pivot.right")
    assert "1 of 1 point" in words(after)
    assert "Replace it" not in words(after)
    assert "implausible" not in words(technician.get(place))


def test_what_is_no_reading_is_not_replaced(technician: Visitor, place: str) -> None:
    for wrong in ("999", "0", "x"):
        form = {**read({"x": "1", "y": "2", "z": "3"}), "readings.0.supersedes": wrong}
        answer = technician.post(f"{place}/steps/pivot.left", form)
        assert answer.status_code == 422, wrong
    assert "0 points" in words(technician.get(place))


def test_a_wrong_reading_beside_a_right_one_stays_told_with_the_button_that_takes_it_back(
    technician: Visitor, place: str
) -> None:
    data = bench(SOUND)
    take(technician, place, "pivot.left", data)
    (right,) = data.of("pivot.right")
    wrong = id_of(put(technician, place, "pivot.right", far(right)))
    # "Save one more point": the wrong one stays.
    second = put(technician, place, "pivot.right", texts(right))
    assert "/steps/pivot.right?taken=" in second.headers["location"]
    take(technician, place, "pivot_face.left", data)
    face = technician.get(f"{place}/steps/pivot_face.left")
    assert "An implausible reading, or what does not agree, stands at: Pivot axis, right end" in (
        words(face)
    )
    assert "Implausible" not in words(face)
    overview = technician.get(place)
    assert "contradicts the others; without it they agree" in words(overview)
    assert f"Take back: Pivot axis, right end, X {far(right)['x']}" in words(overview)
    assert "first put right what was noticed" in words(technician.get(f"{place}/plan")).lower()
    back = technician.post(f"{place}/steps/pivot.right/undo", {"point": wrong})
    assert back.status_code == 303
    assert "contradicts" not in words(technician.get(place))


def test_left_and_right_mixed_up_is_said_at_the_station_in_the_words_of_the_overview(
    technician: Visitor, place: str
) -> None:
    data = bench(SOUND)
    technician.post(f"{place}/steps/mounting", {"mounting": "on stands", "up": "z"})
    for step in ("pivot.left", "pivot.right"):
        take(technician, place, step, data)
    for step, other in (("station.left", "station.right"), ("station.right", "station.left")):
        for reading in data.of(other):
            answer = put(technician, place, step, texts(reading))
    page = technician.get(answer.headers["location"])
    said = words(page)
    assert "/steps/station.right?taken=" in answer.headers["location"]
    assert "Implausible" in said
    assert "The stations turned left stand to the right of those turned right" in said
    assert "Take this station back and measure it anew" in said
    overview = words(technician.get(place))
    assert "Take back: Steering to the left" in overview
    assert "The stations turned left stand to the right" in overview
    assert "something does not agree" in overview
    assert "`" not in words(technician.get(f"{place}/plan"))


def test_exchanged_targets_are_taken_back_with_their_station(
    technician: Visitor, place: str
) -> None:
    data = bench(SOUND)
    technician.post(f"{place}/steps/mounting", {"mounting": "on stands", "up": "z"})
    for step in ("pivot.left", "pivot.right", "station.left", "station.ahead"):
        take(technician, place, step, data)
    one, other = data.of("station.right")
    put(technician, place, "station.right", texts(other))
    answer = put(technician, place, "station.right", texts(one))
    said = words(technician.get(answer.headers["location"]))
    assert "have changed places" in said
    assert "Take this station back and measure it anew" in said
    following = words(technician.get(f"{place}/steps/station.half_left"))
    assert "turn the steering further" not in following
    assert "stands at: Steering to the right" in following


def submit(visitor: Visitor, place: str, **more: str) -> httpx.Response:
    found = HIDDEN.search(visitor.get(place).text)
    assert found is not None
    return visitor.post(f"{place}/submit", {"version": found[1], **more})


def test_what_was_noticed_is_read_before_a_measurement_is_submitted(
    shop: Shop, technician: Visitor, place: str
) -> None:
    data = bench(SOUND)
    technician.post(f"{place}/steps/mounting", {"mounting": "on stands", "up": "z"})
    technician.post(f"{place}/steps/temperature", {"part_temperature_c": "21"})
    for step in STATIONS_AND_DATUM:
        take(technician, place, step, data)
    near = [texts({**one, "x": one["x"] + 0.2}) for one in data.of("pivot.left")]
    put(technician, place, "pivot_face.right", near[0])
    page = technician.get(place)
    said = words(page)
    assert said.index("lies only") < said.index("Submit this measurement")
    assert "I have read what was noticed, and submit it all the same" in said
    unread = submit(technician, place)
    assert unread.status_code == 409
    assert "Something was noticed about this measurement" in words(unread)
    stored = submit(technician, place, despite_noticed="1")
    assert stored.status_code == 303, words(stored)
    assert "/surveys/1" in stored.headers["location"]


def test_the_point_that_somebody_else_took_is_told_with_the_name_and_a_second_one_as_a_repeat(
    shop: Shop, technician: Visitor, place: str
) -> None:
    other = shop.signed_in("owner")
    first = put(other, place, "pivot.left", {"x": "412.5", "y": "160.2", "z": "0"})
    taken = technician.get(f"{place}/steps/pivot.right?taken={id_of(first)}")
    assert "Taken by owner" in words(taken)
    assert "Take it back" in words(taken)
    news = technician.get(f"{place}/news?step=pivot.left&after=1&since=0").json()
    assert news["points"][0]["word"] == "Taken by owner"
    assert news["counts"] == {"points": "1 point", "counted": "1 of 1 point"}
    mine = put(technician, place, "pivot.left", {"x": "412.6", "y": "160.1", "z": "0"})
    assert "/steps/pivot.left?taken=" in mine.headers["location"]
    said = words(technician.get(mine.headers["location"]))
    assert "Another reading of the same point? owner took it already" in said
    assert "X 412.5 Y 160.2 Z 0" in said
    assert "counts as a repeat" in said
    assert "Take it back" in said
    again = put(technician, place, "pivot.right", {"x": "412.5", "y": "-160.2", "z": "0"})
    assert "Another reading" not in words(technician.get(again.headers["location"]))


def test_a_set_up_that_moved_says_how_far_and_asks_for_one_more_touch(
    technician: Visitor, place: str
) -> None:
    data = bench(rig=MOVED)
    for step in (*STATIONS_AND_DATUM, "return.station", "return.pivot_face.left"):
        take(technician, place, step, data)
    for step in ("return.pivot.left", "return.pivot.right"):
        answer = put(technician, place, step, texts(data.of(step)[0]))
    said = words(technician.get(answer.headers["location"]))
    assert re.search(r": [0-9.]+ mm away, ±[0-9.]+ mm\)", said), said
    assert "First touch the same place once more" in said
    assert "Take it back and touch the same place once more" in said


def test_a_whole_file_at_one_step_is_refused_in_few_words_with_the_way_to_go(
    technician: Visitor, place: str
) -> None:
    rows = [f"pair,tail.{n},,{n},2,3,0.1" for n in range(40)]
    table = "\n".join(["feature,label,station,x,y,z,u", "pivot,left,,1,2,3,0.1", *rows])
    answer = technician.post(f"{place}/steps/pivot.left", {"table": table})
    said = words(answer)
    assert answer.status_code == 422
    assert "40 of these 41 rows belong to other steps" in said
    # Once above the form, once beside the field.
    assert said.count("is of") == 2 * 3
    assert "Row 3 is of" in said
    assert f'href="{place}/points"' in answer.text
    garbage = technician.post(f"{place}/steps/pivot.left", {"table": "a b c\n" * 30})
    assert words(garbage).count("no number") <= 2 * 3
    whole = "feature,label,station,x,y,z,u\npivot,left,,1,2,3,0.1\npivot,right,,1,-200,3,0.1\n"
    version = HIDDEN.search(technician.get(f"{place}/points").text)
    assert version is not None
    stored = technician.post(
        f"{place}/table",
        {"version": version[1]},
        {"rows": ("rows.csv", whole.encode(), "text/csv")},
    )
    assert stored.status_code == 303
    assert "2 points" in words(technician.get(place))
