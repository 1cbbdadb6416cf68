"""Visual checks: answers are added, seen damage opens a hold, only an inspector closes it."""

from datetime import timedelta

import pytest

from app.errors import BadInput, Conflict, NotAllowed, NotFound
from app.records.permanence import PermanentRecord
from app.records.tables import Hold, VisualCheckItem
from app.schemas.visual_check import HOLD_ITEMS, ITEMS, VisualCheckIn
from app.services import check_in, jobs, second_looks, visual_checks
from app.services.certificate_disagreements import looked_at_before_correction
from app.services.visual_check_views import VisualCheckView
from tests.services.forms import check_in_form
from tests.services.workshop import Workshop


def checks(
    answer: str, *items: str, note: str | None = None, since: str | None = None, words: str = ""
) -> list[VisualCheckIn]:
    told = {"since_seen": since, "since_words": words}
    return [
        VisualCheckIn.model_validate({"item": item, "answer": answer, "note": note, **told})
        for item in items
    ]


SOUND = {"since": "no_damage", "words": "dirt, wiped off"}


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
    otherwise = checks("not_seen", "wheel_rims", note="cleaned", **SOUND)
    workshop.do(visual_checks.answer, "inspector", number, otherwise)

    found = answer_to(workshop, number, "wheel_rims")
    assert (found.answer, found.note, found.checked_by) == ("not_seen", "cleaned", "Ines")
    assert workshop.counts()["visual_check_item"] == 2


def answer_to(workshop: Workshop, number: str, item: str) -> VisualCheckView:
    """The answer that stands."""
    found = workshop.see(visual_checks.listing, "desk", number)
    return next(one for one in found if one.item == item)


@pytest.mark.parametrize("answer", ["not_seen", "not_checked"])
def test_what_was_seen_is_answered_otherwise_only_with_what_was_done(
    workshop: Workshop, number: str, answer: str
) -> None:
    workshop.do(visual_checks.answer, "technician", number, checks("seen", "wheel_cracks"))

    for given, where in (({}, "since_seen"), ({"since": "replaced"}, "since_words")):
        with pytest.raises(BadInput) as refused:
            workshop.do(
                visual_checks.answer, "technician", number, checks(answer, "wheel_cracks", **given)
            )
        (problem,) = refused.value.problems
        assert (problem.code, problem.field) == ("seen_before", where)
    assert answer_to(workshop, number, "wheel_cracks").answer == "seen"


def test_what_was_seen_is_told_ever_after_with_what_was_done(
    workshop: Workshop, number: str
) -> None:
    seen = checks("seen", "wheel_cracks", note="at a spoke")
    workshop.do(visual_checks.answer, "technician", number, seen)
    new = checks("not_seen", "wheel_cracks", since="replaced", words="new front wheel")
    workshop.do(visual_checks.answer, "inspector", number, new)
    workshop.do(visual_checks.answer, "technician", number, checks("not_checked", "wheel_cracks"))

    found = answer_to(workshop, number, "wheel_cracks")
    assert (found.answer, found.since_seen) == ("not_checked", None)
    before = found.seen_before
    assert before is not None
    assert (before.note, before.by, before.since_by) == ("at a spoke", "Tove", "Ines")
    assert (before.since_seen, before.since_words) == ("replaced", "new front wheel")


def test_what_is_still_seen_was_not_replaced(workshop: Workshop, number: str) -> None:
    both = checks("seen", "wheel_cracks", note="there", since="replaced", words="new wheel")
    with pytest.raises(BadInput) as refused:
        workshop.do(visual_checks.answer, "technician", number, both)
    assert refused.value.problems[0].code == "seen_all_the_same"


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
    otherwise = checks("not_seen", "frame_cracks", since="repaired", words="painted over")
    workshop.do(visual_checks.answer, "technician", number, otherwise)

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


def test_a_second_look_counts_from_then_on_with_its_person(workshop: Workshop, number: str) -> None:
    workshop.do(visual_checks.answer, "technician", number, checks("seen", "frame_cracks"))
    workshop.do(visual_checks.answer, "technician", number, checks("not_seen", *ITEMS[1:-1]))
    (hold,) = workshop.see(visual_checks.holds, "desk", number)
    workshop.do(visual_checks.close_hold, "inspector", number, hold.id, "a scratch in the paint")
    workshop.do(jobs.note_correction, "technician", number, "fork pulled")
    workshop.now += timedelta(days=1)

    assert workshop.do(second_looks.look_again, "inspector", number) == len(ITEMS) - 1
    assert workshop.do(second_looks.look_again, "inspector", number) == 0, "pressed twice"

    found = workshop.see(visual_checks.listing, "desk", number)
    ((who, at),) = {(one.checked_by, one.checked_at) for one in found[:-1]}
    assert (who, at.date().day if at else None) == ("Ines", 3)
    assert [one.answer for one in found] == [
        "seen",
        *["not_seen"] * (len(ITEMS) - 2),
        "not_checked",
    ]
    assert found[-1].checked_at is None, "what nobody looked at stays open"
    job = workshop.see(jobs.read, "desk", number)
    (look,) = second_looks.second_looks(job.visual_answers)
    assert (look.by, look.at, look.items) == ("Ines", at, len(ITEMS) - 1)
    assert looked_at_before_correction(job) == ()
    assert [one.closed_by for one in job.holds] == ["Ines"], "it was decided of this very damage"


def test_what_was_done_since_is_still_told_after_a_second_look(
    workshop: Workshop, number: str
) -> None:
    workshop.do(visual_checks.answer, "technician", number, checks("seen", "wheel_cracks"))
    new = checks("not_seen", "wheel_cracks", since="replaced", words="new front wheel")
    workshop.do(visual_checks.answer, "inspector", number, new)
    workshop.now += timedelta(days=1)
    workshop.do(second_looks.look_again, "technician", number)

    before = answer_to(workshop, number, "wheel_cracks").seen_before
    assert before is not None
    assert (before.by, before.since_by, before.since_words) == ("Tove", "Ines", "new front wheel")


def test_a_second_look_comes_after_a_first_one(workshop: Workshop, number: str) -> None:
    workshop.do(visual_checks.answer, "technician", number, checks("not_checked", ITEMS[0]))
    with pytest.raises(BadInput, match="nothing_looked_at"):
        workshop.do(second_looks.look_again, "technician", number)
    with pytest.raises(NotAllowed):
        workshop.do(second_looks.look_again, "desk", number)
