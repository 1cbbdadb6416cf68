"""Tablets: the owner's pages, the code, people who change by PIN, codes that open a job there."""

from dataclasses import replace
from urllib.parse import quote

import httpx
from starlette.types import ASGIApp

from app.services import drafts, pins
from app.services.pins import WRONG_UNTIL_GONE
from app.web.drawn import leading_to
from tests.databases import CHEAP
from tests.services.staff import PASSWORD
from tests.web.shop import (
    Shop,
    Visitor,
    measured_job,
    new_job,
    open_shop,
    ready_job,
    state_of,
    text_of,
)

PINS = {"technician": "4817", "inspector": "7193"}


def code_on(page: str) -> str:
    """The one-time code that the owner reads."""
    return page.partition('class="once">')[2].partition("<")[0]


def enrolled(shop: Shop, base: str = "") -> Visitor:
    """A tablet that nobody is at work on yet."""
    code = code_on(shop.signed_in("boss").post("/tablets", {"tablet_name": "Lift 2"}).text)
    tablet = Visitor(shop.app, base) if base else shop.visitor()
    answer = tablet.post("/enrol", {"code": code})
    assert (answer.status_code, answer.headers["location"]) == (303, "/at-work")
    return tablet


def with_pins(shop: Shop) -> None:
    for name, pin in PINS.items():
        person, now = shop.people[name], shop.clock["now"]
        pins.set_pin(shop.database, person, PASSWORD, pin, now, CHEAP)


def take_over(shop: Shop, tablet: Visitor, name: str, target: str = "/") -> httpx.Response:
    """In two taps: the name, the PIN."""
    entry = f"/at-work/{shop.people[name].person_id}"
    assert f'href="{entry}?next=' in tablet.get(f"/at-work?next={target}").text
    answer = tablet.post(entry, {"pin": PINS[name], "next": target})
    assert (answer.status_code, answer.headers["location"]) == (303, target)
    tablet.get("/password")
    return answer


def test_a_tablet_is_enrolled_once_and_shown_in_the_list(shop: Shop) -> None:
    enrolled(shop)
    page = text_of(shop.signed_in("boss").get("/tablets").text)
    assert "Lift 2" in page
    assert "enrolled " in page


def test_a_wrong_code_is_told_beside_the_field(shop: Shop) -> None:
    answer = shop.visitor().post("/enrol", {"code": "wrong"})
    assert answer.status_code == 422
    assert "This code is not known, was used already or is over" in text_of(answer.text)


def test_the_code_in_an_address_is_filled_in_and_nothing_is_done_by_looking(shop: Shop) -> None:
    before = shop.digest()
    assert 'value="abcde-fghjk"' in shop.visitor().get("/enrol?code=abcde-fghjk").text
    assert shop.digest() == before


def reached_by_others(shop: Shop) -> None:
    """The shop says under which address tablets get there."""
    state = state_of(shop)
    state.settings = replace(state.settings, public_url="https://shop.example")


def drawing(page: str) -> str:
    """The codes for a camera on a page."""
    return page.partition("<main")[2]


def test_the_owner_reads_a_code_for_a_camera_only_where_a_tablet_gets_there(shop: Shop) -> None:
    page = shop.signed_in("boss").post("/tablets", {"tablet_name": "Lift 2"}).text
    assert "No tablet reaches this computer" in text_of(page)
    reached_by_others(shop)
    page = shop.signed_in("boss").post("/tablets", {"tablet_name": "Lift 3"}).text
    assert str(leading_to(f"https://shop.example/enrol?code={code_on(page)}")) in page


def test_another_code_and_revoking(shop: Shop) -> None:
    tablet = enrolled(shop)
    boss = shop.signed_in("boss")
    again = code_on(boss.post("/tablets/1/code").text)
    other = shop.visitor()
    assert other.post("/enrol", {"code": again}).status_code == 303
    assert "not enrolled" in text_of(tablet.get("/at-work").text)
    assert "Who is at work?" in text_of(other.get("/at-work").text)
    assert boss.post("/tablets/1/revoke").status_code == 303
    assert "not enrolled" in text_of(other.get("/at-work").text)
    assert "revoked" in text_of(boss.get("/tablets").text)


