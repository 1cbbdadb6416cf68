"""The floor: one step a screen, from opening a measurement to submitting it."""

import html
import json
import re

import httpx
import pytest

from app.schemas.instrument import InstrumentIn
from app.services import calibrating, drafts, instruments, jobs
from tests.databases import NOW
from tests.services.documents import SOUND, calibration
from tests.services.floor_readings import Bench, bench
from tests.web.pages.taking import STATIONS_AND_DATUM, key_of, put, read, take, words
from tests.web.shop import Shop, Visitor, new_job, ready_job, text_of

LEFT = {"x": "412,5", "y": "-12.25", "z": "0"}


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


def steps_of(technician: Visitor, place: str) -> list[str]:
    """The codes of all steps, from the list of them."""
    found = re.findall(rf'href="{place}/steps/([a-z0-9_.]+)"', technician.get(place).text)
    return list(dict.fromkeys(found))


def test_every_step_is_a_page_of_its_own_and_none_is_large(technician: Visitor, place: str) -> None:
    steps = steps_of(technician, place)
    assert steps[:2] == ["cautions", "visual_check"]
    assert steps[-1] == "return.pivot.right"
    assert len(steps) == 20
    for number, step in enumerate(steps, 1):
        page = technician.get(f"{place}/steps/{step}")
        assert page.status_code == 200
        assert f"Step {number} of 20" in words(page)
        assert page.text.count("<h1") == 1
        assert len(page.content) < 30_000


def test_a_step_that_is_none_is_not_found(technician: Visitor, place: str) -> None:
    for step in ("pivot.middle", "no_such_step", "station.left.left"):
        assert technician.get(f"{place}/steps/{step}").status_code == 404
        assert technician.post(f"{place}/steps/{step}").status_code == 404


def test_a_reading_is_stored_as_it_was_typed_read_back_and_the_road_goes_on(
    technician: Visitor, place: str
) -> None:
    answer = put(technician, place, "pivot.left", LEFT)
    assert answer.status_code == 303
    following = answer.headers["location"]
    assert following.startswith(f"{place}/steps/")
    page = technician.get(following)
    assert "Taken swing-arm pivot axis · left X 412.5 Y -12.25 Z 0 mm" in words(page)
    done = technician.get(f"{place}/steps/pivot.left")
    assert "1 of 1 point" in words(done)
    assert "Save one more point" in words(done)


def test_a_form_that_comes_twice_is_stored_once(technician: Visitor, place: str) -> None:
    form = {**read(LEFT), "request_key": "the-same-key"}
    first = technician.post(f"{place}/steps/pivot.left", form)
    again = technician.post(f"{place}/steps/pivot.left", form)
    assert (first.status_code, again.status_code) == (303, 303)
    assert "1 point " in words(technician.get(place))


def test_another_reading_under_the_same_key_is_refused_and_said(
    technician: Visitor, place: str
) -> None:
    technician.post(f"{place}/steps/pivot.left", {**read(LEFT), "request_key": "key"})
    other = {**read({**LEFT, "x": "1"}), "request_key": "key"}
    answer = technician.post(f"{place}/steps/pivot.left", other)
    assert answer.status_code == 409
    assert "This cannot be taken yet" in words(answer)
    assert 'value="1"' in answer.text


def test_each_page_carries_a_key_of_its_own(technician: Visitor, place: str) -> None:
    pages = [technician.get(f"{place}/steps/pivot.left") for _ in range(3)]
    assert len({key_of(page) for page in pages}) == 3


@pytest.mark.parametrize(
    ("reading", "told"),
    [
        ({"x": "1,234", "y": "2", "z": "3"}, "two ways"),
        ({"x": "12abc", "y": "2", "z": "3"}, "X is “12abc”"),
        ({"x": "1.2345", "y": "2", "z": "3"}, "at most 3 decimals"),
        ({"x": "", "y": "", "z": "3"}, "X is empty; a number is needed"),
        ({"x": "1e999", "y": "2", "z": "3"}, "X is no finite number"),
    ],
)
def test_what_is_no_reading_is_never_guessed(
    technician: Visitor, place: str, reading: dict[str, str], told: str
) -> None:
    answer = put(technician, place, "pivot.left", reading)
    assert answer.status_code == 422
    assert told in words(answer)
    assert '<a href="#readings.0.x">' in answer.text
    assert 'value="3"' in answer.text
    assert "0 points" in words(answer)


