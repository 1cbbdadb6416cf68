"""The inspector's side: the queue, what is read before signing, sending back and the answer."""

from datetime import date, timedelta

from app.records.scope import scoped
from app.records.tables import Job
from app.schemas.note import NoteIn
from app.schemas.visual_check import ITEMS, VisualCheckIn
from app.services import drafts, jobs, notes, sending_back, surveys, visual_checks
from tests.web.shop import Shop, measured_job, text_of

BOTH = ("before-head-bent.json", "after-corrected.json")
WHY = "Please measure the rear axle once more."


def machine(letter: str) -> dict[str, str]:
    return {"make": "Fjordmark", "model": "Skarv", "frame_number": f"ZZZTEST00{letter}1000017"}


def to_be_signed(shop: Shop, letter: str = "B", **changes: str) -> str:
    return measured_job(shop, BOTH, machine=machine(letter), **changes)


def send_back(shop: Shop, number: str) -> None:
    with shop.database.write() as session:
        inspector = shop.people["inspector"]
        sending_back.send_back(session, inspector, number, WHY, shop.clock["now"])


def promise(shop: Shop, number: str, day: date) -> None:
    """Promised for a day, whether or not it is past."""
    with shop.database.write() as session:
        rows = scoped(session, shop.people["owner"], Job).where(Job.number == number)
        session.scalars(rows).one().promised_on = day


def test_the_queue_has_the_overdue_first_and_says_what_can_be_signed(shop: Shop) -> None:
    first = to_be_signed(shop, "B")
    shop.clock["now"] += timedelta(days=2)
    late = to_be_signed(shop, "C")
    promise(shop, late, shop.clock["now"].date() - timedelta(days=1))
    page = shop.signed_in("inspector").get("/sign-off").text
    assert page.index(f"/jobs/{late}/sign-off") < page.index(f"/jobs/{first}/sign-off")
    assert "overdue by 1 day" in text_of(page)


def test_the_queue_is_in_the_main_menu_of_those_who_sign(shop: Shop) -> None:
    assert 'href="/sign-off"' in shop.signed_in("inspector").get("/").text
    assert 'href="/sign-off"' not in shop.signed_in("technician").get("/").text


def test_an_empty_queue_says_so(shop: Shop) -> None:
    assert "Nothing waits for a signature." in shop.signed_in("inspector").get("/sign-off").text


def test_what_was_sent_back_stands_below_the_queue(shop: Shop) -> None:
    number = to_be_signed(shop)
    send_back(shop, number)
    page = text_of(shop.signed_in("inspector").get("/sign-off").text)
    assert "Nothing waits for a signature." in page
    assert number in page.partition("Sent back, with the technician")[2]


def test_sending_back_by_the_form_tells_the_technician_everywhere(shop: Shop) -> None:
    number = to_be_signed(shop)
    inspector = shop.signed_in("inspector")
    assert f"/jobs/{number}/send-back" in inspector.get(f"/jobs/{number}/sign-off").text
    answer = inspector.post(f"/jobs/{number}/send-back", {"reason": WHY})
    assert (answer.status_code, answer.headers["location"]) == (303, f"/jobs/{number}")
    technician = shop.signed_in("technician")
    for place in (f"/jobs/{number}", f"/jobs/{number}/measure"):
        page = technician.get(place).text
        assert WHY in page
        assert f'href="/jobs/{number}/answer"' in page
    assert "sent back by the inspector" in text_of(technician.get("/").text)
    told = inspector.get(f"/jobs/{number}").text
    assert "Sent back to the technician" in told
    assert 'class="go"' not in told, "measuring again is for the technician"
    desk = shop.signed_in("desk").get(f"/jobs/{number}").text
    assert WHY in desk
    assert f"/jobs/{number}/answer" not in desk


def test_the_floor_says_why_it_was_sent_back_until_it_is_answered(shop: Shop) -> None:
    """Also on a page that is kept, because nothing else on it changed."""
    number, technician = to_be_signed(shop), shop.people["technician"]
    with shop.database.write() as session:
        opened = drafts.open_draft(session, technician, number, "after", shop.clock["now"])
    visitor, place = shop.signed_in("technician"), f"/jobs/{number}/drafts/{opened.id}"
    assert WHY not in visitor.get(place).text
    send_back(shop, number)
    assert WHY in visitor.get(place).text
    visitor.post(f"/jobs/{number}/answer", {"answer": "Done."})
    assert WHY not in visitor.get(place).text


