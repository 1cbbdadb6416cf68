"""Visual checks: answers are added, seen damage opens a hold, only an inspector closes it."""

import pytest

from app.errors import BadInput, Conflict, NotAllowed, NotFound
from app.records.permanence import PermanentRecord
from app.records.tables import Hold, VisualCheckItem
from app.schemas.visual_check import HOLD_ITEMS, ITEMS, VisualCheckIn
from app.services import check_in, jobs, visual_checks
from tests.services.forms import check_in_form
from tests.services.workshop import Workshop


def checks(answer: str, *items: str, note: str | None = None) -> list[VisualCheckIn]:
    return [
        VisualCheckIn.model_validate({"item": item, "answer": answer, "note": note})
        for item in items
    ]


@pytest.fixture
def number(workshop: Workshop) -> str:
    return workshop.do(check_in.check_in, "desk", check_in_form()).job_number


def test_before_anybody_looked_nothing_is_checked(workshop: Workshop, number: str) -> None:
    found = workshop.see(visual_checks.listing, "desk", number)

    assert [one.item for one in found] == list(ITEMS)
    assert {(one.answer, one.checked_at) for one in found} == {("not_checked", None)}


def test_the_latest_answer_stands_and_earlier_ones_are_kept(
    workshop: Workshop, number: str
) -> None:
    workshop.do(visual_checks.answer, "technician", number, checks("seen", "wheel_rims"))
    workshop.do(
        visual_checks.answer, "inspector", number, checks("not_seen", "wheel_rims", note="cleaned")
    )

    (found,) = [
        one
        for one in workshop.see(visual_checks.listing, "desk", number)
        if one.item == "wheel_rims"
    ]
    assert (found.answer, found.note, found.checked_by) == ("not_seen", "cleaned", "Ines")
    assert workshop.counts()["visual_check_item"] == 2


def test_the_same_answer_again_adds_nothing(workshop: Workshop, number: str) -> None:
    for _ in range(2):
        workshop.do(visual_checks.answer, "technician", number, checks("not_seen", *ITEMS))

    assert workshop.counts()["visual_check_item"] == len(ITEMS)
    assert workshop.counts()["hold"] == 0


@pytest.mark.parametrize("item", ITEMS)
def test_damage_that_means_replacement_opens_a_hold(
    workshop: Workshop, number: str, item: str
) -> None:
    held = workshop.do(
        visual_checks.answer, "technician", number, checks("seen", item, note="2 cm")
    )

    assert [one.item for one in held] == ([item] if item in HOLD_ITEMS else [])
    assert [one.note for one in held] == ["2 cm"] * len(held)


@pytest.mark.parametrize("answer", ["not_seen", "not_checked"])
def test_no_other_answer_opens_a_hold(workshop: Workshop, number: str, answer: str) -> None:
    assert workshop.do(visual_checks.answer, "technician", number, checks(answer, *ITEMS)) == ()


def test_a_hold_stays_open_whatever_is_answered_later(workshop: Workshop, number: str) -> None:
    workshop.do(visual_checks.answer, "technician", number, checks("seen", "frame_cracks"))
    again = checks("seen", "frame_cracks", note="longer than thought")
    workshop.do(visual_checks.answer, "technician", number, again)
    workshop.do(visual_checks.answer, "technician", number, checks("not_seen", "frame_cracks"))

    (hold,) = workshop.see(visual_checks.holds, "desk", number)
    assert (hold.item, hold.opened_by, hold.closed_at) == ("frame_cracks", "Tove", None)


def test_an_inspector_closes_a_hold_with_a_reason(workshop: Workshop, number: str) -> None:
    workshop.do(
        visual_checks.answer, "technician", number, checks("seen", "frame_welds", "arm_cracks")
    )
    first, second = workshop.see(visual_checks.holds, "desk", number)

    closed = workshop.do(visual_checks.close_hold, "inspector", number, first.id, "arm replaced")

    assert (closed.closed_by, closed.closed_reason) == ("Ines", "arm replaced")
    assert closed.closed_at == workshop.now
    assert workshop.see(visual_checks.holds, "desk", number) == (second, closed)


def test_damage_seen_anew_opens_a_new_hold(workshop: Workshop, number: str) -> None:
    (hold,) = workshop.do(
        visual_checks.answer, "technician", number, checks("seen", "frame_cracks")
    )
    workshop.do(visual_checks.close_hold, "inspector", number, hold.id, "dye test: a scratch")

    unchanged = checks("seen", "frame_cracks")
    assert workshop.do(visual_checks.answer, "technician", number, unchanged) == ()
    anew = checks("seen", "frame_cracks", note="on the left too")
    (second,) = workshop.do(visual_checks.answer, "technician", number, anew)
    assert second.id != hold.id


def test_answers_and_closed_holds_are_permanent(workshop: Workshop, number: str) -> None:
    (hold,) = workshop.do(
        visual_checks.answer, "technician", number, checks("seen", "frame_cracks")
    )
    workshop.do(visual_checks.close_hold, "inspector", number, hold.id, "dye test")

    with pytest.raises(PermanentRecord):
        workshop.tamper(Hold, hold.id, closed_at=None)
    with pytest.raises(PermanentRecord):
        workshop.tamper(VisualCheckItem, 1, state="not_seen")


def test_refusals(workshop: Workshop, number: str) -> None:
    (hold,) = workshop.do(
        visual_checks.answer, "technician", number, checks("seen", "frame_cracks")
    )
    other = check_in_form(machine={"make": "A", "model": "B", "frame_number": "OTHER-1"})
    second = workshop.do(check_in.check_in, "desk", other).job_number

    for role in ("desk", "technician", "owner"):
        with pytest.raises(NotAllowed):
            workshop.do(visual_checks.close_hold, role, number, hold.id, "why not")
    with pytest.raises(NotAllowed):
        workshop.do(visual_checks.answer, "desk", number, checks("seen", "wheel_rims"))
    with pytest.raises(BadInput):
        workshop.do(visual_checks.close_hold, "inspector", number, hold.id, " ")
    for job, unknown in ((number, hold.id + 1), (second, hold.id)):
        with pytest.raises(NotFound, match="no_such_hold"):
            workshop.do(visual_checks.close_hold, "inspector", job, unknown, "reason")
    with pytest.raises(NotFound, match="no_such_job"):
        workshop.do(visual_checks.answer, "technician", "J-2026-0099", [])

    workshop.do(visual_checks.close_hold, "inspector", number, hold.id, "dye test")
    with pytest.raises(Conflict, match="hold_closed"):
        workshop.do(visual_checks.close_hold, "inspector", number, hold.id, "again")
    workshop.do(jobs.cancel, "desk", number, "gone")
    with pytest.raises(Conflict, match="job_closed"):
        workshop.do(visual_checks.answer, "technician", number, checks("seen", "wheel_rims"))
