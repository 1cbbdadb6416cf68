"""The check-in changed on its page: shown as it stands, saved whole, never over somebody else."""

import html
import re

import pytest

from app.services import customers, jobs
from tests.databases import NOW
from tests.web.shop import Shop, Visitor, new_job, text_of

SELECT = re.compile(r'<select[^>]*name="([^"]+)".*?</select>', re.DOTALL)


@pytest.fixture
def desk(shop: Shop) -> Visitor:
    return shop.signed_in("desk")


@pytest.fixture
def number(shop: Shop) -> str:
    return new_job(
        shop, damage=[{"zone": "fork", "side": "left", "look": "bent", "note": "at the yoke"}]
    )


def filled(page: str) -> dict[str, str]:
    """The form as a browser would send it, untouched."""
    form = page[page.index('<form class="check-in"') : page.index("Save the check-in")]
    found: dict[str, str] = {}
    for tag in re.finditer(r"<(input|textarea)([^>]*)>([^<]*)", form):
        kind, said, inside = tag.groups()
        name = re.search(r'name="([^"]+)"', said)
        box = re.search(r'type="(radio|checkbox)"', said)
        if name is None or (box and " checked" not in said):
            continue
        value = re.search(r'value="([^"]*)"', said)
        text = inside.removeprefix("\n") if kind == "textarea" else value[1] if value else ""
        found[name[1]] = html.unescape(text)
    for chosen in SELECT.finditer(form):
        option = re.search(r'<option value="([^"]*)" selected', chosen[0])
        found[chosen[1]] = option[1] if option else ""
    return found


def path(number: str) -> str:
    return f"/jobs/{number}/check-in"


def test_the_form_sent_untouched_changes_nothing(shop: Shop, desk: Visitor, number: str) -> None:
    form = filled(desk.get(path(number)).text)
    before = shop.digest()
    answer = desk.post(path(number), form)
    assert (answer.status_code, answer.headers.get("location")) == (303, f"/jobs/{number}")
    assert shop.digest() == before


def test_what_was_noted_wrong_is_put_right(desk: Visitor, number: str) -> None:
    form = filled(desk.get(path(number)).text)
    form |= {
        "customer.name": "Åse Imagined",
        "machine.plate": "XY-9",
        "odometer_km": "20 001",
        "damage.tank.seen": "1",
        "belongings": "a map\n\n a helmet ",
        "promised_on": "2026-03-20",
    }
    assert desk.post(path(number), form).status_code == 303
    page = text_of(desk.get(f"/jobs/{number}").text)
    for told in (
        "Åse Imagined", "XY-9", "20001", "fork, left: bent (at the yoke)", "fuel tank: damaged",
        "a map; a helmet", "20 March 2026", "measure and report",
    ):  # fmt: skip
        assert told in page


def test_a_zone_whose_tick_is_taken_away_is_gone(desk: Visitor, number: str) -> None:
    form = filled(desk.get(path(number)).text)
    del form["damage.fork.seen"]
    form |= {"damage.fork.side": "", "damage.fork.look": ""}
    assert desk.post(path(number), form).status_code == 303
    assert "at the yoke" not in desk.get(f"/jobs/{number}").text


def test_of_two_tabs_the_slower_one_sees_what_the_other_did(desk: Visitor, number: str) -> None:
    mine = filled(desk.get(path(number)).text)
    theirs = {**mine, "customer.phone": "+00 77", "incident.impact_kind": "rear"}
    assert desk.post(path(number), theirs).status_code == 303
    mine["storage_place"] = "bay 9"
    refused = desk.post(path(number), mine)
    assert refused.status_code == 409
    page = text_of(refused.text)
    assert "Somebody changed this check-in while it was open here" in page
    for told in ("+00 77", "from behind", "bay 3"):
        assert told in page
    assert 'value="bay 9"' in refused.text
    knowing = filled(refused.text)
    assert desk.post(path(number), knowing).status_code == 303
    again = text_of(desk.get(f"/jobs/{number}").text)
    assert "bay 9" in again


