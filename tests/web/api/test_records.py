"""Records through the API: made, read again, listed in pages, changed, refused."""

from typing import Any

from tests.schemas.examples import REFERENCE
from tests.web.api.client import Api

CUSTOMER = {"name": "Åse Invented", "phone": "+00 12 34", "address": "1 Made-up Lane\nNowhere"}
MACHINE = {"make": "Fjordmark", "model": "Skarv 700", "frame_number": "zzz test-00A1000017"}
CALIBRATION = {"standard_uncertainty_mm": 0.1, "calibrated": "2026-01-10", "due": "2027-01-10"}


def with_customer(api: Api) -> int:
    made: int = api.as_role("desk").made("POST", "/customers", CUSTOMER)["id"]
    return made


def checked_in(api: Api) -> str:
    desk = api.as_role("desk")
    body = {"customer": CUSTOMER, "machine": MACHINE, "privacy_notice_given": True}
    number: str = desk.made("POST", "/jobs", body)["job_number"]
    return number


def test_a_customer_is_made_read_changed_and_erased(api: Api) -> None:
    identity = with_customer(api)
    desk = api.as_role("desk")
    assert desk.get(f"/customers/{identity}")["name"] == "Åse Invented"
    desk.made("PUT", f"/customers/{identity}", {"name": "Åse Renamed"}, 200)
    assert desk.get("/customers?search=renamed")["items"][0]["id"] == identity
    kept = desk.get(f"/customers/{identity}/kept")["event_log"]
    names = [one["value"] for one in kept if one["name"] == "name"]
    assert names == ["Åse Invented", "Åse Renamed"]
    api.as_role("owner").made("POST", f"/customers/{identity}/erase", {"reason": "asked"}, 200)
    assert desk.get(f"/customers/{identity}")["name"] is None
    assert desk.get(f"/customers/{identity}/kept")["event_log"] == []


def test_a_machine_is_made_with_warnings_and_found_by_its_frame_number(api: Api) -> None:
    desk = api.as_role("desk")
    made = desk.made("POST", "/machines", {**MACHINE, "customer_id": with_customer(api)})
    assert made["frame_number"] == "ZZZTEST00A1000017"
    assert desk.get("/machines?search=00a1000017")["items"][0]["id"] == made["id"]
    again = desk.ask("POST", "/machines", {**MACHINE, "customer_id": with_customer(api)})
    assert (again.status_code, again.json()["code"]) == (409, "frame_number_known")


def test_a_reference_keeps_its_text_and_its_revisions(api: Api) -> None:
    technician = api.as_role("technician")
    made = technician.made("POST", "/references", REFERENCE)
    path = f"/references/{made['id']}"
    assert made["latest"]["number"] == 1
    same = technician.ask("POST", f"{path}/revisions", REFERENCE)
    assert (same.status_code, same.json()["code"]) == (409, "nothing_changed")
    technician.made("POST", f"{path}/revisions", {**REFERENCE, "levelling": "by_angle"})
    assert technician.get(path)["revisions"] == [2, 1]
    assert technician.get(f"{path}/revisions/1")["document"] == REFERENCE


def test_an_instrument_is_calibrated_and_retired(api: Api) -> None:
    inspector = api.as_role("inspector")
    made = inspector.made("POST", "/instruments", {"name": "arm 2", "calibration": CALIBRATION})
    path = f"/instruments/{made['id']}"
    later = {**CALIBRATION, "calibrated": "2026-02-10"}
    inspector.made("POST", f"{path}/calibrations", later)
    assert [c["calibrated"] for c in inspector.get(path)["calibrations"]] == [
        "2026-02-10",
        "2026-01-10",
    ]
    inspector.made("POST", f"{path}/retire", {"reason": "dropped"}, 200)
    assert inspector.get("/instruments")["items"] == []
    assert len(inspector.get("/instruments?retired=true")["items"]) == 1


