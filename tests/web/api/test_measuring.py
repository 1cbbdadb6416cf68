"""Measurements through the API: submitted whole or point by point, kept as sent, or refused."""

import json
from typing import Any

import pytest

from app import resources
from tests.web.api.client import Api
from tests.web.api.test_records import CALIBRATION, checked_in

SEED = resources.seed_data()


def document(name: str) -> Any:
    return json.loads((SEED / name).read_text(encoding="utf-8"))


BEFORE, AFTER = document("before-head-bent.json"), document("after-corrected.json")
REFERENCE = document("reference.json")


@pytest.fixture
def job(api: Api) -> str:
    """A job whose reference is fixed and whose instrument is in calibration."""
    number = checked_in(api)
    technician = api.as_role("technician")
    reference = technician.made("POST", "/references", REFERENCE)["id"]
    chosen = {"reference_id": reference, "because": "invented for the test"}
    technician.made("PUT", f"/jobs/{number}/reference", chosen, 200)
    body = {"name": BEFORE["instrument"]["name"], "calibration": CALIBRATION}
    arm = api.as_role("inspector").made("POST", "/instruments", body)["id"]
    technician.made("PUT", f"/jobs/{number}/instrument", {"instrument_id": arm}, 200)
    return number


def earlier(survey: Any, **changes: Any) -> Any:
    """The survey as if measured before the clock of these tests."""
    return {**survey, "measured_at": "2026-03-02T08:00:00+00:00", **changes}


def test_a_survey_is_evaluated_and_kept_exactly_as_it_was_sent(api: Api, job: str) -> None:
    technician = api.as_role("technician")
    text = json.dumps(earlier(BEFORE), indent=3)
    answer = technician.ask("POST", f"/jobs/{job}/surveys", content=text.encode())
    assert answer.status_code == 201, answer.text
    made = answer.json()
    assert made["number"] == 1
    assert made["document"] == text
    assert made["result"]["finding"]["verdict"] == "outside"
    assert technician.get(f"/jobs/{job}/surveys/1") == made
    assert [one["number"] for one in technician.get(f"/jobs/{job}/surveys")["items"]] == [1]


def test_points_come_as_csv_with_their_phase_beside_them(api: Api, job: str) -> None:
    content = (SEED / "before-head-bent.csv").read_bytes()
    path = f"/jobs/{job}/surveys?phase=before"
    answer = api.as_role("technician").ask("POST", path, content=content, media_type="text/csv")
    assert answer.status_code == 201, answer.text
    assert answer.json()["sent_as"] == "csv"
    assert answer.json()["document"] == content.decode()


def test_a_refused_survey_stores_nothing(api: Api, job: str) -> None:
    technician = api.as_role("technician")
    points = [p for p in BEFORE["points"] if p.get("station") in (None, "1")]
    answer = technician.ask("POST", f"/jobs/{job}/surveys", earlier(BEFORE, points=points))
    assert (answer.status_code, answer.json()["code"]) == (422, "too_few_stations")
    answer = technician.ask("POST", f"/jobs/{job}/surveys", earlier(BEFORE, phase="late"))
    assert (answer.status_code, answer.json()["code"]) == (422, "not_one_of")
    assert technician.get(f"/jobs/{job}/surveys")["items"] == []


def test_a_survey_sent_twice_under_its_key_is_stored_once(api: Api, job: str) -> None:
    technician = api.as_role("technician")
    answers = [
        technician.ask(
            "POST", f"/jobs/{job}/surveys", earlier(BEFORE), headers={"Idempotency-Key": "arm-2-17"}
        )
        for _ in range(2)
    ]
    assert [one.status_code for one in answers] == [201, 201]
    assert answers[0].text == answers[1].text
    assert len(technician.get(f"/jobs/{job}/surveys")["items"]) == 1


def test_before_and_after_stand_side_by_side(api: Api, job: str) -> None:
    technician = api.as_role("technician")
    early = technician.ask("GET", f"/jobs/{job}/comparison")
    assert (early.status_code, early.json()["code"]) == (404, "no_comparison")
    technician.made("POST", f"/jobs/{job}/surveys", earlier(BEFORE))
    technician.made("POST", f"/jobs/{job}/surveys", earlier(AFTER))
    compared = technician.get(f"/jobs/{job}/comparison")
    verdicts = {
        one["key"]: (one["before_verdict"], one["after_verdict"]) for one in compared["changes"]
    }
    assert verdicts["head_twist"] == ("outside", "within")
    assert compared["same_reference"] is True


def test_a_survey_takes_the_place_of_another(api: Api, job: str) -> None:
    technician = api.as_role("technician")
    technician.made("POST", f"/jobs/{job}/surveys", earlier(BEFORE))
    path = f"/jobs/{job}/surveys?supersedes=1&because=wrong+label"
    second = technician.made("POST", path, earlier(BEFORE))
    assert (second["supersedes"], second["supersedes_because"]) == (1, "wrong label")
    assert technician.get(f"/jobs/{job}/surveys/1")["superseded_by"] == 2


