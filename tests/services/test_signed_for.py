"""A signature stands under what was signed; what the check-in says since is told beside it."""

from typing import Any

import pytest

from app.schemas.reading import checked
from app.schemas.shop import ShopIn
from app.schemas.signature import SignatureIn
from app.services import (
    check_in,
    check_in_changes,
    customers,
    jobs,
    machine_changes,
    shop,
    signatures,
    signed_for,
    today,
)
from app.services.signed_for import Change
from tests.services.forms import check_in_form
from tests.services.workshop import OPENING, Workshop

STROKES = [[[100, 200], [300, 100], [500, 200]]]


@pytest.fixture
def number(workshop: Workshop) -> str:
    form = check_in_form(authorised_by="")
    return workshop.do(check_in.check_in, "desk", form).job_number


def sign(workshop: Workshop, number: str, purpose: str = "authorisation") -> None:
    job = workshop.see(jobs.read, "desk", number)
    texts = workshop.see(signed_for.texts_of, "desk", job)
    sent = {"purpose": purpose, "name": "Åse Invented", "strokes": STROKES}
    sent |= {"wording": texts.of(purpose), "left": texts.left_in_lines}
    workshop.do(signatures.sign, "desk", number, checked(SignatureIn, sent))


def change_check_in(workshop: Workshop, number: str, **changes: Any) -> None:
    job = workshop.see(jobs.read, "desk", number)
    form = check_in_form(**changes)
    kept = ("claim", "incident", "rideable", "odometer_km", "visible_damage", "belongings",
            "storage_place")  # fmt: skip
    sent = {name: form[name] for name in kept} | {
        "claim": {"insurer_id": job.claim.insurer_id, "claim_number": "CL/2026-77"},
        "customer": form["customer"],
        "machine": {"plate": "AB-12 CD", "colour": "grey"},
        "version": job.check_in_version,
    }
    workshop.do(check_in_changes.change, "desk", number, sent)


def put_right(workshop: Workshop, number: str, **changes: str) -> None:
    version = workshop.see(jobs.read, "desk", number).check_in_version
    machine = check_in_form()["machine"]
    sent = {name: machine[name] for name in ("make", "model", "year", "frame_number", "plate")}
    sent |= {"version": version, "reason": "misread", **changes}
    workshop.do(machine_changes.change, "desk", number, sent)


def since(workshop: Workshop, number: str, purpose: str = "authorisation") -> tuple[Change, ...]:
    job = workshop.see(jobs.read, "desk", number)
    texts = workshop.see(signed_for.texts_of, "desk", job)
    return signed_for.changes(workshop.see(signatures.standing, "desk", number)[purpose], texts)


def listed(workshop: Workshop) -> list[bool]:
    found = workshop.see(today.today, "technician", OPENING.date())
    return [line.to_sign_anew for line in found.lines]


def test_nothing_is_told_while_all_stands_as_it_was_signed(workshop: Workshop, number: str) -> None:
    assert listed(workshop) == [False]
    sign(workshop, number)
    assert since(workshop, number) == ()
    assert listed(workshop) == [False]
    assert workshop.see(signed_for.is_changed, "technician", number) is False


def test_what_was_changed_after_signing_is_told_with_what_was_signed(
    workshop: Workshop, number: str
) -> None:
    sign(workshop, number)
    put_right(workshop, number, frame_number="zzz test-00A1000099")
    change_check_in(workshop, number, belongings=["one key", "top case", "helmet"])

    assert since(workshop, number) == (
        Change("Frame number", "ZZZTEST00A1000017", "ZZZTEST00A1000099"),
        Change("Left with the machine", "one key; top case", "one key; top case; helmet"),
    )
    assert listed(workshop) == [True]
    assert workshop.see(signed_for.is_changed, "technician", number) is True
    (kept,) = workshop.see(signatures.listing, "desk", number)
    assert "ZZZTEST00A1000017" in (kept.wording or "")
    assert "Left with the machine: one key; top case" in (kept.left or "").split("\n")


def test_what_is_not_in_the_signed_text_changes_nothing_of_it(
    workshop: Workshop, number: str
) -> None:
    sign(workshop, number)
    change_check_in(workshop, number, storage_place="bay 9")
    assert since(workshop, number) == ()
    assert listed(workshop) == [False]


def test_a_new_signature_settles_it_and_the_earlier_one_is_kept(
    workshop: Workshop, number: str
) -> None:
    sign(workshop, number)
    put_right(workshop, number, plate="XY-9")
    assert [one.label for one in since(workshop, number)] == ["Plate"]
    sign(workshop, number)
    assert since(workshop, number) == ()
    assert listed(workshop) == [False]
    earlier, newest = workshop.see(signatures.listing, "desk", number)
    assert "Plate: AB-12 CD" in (earlier.left or "")
    assert "Plate: XY-9" in (newest.left or "")


def test_a_notice_that_the_shop_wrote_anew_is_told_for_the_notice_alone(
    workshop: Workshop, number: str
) -> None:
    sign(workshop, number)
    sign(workshop, number, "privacy")
    kept = workshop.see(shop.read, "owner")
    sent = {"name": kept.name, "confidence_threshold": 0.95, "claim_link_days": 30}
    workshop.do(shop.change, "owner", checked(ShopIn, {**sent, "privacy_notice": "Ask us."}))
    (told,) = since(workshop, number, "privacy")
    assert (told.label, told.after) == ("Notice on personal data", "Ask us.")
    assert since(workshop, number) == ()


def test_where_what_was_left_was_not_kept_the_text_of_the_order_is_compared(
    workshop: Workshop, number: str
) -> None:
    job = workshop.see(jobs.read, "desk", number)
    wording = workshop.see(signed_for.texts_of, "desk", job).authorisation
    sent = {"purpose": "authorisation", "name": "Åse", "strokes": STROKES, "wording": wording}
    workshop.do(signatures.sign, "desk", number, checked(SignatureIn, sent))
    assert since(workshop, number) == ()
    put_right(workshop, number, model="Skarv 900")
    (told,) = since(workshop, number)
    assert (told.label, told.before) == ("Order", wording)
    assert "Skarv 900" in told.after


def test_what_was_left_goes_when_the_customer_is_erased(workshop: Workshop, number: str) -> None:
    sign(workshop, number)
    job = workshop.see(jobs.read, "desk", number)
    workshop.do(customers.erase, "owner", job.customer.id, "she asked for it")
    (kept,) = workshop.see(signatures.listing, "desk", number)
    assert kept.left is None
