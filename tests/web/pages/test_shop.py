"""The owner's page of the shop: name, settings, signing key; and the authority for others."""

import re

import pytest

from app.services import shop as shops
from app.services import signing_keys
from app.services.shop import ShopView
from app.signing.authority import found_authority
from tests.web.shop import Shop, text_of

FORM = {
    "name": "Invented Straightening",
    "address": "1 Invented Lane\nNowhere",
    "phone": "",
    "email": "",
    "time_zone": "Asia/Kolkata",
    "own_statement": "",
    "confidence_threshold": "0,99",
    "claim_link_days": "14",
    "privacy_notice": "Ask at the counter.",
}
NEW = "a key kept by the owner"
BOTH = {"new_password": NEW, "new_password_again": NEW}


def kept(shop: Shop) -> ShopView:
    with shop.database.read() as session:
        return shops.read(session, shop.people["owner"])


def keyed(shop: Shop) -> signing_keys.AuthorityView:
    """The shop has its authority."""
    press = shop.app.app.state.press  # type: ignore[attr-defined]
    found_authority(press.data_dir, "Invented Workshop", shop.clock["now"])
    return signing_keys.authority(press)


def test_the_owner_changes_name_and_settings(shop: Shop) -> None:
    owner = shop.signed_in("owner")
    assert kept(shop).measurer_may_sign
    assert owner.post("/shop", FORM).headers["location"] == "/shop"
    assert kept(shop) == ShopView(
        name="Invented Straightening",
        address="1 Invented Lane\nNowhere",
        phone="",
        email="",
        time_zone="Asia/Kolkata",
        own_statement="",
        confidence_threshold=0.99,
        measurer_may_sign=False,
        claim_link_days=14,
        privacy_notice="Ask at the counter.",
    )
    page = owner.get("/shop").text
    assert "Saved." in page
    assert 'value="0.99"' in page
    assert "earlier name" not in page, "there is no key yet"
    assert "Invented Straightening" in owner.get("/").text
    owner.post("/shop", {**FORM, "measurer_may_sign": "on"})
    assert kept(shop).measurer_may_sign


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", ""),
        ("name", "Shop\u202egnitset"),
        ("confidence_threshold", "0.5"),
        ("confidence_threshold", "1"),
        ("confidence_threshold", "nan"),
        ("confidence_threshold", ""),
        ("time_zone", "Brook Lane"),
        ("time_zone", "../../../etc/hostname"),
        ("claim_link_days", "0"),
        ("claim_link_days", "366"),
        ("claim_link_days", "many"),
    ],
)
def test_what_cannot_be_is_told_beside_its_field(shop: Shop, field: str, value: str) -> None:
    before = kept(shop)
    answer = shop.signed_in("owner").post("/shop", {**FORM, field: value})
    assert answer.status_code == 422
    if "\u202e" not in value:
        assert f'<a href="#{field}">' in answer.text
    assert kept(shop) == before


def test_a_shop_that_is_renamed_is_told_that_its_key_carries_the_earlier_name(shop: Shop) -> None:
    keyed(shop)
    owner = shop.signed_in("owner")
    owner.post("/shop", {**FORM, "name": "Invented Workshop"})
    assert "earlier name" not in owner.get("/shop").text
    owner.post("/shop", FORM)
    page = owner.get("/shop").text
    assert "earlier name, Invented Workshop" in text_of(page)
    assert 'href="/shop/key#renew"' in page
    owner.post("/shop/key/renew", {"kind": "ec-p256"})
    assert "Saved." in owner.get("/shop/key").text
    assert "earlier name" not in owner.get("/shop").text


def test_before_the_first_certificate_there_is_no_key_to_speak_of(shop: Shop) -> None:
    page = text_of(shop.signed_in("owner").get("/shop").text)
    assert "The key is made with the first certificate" in page
    answer = shop.visitor().get("/authority.pem")
    assert answer.status_code == 404
    assert shop.database.file is not None
    assert str(shop.database.file.parent) not in answer.text
    assert "authority.pem" not in shop.visitor().get("/verify").text


def test_anybody_gets_the_authoritys_certificate_and_its_fingerprint(shop: Shop) -> None:
    authority = keyed(shop)
    page = shop.visitor().get("/verify").text
    assert authority.sha256 in page
    href = re.search(r'href="(/authority[^"]*)"', page)
    assert href is not None
    answer = shop.visitor().get(href[1])
    assert answer.content == authority.pem
    assert b"PRIVATE" not in answer.content
    assert answer.headers["content-disposition"].startswith("attachment;")


def test_the_owner_puts_the_key_under_a_password(shop: Shop) -> None:
    keyed(shop)
    press = shop.app.app.state.press  # type: ignore[attr-defined]
    owner = shop.signed_in("owner")
    assert "lies beside it in the data folder" in text_of(owner.get("/shop").text)
    differ = owner.post("/shop/key-password", {**BOTH, "new_password_again": "another"})
    assert differ.status_code == 422
    assert '<a href="#new_password_again">' in differ.text
    assert not signing_keys.has_own_password(press)
    assert owner.post("/shop/key-password", BOTH).status_code == 303
    assert signing_keys.has_own_password(press)
    wrong = owner.post("/shop/key-password", {**BOTH, "old_password": "not this one"})
    assert wrong.status_code == 422
    assert '<a href="#old_password">' in wrong.text
    assert NEW not in wrong.text
    right = owner.post("/shop/key-password", {**BOTH, "old_password": NEW})
    assert right.status_code == 303


@pytest.mark.parametrize("name", ["desk", "technician", "inspector"])
def test_it_is_the_owners_alone(shop: Shop, name: str) -> None:
    keyed(shop)
    visitor = shop.signed_in(name)
    assert visitor.get("/shop").status_code == 403
    assert visitor.post("/shop", FORM).status_code == 403
    assert visitor.post("/shop/key-password", BOTH).status_code == 403
    assert 'href="/shop"' not in visitor.get("/").text
