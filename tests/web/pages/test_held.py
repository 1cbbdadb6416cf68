"""What a hold stops and what it does not, and what stays of damage that is answered otherwise."""

import json
from datetime import datetime

import pytest

from app.services import surveys, visual_checks
from app.wording.moments import moment
from tests.web.shop import Shop, Visitor, measured_job, seed_text, text_of

WHEEL, FRAME = "wheel_cracks", "frame_cracks"
MEASURED_AT = "2026-03-02T09:00:00+00:00"
NEW_WHEEL = {"since_seen": "replaced", "since_words": "new front wheel, by Tove"}


@pytest.fixture
def technician(shop: Shop) -> Visitor:
    return shop.signed_in("technician")


@pytest.fixture
def number(shop: Shop) -> str:
    """A bent machine, measured before correction."""
    return measured_job(shop)


def see(visitor: Visitor, number: str, item: str) -> None:
    """Answer that a crack is seen."""
    place = "front" if item == WHEEL else "left spar"
    sent = {"answer": "seen", "place": place, "note": "hairline"}
    assert visitor.post(f"/jobs/{number}/visual-check/{item}", sent).status_code == 303


def step_of(page: str, name: str) -> str:
    """What the road says of one step."""
    road = page[page.index('<ol class="road">') :]
    lines = [text_of(line) for line in road[: road.index("</ol>")].split("<li")]
    return " ".join(next(line for line in lines if name in line).split())


def test_a_cracked_wheel_leaves_the_frame_to_be_corrected(
    shop: Shop, technician: Visitor, number: str
) -> None:
    see(technician, number, WHEEL)
    page = technician.get(f"/jobs/{number}").text
    assert '<h2 id="next">Correct the chassis</h2>' in page
    assert f'<a class="go" href="/jobs/{number}/correction">' in page
    assert "(next)" in step_of(page, "Correct the chassis")
    assert "(to come)" in step_of(page, "Measure again")
    said = text_of(page)
    assert "On hold: cracks in the wheels. The work goes on; no completion certificate" in said
    assert "1 open hold: an inspector closes it" in step_of(page, "Sign the certificate")
    assert "Only an inspector closes it." in said
    form = text_of(technician.get(f"/jobs/{number}/correction").text)
    assert "On hold: cracks in the wheels (front – hairline)." in form
    assert "Straighten nothing of the frame" not in form


def test_a_cracked_frame_stops_the_correction_until_an_inspector_has_decided(
    shop: Shop, technician: Visitor, number: str
) -> None:
    see(technician, number, FRAME)
    page = technician.get(f"/jobs/{number}").text
    correct = step_of(page, "Correct the chassis")
    assert "(stopped)" in correct
    assert "the frame is on hold: an inspector decides first" in correct
    assert "not needed" not in correct + step_of(page, "Measure again")
    assert "The job waits for the inspector. The frame is on hold" in text_of(page)
    form = text_of(technician.get(f"/jobs/{number}/correction").text)
    assert "Straighten nothing of the frame before an inspector has decided." in form

    inspector = shop.signed_in("inspector")
    assert "The frame is on hold" in text_of(inspector.get(f"/jobs/{number}").text)
    close = {"reason": "dye test: a scratch in the paint"}
    assert inspector.post(f"/jobs/{number}/holds/1/close", close).status_code == 303
    assert "(next)" in step_of(technician.get(f"/jobs/{number}").text, "Correct the chassis")


def test_what_was_seen_is_not_tapped_away(shop: Shop, technician: Visitor, number: str) -> None:
    see(technician, number, WHEEL)
    place = f"/jobs/{number}/visual-check"
    listed = technician.get(place).text
    assert f'href="{place}/{WHEEL}#since"' in listed
    assert f'value="{WHEEL}.not_seen"' not in listed

    tapped = technician.post(place, {"tap": f"{WHEEL}.not_seen"})
    assert tapped.status_code == 422
    assert "On record as seen: cracks in the wheels" in text_of(tapped.text)
    item = technician.get(f"{place}/{WHEEL}").text
    assert "No longer seen?" in item
    refused = technician.post(f"{place}/{WHEEL}", {"answer": "not_seen", "since_seen": "replaced"})
    assert refused.status_code == 422
    assert '<a href="#since_words">' in refused.text
    with shop.database.read() as session:
        found = visual_checks.listing(session, shop.people["technician"], number)
    assert [one.item for one in found if one.answer == "seen"] == [WHEEL]


def test_everywhere_it_is_told_what_was_seen_before_and_what_now(
    shop: Shop, technician: Visitor, number: str
) -> None:
    see(technician, number, WHEEL)
    shop.later(minutes=30)
    place = f"/jobs/{number}/visual-check/{WHEEL}"
    answer = technician.post(place, {"answer": "not_seen", **NEW_WHEEL})
    assert answer.status_code == 303

    finding = text_of(technician.get(f"/jobs/{number}/surveys/1").text)
    assert "At the visual check was seen: cracks in the wheels (front)." in finding
    assert "since then: cracks in the wheels (front): replaced, 2 March 2026." in finding
    job = technician.get(f"/jobs/{number}").text
    said = " ".join(text_of(job).split())
    assert "Nothing is seen now." in said
    assert "Nothing was seen." not in said
    assert "Replaced: new front wheel, by Tove · Looked again 2 March 2026" in said
    assert said.count("new front wheel") == 2, "in the check and on the hold, which is still open"
    item = text_of(technician.get(place).text)
    assert "Seen 2 March 2026" in item
    review = " ".join(
        text_of(shop.signed_in("inspector").get(f"/jobs/{number}/sign-off").text).split()
    )
    assert "seen before: cracks in the wheels" in review
    assert "Replaced: new front wheel, by Tove" in review


def test_the_job_says_when_it_was_measured_and_when_that_was_submitted(
    shop: Shop, technician: Visitor, number: str
) -> None:
    stated = {**json.loads(seed_text("before-head-bent.json")), "measured_at": MEASURED_AT}
    shop.later(minutes=20)
    person, now = shop.people["technician"], shop.clock["now"]
    with shop.database.write() as session:
        surveys.submit(session, person, number, stated, now)
    page = technician.get(f"/jobs/{number}").text
    table = text_of(page[page.index('id="measurements"') : page.index('id="visual"')])
    first, second = (" ".join(line.split()) for line in table.split("2 · before"))
    assert "submitted 2 March 2026" in first
    assert "measured" not in first.partition("outside")[2], "nobody said when"
    assert f"measured {moment(datetime.fromisoformat(MEASURED_AT))}" in second
    assert f"submitted {moment(now)}" in second
    assert f"submitted {moment(now)}" in step_of(page, "Measure before correction")


@pytest.mark.parametrize(
    ("role", "place", "label"),
    [("technician", "/correction", "Note a correction"), ("desk", "", "To the job")],
)
def test_the_finding_leads_on_to_what_is_next_for_who_reads_it(
    shop: Shop, number: str, role: str, place: str, label: str
) -> None:
    page = shop.signed_in(role).get(f"/jobs/{number}/surveys/1").text
    assert f'<a class="go" href="/jobs/{number}{place}">{label}</a>' in page
    assert page.count('class="go"') == 1
    job = text_of(shop.signed_in(role).get(f"/jobs/{number}").text)
    why = {"technician": "Something is outside", "desk": "The job waits for the technician."}[role]
    assert why in text_of(page)
    assert why in job
