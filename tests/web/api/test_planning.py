"""What to measure next, what changed, and several measurements as one, through the API."""

from typing import Any

import pytest

from tests.web.api.client import Api
from tests.web.api.test_measuring import AFTER, BEFORE, REFERENCE, earlier, job

__all__ = ["job"]


@pytest.fixture
def draft(api: Api, job: str) -> str:
    """The path of a draft without points."""
    heading = {"phase": "before", "up": BEFORE["up"], "part_temperature_c": 20.0}
    made = api.as_role("technician").made("POST", f"/jobs/{job}/drafts", heading)
    return f"/jobs/{job}/drafts/{made['id']}"


def again(survey: Any) -> Any:
    """As if measured anew, elsewhere in the instrument's axes."""
    points = [{**point, "x": round(point["x"] + 100.0, 2)} for point in survey["points"]]
    return earlier(survey, points=points)


def test_a_draft_grows_until_the_plan_predicts(api: Api, draft: str) -> None:
    """The datum alone is a survey; from the head face on the steering must be there as well."""
    technician = api.as_role("technician")
    needed, missing = [], []
    for point in BEFORE["points"]:
        plan = technician.get(f"{draft}/plan")
        first = plan["needed_first"]
        needed.append(None if first is None else (first["code"], first["feature"]))
        missing.append([need["message"] for need in plan["still_needed"]])
        assert first is None or plan["message"] == first["message"]
        technician.made("POST", f"{draft}/points", {"points": [point]})
    assert needed[:2] == [("too_few_points", "pivot")] * 2
    assert needed[2:5] == [None] * 3
    assert needed[5:8] == [("axis_not_determined", "head_face")] * 3
    assert needed[8:12] == [("too_few_stations", "steer_target")] * 4
    assert needed[12:] == [None] * (len(needed) - 12)
    assert (
        "head twist: still to be measured: steering target or bearing seat in the head"
        in missing[4]
    )
    plan = technician.get(f"{draft}/plan")
    assert plan["best"]["points"] >= 1
    assert plan["still_needed"] == []
    assert len(technician.get(draft)["points"]) == len(BEFORE["points"])


def test_the_plan_of_a_draft_goes_by_the_jobs_reference(api: Api, draft: str) -> None:
    technician = api.as_role("technician")
    technician.made("POST", f"{draft}/points", {"points": BEFORE["points"]})
    allowed = {
        one["key"]: one["allowed"] for one in technician.get(f"{draft}/plan")["characteristics"]
    }
    line = REFERENCE["characteristics"]["head_twist"]
    assert allowed["head_twist"] == (line["upper"] - line["lower"]) / 2.0


def test_a_mistake_in_a_draft_is_refused_by_its_plan_too(api: Api, draft: str) -> None:
    technician = api.as_role("technician")
    points = [
        {
            **point,
            "label": {"left": "right", "right": "left"}.get(point.get("label"), point.get("label")),
        }
        for point in BEFORE["points"]
    ]
    technician.made("POST", f"{draft}/points", {"points": points})
    answer = technician.ask("GET", f"{draft}/plan")
    assert (answer.status_code, answer.json()["code"]) == (422, "left_right_or_mirrored")


def test_a_plan_of_no_draft_is_not_found(api: Api, job: str) -> None:
    answer = api.as_role("technician").ask("GET", f"/jobs/{job}/drafts/77/plan")
    assert (answer.status_code, answer.json()["code"]) == (404, "no_such_draft")
    answer = api.as_role("technician").ask("GET", f"/jobs/{job}/drafts/x/plan")
    assert answer.status_code == 422


def test_the_desk_may_not_read_the_plan_of_a_draft(api: Api, draft: str) -> None:
    assert api.as_role("desk").ask("GET", f"{draft}/plan").status_code == 403


def test_solving_plans_where_that_is_asked_for(api: Api) -> None:
    desk = api.as_role("desk")
    sent = {"survey": BEFORE, "reference": REFERENCE}
    plan = desk.made("POST", "/solve", {**sent, "options": {"plan": True}}, 200)["plan"]
    assert plan["looked_at"] in {one["key"] for one in plan["characteristics"]}
    assert plan["best"]["facts"]
    assert "plan" not in desk.made("POST", "/solve", {**sent, "options": {"plan": False}}, 200)


