"""References and instruments: entered, revised, calibrated."""

import json

from tests.web.shop import Shop, measured_job, seed_text, text_of

REFERENCE = json.loads(seed_text("reference.json"))


def test_a_reference_is_entered_from_text_or_file_and_shown_in_words(shop: Shop) -> None:
    technician = shop.signed_in("technician")
    named = {**REFERENCE, "machine": {"make": "Aurelia", "model": "Brisk 125"}}
    by_text = technician.post("/references", {"table": json.dumps(named)})
    files = {"document": ("r.json", json.dumps(REFERENCE).encode(), "application/json")}
    by_file = technician.post("/references", {"table": "ignored"}, files)
    assert by_text.status_code == by_file.status_code == 303
    page = text_of(technician.get(by_text.headers["location"]).text)
    assert "Aurelia Brisk 125" in page
    assert "head twist" in page
    assert "± 0.3°" in page
    assert "Aurelia" in technician.get("/references?q=brisk").text
    assert "No reference fits" in technician.get("/references?q=nothing-like-it").text


def test_a_reference_that_cannot_be_taken_is_shown_again_with_reasons(shop: Shop) -> None:
    technician = shop.signed_in("technician")
    wrong = {**REFERENCE, "levelling": "by_hand", "colour": "red"}
    answer = technician.post("/references", {"table": json.dumps(wrong)})
    assert answer.status_code == 422
    told = text_of(answer.text)
    assert "by_hand" in told
    assert "colour" in told
    assert "&#34;by_hand&#34;" in answer.text
    for text in ("", "{", "[]", "null"):
        assert technician.post("/references", {"table": text}).status_code == 422


def test_a_used_revision_stays_when_a_new_one_is_entered(shop: Shop) -> None:
    number = measured_job(shop)
    technician = shop.signed_in("technician")
    form = technician.get("/references/1/revise").text
    assert "&#34;head_twist&#34;" in form
    same = technician.post("/references/1/revise", {"table": json.dumps(REFERENCE)})
    assert same.status_code == 409
    changed = json.loads(json.dumps(REFERENCE))
    changed["characteristics"]["head_twist"]["upper"] = 0.2
    done = technician.post("/references/1/revise", {"table": json.dumps(changed)})
    assert done.status_code == 303
    assert "revision 2" in text_of(technician.get("/references/1").text)
    old = text_of(technician.get("/references/1?revision=1").text)
    assert "A later revision exists." in old
    assert "it never changes" in old
    assert "revision 1" in text_of(technician.get(f"/jobs/{number}").text)


def test_an_instrument_is_entered_with_its_calibration_in_either_decimal_mark(shop: Shop) -> None:
    inspector = shop.signed_in("inspector")
    form = {
        "name": "station 1",
        "kind": "total station",
        "calibration.calibrated": "2026-02-01",
        "calibration.due": "2027-02-01",
        "calibration.standard_uncertainty_mm": "0,15",
        "calibration.scale_expansion_per_k": "1.17e-5",
    }
    answer = inspector.post("/instruments", form)
    assert answer.status_code == 303
    page = text_of(inspector.get(answer.headers["location"]).text)
    assert "0.15" in page
    assert "in calibration until 1 February 2027" in page
    shop.later(days=400)
    fresh = shop.signed_in("inspector")
    assert "out of calibration since" in text_of(fresh.get("/instruments").text)


def test_what_is_wrong_with_a_calibration_is_told_beside_its_fields(shop: Shop) -> None:
    inspector = shop.signed_in("inspector")
    form = {
        "calibration.calibrated": "2026-02-31",
        "calibration.due": "",
        "calibration.standard_uncertainty_mm": "-1",
        "calibration.laboratory": "Invented Laboratory",
    }
    answer = inspector.post("/instruments/1/calibrate", form)
    assert answer.status_code == 422
    for field in ("calibrated", "due", "standard_uncertainty_mm"):
        assert f'<a href="#calibration.{field}">' in answer.text, field
    assert 'value="Invented Laboratory"' in answer.text
    assert inspector.post("/instruments/1/calibrate", {}).status_code == 422


def test_a_later_calibration_is_added_and_a_retired_instrument_takes_none(shop: Shop) -> None:
    inspector = shop.signed_in("inspector")
    form = {
        "calibration.calibrated": "2026-03-01",
        "calibration.due": "2028-03-01",
        "calibration.standard_uncertainty_mm": "0.08",
    }
    assert inspector.post("/instruments/1/calibrate", form).status_code == 303
    assert "1 March 2028" in inspector.get("/instruments/1").text
    assert inspector.post("/instruments/1/retire", {"reason": "dropped"}).status_code == 303
    assert "out of use since" in inspector.get("/instruments/1").text
    assert inspector.post("/instruments/1/calibrate", form).status_code == 409
