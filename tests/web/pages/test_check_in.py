"""Checking a machine in, and finding it in today's list."""

import re
from html.parser import HTMLParser

import httpx
import pytest

from app.schemas.customer import CustomerIn
from app.services import customers
from tests.services.forms import FRAME_NUMBER, check_in_form
from tests.web.shop import Shop, new_job, text_of
from tests.web.test_failures import flat


def job_of(answer: httpx.Response) -> str:
    """Address of the job that a check-in has made."""
    assert answer.status_code == 303, answer.text
    found = re.match("/jobs/J-[0-9]+-[0-9]+", answer.headers["location"])
    assert found is not None
    return found[0]


def test_a_machine_is_checked_in_and_appears_in_the_list(shop: Shop) -> None:
    desk = shop.signed_in("desk")
    answer = desk.post("/check-in", flat(check_in_form()))
    assert answer.status_code == 303
    assert answer.headers["location"] == "/jobs/J-2026-0001/photos?arrival=yes"
    page = text_of(desk.get("/jobs/J-2026-0001").text)
    for shown in (FRAME_NUMBER, "Åse Invented", "Invented Mutual", "CL/2026-77", "AB-12 CD"):
        assert shown in page
    assert "fork bent" in page
    assert "left handlebar broken" in page
    assert "Ran into the back of a van." in page
    assert "J-2026-0001" in text_of(desk.get("/").text)


def test_an_odd_frame_number_is_taken_and_warned_about(shop: Shop) -> None:
    desk = shop.signed_in("desk")
    form = {**flat(check_in_form()), "machine.frame_number": "AB 123"}
    page = desk.get(job_of(desk.post("/check-in", form))).text
    assert 'class="notice warn"' in page
    assert "AB123" in page


def test_everything_that_is_wrong_is_told_at_once_beside_its_field(shop: Shop) -> None:
    form = {
        **flat(check_in_form()),
        "customer.name": "",
        "machine.year": "next year",
        "incident.clock_direction": "13",
        "incident.happened_on": "2026-13-01",
        "odometer_km": "-5",
    }
    answer = shop.signed_in("desk").post("/check-in", form)
    assert answer.status_code == 422
    assert "<title>Error:" in answer.text
    for field in (
        "customer.name", "machine.year", "incident.clock_direction", "incident.happened_on",
        "odometer_km",
    ):  # fmt: skip
        assert f'<a href="#{field}">' in answer.text
        assert f'id="{field}-wrong1"' in answer.text
        assert f'aria-describedby="{field}' in answer.text
    assert 'value="Fjordmark"' in answer.text


def test_what_is_wrong_is_told_by_the_labels_of_the_page(shop: Shop) -> None:
    form = {key: v for key, v in flat(check_in_form()).items() if not key.startswith("customer.")}
    desk = shop.signed_in("desk")
    text = text_of(desk.post("/check-in", {**form, "odometer_km": "many"}).text)
    assert "The customer's name is missing" in text
    assert "Odometer is “many”" in text
    assert "Name (needed)" in text


@pytest.mark.parametrize("typed", ["12 345", "12\N{THIN SPACE}345", "12345"])
def test_an_odometer_is_read_with_or_without_a_space_for_the_thousands(
    shop: Shop, typed: str
) -> None:
    desk = shop.signed_in("desk")
    answer = desk.post("/check-in", {**flat(check_in_form()), "odometer_km": typed})
    assert answer.status_code == 303
    assert "12345" in text_of(desk.get(job_of(answer)).text)


def test_a_group_left_empty_is_told_where_it_stands(shop: Shop) -> None:
    form = {key: v for key, v in flat(check_in_form()).items() if not key.startswith("machine.")}
    answer = shop.signed_in("desk").post("/check-in", form)
    assert answer.status_code == 422
    assert 'href="#machine' in answer.text


def test_a_known_machine_is_not_asked_for_again(shop: Shop) -> None:
    new_job(shop)
    desk = shop.signed_in("desk")
    found = desk.post("/check-in/look-up", {"machine.plate": "ab12cd"}).text
    assert 'name="take" value="1-1"' in found
    page = desk.post("/check-in/look-up", {"machine.plate": "ab12cd", "take": "1-1"}).text
    assert 'name="customer_id" value="1"' in page
    assert "machine.frame_number" not in page


def test_a_customer_id_that_is_not_on_record_is_not_found(shop: Shop) -> None:
    assert shop.signed_in("desk").get("/check-in?customer_id=99").status_code == 404


def test_the_list_is_searched_and_filtered_by_its_address(shop: Shop) -> None:
    number = new_job(shop)
    desk = shop.signed_in("desk")
    assert number in desk.get("/?q=skarv").text
    assert number in desk.get("/?q=ab12cd&role=technician").text
    assert number not in desk.get("/?role=inspector").text
    nothing = text_of(desk.get("/?q=nothing-of-the-kind").text)
    assert "No job fits this search" in nothing
    assert desk.get("/?role=nonsense").status_code == 200