def as_script(visitor: Visitor, path: str, form: dict[str, str]) -> httpx.Response:
    """The form as the page's script sends it."""
    headers = {"Origin": visitor.base, "Accept": "application/json"}
    return visitor.ask("POST", path, data={"form_token": visitor.token(), **form}, headers=headers)


def test_the_script_is_answered_in_json(technician: Visitor, place: str) -> None:
    form = {**read(LEFT), "request_key": "a"}
    answer = as_script(technician, f"{place}/steps/pivot.left", form)
    told = answer.json()
    assert answer.status_code == 200
    assert (told["saved"], told["again"], told["plausible"]) == (True, False, True)
    assert told["next"].startswith(f"{place}/steps/")
    again = as_script(technician, f"{place}/steps/pivot.left", form).json()
    assert (again["saved"], again["again"]) == (True, True)


def test_the_script_is_told_what_is_wrong_in_the_same_words(
    technician: Visitor, place: str
) -> None:
    form = read({"x": "12abc", "y": "2", "z": "3"})
    answer = as_script(technician, f"{place}/steps/pivot.left", form)
    told = answer.json()
    assert answer.status_code == 422
    assert told["saved"] is False
    assert told["errors"][0]["field"] == "readings.0.x"
    assert told["errors"][0]["message"].startswith("X is “12abc”; a number")


def test_an_implausible_point_keeps_the_page_and_says_why(technician: Visitor, place: str) -> None:
    data = bench(SOUND)
    for step in STATIONS_AND_DATUM[:1]:
        take(technician, place, step, data)
    (x, y, z) = data.of("pivot.right")[0].values()
    answer = put(technician, place, "pivot.right", {"x": f"{x}", "y": f"{y}", "z": f"{z + 9000}"})
    assert answer.headers["location"].startswith(f"{place}/steps/pivot.right?taken=")
    page = technician.get(answer.headers["location"])
    assert "Implausible" in words(page)
    assert 'class="notice bad"' in page.text
    assert "mm is expected" in words(page)


def test_a_point_is_taken_back_and_stays_on_record(
    shop: Shop, technician: Visitor, place: str
) -> None:
    put(technician, place, "pivot.left", LEFT)
    form = {"point": "1", "request_key": "undo"}
    answer = technician.post(f"{place}/steps/pivot.left/undo", form)
    assert answer.headers["location"] == f"{place}/steps/pivot.left?gone=1"
    told = words(technician.get(answer.headers["location"]))
    assert "0 of 1 point" in told
    assert "Taken back: swing-arm pivot axis · left, X 412.5 ·" in told
    assert 'class="struck"' in technician.get(f"{place}/points").text
    wrong = technician.post(f"{place}/steps/pivot.left/undo", {"point": "77"})
    assert wrong.status_code == 404


def test_pasted_rows_and_a_file_fill_a_station(technician: Visitor, place: str) -> None:
    rows = {"table": "upper 1.5 2 3\nlower;4,5;5;6", "request_key": "rows"}
    wrong = technician.post(f"{place}/steps/station.left", rows)
    assert wrong.status_code == 422
    assert "row 1" in words(wrong).lower()
    assert "0 of 2 points" in words(wrong)
    rows["table"] = "upper 1.5 2 3\nlower 4.5 5 6"
    assert technician.post(f"{place}/steps/station.left", rows).status_code == 303
    assert "2 of 2 points" in words(technician.get(f"{place}/steps/station.left"))
    file = {"rows": ("arm.csv", b"name;x;y;z\nlower;4,5;5;6\nupper;1,5;2;3\n", "text/csv")}
    answer = technician.post(f"{place}/steps/station.right", {"request_key": "file"}, files=file)
    assert answer.status_code == 303
    page = words(technician.get(f"{place}/steps/station.right"))
    assert page.index("upper X 1.5") < page.index("lower X 4.5")


def test_an_empty_field_says_what_counts_instead(technician: Visitor, place: str) -> None:
    told = words(technician.get(f"{place}/steps/pivot_face.left"))
    assert "Empty: the instrument's, 0.1 mm" in told
    assert "Probe radius, mm Empty: the instrument's, 3 mm" in told


def test_each_target_of_a_station_has_its_drawing_for_the_way_without_network(
    technician: Visitor, place: str
) -> None:
    page = technician.get(f"{place}/steps/station.left").text
    later = page[page.index("<template data-then>") : page.index("</template>")]
    titles = re.findall(r"<title>(Where to measure[^<]*)", page)
    assert len(titles) == len(set(titles)) == 2
    assert titles[1] in later
    assert "data-then" not in technician.get(f"{place}/steps/pivot.left").text


