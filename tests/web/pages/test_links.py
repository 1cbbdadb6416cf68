"""Links that are given out: for whom, for how long, what they show, who sees and revokes them."""

import re
from dataclasses import replace
from urllib.parse import quote

from tests.web.shop import Shop, new_job, state_of, text_of


def words_of(page: str) -> str:
    return " ".join(text_of(page).split())


def note_in(page: str) -> str:
    (value,) = re.findall(r'<input type="text" id="note" name="note" value="([^"]*)"', page)
    return str(value)


def test_a_link_is_for_the_insurer_unless_told_and_never_for_nobody(shop: Shop) -> None:
    number, desk = new_job(shop), shop.signed_in("desk")
    page = desk.get(f"/jobs/{number}/links").text
    assert note_in(page) == "Invented Mutual"
    assert 'name="note" value="Invented Mutual" autocomplete="off" required' in page
    for form in ({"note": "  "}, {"valid_days": "7"}):
        refused = desk.post(f"/jobs/{number}/links", form)
        assert refused.status_code == 422
        assert '<a href="#note">Nobody is named for whom this link is' in refused.text
        assert note_in(refused.text).strip() == "", "what was emptied stays empty"
        assert 'id="claim-link"' not in refused.text
    assert "Links that were made" not in desk.get(f"/jobs/{number}/links").text
    made = desk.post(f"/jobs/{number}/links", {"note": "Ada (invented)"}).text
    assert 'id="claim-link"' in made
    assert "Ada (invented) · open" in words_of(made)
    assert note_in(desk.get("/insurers/1/links").text) == "Invented Mutual"
    assert desk.post("/insurers/1/links", {"note": ""}).status_code == 422


def test_a_link_is_proposed_for_the_adjuster_where_one_is_known(shop: Shop) -> None:
    claim = {"insurer": {"name": "Invented Mutual"}, "adjuster": "Ada Invented"}
    number, desk = new_job(shop, claim=claim), shop.signed_in("desk")
    assert note_in(desk.get(f"/jobs/{number}/links").text) == "Ada Invented, Invented Mutual"
    desk.post(f"/jobs/{number}/links", {"note": "Ada Invented"})
    assert f'href="/jobs/{number}">{number}</a>' in desk.get("/links/1").text


def test_without_an_insurer_it_is_told_before_what_the_link_shows(shop: Shop) -> None:
    number, desk = new_job(shop, claim=None), shop.signed_in("desk")
    page = desk.get(f"/jobs/{number}/links").text
    assert note_in(page) == ""
    told = words_of(page)
    assert "No insurer is on record for this job. Whoever gets this link sees" in told
    assert "No certificate yet. Once one is issued, it names customer, machine" in told
    assert told.index("No insurer is on record") < told.index("Make a link")
    way = f'href="/jobs/{number}/check-in#claim.insurer_id">Put the insurer on record first'
    assert way in page
    inspector = shop.signed_in("inspector").get(f"/jobs/{number}/links").text
    assert "No insurer is on record" in inspector
    assert "Put the insurer on record first" not in inspector, "who may not change the check-in"
    machine = {"make": "Fjordmark", "model": "Skarv", "frame_number": "ZZZOTHER"}
    insured = new_job(shop, machine=machine)
    assert "No insurer is on record" not in desk.get(f"/jobs/{insured}/links").text


def test_it_tells_for_how_many_days_and_what_the_link_shows(shop: Shop) -> None:
    number, desk = new_job(shop), shop.signed_in("desk")
    for path, shown in (
        (f"/jobs/{number}/links", "this job's certificates and the photos that go with the claim"),
        ("/insurers/1/links", "with their certificates and the photos that go with them"),
    ):
        told = words_of(desk.get(path).text)
        assert "Empty: 30 days" in told
        assert shown in told
    made = words_of(desk.post(f"/jobs/{number}/links", {"note": "Ada", "valid_days": ""}).text)
    assert "It opens until 1 April 2026." in made, "2 March and 30 days"


def test_an_address_that_nobody_else_reaches_is_told_in_words_of_the_trade(shop: Shop) -> None:
    number, desk = new_job(shop), shop.signed_in("desk")
    form = {"note": "Invented Mutual"}
    alone = desk.post(f"/jobs/{number}/links", form).text
    assert "The address under which others reach this program is not set" in text_of(alone)
    assert "JIGBOOK_" not in alone
    state = state_of(shop)
    state.settings = replace(state.settings, public_url="https://shop.example")
    assert "mailto:" not in alone
    reached = desk.post(f"/jobs/{number}/links", form).text
    (mail,) = re.findall(r'href="mailto:([^"]+)"', reached)
    (link,) = re.findall(r'id="claim-link" href="([^"]+)"', reached)
    assert mail.startswith("?subject=Job%20J-2026-0001%2C%20claim%20CL%2F2026-77&amp;body=")
    assert quote(link, safe="") in mail, "the mail carries the link that is shown this once"
    assert 'href="https://shop.example/claim/' in reached
    assert "is not set" not in text_of(reached)


def test_the_inspector_who_made_a_link_sees_and_revokes_it(shop: Shop) -> None:
    number, inspector = new_job(shop), shop.signed_in("inspector")
    way = f"/jobs/{number}/links"
    made = inspector.post(way, {"note": "Invented Mutual"}).text
    claim = re.findall(r'id="claim-link" href="[^"]+(/claim/[^"]+)"', made)[0]
    page = inspector.get(way).text
    assert "Invented Mutual · open" in words_of(page)
    assert f'action="{way}/1/revoke"' in page
    assert "who used it" not in page, "that is for the counter"
    for path in ("/links", "/links/1"):
        assert inspector.get(path).status_code == 403, path
    assert shop.visitor().get(claim).status_code == 200
    assert inspector.post(f"{way}/1/revoke").status_code == 303
    assert shop.visitor().get(claim).status_code == 410
    assert "Invented Mutual · revoked" in words_of(inspector.get(way).text)


def test_any_link_is_revoked_where_all_of_them_stand(shop: Shop) -> None:
    number, desk = new_job(shop), shop.signed_in("desk")
    ways = [
        re.findall(r'id="claim-link" href="[^"]+(/claim/[^"]+)"', desk.post(path, form).text)[0]
        for path in (f"/jobs/{number}/links", "/insurers/1/links")
        for form in ({"note": "claims office"},)
    ]
    for link, way in enumerate(ways, 1):
        assert f'action="/links/{link}/revoke"' in desk.get("/links").text
        assert shop.visitor().get(way).status_code == 200
        answer = desk.post(f"/links/{link}/revoke")
        assert (answer.status_code, answer.headers["location"].split("?")[0]) == (303, "/links")
        assert shop.visitor().get(way).status_code == 410
    assert "/revoke" not in desk.get("/links").text
    assert desk.post("/links/9/revoke").status_code == 404
    assert shop.signed_in("inspector").post("/links/2/revoke").status_code == 403


def test_the_owner_finds_the_links_on_the_shops_page(shop: Shop) -> None:
    assert 'href="/links"' in shop.signed_in("boss").get("/shop").text