def test_a_job_goes_from_check_in_to_hand_over(api: Api) -> None:
    number = checked_in(api)
    desk, technician = api.as_role("desk"), api.as_role("technician")
    assert desk.get(f"/jobs/{number}")["status"] == "checked_in"
    reference = technician.made("POST", "/references", REFERENCE)["id"]
    choice = {"reference_id": reference, "because": "same frame"}
    chosen = technician.made("PUT", f"/jobs/{number}/reference", choice, 200)
    assert chosen["reference"]["number"] == 1
    checks = {"checks": [{"item": "frame_cracks", "answer": "seen", "note": "left tube"}]}
    (hold,) = technician.made("POST", f"/jobs/{number}/visual-checks", checks)
    pulled = {"text": "pulled", "part": "head", "method": "pulled", "agreed": True}
    held = technician.ask("POST", f"/jobs/{number}/corrections", pulled)
    assert (held.status_code, held.json()["code"]) == (422, "frame_on_hold")
    closing = f"/jobs/{number}/holds/{hold['id']}/close"
    assert technician.ask("POST", closing, {"reason": "x"}).status_code == 403
    api.as_role("inspector").made("POST", closing, {"reason": "replaced"}, 200)
    sent = {
        "text": "new frame",
        "part": "frame",
        "method": "replaced",
        "done_by": "Quay (invented)",
    }
    place = f"/jobs/{number}/corrections"
    for word in ({}, {"agreed_by": "Åse"}, {"agreed": False, "agreed_by": "Åse"}):
        refused = technician.ask("POST", place, {**sent, **word})
        assert (refused.status_code, refused.json()["code"]) == (422, "word_needed")
    unnamed = technician.ask("POST", place, {**sent, "agreed": True})
    assert [one["field"] for one in unnamed.json()["errors"]] == ["agreed_by"]
    job = technician.made("POST", place, {**sent, "agreed": True, "agreed_by": "Åse"})
    (said,) = technician.get(f"/jobs/{number}/notes")["items"]
    assert said["words"] == "Åse was asked and agreed to this correction: new frame"
    (noted,) = job["corrections"]
    assert {name: noted[name] for name in sent} == sent
    right = {"text": "new frame, painted", "supersedes": noted["id"]}
    (after,) = technician.made("POST", f"/jobs/{number}/corrections", right)["corrections"]
    assert (after["text"], after["done_at"]) == ("new frame, painted", noted["done_at"])
    desk.made("POST", f"/jobs/{number}/hand-over", {"handed_over_to": "Åse"}, 200)
    assert desk.get(f"/jobs/{number}")["status"] == "handed_over"
    late = technician.ask("POST", f"/jobs/{number}/corrections", {"text": "more"})
    assert (late.status_code, late.json()["code"]) == (409, "job_closed")


def test_a_job_is_cancelled_and_opened_again(api: Api) -> None:
    number = checked_in(api)
    desk = api.as_role("desk")
    desk.made("POST", f"/jobs/{number}/cancel", {"reason": "sold"}, 200)
    (here,) = desk.get("/jobs")["items"]
    assert (here["status"], here["next_step"]) == ("cancelled", "hand_over")
    place = f"/jobs/{number}/hand-over"
    whole = {"handed_over_to": "Åse", "given_back": [], "told": True}
    assert desk.made("POST", place, whole, 200)["status"] == "cancelled"
    assert desk.get("/jobs")["items"] == []
    assert [line["number"] for line in desk.get("/jobs?closed=true")["items"]] == [number]
    desk.made("POST", f"/jobs/{number}/reopen", {"reason": "not sold"}, 200)
    assert [line["number"] for line in desk.get("/jobs")["items"]] == [number]
    gone = {"reason": "sold after all", "still_here": False}
    desk.made("POST", f"/jobs/{number}/cancel", gone, 200)
    assert desk.get("/jobs")["items"] == []


def test_a_list_says_where_its_next_page_is(api: Api) -> None:
    desk = api.as_role("desk")
    for name in ("Ann", "Bea", "Cai", "Dag", "Eva"):
        desk.made("POST", "/customers", {"name": name})
    seen: list[Any] = []
    following: str | None = "/customers?limit=2&search="
    while following:
        page = desk.get(following.removeprefix("/api/v1"))
        assert len(page["items"]) <= 2
        seen += [item["name"] for item in page["items"]]
        following = page["next"]
    assert seen == ["Eva", "Dag", "Cai", "Bea", "Ann"]


def test_a_record_that_is_not_there_is_said_to_be_missing(api: Api) -> None:
    owner = api.as_role("owner")
    for path, code in [
        ("/customers/99", "no_such_customer"),
        (f"/customers/{10**30}", "no_such_customer"),
        ("/machines/0", "no_such_machine"),
        ("/references/99", "no_such_reference"),
        ("/instruments/99", "no_such_instrument"),
        ("/jobs/J-2026-9999", "no_such_job"),
        ("/jobs/%00%F0%9F/surveys", "no_such_job"),
        ("/jobs/J-2026-9999/drafts/1", "no_such_job"),
        ("/certificates/C-2026-9999", "no_such_certificate"),
        ("/schemas/nothing", "no_such_format"),
        ("/nothing", "no_such_page"),
    ]:
        answer = owner.ask("GET", path)
        assert (answer.status_code, answer.json()["code"]) == (404, code), path


def test_only_known_methods_are_answered(api: Api) -> None:
    answer = api.as_role("owner").ask("DELETE", "/customers")
    assert answer.status_code == 405
    assert answer.headers["content-type"] == "application/problem+json"


def test_a_call_is_asked_for_and_made(api: Api) -> None:
    number = checked_in(api)
    technician, desk = api.as_role("technician"), api.as_role("desk")
    wish = {"words": "May the bar be replaced?", "call": "customer"}
    technician.made("POST", f"/jobs/{number}/notes", wish)
    (due,) = desk.get(f"/jobs/{number}/calls-due")
    assert (due["whom"], due["reasons"][0]["words"]) == ("customer", wish["words"])
    desk.made(
        "POST", f"/jobs/{number}/calls", {"whom": "customer", "outcome": "reached", "words": "Yes."}
    )
    assert desk.get(f"/jobs/{number}/calls-due") == []
    kinds = [note["kind"] for note in desk.get(f"/jobs/{number}/notes")["items"]]
    assert kinds == ["called", "call_wanted"]
    wrong = desk.ask("POST", f"/jobs/{number}/calls", {"whom": "neighbour", "outcome": "reached"})
    assert (wrong.status_code, wrong.json()["code"]) == (422, "not_one_of")


