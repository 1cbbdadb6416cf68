"""A key that may be stolen, and the signed register, through their pages."""

import io
import zipfile

import pytest

from app.signing.authority import FOLDER, found_authority
from app.signing.trust import fingerprint_of, signers
from tests.services.staff import PASSWORD
from tests.web.pages.test_claim import Claim, claim
from tests.web.shop import Shop, state_of, text_of

__all__ = ["claim"]


TOLD = (
    "Not in force: its signature is trusted no more (key that may be stolen). Ask the shop for a "
    "new one."
)


def signer_of(shop: Shop) -> str:
    """Fingerprint of the key that signs."""
    return fingerprint_of(signers(state_of(shop).press.data_dir / FOLDER)[-1])


def stolen(shop: Shop, **change: str) -> dict[str, str]:
    """The form that marks the key that signs now."""
    form = {"signer": signer_of(shop), "since": "2026-03-02T00:00", "reason": "burglary"}
    return {**form, "password": PASSWORD, **change}


def test_the_owner_marks_a_key_by_the_shops_clock(claim: Claim) -> None:
    shop = claim.shop
    old = shop.signed_in("desk").get(f"/certificates/{claim.certificate}/pdf").content
    boss = shop.signed_in("boss")
    assert 'href="/shop/key/distrust"' in boss.get("/shop/key").text
    form = stolen(shop)
    assert boss.post("/shop/key/distrust", form).status_code == 303
    page = text_of(boss.get("/shop/key/distrust").text)
    assert "Not trusted from 2 March 2026, 00:00 on: burglary" in page
    assert f"To be issued anew: {claim.certificate}" in " ".join(page.split())
    files = {"document": ("c.pdf", old, "application/pdf")}
    said = text_of(shop.visitor().post("/verify", {}, files).text)
    assert "the shop has marked the key that signed this file" in said
    assert "Ask the shop for a new one in its place." in said
    assert "In force" not in said
    assert TOLD in said


def test_every_place_says_at_once_that_the_signature_is_trusted_no_more(claim: Claim) -> None:
    shop, number = claim.shop, claim.certificate
    inspector = shop.signed_in("inspector")
    assert "issued anew" not in inspector.get("/sign-off").text + inspector.get("/").text
    boss = shop.signed_in("boss")
    form = stolen(shop)
    assert boss.post("/shop/key/distrust", form).status_code == 303
    with zipfile.ZipFile(io.BytesIO(claim.get(f"/{number}/bundle").content)) as opened:
        how = opened.read("how-to-check.txt").decode()
    for said in (
        text_of(shop.visitor().get(f"/verify/{number}").text),
        claim.page(),
        text_of(inspector.get(f"/certificates/{number}").text),
        how,
    ):
        assert TOLD in " ".join(said.split())
        assert "n force: the register" not in said
    assert "signature trusted no more" in text_of(inspector.get("/certificates").text)
    for role, page in (("inspector", "/sign-off"), ("inspector", "/"), ("boss", "/")):
        shown = shop.signed_in(role).get(page).text
        assert "1 certificate to be issued anew" in text_of(shown)
        assert f'href="/certificates/{number}"' in shown
    assert "issued anew" not in shop.signed_in("desk").get("/").text


def test_what_was_issued_before_stands_by_the_shops_own_copy(claim: Claim) -> None:
    shop = claim.shop
    old = shop.signed_in("desk").get(f"/certificates/{claim.certificate}/pdf").content
    shop.later(days=1)
    since = f"{shop.clock['now']:%Y-%m-%dT%H:%M}"
    form = stolen(shop, since=since)
    assert shop.signed_in("boss").post("/shop/key/distrust", form).status_code == 303
    files = {"document": ("c.pdf", old, "application/pdf")}
    said = text_of(shop.visitor().post("/verify", {}, files).text)
    assert "as issued before the key was not to be trusted any more" in said
    assert "In force" in said


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"since": ""}, "since"),
        ({"since": "yesterday"}, "since"),
        ({"since": "2027-01-01T00:00"}, "since"),
        ({"reason": " "}, "reason"),
        ({"signer": "ff"}, "signer"),
        ({"signer": ""}, "signer"),
        ({"password": "not this one"}, "password"),
        ({"password": ""}, "password"),
    ],
)
def test_what_is_not_filled_in_right_is_said_beside_its_field(
    shop: Shop, change: dict[str, str], said: str
) -> None:
    found_authority(state_of(shop).press.data_dir, "Workshop", shop.clock["now"])
    form = stolen(shop, **change)
    boss = shop.signed_in("boss")
    answer = boss.post("/shop/key/distrust", form)
    assert answer.status_code in (404, 422)
    assert f'href="#{said}"' in answer.text
    assert "Not trusted from" not in boss.get("/shop/key/distrust").text


def test_no_key_is_chosen_before_somebody_chooses_it(claim: Claim) -> None:
    page = claim.shop.signed_in("boss").get("/shop/key/distrust").text
    assert f'value="{signer_of(claim.shop)}"' in page
    assert " checked" not in page


def test_the_register_is_signed_and_downloaded(claim: Claim) -> None:
    inspector = claim.shop.signed_in("inspector")
    assert 'href="/register/export"' in inspector.get("/certificates").text
    page = " ".join(text_of(inspector.get("/register/export").text).split())
    assert "openssl cms -verify -binary" in page
    answer = inspector.post("/register/export")
    assert answer.headers["content-type"] == "application/zip"
    with zipfile.ZipFile(io.BytesIO(answer.content)) as opened:
        assert claim.certificate.encode() in opened.read("register.json")
    desk = claim.shop.signed_in("desk")
    assert 'href="/register/export"' not in desk.get("/certificates").text


def test_before_the_first_certificate_there_is_nothing_to_sign_with(shop: Shop) -> None:
    boss = shop.signed_in("boss")
    assert "There is nothing to sign with yet" in text_of(boss.get("/register/export").text)
    assert boss.post("/register/export").status_code == 503
    assert "None yet" in text_of(boss.get("/shop/key/distrust").text)