def test_rows_of_our_own_table_are_taken_without_its_header(
    technician: Visitor, place: str
) -> None:
    own = "pivot;left;;146,894;-467,34;-805,615;0,1;;"
    again = own.replace(";;146", ";return;146")
    wrong = technician.post(f"{place}/steps/pivot.left", {"table": again, "request_key": "own"})
    assert wrong.status_code == 422
    assert "Row 1 was measured again" in words(wrong)
    assert 'id="table-wrong1"' in wrong.text
    assert 'id="rows-wrong1"' not in wrong.text
    done = technician.post(f"{place}/steps/pivot.left", {"table": own, "request_key": "own"})
    assert done.status_code == 303
    assert "X 146.894" in words(technician.get(f"{place}/steps/pivot.left"))


def test_what_a_step_says_is_stored_piece_by_piece(
    shop: Shop, technician: Visitor, place: str
) -> None:
    said = {
        "mounting": {"mounting": "engine in", "up": "z"},
        "temperature": {"part_temperature_c": "21,5", "after_ride_in": "1"},
        "rig": {"targets.0": "high", "targets.1": "low", "spacing": "200", "spacing_u": "0,05"},
    }
    for step, form in said.items():
        page = technician.get(f"{place}/steps/{step}")
        seen = html.unescape(re.search(r'name="seen" value="([^"]*)"', page.text)[1])  # type: ignore[index]
        sent = {**form, "seen": seen, "request_key": key_of(page)}
        assert technician.post(f"{place}/steps/{step}", sent).status_code == 303, step
    with shop.database.read() as session:
        draft = drafts.read(session, shop.people["technician"], place.split("/")[2], 1)
    assert draft.header["mounting"] == "engine in"
    assert draft.header["up"] == [0.0, 0.0, 1.0]
    assert draft.header["part_temperature_c"] == 21.5
    assert draft.header["rig"] == {"target_spacing_mm": [["high", "low", 200.0, 0.05]]}
    assert "Names of its points" not in words(technician.get(f"{place}/steps/station.left"))
    assert (
        '<option value="high" selected>high' in technician.get(f"{place}/steps/station.left").text
    )


def test_what_somebody_else_changed_meanwhile_is_not_overwritten(
    technician: Visitor, place: str
) -> None:
    path = f"{place}/steps/mounting"
    seen = json.dumps({"mounting": None, "up": None})
    first = {"mounting": "engine in", "up": "z", "seen": seen, "request_key": "1"}
    assert technician.post(path, first).status_code == 303
    late = {"mounting": "engine out", "up": "z", "seen": seen, "request_key": "2"}
    answer = technician.post(path, late)
    assert answer.status_code == 409
    assert "engine out" in answer.text
    assert "engine in" in words(technician.get(path))


@pytest.mark.parametrize("seen", ["", "no json", "[1]", '{"other": 1}'])
def test_what_the_page_showed_may_be_missing_or_odd(
    technician: Visitor, place: str, seen: str
) -> None:
    form = {"mounting": "engine in", "up": "z", "seen": seen, "request_key": "1"}
    assert technician.post(f"{place}/steps/mounting", form).status_code == 303


def test_a_wrong_temperature_is_told_beside_its_field(technician: Visitor, place: str) -> None:
    form = {"part_temperature_c": "warm", "request_key": "1"}
    answer = technician.post(f"{place}/steps/temperature", form)
    assert answer.status_code == 422
    assert "warm" in words(answer)


def test_a_pause_says_what_repeats_and_closes_the_forms(technician: Visitor, place: str) -> None:
    put(technician, place, "pivot.left", LEFT)
    here = f"{place}/steps/pivot.right"
    asked = technician.post(f"{here}/pause", {"request_key": "p"})
    assert asked.headers["location"] == f"{here}?pause=ask"
    question = words(technician.get(f"{here}?pause=ask"))
    assert "After a pause these are measured once more: Temperature of the part; " in question
    technician.post(f"{here}/pause", {"request_key": "p", "sure": "1"})
    page = technician.get(here)
    assert "Paused since" in words(page)
    assert "Pivot axis, left end" in words(page)
    assert "Save this point" not in words(page)
    assert put(technician, place, "pivot.right", LEFT).status_code == 409
    assert "Take it up again" in words(technician.get(place))
    answer = technician.post(f"{here}/resume", {"request_key": "r"})
    first = technician.get(answer.headers["location"])
    assert first.status_code == 200
    assert "Paused since" not in words(first)
    assert any(step.startswith("again1.") for step in steps_of(technician, place))


