"""The floor: from choosing the reference to a measurement on record."""

import re

import pytest

from app.schemas.visual_check import ITEMS
from tests.web.shop import Shop, Visitor, new_job, ready_job, seed_text, text_of

HEADING = {"phase": "before", "up": "z", "part_temperature_c": "21,5", "mounting": "on stands"}


def sent(name: str, content: str | None = None) -> dict[str, tuple[str, bytes, str]]:
    """A file to try by hand as a browser sends it."""
    text = seed_text(name) if content is None else content
    return {"document": (name, text.encode(), "application/octet-stream")}


def version_of(page: str) -> str:
    found = re.search(r'name="version" value="(\d+)"', page)
    assert found is not None
    return found[1]


def point(**values: str) -> dict[str, str]:
    """A reading as the form sends it."""
    return {f"points.0.{name}": value for name, value in values.items()}


LEFT = point(feature="pivot", label="left", x="146,894", y="-467.34", z="-805,6")


@pytest.fixture
def technician(shop: Shop) -> Visitor:
    return shop.signed_in("technician")


def test_the_road_leads_from_step_to_step(shop: Shop, technician: Visitor) -> None:
    number = new_job(shop)
    home = f"/jobs/{number}"
    for step, place, form in (
        ("Choose the reference", "reference", {"reference": "1", "because": "same frame"}),
        ("Choose the instrument", "instrument", {"instrument": "1"}),
        ("Do the visual check", "visual-check", {}),
    ):
        page = technician.get(home).text
        assert f'<h2 id="next">{step}</h2>' in page
        assert f'<a class="go" href="{home}/{place}">' in page
        if form:
            assert technician.post(f"{home}/{place}", form).headers["location"] == home
    for item in ITEMS:
        technician.post(f"{home}/visual-check", {"tap": f"{item}.not_seen"})
    page = technician.get(home).text
    assert f'<a class="go" href="{home}/measure?phase=before">' in page


def test_another_role_is_told_whom_the_job_waits_for(shop: Shop) -> None:
    page = shop.signed_in("desk").get(f"/jobs/{new_job(shop)}").text
    assert "The job waits for the technician." in page
    assert 'class="go"' not in page


def test_nothing_chosen_is_told_at_the_list(shop: Shop, technician: Visitor) -> None:
    number = new_job(shop)
    for place in ("reference", "instrument"):
        answer = technician.post(f"/jobs/{number}/{place}")
        assert answer.status_code == 422
        assert f'<a href="#{place}">' in answer.text
    assert technician.post(f"/jobs/{number}/reference", {"reference": "77"}).status_code == 404


def test_damage_that_means_replacement_opens_a_hold_that_only_an_inspector_closes(
    shop: Shop, technician: Visitor
) -> None:
    number = ready_job(shop)
    seen = {"answer": "seen", "note": "at the left engine mount"}
    item = f"/jobs/{number}/visual-check/frame_cracks"
    assert technician.post(item, seen).status_code == 303
    page = technician.get(f"/jobs/{number}").text
    assert "at the left engine mount" in page
    assert "/holds/1/close" not in page
    inspector = shop.signed_in("inspector")
    assert "/holds/1/close" in inspector.get(f"/jobs/{number}").text
    close = f"/jobs/{number}/holds/1/close"
    for asked in (inspector.get(close), inspector.post(close, {"reason": ""})):
        assert "cracks in the frame: at the left engine mount" in text_of(asked.text).lower()
    assert asked.status_code == 422
    assert inspector.post(close, {"reason": "frame replaced"}).status_code == 303
    assert "frame replaced" in inspector.get(f"/jobs/{number}").text


def test_an_empty_correction_speaks_of_no_key(shop: Shop, technician: Visitor) -> None:
    number = ready_job(shop)
    answer = technician.post(f"/jobs/{number}/correction", {"text": " "})
    assert answer.status_code == 422
    assert "What was done is empty; a text is needed: fill it in." in text_of(answer.text)


