"""What the desk is told when a machine goes with something still open."""

from app.records.scope import scoped
from app.records.tables import Event
from app.schemas.visual_check import VisualCheckIn
from app.services import drafts, jobs, visual_checks
from app.services.machines import MachineView
from app.wording.calls import reason
from app.wording.leaving import leaves_with, left_open
from tests.web.pages.test_claim import Claim, claim
from tests.web.shop import Shop, measured_job, new_job, ready_job, text_of

__all__ = ["claim"]


OTHER = {"make": "Fjordmark", "model": "Skarv 700", "frame_number": "ZZZTEST00A1000099"}


def test_a_machine_within_and_without_holds_leaves_without_a_word() -> None:
    assert leaves_with("within", 0) == ()


def test_what_is_open_is_named() -> None:
    told, road = leaves_with("undecided", 2)
    assert "undecided, 2 open holds" in told
    assert "licensed inspection" in road
    assert "not to be ridden before that is put right" in told


def test_what_is_not_known_is_not_said_to_be_put_right() -> None:
    unmeasured, _road = leaves_with(None, 0)
    assert unmeasured.startswith("Nothing was measured: how the chassis stands is not known.")
    held, nothing, _road = leaves_with(None, 1)
    assert "with this open: 1 open hold. Tell" in held
    assert nothing == unmeasured
    undecided, _road = leaves_with("undecided", 0)
    for told in (unmeasured, undecided):
        assert "put right" not in told


def machine_of(shop: Shop, number: str) -> MachineView:
    with shop.database.read() as session:
        return jobs.read(session, shop.people["desk"], number).machine


def test_the_form_of_handing_over_warns_of_a_finding_and_of_a_hold(shop: Shop) -> None:
    number = measured_job(shop)
    desk = shop.signed_in("desk")
    page = text_of(desk.get(f"/jobs/{number}/hand-over").text)
    assert "It leaves with this open: outside the tolerances." in page
    assert "Fjordmark Skarv 700 (2021) · " in page
    assert machine_of(shop, number).frame_number in page
    assert (machine_of(shop, number).plate or "no plate") in page
    seen = VisualCheckIn(item="frame_cracks", answer="seen", note="at the head")
    with shop.database.write() as session:
        visual_checks.answer(session, shop.people["technician"], number, [seen], shop.clock["now"])
    page = text_of(desk.get(f"/jobs/{number}/hand-over").text)
    assert "outside the tolerances, 1 open hold." in page
    assert "not to be ridden before that is put right" in page
    again = desk.post(f"/jobs/{number}/hand-over", {"handed_over_to": " "})
    assert again.status_code == 422
    assert "1 open hold" in text_of(again.text)
    for field in ("told", "kept_because", "handed_over_to"):
        assert f'<a href="#{field}">' in again.text, "all that is wrong is told at once"


def hold_at_the_head(shop: Shop, number: str) -> None:
    seen = VisualCheckIn(
        item="frame_cracks", answer="seen", place="steering head", note="12 mm long, left"
    )
    with shop.database.write() as session:
        visual_checks.answer(session, shop.people["technician"], number, [seen], shop.clock["now"])


def test_the_form_lists_what_is_held_and_what_is_to_be_given_back(shop: Shop) -> None:
    number = new_job(shop)
    hold_at_the_head(shop, number)
    desk = shop.signed_in("desk")
    page = desk.get(f"/jobs/{number}/hand-over").text
    assert 'name="handed_over_to" value="Åse Invented"' in page
    assert "To whom (needed)" in page
    text = text_of(page)
    assert "cracks in the frame" in text
    assert "steering head – 12 mm long, left" in text
    for thing in ("one key", "top case"):
        assert f'name="given_back" value="{thing}"' in page
    assert 'name="told"' in page

    sent: dict[str, object] = {"handed_over_to": "Åse Invented", "given_back": ["one key"]}
    refused = desk.post(f"/jobs/{number}/hand-over", sent)
    assert refused.status_code == 422
    assert '<a href="#kept_because">Not ticked as given back: “top case”;' in refused.text
    assert 'value="one key" checked' in refused.text
    assert 'value="top case" checked' not in refused.text
    sent["kept_because"] = "stays for the insurer"
    refused = desk.post(f"/jobs/{number}/hand-over", sent)
    assert '<a href="#told">' in refused.text
    sent["told"] = "yes"
    assert desk.post(f"/jobs/{number}/hand-over", sent).status_code == 303

    told = text_of(desk.get(f"/jobs/{number}").text)
    for part in (
        "to Åse Invented", "given back: one key", "not given back: top case",
        "stays for the insurer", "was told what is open",
    ):  # fmt: skip
        assert part in told
    with shop.database.read() as session:
        (event,) = session.scalars(
            scoped(session, shop.people["owner"], Event).where(Event.what == "job.handed_over")
        )
        assert '"told":true' in event.public
        assert "kept_here" in event.personal
        assert "top case" not in event.public