def test_a_reason_is_needed(shop: Shop) -> None:
    number = to_be_signed(shop)
    answer = shop.signed_in("inspector").post(f"/jobs/{number}/send-back", {"reason": " "})
    assert answer.status_code == 422
    with shop.database.read() as session:
        assert jobs.read(session, shop.people["desk"], number).sent_back is None


def test_the_review_says_that_it_was_sent_back_and_cannot_be_signed(shop: Shop) -> None:
    number = to_be_signed(shop)
    send_back(shop, number)
    page = text_of(shop.signed_in("inspector").get(f"/jobs/{number}/sign-off").text)
    assert "Nothing can be signed before these are settled." in page
    assert WHY in page
    assert "Send it back to the technician" not in page


def test_an_answer_stands_in_the_review_and_clears_it(shop: Shop) -> None:
    number = to_be_signed(shop)
    send_back(shop, number)
    technician = shop.signed_in("technician")
    before = text_of(shop.signed_in("inspector").get(f"/jobs/{number}/sign-off").text)
    assert "what became of it is not on record here: fork; handlebar, levers, mirrors." in before
    assert "An answer that names the part stands on the certificate" in before
    assert WHY in technician.get(f"/jobs/{number}/answer").text
    answered = "Done twice; the handlebar is new."
    answer = technician.post(f"/jobs/{number}/answer", {"answer": answered})
    assert (answer.status_code, answer.headers["location"]) == (303, f"/jobs/{number}")
    told = technician.get(f"/jobs/{number}").text
    assert WHY not in told
    assert answered in told
    assert "It waits for the inspector" in told
    queue = text_of(shop.signed_in("inspector").get("/sign-off").text)
    assert "answered: Done twice; the handlebar is new." in queue
    page = text_of(shop.signed_in("inspector").get(f"/jobs/{number}/sign-off").text)
    assert page.rindex(answered) < page.index("Your password again"), "beside the signature too"
    said = page.partition("Said on this job")[2]
    assert said.index(WHY) < said.index(answered)
    assert "what became of it is not on record here: fork." in page
    assert "answered to the inspector: handlebar, levers, mirrors. Technician, " in page
    assert "Sign and issue" in page


def test_an_answer_that_nobody_waits_for_is_refused_on_the_form(shop: Shop) -> None:
    number = to_be_signed(shop)
    answer = shop.signed_in("technician").post(f"/jobs/{number}/answer", {"answer": "Why?"})
    assert answer.status_code == 409
    assert "waits for no answer" in text_of(answer.text)


def test_notes_are_read_and_added_where_one_signs(shop: Shop) -> None:
    number = to_be_signed(shop)
    with shop.database.write() as session:
        note = NoteIn(words="The left spar was hard to reach.")
        notes.add(session, shop.people["technician"], number, note, shop.clock["now"])
    inspector, page = shop.signed_in("inspector"), f"/jobs/{number}/sign-off"
    assert "The left spar was hard to reach." in inspector.get(page).text
    typed = {"kind": "report", "opinion": "Ride it again.", "reason": "", "password": "secret"}
    answer = inspector.post(page, {**typed, "words": "Seen; it is in order."})
    assert answer.status_code == 200
    assert "Seen; it is in order." in answer.text
    assert "Ride it again.</textarea>" in answer.text
    assert 'value="report" checked' in answer.text
    assert "secret" not in answer.text
    technician = shop.signed_in("technician").get(f"/jobs/{number}/notes").text
    assert "Seen; it is in order." in technician


def test_an_empty_note_is_refused_and_loses_nothing_that_was_typed(shop: Shop) -> None:
    number = to_be_signed(shop)
    page = f"/jobs/{number}/sign-off"
    sent = {"kind": "report", "opinion": "Ride it again.", "words": " "}
    answer = shop.signed_in("inspector").post(page, sent)
    assert answer.status_code == 422
    assert "Ride it again.</textarea>" in answer.text
    with shop.database.read() as session:
        assert notes.listing(session, shop.people["inspector"], number) == ()


