"""What the desk is told when a machine goes with something still open."""

from app.schemas.visual_check import VisualCheckIn
from app.services import visual_checks
from app.wording.calls import reason
from app.wording.leaving import leaves_with, left_open
from tests.web.shop import Shop, measured_job, text_of


def test_a_machine_within_and_without_holds_leaves_without_a_word() -> None:
    assert leaves_with("within", 0) == ()


def test_what_is_open_is_named() -> None:
    told, road = leaves_with("undecided", 2)
    assert "undecided, 2 open holds" in told
    assert "licensed inspection" in road
    assert "nothing measured" in leaves_with(None, 0)[0]


def test_the_form_of_handing_over_warns_of_a_finding_and_of_a_hold(shop: Shop) -> None:
    number = measured_job(shop)
    desk = shop.signed_in("desk")
    page = text_of(desk.get(f"/jobs/{number}/hand-over").text)
    assert "It leaves with this open: outside the tolerances." in page
    seen = VisualCheckIn(item="frame_cracks", answer="seen", note="at the head")
    with shop.database.write() as session:
        visual_checks.answer(session, shop.people["technician"], number, [seen], shop.clock["now"])
    page = text_of(desk.get(f"/jobs/{number}/hand-over").text)
    assert "outside the tolerances, 1 open hold." in page
    assert "not to be ridden before it is put right" in page
    again = desk.post(f"/jobs/{number}/hand-over", {"handed_over_to": " "})
    assert again.status_code == 422
    assert "1 open hold" in text_of(again.text)


def test_the_call_that_it_can_be_fetched_says_what_it_leaves_with() -> None:
    assert reason("ready") == "the machine can be fetched"
    told = reason("ready", None, left_open("outside", 1))
    assert "leaves with this open: outside the tolerances, 1 open hold" in told
    assert "not to be ridden" in told
    assert left_open("within", 0) == ""