def test_a_check_in_is_put_right_whole_under_its_version(api: Api) -> None:
    number = checked_in(api)
    desk = api.as_role("desk")
    path = f"/jobs/{number}/check-in"
    body = {
        "version": desk.get(f"/jobs/{number}")["check_in_version"],
        "customer": {"name": "Åse Renamed", "phone": "+00 99"},
        "machine": {"plate": "XY-9", "colour": "red"},
        "claim": {"insurer": {"name": "Nowhere Mutual"}, "claim_number": "CL-1"},
        "incident": {"impact_kind": "side", "clock_direction": 3, "account": "a van turned"},
        "rideable": "no",
        "odometer_km": 20001,
        "damage": [{"zone": "fork", "side": "left", "look": "bent"}],
        "visible_damage": ["mirror"],
        "belongings": ["a map"],
        "storage_place": "bay 4",
        "promised_on": "2026-12-31",
    }
    changed = desk.made("PUT", path, body, 200)
    assert changed == desk.get(f"/jobs/{number}")
    assert (changed["customer"]["name"], changed["customer"]["address"]) == ("Åse Renamed", None)
    assert (changed["machine"]["plate"], changed["machine"]["make"]) == ("XY-9", MACHINE["make"])
    assert changed["claim"]["insurer_name"] == "Nowhere Mutual"
    assert (changed["rideable"], changed["odometer_km"]) == ("no", 20001)
    assert [one["zone"] for one in changed["damage"]] == ["fork"]
    assert changed["belongings"] == ["a map"]

    late = desk.ask("PUT", path, body)
    assert (late.status_code, late.json()["code"]) == (409, "changed_meanwhile")
    # Version and name are all that must be sent: what is left out stands no longer.
    short = {"version": changed["check_in_version"], "customer": {"name": "Åse Renamed"}}
    emptied = desk.made("PUT", path, short, 200)
    assert (emptied["machine"]["plate"], emptied["claim"]["claim_number"]) == (None, None)
    assert (emptied["damage"], emptied["promised_on"]) == ([], None)


def test_a_check_in_that_cannot_be_is_refused_with_every_problem(api: Api) -> None:
    number = checked_in(api)
    desk = api.as_role("desk")
    path = f"/jobs/{number}/check-in"
    version = desk.get(f"/jobs/{number}")["check_in_version"]
    wrong = {
        "version": version,
        "customer": {"name": "Åse", "fax": "1"},
        "odometer_km": "far",
        "incident": {"clock_direction": 13},
        "claim": {"insurer_id": 77},
    }
    answer = desk.ask("PUT", path, wrong)
    assert answer.status_code == 422
    fields = {one["field"] for one in answer.json()["errors"]}
    assert {"customer.fax", "odometer_km", "incident.clock_direction"} <= fields
    assert desk.get(f"/jobs/{number}")["check_in_version"] == version
    refused = api.as_role("technician").ask("PUT", path, {**wrong, "version": "x"})
    assert (refused.status_code, refused.json()["code"]) == (403, "not_allowed")


def test_a_machine_is_put_right_with_a_reason(api: Api) -> None:
    number = checked_in(api)
    desk = api.as_role("desk")
    body = {
        **MACHINE,
        "frame_number": "zzz test-00A1000099",
        "version": desk.get(f"/jobs/{number}")["check_in_version"],
        "reason": "misread",
    }
    done = desk.made("PUT", f"/jobs/{number}/machine", body, 200)
    assert done["after"] == {"frame_number": "ZZZTEST00A1000099"}
    assert desk.get(f"/jobs/{number}/machine-changes")["items"] == [done]
    assert desk.get(f"/jobs/{number}")["machine"]["frame_number"] == "ZZZTEST00A1000099"


def test_a_reference_of_another_machine_needs_the_reason_why_it_holds(api: Api) -> None:
    number = checked_in(api)
    technician = api.as_role("technician")
    machine = {"make": "Othermark", "model": "Elsewhere 1"}
    document = {**REFERENCE, "machine": machine}
    other = technician.made("POST", "/references", document)["id"]
    revised = {**document, "machine": {**machine, "model": "Elsewhere 2"}}
    technician.made("POST", f"/references/{other}/revisions", revised)
    place, sent = f"/jobs/{number}/reference", {"reference_id": other, "revision": 1}
    refused = technician.ask("PUT", place, sent)
    assert (refused.status_code, refused.json()["code"]) == (422, "reference_of_another")
    assert [one["field"] for one in refused.json()["errors"]] == ["because"]
    assert "say why this one holds for it" in refused.json()["errors"][0]["message"]
    assert technician.get(f"/jobs/{number}")["reference"] is None
    chosen = technician.made("PUT", place, {**sent, "because": "same frame"}, 200)
    assert chosen["reference"]["number"] == 1