def test_the_review_says_what_else_the_certificate_will_say(shop: Shop) -> None:
    number = to_be_signed(shop)
    page = text_of(shop.signed_in("inspector").get(f"/jobs/{number}/sign-off").text)
    assert "What was not measured or not checked" in page
    assert "In calibration when measured" in page


def test_the_review_has_the_drawing_and_the_numbers_of_what_would_be_signed(shop: Shop) -> None:
    number = to_be_signed(shop)
    page = shop.signed_in("inspector").get(f"/jobs/{number}/sign-off").text
    start = page.index('id="figures" open')
    figures = page[start : page.index('<div class="columns">', start)]
    assert "<svg" in figures
    told = text_of(figures)
    assert "Measurement 2, which would be certified" in told
    with shop.database.read() as session:
        result = surveys.read(session, shop.people["inspector"], number, 2).result
    required = [one for one in result["characteristics"] if one["required"]]
    others = [one for one in result["characteristics"] if not one["required"]]
    assert required
    assert figures.count('<th scope="row">') == len(required)
    for one in required:
        assert one["name"] in told
        assert one["sense"] in told
    assert not any(f'<th scope="row">{one["name"]}<' in figures for one in others)


def test_the_review_says_who_looked_when_and_at_how_much(shop: Shop) -> None:
    number, technician = to_be_signed(shop), shop.people["technician"]
    inspector, page = shop.signed_in("inspector"), f"/jobs/{number}/sign-off"
    told = text_of(inspector.get(page).text)
    assert f"{len(ITEMS)} looked at, nothing seen. Looked at by " in told
    answers = (
        {"item": "wheel_rims", "answer": "seen"},
        {"item": ITEMS[0], "answer": "not_checked"},
    )
    sent = [VisualCheckIn.model_validate(one) for one in answers]
    with shop.database.write() as session:
        visual_checks.answer(session, technician, number, sent, shop.clock["now"])
    told = text_of(inspector.get(page).text)
    assert f"1 of {len(ITEMS)} seen: dented or bent rims; 1 not looked at." in told


def test_signing_and_sending_back_lie_in_to_sign_and_lead_back_there(shop: Shop) -> None:
    number = to_be_signed(shop)
    inspector = shop.signed_in("inspector")
    for place in ("sign-off", "send-back"):
        page = inspector.get(f"/jobs/{number}/{place}").text
        assert '<a href="/sign-off" aria-current="page">' in page
        assert page.count('aria-current="page"') == 1
    page = inspector.get(f"/jobs/{number}/send-back").text
    assert f'<a href="/jobs/{number}/sign-off">Back</a>' in page
    job = inspector.get(f"/jobs/{number}").text
    assert '<a href="/" aria-current="page">' in job


def test_open_holds_are_listed_for_who_closes_them(shop: Shop) -> None:
    number = to_be_signed(shop)
    now = shop.clock["now"]
    inspector = shop.signed_in("inspector")
    assert "Open holds" not in text_of(inspector.get("/sign-off").text)
    crack = VisualCheckIn(item="frame_cracks", answer="seen", note="at the head")
    with shop.database.write() as session:
        visual_checks.answer(session, shop.people["technician"], number, [crack], now)
        (hold,) = visual_checks.holds(session, shop.people["technician"], number)
    for page in ("/", "/sign-off"):
        told = inspector.get(page).text
        assert f'href="/jobs/{number}/holds/{hold.id}/close"' in told
        assert "cracks in the frame: at the head" in text_of(told)
    assert "Open holds" not in text_of(shop.signed_in("technician").get("/").text)
    with shop.database.write() as session:
        visual_checks.close_hold(session, shop.people["inspector"], number, hold.id, "paint", now)
    assert "Open holds" not in text_of(inspector.get("/").text)


def test_who_puts_a_wrong_plate_right_is_told_before_it_is_signed(shop: Shop) -> None:
    number = to_be_signed(shop)
    page = shop.signed_in("inspector").get(f"/jobs/{number}/sign-off").text
    assert "Is the plate or the frame number wrong?" in text_of(page)
    assert "the desk or the owner does it" in text_of(page)
    assert f'href="/jobs/{number}/machine"' not in page
