"""The owner's page of tokens: made with the password, shown once, useless once revoked."""

import re

from app.web.routes import ROUTES
from tests.services.staff import PASSWORD
from tests.web.shop import Shop, Visitor, text_of

FORM = {"name": "arm 2", "role": "technician", "days": "30", "password": PASSWORD}
TOKEN = re.compile(r'class="once">(jigbook_[\w-]{43})<')


def jobs_with(shop: Shop, token: str) -> int:
    """What the API answers to a program with this token."""
    headers = {"Authorization": f"Bearer {token}"}
    return shop.visitor().ask("GET", "/api/v1/jobs", headers=headers).status_code


def made(owner: Visitor, **change: str) -> str:
    """A new token, as the owner reads it."""
    found = TOKEN.search(owner.post("/shop/tokens", {**FORM, **change}).text)
    assert found is not None
    return found[1]


def test_a_token_is_shown_once_and_says_what_it_may_do(shop: Shop) -> None:
    owner = shop.signed_in("boss")
    page = owner.post("/shop/tokens", FORM).text
    told = text_of(page)
    assert "it serves until 1 April 2026" in told
    for clause in ("submit a measurement", "take points"):
        assert clause in told
    for clause in ("withdraw certificates", "see API tokens", "change the own password"):
        assert clause not in told
    (token,) = TOKEN.findall(page)
    assert jobs_with(shop, token) == 200
    listed = owner.get("/shop/tokens").text
    assert token not in listed + str(shop.digest())
    assert token[:14] in listed
    assert f"by {shop.people['boss'].name}" in listed


def test_what_a_role_may_do_is_what_the_api_offers_it(shop: Shop) -> None:
    told = text_of(shop.signed_in("boss").get("/shop/tokens").text)
    assert told.count("sign and issue certificates") == 1
    assert "an inspector's name and password are sent" in told
    offered = {route.action for route in ROUTES.values() if route.door == "api"}
    assert "tokens.write" not in offered
    assert "make and revoke API tokens" not in told


def test_no_token_is_made_without_the_owners_password(shop: Shop) -> None:
    owner = shop.signed_in("boss")
    wrong = owner.post("/shop/tokens", {**FORM, "password": "something else"})
    assert wrong.status_code == 422
    assert '<a href="#password">' in wrong.text
    assert 'value="arm 2"' in wrong.text
    assert "None was made yet" in owner.get("/shop/tokens").text


def test_all_that_is_wrong_is_told_at_once_before_the_password_is_looked_at(shop: Shop) -> None:
    owner = shop.signed_in("boss")
    answer = owner.post("/shop/tokens", {"name": "", "days": "soon", "password": "no"})
    assert answer.status_code == 422
    for field in ("name", "role", "days"):
        assert f'<a href="#{field}">' in answer.text
    assert '<a href="#password">' not in answer.text
    assert owner.post("/shop/tokens", {**FORM, "days": "0"}).status_code == 422
    made(owner)
    assert owner.post("/shop/tokens", FORM).status_code == 409


def test_a_revoked_token_opens_nothing_and_one_that_is_over_is_told(shop: Shop) -> None:
    owner = shop.signed_in("boss")
    token, other = made(owner), made(owner, name="arm 3", days="1")
    assert owner.post("/shop/tokens/1/revoke").status_code == 303
    assert jobs_with(shop, token) == 401
    assert jobs_with(shop, other) == 200
    shop.later(days=2)
    assert jobs_with(shop, other) == 401
    told = text_of(shop.signed_in("boss").get("/shop/tokens").text)
    assert "over since" in told
    assert "revoked" in told
    assert "Revoke it now" not in told