def test_the_receipt_tells_what_was_given_back_and_is_there_once_the_machine_has_left(
    shop: Shop,
) -> None:
    number = new_job(shop)
    hold_at_the_head(shop, number)
    desk = shop.signed_in("desk")
    place = f"/jobs/{number}/receipt"
    early = desk.get(place)
    assert early.status_code == 404
    assert f"The machine of job {number} was not handed over yet" in text_of(early.text)
    assert place not in desk.get(f"/jobs/{number}").text
    sent = {
        "handed_over_to": "Mina Invented", "given_back": ["one key"], "told": "yes",
        "kept_because": "stays for the insurer",
    }  # fmt: skip
    assert desk.post(f"/jobs/{number}/hand-over", sent).status_code == 303
    assert f'href="{place}">Receipt, to be printed and signed' in desk.get(f"/jobs/{number}").text
    told = " ".join(text_of(desk.get(place).text).split())
    for part in (
        f"Receipt: machine handed over {number}", "ZZZTEST00A1000017", "Customer Åse",
        "Handed over 2 March 2026", "To whom Mina Invented", "By Desk",
        "Given back the machine one key Not given back top case",
        "Why it stays here: stays for the insurer", "None is in force for this job.",
        "1 open hold. It is not to be ridden before that is put right.", "Signature",
    ):  # fmt: skip
        assert part in told, part
    assert place not in shop.signed_in("technician").get(f"/jobs/{number}").text
    desk.post(f"/jobs/{number}/reopen", {"reason": "brought back"})
    assert "To whom Mina Invented" in " ".join(text_of(desk.get(place).text).split())


def test_what_nothing_followed_of_the_check_in_is_told_as_it_leaves(shop: Shop) -> None:
    seen = ["frame bent", "front wheel dented", "fuel tank dented"]
    number = measured_job(shop, rideable="no", visible_damage=seen)
    spared = new_job(shop, rideable="yes", visible_damage=[], machine=OTHER)
    desk = shop.signed_in("desk")
    damaged = "Damaged when it came, no correction on record: "
    rideable = "It came in as not rideable."
    told = text_of(desk.get(f"/jobs/{number}/hand-over").text)
    assert f"{damaged}front wheel, fuel tank." in told, "the measurement speaks of the frame"
    assert rideable in told
    sent: dict[str, object] = {"handed_over_to": " ", "told": "yes"}
    assert rideable in text_of(desk.post(f"/jobs/{number}/hand-over", sent).text)
    sent |= {"handed_over_to": "Mina Invented", "given_back": ["one key", "top case"]}
    assert desk.post(f"/jobs/{number}/hand-over", sent).status_code == 303
    told = text_of(desk.get(f"/jobs/{number}/receipt").text)
    assert f"{damaged}front wheel, fuel tank." in told
    assert rideable in told
    told = text_of(desk.get(f"/jobs/{spared}/hand-over").text)
    assert damaged not in told
    assert rideable not in told


def test_the_receipt_names_the_certificate_in_force(claim: Claim) -> None:
    desk = claim.shop.signed_in("desk")
    sent = {"handed_over_to": "Mina", "given_back": ["one key", "top case"]}
    assert desk.post(f"/jobs/{claim.job}/hand-over", sent).status_code == 303
    told = text_of(desk.get(f"/jobs/{claim.job}/receipt").text)
    assert f"{claim.certificate} (completion certificate)" in told
    assert "Not given back" not in told
    assert "with this open" not in told


