"""The floor through the API: an instrument that sends each point, a program that leads a person."""

from typing import Any

import pytest

from tests.web.api.client import Api
from tests.web.api.test_measuring import BEFORE, job

__all__ = ["job"]


@pytest.fixture
def path(api: Api, job: str) -> str:
    heading = {"phase": "before", "up": BEFORE["up"]}
    made = api.as_role("technician").made("POST", f"/jobs/{job}/drafts", heading)
    return f"/jobs/{job}/drafts/{made['id']}"


def reading(place: int) -> dict[str, Any]:
    return {axis: BEFORE["points"][place][axis] for axis in "xyz"}


def test_an_instrument_sends_points_to_the_step_that_the_tablet_waits_at(
    api: Api, path: str
) -> None:
    technician = api.as_role("technician")
    early = technician.ask("POST", f"{path}/readings", {"readings": [reading(0)]})
    assert (early.status_code, early.json()["code"]) == (409, "no_live_step")
    aimed = technician.made("PUT", f"{path}/live-step", {"step": "pivot.left"}, 200)
    assert aimed["live_step"] == "pivot.left"

    sent = {"readings": [reading(0)], "request_key": "one"}
    first = technician.made("POST", f"{path}/readings", sent)
    technician.made("POST", f"{path}/readings", {"readings": [reading(1)]})

    assert (first["plausible"], first["again"], first["told"]) == (True, False, [])
    found = technician.get(f"{path}/news?after={first['version']}&since={first['points'][0]}")
    assert [point["sent"]["label"] for point in found["points"]] == ["right"]
    assert found["live_step"] == "pivot_face.left"
    assert technician.get(f"{path}/news?after={found['version']}") is None


def test_readings_whose_answer_was_lost_are_stored_once(api: Api, path: str) -> None:
    technician = api.as_role("technician")
    sent = {"step": "pivot.left", "readings": [reading(0)], "request_key": "one"}
    technician.made("POST", f"{path}/readings", sent)

    again = api.as_role("inspector").made("POST", f"{path}/readings", sent)

    assert again["again"] is True
    assert len(technician.get(path)["points"]) == 1
    other = technician.ask("POST", f"{path}/readings", {**sent, "readings": [reading(1)]})
    assert (other.status_code, other.json()["code"]) == (409, "request_key_reused")


def test_steps_say_what_is_done_and_what_is_next(api: Api, path: str) -> None:
    technician = api.as_role("technician")
    technician.made("POST", f"{path}/records", {"step": "cautions"})
    said = {"step": "rig", "targets": ["upper", "lower", "side"]}
    technician.made("POST", f"{path}/records", said)
    warm = {"step": "temperature", "heading": {"part_temperature_c": 21.0}}
    technician.made("POST", f"{path}/records", warm)

    found = technician.get(f"{path}/steps")

    assert found["current"] == "visual_check"
    steps = {step["code"]: step for step in found["steps"]}
    assert {code for code, step in steps.items() if step["state"] == "done"} == {
        "cautions", "rig", "temperature",
    }  # fmt: skip
    assert steps["station.left"]["open_names"] == ["upper", "lower", "side"]
    assert found["draft"]["header"]["part_temperature_c"] == 21.0


def test_an_implausible_point_is_answered_as_such(api: Api, path: str) -> None:
    technician = api.as_role("technician")
    for place, step in ((0, "pivot.left"), (1, "pivot.right")):
        technician.made("POST", f"{path}/readings", {"step": step, "readings": [reading(place)]})

    far = {"step": "head_face", "readings": [{"x": 9000.0, "y": 1.0, "z": 2.0}]}
    answer = technician.made("POST", f"{path}/readings", far)

    assert answer["plausible"] is False
    (told,) = answer["told"]
    assert told["code"] == "point_implausible"
    assert told["sentence"] == f"{told['met']}; {told['needed']}: {told['do']}"


def test_a_measurement_rests_and_starts_again(api: Api, path: str) -> None:
    technician = api.as_role("technician")
    for place, step in ((0, "pivot.left"), (1, "pivot.right")):
        technician.made("POST", f"{path}/readings", {"step": step, "readings": [reading(place)]})

    resting = technician.made("POST", f"{path}/pause", {"request_key": "p"}, 200)
    assert resting["repeats"] == ["temperature", "pivot.left", "pivot.right"]
    sent = {"points": [{**BEFORE["points"][2]}]}
    refused = technician.ask("POST", f"{path}/points", sent)
    assert (refused.status_code, refused.json()["code"]) == (409, "draft_paused")
    up = technician.made("POST", f"{path}/resume", {}, 200)
    assert up["paused_at"] is None
    again = [step["code"] for step in up["steps"] if step["group"] == "again"]
    assert again == ["again1.temperature", "again1.pivot.left", "again1.pivot.right"]

    fresh = technician.made("POST", f"{path}/restart", {"scope": "everything"}, 200)

    assert {point["because"] for point in fresh["draft"]["points"]} == {"set_up_moved"}
    assert [step for step in fresh["steps"] if step["group"] == "again"] == []


def test_what_was_noticed_is_answered_before_a_measurement_is_submitted(
    api: Api, path: str
) -> None:
    technician = api.as_role("technician")
    technician.made("POST", f"{path}/points", {"points": BEFORE["points"]})
    twice = {"step": "pivot_face.right", "readings": [reading(0)]}
    told = technician.made("POST", f"{path}/readings", twice)["told"]
    assert "same_place" in [one["code"] for one in told]
    refused = technician.ask("POST", f"{path}/submit", {})
    assert (refused.status_code, refused.json()["code"]) == (409, "noticed_unanswered")
    assert told[0]["met"] in refused.json()["detail"]
    survey = technician.made("POST", f"{path}/submit", {"despite_noticed": True})
    assert survey["number"] == 1
