"""Check bars, gauge studies, handedness and references from machines through the API."""

from typing import Any

from tests.schemas.examples import REFERENCE
from tests.services.instrument_facts import gauge_study, turned_steering
from tests.services.machines import survey
from tests.web.api.client import Api

BAR = {
    "name": "bar 1 (invented)", "length_mm": 500.0, "length_u_mm": 0.002,
    "expansion_per_k": 11.7e-6, "calibrated": "2026-01-15",
}  # fmt: skip
CALIBRATION = {"standard_uncertainty_mm": 0.05, "calibrated": "2026-01-10", "due": "2027-01-10"}


def instrument(api: Api) -> str:
    sent = {"name": "arm 2", "calibration": CALIBRATION}
    made = api.as_role("inspector").made("POST", "/instruments", sent)
    return f"/instruments/{made['id']}"


def reading(bar_id: int, length: float, **changes: Any) -> dict[str, Any]:
    return {
        "check_bar_id": bar_id, "measured_at": "2026-02-01T08:00:00+01:00", "temperature_c": 20.0,
        "readings_mm": [length], **changes,
    }  # fmt: skip


def test_a_bar_is_measured_found_out_of_control_and_explained(api: Api) -> None:
    path, technician = instrument(api), api.as_role("technician")
    bar = api.as_role("inspector").made("POST", "/check-bars", BAR)
    assert technician.get("/check-bars")["items"] == [bar]
    assert technician.get(f"{path}/check-bar")["standing"] == "never_checked"
    good = technician.made("POST", f"{path}/check-bar", reading(bar["id"], 500.01))
    assert (good["in_control"], good["says"]) == (True, ["0.010 mm too long"])
    bad = technician.made("POST", f"{path}/check-bar", reading(bar["id"], 501.0))
    assert bad["signals"] == ["bias"]
    log = technician.get(f"{path}/check-bar")
    assert (log["standing"], log["unexplained"]) == ("out_of_control", 1)
    assert [one["id"] for one in log["readings"]] == [bad["id"], good["id"]]

    explaining = f"{path}/check-bar/{bad['id']}/explanation"
    assert technician.ask("POST", explaining, {"reason": "dirt"}).status_code == 403
    told = api.as_role("owner").made("POST", explaining, {"reason": "dirt"})
    assert told["explanation"]["reason"] == "dirt"
    again = api.as_role("owner").ask("POST", explaining, {"reason": "dirt"})
    assert (again.status_code, again.json()["code"]) == (409, "reading_explained")
    assert technician.get(f"{path}/check-bar")["standing"] == "in_control"


def test_a_reading_sent_again_is_stored_once(api: Api) -> None:
    path, technician = instrument(api), api.as_role("technician")
    bar = api.as_role("inspector").made("POST", "/check-bars", BAR)
    key = {"Idempotency-Key": "the morning of the first"}
    body = reading(bar["id"], 500.0)
    first = technician.ask("POST", f"{path}/check-bar", body, headers=key)
    second = technician.ask("POST", f"{path}/check-bar", body, headers=key)
    assert first.json() == second.json()
    assert len(technician.get(f"{path}/check-bar")["readings"]) == 1


def test_a_reading_names_what_is_wrong_with_it(api: Api) -> None:
    path = instrument(api)
    body = reading(7, 500.0, readings_mm=[500.0, "500,1"], shade="blue")
    answer = api.as_role("technician").ask("POST", f"{path}/check-bar", body)
    assert answer.status_code == 422
    assert {(one["code"], one["field"]) for one in answer.json()["errors"]} == {
        ("wrong_type", "readings_mm.1"),
        ("unknown_key", "shade"),
    }


def test_a_gauge_study_is_evaluated_and_kept(api: Api) -> None:
    path, technician = instrument(api), api.as_role("technician")
    found = technician.made("POST", "/gauge-study", gauge_study(), 200)
    assert found["format"] == "jigbook.gauge_study_result/1"
    made = technician.made("POST", f"{path}/gauge-studies", gauge_study())
    assert made["result"] == found
    rows = "".join(
        f"{one['part']};{one['person']};{one['trial']};{str(one['value']).replace('.', ',')}\n"
        for one in gauge_study()["readings"]
    )
    table = ("part;person;trial;value\n" + rows).encode()
    sent = technician.ask("POST", f"{path}/gauge-studies", content=table, media_type="text/csv")
    assert sent.status_code == 201
    assert sent.json()["result"] == found
    listed = technician.get(f"{path}/gauge-studies")["items"]
    assert [one["id"] for one in listed] == [sent.json()["id"], made["id"]]
    assert technician.get(f"{path}/gauge-studies/{made['id']}") == made
    missing = technician.ask("GET", f"{path}/gauge-studies/99")
    assert (missing.status_code, missing.json()["code"]) == (404, "no_such_gauge_study")
    table_alone = technician.ask("POST", "/gauge-study", content=table, media_type="text/csv")
    assert table_alone.json() == found


def test_a_turn_to_the_left_is_recorded(api: Api) -> None:
    path, technician = instrument(api), api.as_role("technician")
    made = technician.made("POST", f"{path}/handedness", turned_steering(mirrored=True))
    assert made["verdict"] == "left_handed"
    assert "left-handed" in made["says"]
    assert technician.get(f"{path}/handedness")["items"] == [made]
    refused = technician.ask("POST", f"{path}/handedness", turned_steering(up=None))
    assert (refused.status_code, refused.json()["code"]) == (422, "up_unusable")


def test_a_reference_is_made_from_surveys_and_then_stored(api: Api) -> None:
    technician = api.as_role("technician")
    surveys = [
        {
            "name": f"machine {seed}",
            "survey": survey(seed).model_dump(mode="json", exclude_unset=True),
        }
        for seed in range(4)
    ]
    body = {"surveys": surveys, "content": 0.95, "machine": {"make": "Invented", "model": "One"}}
    made = technician.made("POST", "/references/from-surveys", body, 200)
    assert made["report"]["content"] == 0.95
    assert made["reference"]["provenance"]["kind"] == "measured_machines"
    assert technician.get("/references")["items"] == []
    stored = technician.made("POST", "/references", made["reference"])
    assert stored["name"] == "Invented One"
    assert stored["latest"]["document"] == made["reference"]

    few = technician.ask("POST", "/references/from-surveys", {"surveys": surveys[:2]})
    assert (few.status_code, few.json()["code"]) == (422, "too_few_machines")
    unsure = technician.ask("POST", "/references/from-surveys", {**body, "confidence": 1.0})
    assert (unsure.status_code, unsure.json()["errors"][0]["field"]) == (422, "confidence")


def test_a_reference_from_jobs_needs_jobs_on_record(api: Api) -> None:
    technician = api.as_role("technician")
    base = technician.made("POST", "/references", REFERENCE)["id"]
    body = {"measurements": [{"job": "J-2026-0009", "survey": 1}], "base_reference_id": base}
    answer = technician.ask("POST", "/references/from-jobs", body)
    assert (answer.status_code, answer.json()["code"]) == (404, "no_such_job")
    assert api.as_role("desk").ask("POST", "/references/from-jobs", body).status_code == 403
