"""An order that nobody signed yet reads as that everywhere, whatever it is to be for."""

from app.wording import orders
from tests.web.shop import Shop, measured_job, new_job, text_of

CORRECT = orders.scope("correct")


def read(shop: Shop, number: str, place: str = "") -> str:
    """What a technician reads."""
    page = shop.signed_in("technician").get(f"/jobs/{number}{place}").text
    return words_of(page)


def words_of(page: str) -> str:
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


def test_which_of_order_and_notice_is_signed_is_told(shop: Shop) -> None:
    number = new_job(shop, authorised_by="", privacy_notice_given="")
    desk, strokes = shop.signed_in("desk"), "[[[1,1],[900,300],[400,40]]]"
    unsigned = "not signed yet, to be signed here:"
    assert words_of(desk.get(f"/jobs/{number}/card").text).count(unsigned) == 2
    sent = {"purpose": "authorisation", "name": "Åse", "strokes": strokes, "how": "screen"}
    way = {**sent, "arrival": "yes"}
    photos = desk.post(f"/jobs/{number}/order", way).headers["location"]
    assert "The notice on personal data is not signed yet." in words_of(desk.get(photos).text)
    job = words_of(desk.get(f"/jobs/{number}").text)
    assert "Notice on personal data : not signed yet" in job
    assert "signed by Åse on the screen" in job
    assert words_of(desk.get(f"/jobs/{number}/card").text).count(unsigned) == 1
    desk.post(f"/jobs/{number}/order", {**sent, "purpose": "privacy"})
    job = words_of(desk.get(f"/jobs/{number}").text)
    assert "Notice on personal data signed by Åse on the screen" in job
    assert "not signed yet" not in job
    assert unsigned not in words_of(desk.get(f"/jobs/{number}/card").text)