def test_where_nothing_was_left_and_nothing_is_open_a_name_is_enough(shop: Shop) -> None:
    number = new_job(shop, belongings=[])
    desk = shop.signed_in("desk")
    page = desk.get(f"/jobs/{number}/hand-over").text
    assert 'name="told"' not in page
    assert "Nothing was noted as left with it." in text_of(page)
    sent = {"handed_over_to": "Åse Invented"}
    assert desk.post(f"/jobs/{number}/hand-over", sent).status_code == 303


def test_a_cancelled_machine_is_handed_over_later(shop: Shop) -> None:
    number = new_job(shop, belongings=[])
    desk = shop.signed_in("desk")
    page = desk.get(f"/jobs/{number}/cancel").text
    assert 'name="still_here" value="yes" checked' in page
    for told in ("Åse Invented", "Fjordmark Skarv 700 (2021) · AB-12 CD"):
        assert told in text_of(page)
    desk.post(f"/jobs/{number}/cancel", {"reason": "sold", "still_here": "yes"})
    job = desk.get(f"/jobs/{number}").text
    assert "Cancelled on 2 March 2026" in text_of(job)
    assert f'class="go" href="/jobs/{number}/hand-over"' in job
    today = text_of(desk.get("/").text)
    assert number in today
    assert "cancelled" in today
    sent = {"handed_over_to": "Åse Invented"}
    assert desk.post(f"/jobs/{number}/hand-over", sent).status_code == 303
    gone = text_of(desk.get(f"/jobs/{number}").text)
    assert "Nothing is left to do" in gone
    assert "Given back on 2 March 2026, 09:00 to Åse Invented" in gone
    assert number not in desk.get("/").text


def test_an_unfinished_measurement_rests_while_the_job_is_cancelled(shop: Shop) -> None:
    number = ready_job(shop)
    with shop.database.write() as session:
        person = shop.people["technician"]
        drafts.open_draft(session, person, number, "before", shop.clock["now"])
    desk = shop.signed_in("desk")
    assert "Measurement in progress: before" in text_of(desk.get(f"/jobs/{number}").text)
    assert "Go on measuring before" in text_of(desk.get("/").text)
    desk.post(f"/jobs/{number}/cancel", {"reason": "sold", "still_here": "yes"})
    job, today = (text_of(desk.get(place).text) for place in (f"/jobs/{number}", "/"))
    assert "Measurement not finished: before" in job
    assert "Open the job again to go on with it" in job
    assert "Hand the machine over" in today
    inside = shop.signed_in("technician").get(f"/jobs/{number}/drafts/1").text
    assert "The job is closed: nothing is added" in inside
    assert 'class="go wide"' not in inside
    for page in (job, today):
        assert "in progress" not in page
        assert "Go on measuring" not in page


def test_a_cancelled_machine_that_has_left_already_is_not_waited_for(shop: Shop) -> None:
    number = new_job(shop)
    desk = shop.signed_in("desk")
    assert desk.post(f"/jobs/{number}/cancel", {"reason": "sold"}).status_code == 422
    desk.post(f"/jobs/{number}/cancel", {"reason": "sold", "still_here": "no"})
    assert number not in desk.get("/").text
    assert "Nothing is left to do" in text_of(desk.get(f"/jobs/{number}").text)


def test_a_job_opened_again_tells_how_it_was_closed(shop: Shop) -> None:
    number = new_job(shop, belongings=[])
    desk = shop.signed_in("desk")
    desk.post(f"/jobs/{number}/hand-over", {"handed_over_to": "Åse Invented"})
    shop.later(minutes=5)
    desk.post(f"/jobs/{number}/reopen", {"reason": "it squeaks"})
    page = text_of(desk.get(f"/jobs/{number}").text)
    assert "to Åse Invented" in page
    assert "Opened again" in page
    assert "it squeaks" in page


def test_the_call_that_it_can_be_fetched_says_what_it_leaves_with() -> None:
    assert reason("ready") == "the machine can be fetched"
    told = reason("ready", None, left_open("outside", 1))
    assert "leaves with this open: outside the tolerances, 1 open hold" in told
    assert "not to be ridden" in told
    assert left_open("within", 0) == ""