def test_a_cancelled_job_takes_nothing_more(shop: Shop) -> None:
    number = new_job(shop)
    desk = shop.signed_in("desk")
    refused = desk.post(f"/jobs/{number}/cancel", {"reason": " "})
    assert refused.status_code == 422
    assert '<a href="#reason">' in refused.text
    whole = {"reason": "taken away", "still_here": "no"}
    assert desk.post(f"/jobs/{number}/cancel", whole).status_code == 303
    page = text_of(desk.get(f"/jobs/{number}").text)
    assert "Nothing is left to do" in page
    assert "taken away" in page
    again = desk.post(f"/jobs/{number}/hand-over", {"handed_over_to": "Åse"})
    assert again.status_code == 409
    assert desk.post(f"/jobs/{number}/reopen", {"reason": ""}).status_code == 422
    assert desk.post(f"/jobs/{number}/reopen", {"reason": "it came back"}).status_code == 303
    assert "Choose the reference" in text_of(desk.get(f"/jobs/{number}").text)


class Typed(HTMLParser):
    """Counts the fields of the check-in that are typed in and not folded away."""

    TYPED = ("text", "tel", "email", "search", "date", "password")

    def __init__(self, page: str) -> None:
        super().__init__()
        self.names: list[str] = []
        self._folds: list[bool] = []
        self._inside = False
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = dict(attrs)
        self._inside = self._inside or said.get("class") == "check-in"
        if tag == "details":
            self._folds.append("open" not in said)
        typed = tag == "textarea" or (tag == "input" and said.get("type", "text") in self.TYPED)
        if self._inside and typed and not any(self._folds):
            self.names.append(str(said["name"]))

    def handle_endtag(self, tag: str) -> None:
        if tag == "details":
            self._folds.pop()
        if tag == "main":
            self._inside = False


def test_a_new_customer_with_a_new_machine_takes_twelve_fields_at_most(shop: Shop) -> None:
    """Whatever the shop knows of insurers and places, which decides what is folded away."""
    desk = shop.signed_in("desk")
    names = Typed(desk.get("/check-in").text).names
    assert "customer.name" in names
    assert {"machine.frame_number", "machine.year"} <= set(names)
    assert len(names) <= 12
    new_job(shop)
    assert len(Typed(desk.get("/check-in").text).names) <= 12


def test_a_known_customer_with_a_known_machine_takes_three(shop: Shop) -> None:
    new_job(shop)
    page = shop.signed_in("desk").get("/check-in?customer_id=1&machine_id=1").text
    assert Typed(page).names == ["odometer_km", "incident.account", "claim.claim_number"]


def test_nothing_typed_is_lost_when_a_known_customer_is_taken(shop: Shop) -> None:
    new_job(shop)
    desk = shop.signed_in("desk")
    typed = {
        "customer.name": "Ase", "machine.make": "Fjordmark", "machine.plate": "ab12cd",
        "odometer_km": "20 001", "incident.account": "Fell over in the yard.",
        "incident.clock_direction": "3", "damage.tank.seen": "1", "damage.tank.look": "dented",
        "kept": "helmet", "order": "correct",
    }  # fmt: skip
    before = shop.digest()
    page = desk.post("/check-in/look-up", typed).text
    assert 'name="take" value="1-1"' in page
    taken = desk.post("/check-in/look-up", {**typed, "take": "1-1"}).text
    assert shop.digest() == before
    for page_with in (page, taken):
        assert 'value="20 001"' in page_with
        assert "Fell over in the yard." in page_with
        assert re.search(r'value="3" checked', page_with)
        assert re.search(r'id="seen-tank" name="damage.tank.seen" value="1" checked', page_with)
        assert re.search(r'value="helmet" checked', page_with)
        assert re.search(r'name="order" value="correct" checked', page_with)
    assert '<input type="hidden" name="customer.name" value="Ase">' in taken
    back = desk.post("/check-in/look-up", {**typed, "customer_id": "1", "take": "-"}).text
    assert 'name="customer.name" value="Ase"' in back
    assert 'name="customer_id"' not in back


def test_who_is_known_comes_as_a_piece_of_the_page(shop: Shop) -> None:
    new_job(shop)
    desk = shop.signed_in("desk")
    piece = desk.post("/check-in/known", {"customer.name": "ase"}).text
    assert "<html" not in piece
    assert "Åse Invented" in piece
    assert "here already, job J-2026-0001" in text_of(piece)
    assert desk.post("/check-in/known", {"customer.name": "nobody"}).text.strip() == ""


def test_that_piece_says_what_fits_beside_a_name_and_how_many_more(shop: Shop) -> None:
    with shop.database.write() as session:
        for n in range(7):
            form = CustomerIn(name=f"Nobody {n}", email=f"n{n}@quite.invalid")
            customers.create(session, shop.people["desk"], form, shop.clock["now"])
    desk = shop.signed_in("desk")
    piece = text_of(desk.post("/check-in/known", {"customer.name": "quite"}).text)
    assert "with another machine · the mail fits: n6@quite.invalid" in piece
    assert "2 more fit: type further letters." in piece
    page = desk.post("/check-in/look-up", {"customer.name": "nobody"}).text
    assert "2 more fit: type further letters." in text_of(page)
    assert "the mail fits" not in page