def test_people_change_in_two_taps_and_the_tablet_stays_where_it_was(shop: Shop) -> None:
    with_pins(shop)
    number = ready_job(shop)
    tablet, place = enrolled(shop), f"/jobs/{number}/measure"
    take_over(shop, tablet, "technician", place)
    page = tablet.get(place).text
    assert "Technician" in text_of(page)
    assert f'href="/at-work?next={quote(place, safe="")}">Change person' in page
    answer = take_over(shop, tablet, "inspector", place)
    assert "Clear-Site-Data" not in answer.headers
    assert "Inspector" in text_of(tablet.get(place).text)


def test_a_floor_page_that_is_kept_is_not_another_browsers(shop: Shop) -> None:
    """The same person with a password, at a desk and on a tablet: one frame offers the change."""
    number = ready_job(shop)
    with shop.database.write() as session:
        opened = drafts.open_draft(
            session, shop.people["technician"], number, "before", shop.clock["now"]
        )
    place, tablet = f"/jobs/{number}/drafts/{opened.id}", enrolled(shop)
    desk = shop.signed_in("technician")
    tablet.post("/sign-in", {"sign_in_name": "technician", "password": PASSWORD})
    for _ in range(2):
        assert "Change person" not in desk.get(place).text
        assert "Change person" in tablet.get(place).text


def test_the_one_before_is_out_when_the_next_takes_over(shop: Shop) -> None:
    with_pins(shop)
    tablet = enrolled(shop)
    take_over(shop, tablet, "technician")
    before = shop.visitor()
    before.cookies.update(tablet.cookies)
    assert before.get("/password").status_code == 200
    take_over(shop, tablet, "inspector")
    assert before.get("/password").status_code == 303


def test_a_wrong_pin_is_told_beside_the_field_and_shows_nothing_of_it(shop: Shop) -> None:
    with_pins(shop)
    tablet = enrolled(shop)
    entry = f"/at-work/{shop.people['technician'].person_id}"
    answer = tablet.post(entry, {"pin": "9517"})
    assert answer.status_code == 422
    assert f"after {WRONG_UNTIL_GONE} wrong ones in a row" in text_of(answer.text)
    assert "9517" not in answer.text


def test_a_pin_opens_nothing_in_a_browser_that_is_no_tablet(shop: Shop) -> None:
    with_pins(shop)
    enrolled(shop)
    elsewhere = shop.visitor()
    assert "Technician" not in text_of(elsewhere.get("/at-work").text)
    entry = f"/at-work/{shop.people['technician'].person_id}"
    assert elsewhere.get(entry).headers["location"].startswith("/at-work")
    answer = elsewhere.post(entry, {"pin": PINS["technician"]})
    assert answer.status_code == 401
    assert elsewhere.get("/").status_code == 303


def test_signing_asks_for_the_password_as_ever(shop: Shop) -> None:
    with_pins(shop)
    number = measured_job(shop, ("before-head-bent.json", "after-corrected.json"))
    tablet, page = enrolled(shop), f"/jobs/{number}/sign-off"
    take_over(shop, tablet, "inspector")
    assert f'class="go" href="{page}"' in tablet.get(f"/jobs/{number}").text
    answer = tablet.get(page)
    assert answer.headers["location"] == f"/sign-in?next={quote(page, safe='')}"
    assert "Your PIN opens the floor only" in text_of(tablet.get(answer.headers["location"]).text)
    refused = tablet.post(f"/jobs/{number}/certificates", {"kind": "report", "password": PASSWORD})
    assert refused.status_code == 403
    sent = {"sign_in_name": "inspector", "password": PASSWORD, "next": page}
    assert tablet.post("/sign-in", sent).headers["location"] == page
    assert tablet.get(page).status_code == 200


def test_a_tablet_asks_who_is_at_work_where_others_ask_for_a_password(shop: Shop) -> None:
    number = new_job(shop)
    tablet = enrolled(shop)
    assert tablet.get(f"/jobs/{number}").headers["location"].startswith("/at-work?next=%2Fjobs")
    assert shop.visitor().get(f"/jobs/{number}").headers["location"].startswith("/sign-in?")


def test_coming_back_stays_on_our_own_pages(shop: Shop) -> None:
    with_pins(shop)
    tablet = enrolled(shop)
    entry = f"/at-work/{shop.people['technician'].person_id}"
    for target in ("https://evil.example/", "//evil.example", "/\\evil.example"):
        answer = tablet.post(entry, {"pin": PINS["technician"], "next": target})
        assert answer.headers["location"] == "/"
        assert "evil" not in tablet.get(f"/at-work?next={quote(target)}").text


