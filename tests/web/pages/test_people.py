"""The owner's page of people."""

from tests.services.staff import PASSWORD
from tests.web.shop import Shop, text_of

NEW = {"sign_in_name": "nils", "name": "Nils Invented", "roles": ["desk", "technician"]}


def once(page: str) -> str:
    """The one-time password that a page shows."""
    return page.partition('<span class="once">')[2].partition("</span>")[0]


def test_somebody_new_gets_a_one_time_password_that_is_shown_once(shop: Shop) -> None:
    owner = shop.signed_in("boss")
    page = owner.post("/people", NEW).text
    password = once(page)
    assert len(password) >= 12
    assert password not in owner.get("/people").text
    assert password not in str(shop.digest())
    nils = shop.visitor()
    nils.post("/sign-in", {"sign_in_name": "nils", "password": password})
    assert nils.get("/").headers["location"] == "/password"


def test_what_is_wrong_with_somebody_new_is_told_at_once(shop: Shop) -> None:
    owner = shop.signed_in("boss")
    answer = owner.post("/people", {"sign_in_name": "", "name": ""})
    assert answer.status_code == 422
    for field in ("sign_in_name", "name", "roles"):
        assert f'<a href="#{field}">' in answer.text
    taken = owner.post("/people", {**NEW, "sign_in_name": "desk"})
    assert taken.status_code == 409
    assert '<a href="#sign_in_name">' in taken.text
    assert 'value="technician" checked' in taken.text
    strange = owner.post("/people", {**NEW, "roles": ["king"]})
    assert strange.status_code == 422


def test_roles_are_changed_and_take_effect_at_once(shop: Shop) -> None:
    owner, desk = shop.signed_in("boss"), shop.signed_in("desk")
    person = shop.people["desk"].person_id
    form = {"name": "Desk Invented", "title": "", "email": "", "roles": ["technician"]}
    assert owner.post(f"/people/{person}", form).status_code == 303
    assert desk.get("/check-in").status_code == 403
    assert "technician" in text_of(owner.get(f"/people/{person}").text)


def test_somebody_who_is_disabled_is_out_at_once(shop: Shop) -> None:
    owner, desk = shop.signed_in("boss"), shop.signed_in("desk")
    person = shop.people["desk"].person_id
    assert owner.post(f"/people/{person}/disable").status_code == 303
    assert desk.get("/").status_code == 303
    again = shop.visitor().post("/sign-in", {"sign_in_name": "desk", "password": PASSWORD})
    assert again.status_code == 401
    owner.post(f"/people/{person}/enable")
    assert shop.signed_in("desk").get("/").status_code == 200


def test_a_reset_ends_sessions_and_shows_a_new_password_once(shop: Shop) -> None:
    owner, desk = shop.signed_in("boss"), shop.signed_in("desk")
    page = owner.post(f"/people/{shop.people['desk'].person_id}/reset").text
    assert len(once(page)) >= 12
    assert desk.get("/").status_code == 303


def test_the_last_owner_stays(shop: Shop) -> None:
    owner = shop.signed_in("owner")
    owner.post(f"/people/{shop.people['boss'].person_id}/disable")
    answer = owner.post(f"/people/{shop.people['owner'].person_id}/disable")
    assert answer.status_code == 409
    assert "last owner" in answer.text