def test_a_name_in_that_piece_is_text_and_never_markup(shop: Shop) -> None:
    new_job(shop, customer={"name": "<b>Ase</b> & Co"})
    piece = shop.signed_in("desk").post("/check-in/known", {"customer.name": "ase"}).text
    assert "&lt;b&gt;Ase&lt;/b&gt; &amp; Co" in piece
    assert "<b>Ase</b>" not in piece


def test_a_machine_that_changed_hands_is_taken_without_its_old_owner(shop: Shop) -> None:
    number = new_job(shop)
    desk = shop.signed_in("desk")
    things = ["one key", "top case"]
    gone = {"handed_over_to": "Åse", "given_back": things}
    assert desk.post(f"/jobs/{number}/hand-over", gone).status_code == 303
    piece = desk.post("/check-in/known", {"machine.frame_number": FRAME_NUMBER}).text
    assert 'value="-1"' in piece
    page = desk.post("/check-in/look-up", {"customer.name": "Bo Invented", "take": "-1"}).text
    assert 'name="machine_id" value="1"' in page
    assert 'name="customer.name" value="Bo Invented"' in page
    sent = {"customer.name": "Bo Invented", "machine_id": "1"}
    there = job_of(desk.post("/check-in", sent))
    assert "Bo Invented" in text_of(desk.get(there).text)


@pytest.mark.parametrize("take", ["99-1", "1-99", "x-1", "1", "-", "--", "9" * 30 + "-"])
def test_a_take_that_nobody_offered_gives_no_crash(shop: Shop, take: str) -> None:
    new_job(shop)
    answer = shop.signed_in("desk").post("/check-in/look-up", {"take": take})
    assert answer.status_code in (200, 404)


def test_the_check_of_the_frame_number_is_explained_at_once(shop: Shop) -> None:
    desk = shop.signed_in("desk")
    sent = {"machine.frame_number": "11111111211111111"}
    piece = desk.post("/check-in/frame-number", sent).text
    assert "<html" not in piece
    assert "1 belongs there" in piece
    assert "1 belongs there" in desk.post("/check-in/look-up", sent).text


def test_choices_become_days_places_words_and_zones(shop: Shop) -> None:
    new_job(shop)
    desk = shop.signed_in("desk")
    form = {
        "customer.name": "Bo Invented", "machine.make": "Mosfell", "machine.model": "Lom",
        "machine.frame_number": "OTHER-1", "happened": "2026-03-01", "promised": "2026-03-09",
        "place": "bay 3", "kept": "helmet", "belongings": "a cover\na map", "order": "correct",
        "damage.fork.seen": "1", "damage.fork.side": "right", "damage.fork.look": "bent",
        "damage.tail.side": "", "damage.tail.look": "", "damage.seat.look": "torn_off",
        "rideable": "no",
    }  # fmt: skip
    answer = desk.post("/check-in", form)
    assert answer.status_code == 303, answer.text
    page = text_of(desk.get(job_of(answer)).text)
    for told in (
        "1 March 2026", "9 March 2026", "bay 3", "helmet; a cover; a map",
        "measure, report, and correct what may be corrected",
        "fork, right: bent", "seat: torn off",
    ):  # fmt: skip
        assert told in page


def test_what_is_typed_goes_before_what_is_chosen(shop: Shop) -> None:
    desk = shop.signed_in("desk")
    form = {
        **flat(check_in_form()), "happened": "2026-03-01", "place": "somewhere",
        "order": "correct",
    }  # fmt: skip
    page = text_of(desk.get(job_of(desk.post("/check-in", form))).text)
    for told in ("27 February 2026", "bay 3", "measure and report"):
        assert told in page
    assert "somewhere" not in page


@pytest.mark.parametrize("typed", ["12345", "12 345", "12\u202f345 km", "12345KM"])
def test_the_odometer_is_taken_as_one_writes_it(shop: Shop, typed: str) -> None:
    desk = shop.signed_in("desk")
    sent = {
        "customer.name": "Åse", "machine.make": "Fjordmark", "machine.model": "Skarv 700",
        "machine.frame_number": "ODO-1", "odometer_km": typed,
    }  # fmt: skip
    assert desk.post("/check-in", sent).status_code == 303
    assert "12345" in text_of(desk.get("/jobs/J-2026-0001").text)


def test_places_stand_in_the_order_of_counting_and_each_once(shop: Shop) -> None:
    for number, place in enumerate(("Bay 10", "bay 2", "Bay 1", "yard", "bay 10")):
        machine = {"make": "Fjordmark", "model": "Skarv 700", "frame_number": f"BAY-{number}"}
        new_job(shop, machine=machine, storage_place=place)
    page = shop.signed_in("desk").get("/check-in").text
    chosen = page[page.index('id="place"') :]
    offered = re.findall(r'<option value="([^"]+)"', chosen[: chosen.index("</select>")])
    assert offered == ["Bay 1", "bay 2", "bay 10", "yard"]