def test_a_survey_file_is_judged_at_once(shop: Shop, technician: Visitor) -> None:
    number = ready_job(shop)
    answer = technician.post(
        f"/jobs/{number}/surveys", {"phase": "before"}, sent("before-head-bent.json")
    )
    assert answer.headers["location"] == f"/jobs/{number}/surveys/1"
    page = technician.get(f"/jobs/{number}/surveys/1").text
    assert "anticlockwise seen from behind" in page
    assert 'class="verdict outside"' in page
    assert page.count("<svg") > 6
    document = technician.get(f"/jobs/{number}/surveys/1/document")
    assert document.text == seed_text("before-head-bent.json")
    assert document.headers["content-disposition"].startswith("attachment; ")


def test_a_table_takes_what_it_cannot_say_from_the_form(shop: Shop, technician: Visitor) -> None:
    number = ready_job(shop)
    answer = technician.post(f"/jobs/{number}/surveys", HEADING, sent("before-head-bent.csv"))
    page = text_of(technician.get(answer.headers["location"]).text)
    assert "Left, right and upward agree with what the measurement says of them." in page
    assert "21.5 °C" in page
    assert "on stands" in page
    document = technician.get(answer.headers["location"] + "/document")
    assert document.text == seed_text("before-head-bent.csv")


def test_a_pasted_table_serves_as_well_as_a_file(shop: Shop, technician: Visitor) -> None:
    number = ready_job(shop)
    form = {**HEADING, "table": seed_text("before-head-bent.csv")}
    assert technician.post(f"/jobs/{number}/surveys", form).status_code == 303


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ("", "empty"),
        ("{", "not JSON"),
        ("a,b\n1,2\n", "column"),
        ("feature,label,station,x,y,z,u\npivot,left,,1,2,NaN,0.1\n", "row 2, z"),
        ('{"format": "jigbook.survey/1", "points": []}', "holds no point"),
        ('{"format": "jigbook.survey/1", "points": [{"feature": "pivot"}]}', "point 1, x"),
    ],
)
def test_a_file_that_cannot_be_taken_is_refused_with_reasons_and_stores_nothing(
    shop: Shop, technician: Visitor, content: str, told: str
) -> None:
    number = ready_job(shop)
    technician.token()
    before = shop.digest()
    answer = technician.post(f"/jobs/{number}/surveys", HEADING, sent("x", content))
    assert answer.status_code == 422
    assert told.lower() in text_of(answer.text).lower()
    assert '<a href="#' in answer.text
    assert 'value="21,5"' in answer.text
    assert shop.digest() == before


def test_readings_are_typed_with_comma_or_point_and_kept_as_typed(
    shop: Shop, technician: Visitor
) -> None:
    number = ready_job(shop)
    draft = technician.post(f"/jobs/{number}/drafts", HEADING).headers["location"]
    page = technician.get(draft).text
    saved = technician.post(f"{draft}/points", {**LEFT, "version": version_of(page)})
    assert saved.headers["location"] == f"{draft}/points"
    page = technician.get(f"{draft}/points").text
    for shown in ("X 146.894", "Y -467.34", "Z -805.6"):
        assert shown in page
    assert 'name="points.0.label" value="left"' in page
    assert "1 point saved" in page


@pytest.mark.parametrize(
    ("reading", "told"),
    [("1,234", "two ways"), ("12abc", "12abc"), ("1e999", "1e999"), ("", "x")],
)
def test_a_reading_that_is_no_number_is_never_guessed(
    shop: Shop, technician: Visitor, reading: str, told: str
) -> None:
    number = ready_job(shop)
    draft = technician.post(f"/jobs/{number}/drafts", HEADING).headers["location"]
    version = version_of(technician.get(draft).text)
    wrong = {**LEFT, "points.0.x": reading, "version": version}
    answer = technician.post(f"{draft}/points", wrong)
    assert answer.status_code == 422
    assert '<a href="#points.0.x">' in answer.text
    assert told in answer.text
    assert 'value="-467.34"' in answer.text
    assert "0 points saved" in answer.text