def test_an_instrument_sends_point_by_point_and_submits(api: Api, job: str) -> None:
    technician = api.as_role("technician")
    heading = {"phase": "before", "up": BEFORE["up"], "part_temperature_c": 20.0}
    draft = technician.made("POST", f"/jobs/{job}/drafts", heading)
    path = f"/jobs/{job}/drafts/{draft['id']}"
    *points, last = BEFORE["points"]
    added = technician.made("POST", f"{path}/points", {"points": points})
    stale = technician.ask(
        "POST", f"{path}/points", {"points": [last], "version": draft["version"]}
    )
    assert (stale.status_code, stale.json()["code"]) == (409, "draft_changed")
    fresh = {"points": [last, last], "version": added["version"]}
    technician.made("POST", f"{path}/points", fresh)
    undone = technician.made("POST", f"{path}/undo", {}, 200)
    assert sum(point["stands"] for point in undone["points"]) == len(BEFORE["points"])
    preview = technician.get(f"{path}/preview")
    assert preview["finding"]["verdict"] == "outside"
    submitted = technician.made("POST", f"{path}/submit", {})
    assert submitted["result"]["finding"]["verdict"] == "outside"
    again = technician.ask("POST", f"{path}/submit", {})
    assert (again.status_code, again.json()["code"]) == (409, "draft_not_open")


def test_a_draft_that_does_not_suffice_says_why_and_stays_open(api: Api, job: str) -> None:
    technician = api.as_role("technician")
    draft = technician.made("POST", f"/jobs/{job}/drafts", {"phase": "before"})
    path = f"/jobs/{job}/drafts/{draft['id']}"
    technician.made("POST", f"{path}/points", {"points": BEFORE["points"][:1]})
    heading = {"heading": {"by": "Invented Technician", "up": [0, 0, 1]}}
    changed = technician.made("PUT", f"{path}/heading", heading, 200)
    assert changed["header"]["by"] == "Invented Technician"
    for method, suffix, body in (("GET", "preview", None), ("POST", "submit", {})):
        answer = technician.ask(method, f"{path}/{suffix}", body)
        assert answer.status_code == 422, answer.text
    assert [one["state"] for one in technician.get(f"/jobs/{job}/drafts")["items"]] == ["open"]
    technician.made("POST", f"{path}/discard", {}, 200)
    assert technician.get(f"/jobs/{job}/drafts")["items"] == []


def test_one_wrong_point_refuses_them_all_by_its_place(api: Api, job: str) -> None:
    technician = api.as_role("technician")
    draft = technician.made("POST", f"/jobs/{job}/drafts", {"phase": "before"})
    path = f"/jobs/{job}/drafts/{draft['id']}"
    wrong = {**BEFORE["points"][0], "x": "412,5"}
    answer = technician.ask("POST", f"{path}/points", {"points": [BEFORE["points"][0], wrong]})
    assert answer.status_code == 422
    (problem,) = answer.json()["errors"]
    assert (problem["code"], problem["field"]) == ("wrong_type", "points.1.x")
    assert problem["message"] == "point 2, x is “412,5”; a number is needed: correct it"
    assert technician.get(path)["points"] == []


def test_solving_stores_nothing_and_says_what_the_command_says(api: Api) -> None:
    sent = {"survey": BEFORE, "reference": REFERENCE, "options": {"threshold": 0.9}}
    answer = api.as_role("desk").made("POST", "/solve", sent, 200)
    assert answer["format"] == "jigbook.result/1"
    assert answer["threshold"] == 0.9
    assert answer["finding"]["verdict"] == "outside"
    sent["options"] = {"monte_carlo": 1000, "seed": 3}
    simulated = api.as_role("desk").made("POST", "/solve", sent, 200)
    assert (simulated["monte_carlo"]["trials"], simulated["monte_carlo"]["seed"]) == (1000, 3)
    alone = api.as_role("desk").made("POST", "/solve", {"survey": BEFORE}, 200)
    assert alone["finding"]["verdict"] == "undecided"


@pytest.mark.parametrize(
    ("changes", "code", "field"),
    [
        ({"options": {"threshold": 1.0}}, "too_large", "options.threshold"),
        ({"options": {"monte_carlo": 0}}, "too_small", "options.monte_carlo"),
        ({"options": {"monte_carlo": 1_000_001}}, "too_large", "options.monte_carlo"),
        ({"options": {"seed": 1.5}}, "wrong_type", "options.seed"),
        ({"survey": {**BEFORE, "format": "jigbook.survey/2"}}, "not_one_of", "survey.format"),
        ({"survey": None}, "wrong_type", "survey"),
        ({"reference": BEFORE}, "missing", "reference.characteristics"),
    ],
)
def test_a_solve_that_cannot_be_done_names_its_field(
    api: Api, changes: dict[str, Any], code: str, field: str
) -> None:
    answer = api.as_role("desk").ask("POST", "/solve", {"survey": BEFORE, **changes})
    assert answer.status_code == 422
    found = {(one["code"], one["field"]) for one in answer.json()["errors"]}
    assert (code, field) in found
