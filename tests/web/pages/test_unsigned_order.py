"""An order that nobody signed yet reads as that everywhere, whatever it is to be for."""

from app.wording import orders
from tests.web.shop import Shop, measured_job, text_of

CORRECT = orders.scope("correct")


def read(shop: Shop, number: str, place: str = "") -> str:
    """What a technician reads."""
    page = shop.signed_in("technician").get(f"/jobs/{number}{place}").text
    return " ".join(text_of(page).split())


def test_the_job_says_who_still_has_to_get_it_signed(shop: Shop) -> None:
    number = measured_job(shop, authorised_by="", authorised_scope=CORRECT)
    said = read(shop, number)
    assert f"{CORRECT} · not signed yet: the desk still has to get it signed" in said
    assert "the order is not signed yet: the desk still has to get it signed before" in said


def test_a_correction_that_is_to_be_ordered_is_not_called_unordered(shop: Shop) -> None:
    number = measured_job(shop, authorised_by="", authorised_scope=CORRECT)
    said = read(shop, number, "/correction")
    assert f"To be ordered is: {CORRECT}. The customer has not signed for it yet" in said
    assert "o correction is ordered" not in said
    refused = shop.signed_in("technician").post(f"/jobs/{number}/correction", {"text": "pulled"})
    assert refused.status_code == 422
    assert "No order that the customer has given names this correction" in text_of(refused.text)


def test_measuring_alone_unsigned_is_still_no_order_to_correct(shop: Shop) -> None:
    number = measured_job(shop, authorised_by="", authorised_scope=orders.scope("measure"))
    assert "no correction is ordered" in read(shop, number, "/correction")