@pytest.mark.parametrize("value", [1, "true", [], {}])
def test_plan_is_true_or_false(api: Api, value: Any) -> None:
    sent = {"survey": BEFORE, "options": {"plan": value}}
    answer = api.as_role("desk").ask("POST", "/solve", sent)
    assert answer.status_code == 422
    assert [one["field"] for one in answer.json()["errors"]] == ["options.plan"]


def test_the_comparison_tells_the_change_with_its_uncertainty(api: Api, job: str) -> None:
    technician = api.as_role("technician")
    before = technician.made("POST", f"/jobs/{job}/surveys", earlier(BEFORE))
    after = technician.made("POST", f"/jobs/{job}/surveys", earlier(AFTER))
    compared = technician.get(f"/jobs/{job}/comparison")
    assert compared["no_change_because"] is None
    assert compared["change"]["same_instrument"] is True
    changes = {one["key"]: one for one in compared["change"]["characteristics"]}
    values = [
        {one["key"]: one for one in survey["result"]["characteristics"]}
        for survey in (before, after)
    ]
    twist, width = changes["head_twist"], changes["pivot_width"]
    assert twist["change"] == pytest.approx(
        values[1]["head_twist"]["value"] - values[0]["head_twist"]["value"]
    )
    assert twist["significant"] is True
    # The probe is the same, and its radius counts twice in the width: that drops out.
    alone = [one["pivot_width"]["standard_uncertainty"] for one in values]
    assert width["standard_uncertainty"] < (alone[0] ** 2 + alone[1] ** 2) ** 0.5


def test_a_moved_set_up_tells_no_change_and_says_why(api: Api, job: str) -> None:
    technician = api.as_role("technician")
    technician.made("POST", f"/jobs/{job}/surveys", earlier(BEFORE))
    points = [
        {**p, "z": p["z"] + 4.0} if p.get("station") == "return" else p for p in AFTER["points"]
    ]
    technician.made("POST", f"/jobs/{job}/surveys", earlier(AFTER, points=points))
    compared = technician.get(f"/jobs/{job}/comparison")
    assert compared["change"] is None
    assert compared["no_change_because"].startswith("the set-up moved during the measurement after")


def test_measurements_of_one_phase_are_combined(api: Api, job: str) -> None:
    technician = api.as_role("technician")
    single = technician.made("POST", f"/jobs/{job}/surveys", earlier(BEFORE))["result"]
    technician.made("POST", f"/jobs/{job}/surveys", again(BEFORE))
    together = technician.get(f"/jobs/{job}/combined/before")
    assert together["combined"]["surveys"] == 2
    u = [
        {one["key"]: one["standard_uncertainty"] for one in result["characteristics"]}
        for result in (single, together)
    ]
    assert u[1]["head_twist"] < 0.72 * u[0]["head_twist"]
    assert [one["number"] for one in technician.get(f"/jobs/{job}/surveys")["items"]] == [1, 2]


def test_what_cannot_be_combined_is_refused(api: Api, job: str) -> None:
    technician = api.as_role("technician")
    path = f"/jobs/{job}/combined/before"
    answer = technician.ask("GET", path)
    assert (answer.status_code, answer.json()["code"]) == (404, "no_such_survey")
    technician.made("POST", f"/jobs/{job}/surveys", earlier(BEFORE))
    answer = technician.ask("GET", path)
    assert (answer.status_code, answer.json()["code"]) == (422, "combine_too_few")
    technician.made("POST", f"/jobs/{job}/surveys", earlier(BEFORE))
    answer = technician.ask("GET", path)
    assert (answer.status_code, answer.json()["code"]) == (422, "combine_same")
    answer = technician.ask("GET", f"/jobs/{job}/combined/whenever")
    assert (answer.status_code, answer.json()["code"]) == (404, "no_such_survey")


def test_a_superseded_measurement_is_not_combined(api: Api, job: str) -> None:
    technician = api.as_role("technician")
    technician.made("POST", f"/jobs/{job}/surveys", earlier(BEFORE))
    technician.made("POST", f"/jobs/{job}/surveys?supersedes=1&because=label", again(BEFORE))
    answer = technician.ask("GET", f"/jobs/{job}/combined/before")
    assert answer.json()["code"] == "combine_too_few"