def test_a_refused_form_leads_back_to_the_page_it_stood_on(shop: Shop) -> None:
    with_pins(shop)
    number = ready_job(shop)
    tablet, place = enrolled(shop), f"/jobs/{number}/measure"
    take_over(shop, tablet, "technician")
    sent = {"form_token": tablet.token()}
    headers = {"Origin": tablet.base, "Referer": f"{tablet.base}{place}"}
    answer = tablet.ask("POST", f"/jobs/{number}/surveys", data=sent, headers=headers)
    assert answer.status_code == 422
    assert f'href="/at-work?next={quote(place, safe="")}"' in answer.text


def test_the_tablets_cookie_under_tls_is_secure_and_bound_to_the_host(shop: Shop) -> None:
    """And never read where it came plainly."""
    code = code_on(shop.signed_in("boss").post("/tablets", {"tablet_name": "Lift 2"}).text)
    visitor = Visitor(open_behind_tls(shop), "https://shop.example")
    answer = visitor.post("/enrol", {"code": code})
    cookie = answer.headers["set-cookie"]
    assert cookie.startswith("__Host-tablet=")
    assert all(word in cookie for word in ("HttpOnly", "Secure", "SameSite=lax", "Path=/"))


def open_behind_tls(shop: Shop) -> ASGIApp:
    """The same records behind a proxy that speaks TLS."""
    settings = state_of(shop).settings
    opened = open_shop(
        shop.database, shop.people, settings.data_dir, public_url="https://shop.example"
    )
    opened.clock.update(shop.clock)
    return opened.app


def test_everybody_chooses_a_pin_behind_their_name(shop: Shop) -> None:
    technician = shop.signed_in("technician")
    assert 'href="/pin"' in technician.get("/password").text
    assert "You have no PIN." in text_of(technician.get("/pin").text)
    wanted = {"pin": "4817", "pin_again": "4817", "password": PASSWORD}
    told = {
        "pins_differ": ({"pin_again": "4871"}, "the two entries of the PIN differ"),
        "pin_common": ({"pin": "1234", "pin_again": "1234"}, "one of those tried first"),
        "wrong_password": ({"password": "no"}, "the password is not right"),
    }
    for changes, sentence in told.values():
        answer = technician.post("/pin", {**wanted, **changes})
        assert answer.status_code in (403, 422)
        assert sentence in text_of(answer.text).lower().replace("pin", "PIN")
        assert "4817" not in answer.text
    assert technician.post("/pin", wanted).status_code == 303
    assert "You have a PIN." in text_of(technician.get("/pin").text)
    technician.post("/pin/none")
    assert "You have no PIN." in text_of(technician.get("/pin").text)


def test_a_screen_hands_the_job_to_a_tablet(shop: Shop) -> None:
    reached_by_others(shop)
    number = ready_job(shop)
    technician = shop.signed_in("technician")
    to_job = str(leading_to(f"https://shop.example/jobs/{number}"))
    for page in (f"/jobs/{number}", f"/jobs/{number}/measure"):
        assert to_job in technician.get(page).text
    with shop.database.write() as session:
        opened = drafts.open_draft(
            session, shop.people["technician"], number, "before", shop.clock["now"]
        )
    to_draft = str(leading_to(f"https://shop.example/jobs/{number}/drafts/{opened.id}"))
    for page in (f"/jobs/{number}", f"/jobs/{number}/measure"):
        assert to_draft in technician.get(page).text


def test_where_no_tablet_gets_there_the_screen_says_so(shop: Shop) -> None:
    page = shop.signed_in("technician").get(f"/jobs/{ready_job(shop)}").text
    assert "Jigbook answers this machine alone" in text_of(page)


def test_the_desk_and_the_tablet_itself_are_shown_no_code(shop: Shop) -> None:
    with_pins(shop)
    number, words = ready_job(shop), "Go on with a tablet"
    assert words not in shop.signed_in("desk").get(f"/jobs/{number}").text
    tablet = enrolled(shop)
    take_over(shop, tablet, "technician")
    assert words not in tablet.get(f"/jobs/{number}").text


def test_a_name_of_the_network_by_which_a_page_was_asked_for_is_handed_on(shop: Shop) -> None:
    number, folder = ready_job(shop), state_of(shop).settings.data_dir
    named = open_shop(shop.database, shop.people, folder, further_hosts=("jig.local",))
    technician = Visitor(named.app, "http://jig.local:8417")
    technician.post("/sign-in", {"sign_in_name": "technician", "password": PASSWORD})
    address = f"http://jig.local:8417/jobs/{number}"
    assert str(leading_to(address)) in technician.get(f"/jobs/{number}").text
