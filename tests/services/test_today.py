"""Today's list: what waits for whom, in order, searched and filtered."""

from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import event

from app.records.tables import Job
from app.services import check_in, instruments, jobs, references, today
from tests.services.documents import ARM, reference_document
from tests.services.forms import check_in_form
from tests.services.workshop import Workshop

MACHINES = {
    "first": {
        "make": "Fjordmark",
        "model": "Skarv 700",
        "frame_number": "ONE-111",
        "plate": "AA 1",
    },
    "second": {"make": "Mosfell", "model": "Lom 400", "frame_number": "TWO-222", "plate": "BB 2"},
    "third": {"make": "Mosfell", "model": "Ørn 900", "frame_number": "TRE-333", "plate": "CC 3"},
    "fourth": {"make": "Fjordmark", "model": "Alke", "frame_number": "FOR-444", "plate": "DD 4"},
}


@pytest.fixture
def numbers(workshop: Workshop) -> dict[str, str]:
    """Four machines of four people, checked in one after the other."""
    found = {}
    for name, machine in MACHINES.items():
        form: dict[str, Any] = check_in_form(
            machine=machine, customer={"name": f"{name} Åskar"}, claim={"claim_number": f"C/{name}"}
        )
        found[name] = workshop.do(check_in.check_in, "desk", form).job_number
    return found


def listed(workshop: Workshop, *args: Any, **kwargs: Any) -> list[str]:
    return [line.number for line in seen(workshop, *args, **kwargs).lines]


def seen(workshop: Workshop, *args: Any, **kwargs: Any) -> today.Today:
    """The list as the desk sees it on the workshop's day."""
    return workshop.see(today.today, "desk", workshop.now.date(), *args, **kwargs)


def test_what_waited_longest_comes_first(workshop: Workshop, numbers: dict[str, str]) -> None:
    reference = workshop.do(references.create, "technician", reference_document())
    workshop.do(jobs.fix_reference, "technician", numbers["first"], reference.id)

    assert listed(workshop) == [numbers[n] for n in ("second", "third", "fourth", "first")]
    last = seen(workshop).lines[-1]
    assert (last.since, last.next_step) == (workshop.now, "instrument")
    assert (last.plate, last.make, last.model) == ("AA 1", "Fjordmark", "Skarv 700")
    assert (last.customer_name, last.claim_number) == ("first Åskar", "C/first")
    assert (last.finding, last.holds_open) == (None, 0)


def test_the_overdue_come_before_all_others_the_longest_promised_first(
    workshop: Workshop, numbers: dict[str, str]
) -> None:
    promised = {"fourth": 1, "third": 3, "second": 30}
    for name, days in promised.items():
        day = workshop.now.date() + timedelta(days=days)
        workshop.tamper(Job, int(numbers[name][-4:]), promised_on=day)
    workshop.now += timedelta(days=5)

    found = seen(workshop)
    assert [(line.number, line.days_overdue) for line in found.lines] == [
        (numbers["fourth"], 4), (numbers["third"], 2), (numbers["first"], 0),
        (numbers["second"], 0),
    ]  # fmt: skip
    assert found.overdue == 2
    assert [(one.number, one.call.reasons[0].code) for one in found.calls] == [
        (numbers["fourth"], "late"), (numbers["third"], "late"),
    ]  # fmt: skip
    workshop.do(jobs.cancel, "desk", numbers["fourth"], "gone")
    assert seen(workshop).overdue == 1


def test_closed_jobs_come_last_and_only_when_asked_for(
    workshop: Workshop, numbers: dict[str, str]
) -> None:
    workshop.do(jobs.cancel, "desk", numbers["first"], "gone", still_here=False)
    workshop.do(jobs.hand_over, "desk", numbers["third"], "Åskar")

    assert listed(workshop) == [numbers["second"], numbers["fourth"]]
    assert listed(workshop, include_closed=True) == [
        numbers[n] for n in ("second", "fourth", "third", "first")
    ]
    assert listed(workshop, status="cancelled") == [numbers["first"]]
    assert listed(workshop, status="handed_over") == [numbers["third"]]
    assert listed(workshop, "first") == [numbers["first"]]
    assert listed(workshop, include_closed=True, waits_for="technician") == listed(workshop)