def test_two_tablets_on_one_measurement_do_not_overwrite_each_other(
    shop: Shop, technician: Visitor
) -> None:
    number = ready_job(shop)
    draft = technician.post(f"/jobs/{number}/drafts", HEADING).headers["location"]
    version = version_of(technician.get(draft).text)
    assert technician.post(f"{draft}/points", {**LEFT, "version": version}).status_code == 303
    second = technician.post(f"{draft}/points", {**LEFT, "version": version})
    assert second.status_code == 409
    assert "1 point saved" in second.text
    assert technician.post(f"{draft}/points", LEFT).status_code == 409


def test_a_reading_is_taken_back_and_stays_to_be_seen(shop: Shop, technician: Visitor) -> None:
    number = ready_job(shop)
    draft = technician.post(f"/jobs/{number}/drafts", HEADING).headers["location"]
    version = version_of(technician.get(draft).text)
    technician.post(f"{draft}/points", {**LEFT, "version": version})
    page = technician.get(f"{draft}/points").text
    undo = re.search(r'action="([^"]+/undo)"', page)
    assert undo is not None
    technician.post(undo[1], {"version": version_of(page)})
    page = technician.get(f"{draft}/points").text
    assert 'class="struck"' in page
    assert "0 points saved" in page


def test_a_measurement_is_built_up_and_submitted(shop: Shop, technician: Visitor) -> None:
    number = ready_job(shop)
    draft = technician.post(f"/jobs/{number}/drafts", HEADING).headers["location"]
    page = technician.get(draft).text
    refused = technician.post(f"{draft}/submit", {"version": version_of(page)})
    assert refused.status_code == 422
    table = {"table": seed_text("before-head-bent.csv"), "version": version_of(page)}
    technician.post(f"{draft}/table", table)
    assert "anticlockwise seen from behind" in technician.get(f"{draft}/plan").text
    page = technician.get(f"{draft}/points").text
    heading = {**HEADING, "mounting": "wheels out", "version": version_of(page)}
    technician.post(f"{draft}/heading", heading)
    page = technician.get(f"{draft}/points").text
    assert "wheels out" in page
    done = technician.post(f"{draft}/submit", {"version": version_of(page)})
    assert done.headers["location"] == f"/jobs/{number}/surveys/1"
    assert "points.0.x" not in technician.get(f"{draft}/points").text
    closed = technician.get(draft).text
    assert f'href="/jobs/{number}/surveys/1"' in closed


def test_a_wrong_row_of_a_pasted_table_adds_nothing(shop: Shop, technician: Visitor) -> None:
    number = ready_job(shop)
    draft = technician.post(f"/jobs/{number}/drafts", HEADING).headers["location"]
    table = "feature,label,station,x,y,z,u\npivot,left,,1,2,3,0.1\npivot,right,,x,2,3,0.1\n"
    version = version_of(technician.get(draft).text)
    answer = technician.post(f"{draft}/table", {"table": table, "version": version})
    assert answer.status_code == 422
    assert '<a href="#table">' in answer.text
    assert "row 3, x" in text_of(answer.text).lower()
    assert "0 points saved" in answer.text


def test_a_measurement_that_was_put_away_is_gone_from_the_road(
    shop: Shop, technician: Visitor
) -> None:
    number = ready_job(shop)
    draft = technician.post(f"/jobs/{number}/drafts", HEADING).headers["location"]
    assert "Go on" in technician.get(f"/jobs/{number}").text
    version = version_of(technician.get(draft).text)
    technician.post(f"{draft}/discard", {"version": version})
    page = technician.get(f"/jobs/{number}").text
    assert "Measurement in progress" not in page
    assert f"/jobs/{number}/measure?phase=before" in page
