"""The owner's page of the signing key, and the sheet of fingerprints that anybody may see."""

import pytest

from app.records.scope import scoped
from app.records.tables import Shop as ShopRow
from app.services import signing_keys
from app.services.press import Press
from app.signing.profile import new_key
from app.wording.signing_key import in_groups, with_colons
from tests.signing.test_renewal import OWN, issued_to
from tests.signing.time_authority import made
from tests.web.pages.test_shop import BOTH, keyed
from tests.web.shop import Shop, text_of

ADDRESS = "https://stamps.example/tsa"
PHONE = "+00 30 000000"


def press_of(shop: Shop) -> Press:
    press: Press = shop.app.app.state.press  # type: ignore[attr-defined]
    return press


def test_anybody_sees_the_sheet_and_what_the_key_proves(shop: Shop) -> None:
    assert shop.visitor().get("/authority").status_code == 404, "before the first certificate"
    authority = keyed(shop)
    page = shop.visitor().get("/authority").text
    sheet = text_of(page)
    assert in_groups(authority.sha256) in sheet
    assert in_groups(authority.signer_sha256) in sheet
    for digits in (authority.sha256, authority.signer_sha256):
        assert with_colons(digits).replace(":", ":<wbr>") in page, "no line ends inside a byte"
    compared = sheet.index("This is the one to compare")
    assert sheet.index("The authority, SHA-256") < compared < sheet.index("The signer, ")
    assert "Does not prove: who that is." in sheet
    assert "Does not prove: who that is." in text_of(shop.visitor().get("/verify").text)


def set_phone(shop: Shop, number: str) -> None:
    with shop.database.write() as session:
        session.scalars(scoped(session, shop.people["owner"], ShopRow)).one().phone = number


def test_the_sheet_names_the_telephone_that_the_digits_are_compared_by(shop: Shop) -> None:
    keyed(shop)
    set_phone(shop, "")
    assert "Telephone" not in text_of(shop.visitor().get("/authority").text)
    set_phone(shop, PHONE)
    assert f"Telephone: {PHONE}" in text_of(shop.visitor().get("/authority").text)


def test_the_owner_renews_the_key(shop: Shop) -> None:
    before = keyed(shop)
    owner = shop.signed_in("owner")
    told = " ".join(text_of(owner.get("/shop/key").text).split())
    assert in_groups(before.sha256) in told
    assert "Renew it before its certificate ends, or as soon as somebody else may have it." in told
    assert "Nothing is lost: what was signed before can be checked as before." in told
    assert owner.post("/shop/key/renew", {"kind": "rsa-3072"}).status_code == 303
    renewed = signing_keys.authority(press_of(shop))
    assert renewed.sha256 == before.sha256
    assert renewed.signer_sha256 != before.signer_sha256
    owner.post("/shop/key/renew", {"kind": "ec-p256", "authority_too": "on"})
    page = text_of(owner.get("/shop/key").text)
    assert in_groups(before.sha256) in page, "among the earlier ones"
    owner.post("/shop/key-password", BOTH)
    wrong = owner.post("/shop/key/renew", {"kind": "ec-p256", "key_password": "not this"})
    assert wrong.status_code == 422
    assert '<a href="#key_password">' in wrong.text
    assert "not this" not in wrong.text


def test_the_owner_loads_the_shops_own_file(shop: Shop) -> None:
    owner = shop.signed_in("owner")
    chain = issued_to("Invented Workshop", (new_key(), new_key()), now=shop.clock["now"])
    file = {"key_file": ("own.p12", chain.file(), "application/x-pkcs12")}
    without = owner.post("/shop/key/own", {"file_password": OWN})
    assert without.status_code == 422
    assert '<a href="#key_file">' in without.text
    wrong = owner.post("/shop/key/own", {"file_password": "no"}, files=file)
    assert wrong.status_code == 422
    assert '<a href="#file_password">' in wrong.text
    assert owner.post("/shop/key/own", {"file_password": OWN}, files=file).status_code == 303
    assert "the issuer of the key vouches" in text_of(owner.get("/shop/key").text)


def test_the_owner_sets_who_stamps(shop: Shop) -> None:
    keyed(shop)
    owner = shop.signed_in("owner")
    sent = {"time_stamp_address": ADDRESS, "if_unreachable": "sign_without"}
    without = owner.post("/shop/key/time-stamps", sent)
    assert without.status_code == 422
    assert '<a href="#time_stamp_authority">' in without.text
    assert "choose the file" in text_of(without.text).lower()
    assert "ime_stamp_authority holds" not in text_of(without.text)
    no_root = {"time_stamp_authority": ("root.pem", b"no certificate", "text/plain")}
    wrong = owner.post("/shop/key/time-stamps", sent, files=no_root)
    assert wrong.status_code == 422
    assert "no certificate that is signed by itself" in text_of(wrong.text)
    assert "ime_stamp_authority" not in text_of(wrong.text)
    pem = made(shop.clock["now"]).pem.encode()
    root = {"time_stamp_authority": ("root.pem", pem, "text/plain")}
    assert owner.post("/shop/key/time-stamps", sent, files=root).status_code == 303
    page = owner.get("/shop/key").text
    assert f"Signatures are stamped by {ADDRESS}." in text_of(page)
    assert owner.post("/shop/key/time-stamps", {"time_stamp_address": ""}).status_code == 303
    assert "Signatures are not stamped." in text_of(owner.get("/shop/key").text)


@pytest.mark.parametrize("name", ["desk", "technician", "inspector"])
def test_it_is_the_owners_alone(shop: Shop, name: str) -> None:
    keyed(shop)
    visitor = shop.signed_in(name)
    assert visitor.get("/shop/key").status_code == 403
    for act in ("renew", "own", "time-stamps"):
        assert visitor.post(f"/shop/key/{act}", {}).status_code == 403