def test_what_is_wrong_is_told_beside_its_field(shop: Shop, desk: Visitor, number: str) -> None:
    form = filled(desk.get(path(number)).text)
    before = shop.digest()
    form |= {
        "customer.name": " ",
        "odometer_km": "many",
        "promised_on": "2026-02-30",
        "incident.happened_on": "2031-01-01",
        "visible_damage": "x" * 300,
        "claim.insurer_id": "99",
    }
    answer = desk.post(path(number), form)
    assert answer.status_code == 422
    for field in ("customer", "odometer_km", "promised_on", "visible_damage"):
        assert f'<a href="#{field}' in answer.text, field
    assert shop.digest() == before


@pytest.mark.parametrize(
    "odd",
    [
        {"version": ""}, {"version": "9-9-9-0"}, {"version": "x" * 3000}, {"customer": "flat"},
        {"damage.fork.seen.deeper": "1"}, {"no_such_field": "1"}, {"customer.name": "\u202eesA"},
        {"machine": "x"}, {"customer.name": "x" * 3000}, {"visible_damage": "a\n" * 300},
    ],
    ids=str,
)  # fmt: skip
def test_odd_forms_are_refused_and_change_nothing(
    shop: Shop, desk: Visitor, number: str, odd: dict[str, str]
) -> None:
    form = {**filled(desk.get(path(number)).text), **odd}
    before = shop.digest()
    answer = desk.post(path(number), form)
    assert answer.status_code in (400, 409, 422)
    assert shop.digest() == before


@pytest.mark.parametrize("name", ["technician", "inspector"])
def test_only_the_counter_comes_here(shop: Shop, number: str, name: str) -> None:
    visitor = shop.signed_in(name)
    assert visitor.get(path(number)).status_code == 403
    assert visitor.post(path(number), {"customer.name": "x"}).status_code == 403
    assert path(number) not in visitor.get(f"/jobs/{number}").text


def test_an_erased_customer_is_not_offered_to_be_changed(
    shop: Shop, desk: Visitor, number: str
) -> None:
    form = filled(desk.get(path(number)).text)
    with shop.database.write() as session:
        actor = shop.people["owner"]
        customer = jobs.read(session, actor, number).customer.id
        customers.erase(session, actor, customer, "asked for it", NOW)
    assert path(number) not in desk.get(f"/jobs/{number}").text
    assert desk.get(path(number)).status_code == 409
    assert desk.post(path(number), form).status_code == 409


def test_who_signed_before_the_change_is_told(desk: Visitor, number: str) -> None:
    assert "has signed for this order" not in desk.get(path(number)).text
    sent = {"name": "Åse", "purpose": "authorisation", "how": "card"}
    desk.post(f"/jobs/{number}/order", sent)
    assert "has signed for this order" in desk.get(path(number)).text


def machine_form(desk: Visitor, number: str) -> dict[str, str]:
    page = desk.get(f"/jobs/{number}/machine").text
    found = re.findall(r'<input[^>]*name="([^"]+)"[^>]*value="([^"]*)"', page)
    return {name: html.unescape(value) for name, value in found} | {"reason": "misread"}


def test_the_frame_number_is_put_right_and_the_job_tells_it(
    shop: Shop, desk: Visitor, number: str
) -> None:
    form = machine_form(desk, number) | {"frame_number": "zzz test-00A1000099"}
    answer = desk.post(f"/jobs/{number}/machine", form)
    assert (answer.status_code, answer.headers.get("location")) == (303, f"/jobs/{number}")
    page = text_of(shop.signed_in("technician").get(f"/jobs/{number}").text)
    assert "Put right after check-in" in page
    assert "Frame number: ZZZTEST00A1000099 instead of " in page
    assert "reason: misread" in page


def test_a_refused_change_of_the_machine_keeps_what_was_typed(desk: Visitor, number: str) -> None:
    form = machine_form(desk, number) | {"model": "Skarv 900", "reason": ""}
    answer = desk.post(f"/jobs/{number}/machine", form)
    assert answer.status_code == 422
    assert 'value="Skarv 900"' in answer.text
    assert 'href="#reason"' in answer.text