def test_a_cancelled_machine_stays_on_the_list_until_it_was_given_back(
    workshop: Workshop, numbers: dict[str, str]
) -> None:
    workshop.do(jobs.cancel, "desk", numbers["second"], "sold as it stands")

    (line,) = [one for one in seen(workshop).lines if one.number == numbers["second"]]
    assert (line.status, line.next_step, line.waits_for) == ("cancelled", "hand_over", "desk")
    assert [
        (one.number, [why.code for why in one.call.reasons])
        for one in seen(workshop).calls
        if one.number == numbers["second"]
    ] == [(numbers["second"], ["waits_here"])]
    assert listed(workshop, status="cancelled") == [numbers["second"]]
    assert listed(workshop, waits_for="desk") == [numbers["second"]]

    workshop.do(jobs.hand_over, "desk", numbers["second"], "second Åskar")
    assert numbers["second"] not in listed(workshop)
    assert listed(workshop, status="cancelled") == [numbers["second"]]
    assert listed(workshop, status="handed_over") == []


def test_pages_run_on_from_open_to_closed_jobs(workshop: Workshop, numbers: dict[str, str]) -> None:
    workshop.do(jobs.cancel, "desk", numbers["first"], "gone", still_here=False)
    workshop.do(jobs.cancel, "desk", numbers["second"], "gone", still_here=False)
    every = listed(workshop, include_closed=True)

    for size in (1, 2, 3, 4, 5):
        pages = [
            listed(workshop, include_closed=True, limit=size, offset=start)
            for start in range(0, 6, size)
        ]
        assert [number for page in pages for number in page] == every
    assert seen(workshop, include_closed=True, limit=1).total == 4


SEARCHES = {
    "aa1": ["first"], "AA-1": ["first"], "bb 2": ["second"], "two222": ["second"],
    "TRE-333": ["third"], "mosfell": ["second", "third"], "MOSFELL lom": ["second"],
    "askar": ["first", "second", "third", "fourth"], "c/fourth": ["fourth"],
    "first mosfell": [], "j-2026-0003": ["third"], "20260003": ["third"], "nothing of it": [],
    "%": [], "": ["first", "second", "third", "fourth"],
}  # fmt: skip


@pytest.mark.parametrize("text", SEARCHES)
def test_words_are_found_in_number_machine_customer_and_claim(
    workshop: Workshop, numbers: dict[str, str], text: str
) -> None:
    assert listed(workshop, text) == [numbers[name] for name in SEARCHES[text]]


def test_the_list_counts_what_waits_for_whom(workshop: Workshop, numbers: dict[str, str]) -> None:
    workshop.do(jobs.cancel, "desk", numbers["first"], "gone", still_here=False)

    found = seen(workshop)

    assert (found.waiting, found.total) == ((("technician", 3),), 3)
    assert listed(workshop, waits_for="inspector") == []
    assert listed(workshop, status="checked_in", waits_for="technician") == listed(workshop)
    assert listed(workshop, status="certified") == []


def test_the_list_takes_a_fixed_number_of_queries(
    workshop: Workshop, numbers: dict[str, str]
) -> None:
    arm = workshop.do(instruments.create, "inspector", ARM)
    asked: list[str] = []

    def ask(*args: Any) -> None:
        asked.append(args[2])

    event.listen(workshop.database.engine, "before_cursor_execute", ask)

    def queries() -> int:
        asked.clear()
        seen(workshop, include_closed=True)
        return len(asked)

    four = queries()
    for name in ("fifth", "sixth", "seventh"):
        machine = {"make": "Mosfell", "model": "Lom", "frame_number": name}
        done = workshop.do(check_in.check_in, "desk", check_in_form(machine=machine))
        workshop.do(jobs.fix_instrument, "technician", done.job_number, arm.id)
    seven = queries()
    event.remove(workshop.database.engine, "before_cursor_execute", ask)
    assert 0 < seven == four