def test_news_are_asked_for_by_version(technician: Visitor, place: str) -> None:
    put(technician, place, "pivot.left", LEFT)
    told = technician.get(f"{place}/news?after=0&since=0").json()
    assert [point["reading"] for point in told["points"]] == ["X 412.5  Y -12.25  Z 0"]
    assert told["points"][0]["plausible"] is True
    nothing = technician.get(f"{place}/news?after={told['version']}")
    assert (nothing.status_code, nothing.content) == (204, b"")
    assert technician.get(f"{place}/news?after=x&since=-1").status_code == 200


def test_points_of_an_instrument_go_where_the_tablet_waits(technician: Visitor, place: str) -> None:
    here = f"{place}/steps/pivot.left"
    technician.post(f"{here}/aim", {"live": "1"})
    assert "Points that the instrument sends go to this step" in words(technician.get(here))
    technician.post(f"{here}/aim", {})
    assert "Take its points here" in words(technician.get(here))


def test_the_plan_is_a_page_and_a_line(technician: Visitor, place: str) -> None:
    early = technician.get(f"{place}/plan")
    assert early.status_code == 200
    data = bench(SOUND)
    to_come = ("station.half_left", "station.half_right", "station.right")
    for step in STATIONS_AND_DATUM:
        if step not in to_come:
            take(technician, place, step, data)
    take(technician, place, "station.right", data)
    half_way = words(technician.get(f"{place}/plan"))
    assert "More stations are not needed" in half_way
    assert "the farthest left and the farthest right one" not in half_way
    for step in ("station.half_left", "station.half_right"):
        take(technician, place, step, data)
    page = technician.get(f"{place}/plan")
    assert "How sure each number is" in words(page)
    assert "±" in words(page)
    assert "±" in re.search(r"data-plan-line>([^<]+)<", technician.get(place).text)[1]  # type: ignore[index]


def test_a_measurement_is_submitted_when_nothing_is_left(technician: Visitor, place: str) -> None:
    data: Bench = bench(SOUND)
    for step in steps_of(technician, place):
        if technician.get(f"{place}/steps/{step}").text.count("readings.0.x"):
            take(technician, place, step, data)
        elif step != "visual_check":
            said = {"mounting": "on stands", "up": "z", "part_temperature_c": "20"}
            technician.post(f"{place}/steps/{step}", {**said, "request_key": step})
    page = technician.get(place)
    assert "Nothing that the reference asks for is left to measure." in words(page)
    version = re.search(r'name="version" value="(\d+)"', page.text)
    assert version is not None
    answer = technician.post(f"{place}/submit", {"version": version[1]})
    assert answer.headers["location"].endswith("/surveys/1")
    again = technician.post(f"{place}/submit", {"version": version[1]})
    assert again.headers["location"] == answer.headers["location"], "its answer may be lost"
    closed = technician.get(f"{place}/steps/pivot.left")
    assert "Save" not in re.sub("Saved", "", words(closed))


def test_before_the_first_point_it_is_told_that_nothing_says_how_sure_points_are(
    shop: Shop, technician: Visitor
) -> None:
    number = new_job(shop)
    assert technician.post(f"/jobs/{number}/drafts", {"phase": "before"}).status_code == 303
    place = f"/jobs/{number}/drafts/1"
    chosen = "No instrument is chosen, so nothing says how sure the points are."
    for page in (place, f"{place}/steps/cautions", f"{place}/steps/pivot.left"):
        assert chosen in words(technician.get(page))

    people = shop.people
    with shop.database.write() as session:
        arm = instruments.create(session, people["inspector"], InstrumentIn(name="arm 7"), NOW)
        jobs.fix_instrument(session, people["technician"], number, arm.id, NOW)
    for page in (place, f"{place}/steps/mounting", f"{place}/steps/pivot.left"):
        assert "No calibration of arm 7 is on record" in words(technician.get(page))
    sure = {**read(LEFT), "readings.0.u": "0,1", "request_key": "sure"}
    assert technician.post(f"{place}/steps/pivot.left", sure).status_code == 303
    assert "No calibration of" not in words(technician.get(place))
    put(technician, place, "pivot.right", LEFT)
    assert "No calibration of" in words(technician.get(place))

    with shop.database.write() as session:
        calibrating.calibrate(session, people["inspector"], arm.id, calibration(), NOW)
    assert "No calibration of" not in words(technician.get(place))
