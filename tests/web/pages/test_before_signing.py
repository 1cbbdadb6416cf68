"""What a technician reads before the inspector does, and is told to doubt before a pull."""

import json

import pytest

from app.schemas.visual_check import ITEMS, VisualCheckIn
from app.services import jobs, surveys, visual_checks
from app.wording import look_alikes
from tests.web.shop import Shop, measured_job, seed_text, text_of


def corrected_job(shop: Shop) -> str:
    """Looked at, measured, corrected, and measured again; one item was left out."""
    number = measured_job(shop)
    answers = dict.fromkeys(ITEMS, "not_seen") | {"head_bearing_seats": "not_checked"}
    sent = [VisualCheckIn.model_validate({"item": i, "answer": a}) for i, a in answers.items()]
    person = shop.people["technician"]
    with shop.database.write() as session:
        visual_checks.answer(session, person, number, sent, shop.clock["now"])
    shop.later(hours=2)
    with shop.database.write() as session:
        now = shop.clock["now"]
        jobs.note_correction(session, person, number, "pulled 8 mm", now=now)
    shop.later(hours=2)
    with shop.database.write() as session:
        document = json.loads(seed_text("after-corrected.json"))
        surveys.submit(session, person, number, document, shop.clock["now"])
    return number


@pytest.mark.parametrize("page", ["", "/surveys/2"])
def test_what_the_inspector_will_read_is_told_before_it_is_handed_over(
    shop: Shop, page: str
) -> None:
    number = corrected_job(shop)
    told = shop.signed_in("technician").get(f"/jobs/{number}{page}").text
    assert "Next: the inspector signs" in text_of(told)
    open_now = told[told.index('id="still-open"') :].partition("</div>")[0]
    assert "Not looked for: damaged bearing seats in the steering head." in text_of(open_now)
    assert (
        "18 of 19 items were looked at before the correction and not again since: cracks"
        in text_of(open_now)
    )
    assert f'href="/jobs/{number}/visual-check"' in open_now
    assert "as it stands, the certificate would be refused" not in open_now


def test_it_is_told_of_the_last_measurement_and_to_those_who_can_see_to_it(shop: Shop) -> None:
    number = corrected_job(shop)
    earlier = shop.signed_in("technician").get(f"/jobs/{number}/surveys/1").text
    assert 'id="still-open"' not in earlier
    assert "Not looked for: damaged bearing seats in the steering head." in text_of(earlier)
    assert 'id="still-open"' not in shop.signed_in("desk").get(f"/jobs/{number}").text


def test_what_would_refuse_the_certificate_comes_first(shop: Shop) -> None:
    number = corrected_job(shop)
    document = json.loads(seed_text("after-corrected.json"))
    document["points"] = [
        one
        for one in document["points"]
        if one["feature"] != "pivot_face" or one.get("station") != "return"
    ]
    with shop.database.write() as session:
        now = shop.clock["now"]
        surveys.submit(session, shop.people["technician"], number, document, now)
    told = shop.signed_in("technician").get(f"/jobs/{number}").text
    open_now = told[told.index('id="still-open"') :].partition("</div>")[0]
    assert "as it stands, the certificate would be refused" in open_now
    assert f'href="/jobs/{number}/measure?phase=after"' in open_now


def test_what_looks_alike_is_told_wherever_somebody_might_pull_on_it(shop: Shop) -> None:
    number, technician = measured_job(shop), shop.signed_in("technician")
    finding = text_of(technician.get(f"/jobs/{number}/surveys/1").text)
    doubted = f"Before anything is pulled: {look_alikes.sentence()}"
    assert doubted in " ".join(finding.split())
    assert look_alikes.leaning_or_turned() in finding
    assert finding.index("Leaning or turned?") < finding.index("Part by part")
    job = technician.get(f"/jobs/{number}").text
    assert look_alikes.sentence() in text_of(job)
    assert f'href="/jobs/{number}/surveys/1#doubt"' in job
    correction = text_of(technician.get(f"/jobs/{number}/correction").text)
    assert correction.index(look_alikes.sentence()) < correction.index("What was done, where")
    review = text_of(shop.signed_in("inspector").get(f"/jobs/{number}/sign-off").text)
    assert look_alikes.sentence() in review


def test_once_it_was_measured_again_nobody_is_sent_to_measure(shop: Shop) -> None:
    number = corrected_job(shop)
    earlier = text_of(shop.signed_in("technician").get(f"/jobs/{number}/surveys/1").text)
    assert look_alikes.sentence() in earlier
    assert "Head or pivot?" not in earlier


def test_a_head_within_raises_no_doubt(shop: Shop) -> None:
    number, technician = corrected_job(shop), shop.signed_in("technician")
    for page in ("", "/surveys/2", "/correction"):
        assert look_alikes.sentence() not in text_of(technician.get(f"/jobs/{number}{page}").text)
