"""Jobs: what is fixed for them, what is noted, how they are closed."""

from collections.abc import Callable

import pytest

from app.errors import BadInput, Conflict, NotAllowed, NotFound
from app.records.scope import scoped
from app.records.tables import Event
from app.schemas.visual_check import ITEMS, VisualCheckIn
from app.services import check_in, instruments, jobs, references, visual_checks
from tests.services.documents import ARM, calibration, reference_document
from tests.services.forms import check_in_form
from tests.services.workshop import Workshop


@pytest.fixture
def number(workshop: Workshop) -> str:
    return workshop.do(check_in.check_in, "desk", check_in_form()).job_number


def test_the_road_moves_on_with_each_record(workshop: Workshop, number: str) -> None:
    reference = workshop.do(references.create, "technician", reference_document())
    arm = workshop.do(instruments.create, "inspector", ARM, calibration=calibration())

    def coming() -> tuple[str, str | None]:
        job = workshop.see(jobs.read, "desk", number)
        return job.status, job.next_step.code if job.next_step else None

    assert coming() == ("checked_in", "reference")
    job = workshop.do(jobs.fix_reference, "technician", number, reference.id)
    assert job.since == workshop.now
    assert coming() == ("checked_in", "instrument")
    workshop.do(jobs.fix_instrument, "technician", number, arm.id)
    assert coming() == ("checked_in", "visual_check")
    seen = [VisualCheckIn.model_validate({"item": i, "answer": "not_seen"}) for i in ITEMS[1:]]
    workshop.do(visual_checks.answer, "technician", number, seen)
    assert coming() == ("checked_in", "visual_check")
    last = VisualCheckIn.model_validate({"item": ITEMS[0], "answer": "not_checked"})
    workshop.do(visual_checks.answer, "technician", number, [last])
    assert coming() == ("checked_in", "measure_before")
    workshop.do(jobs.hand_over, "desk", number, "Åse")
    assert coming() == ("handed_over", None)

    steps = {step.code: step for step in workshop.see(jobs.read, "desk", number).road}
    assert steps["check_in"].done_by == "Dora"
    assert steps["reference"].done_by == steps["visual_check"].done_by == "Tove"
    assert steps["hand_over"].done_at == workshop.now
    assert steps["sign"].state == "not_needed"


def test_the_latest_revision_is_fixed_unless_told(workshop: Workshop, number: str) -> None:
    reference = workshop.do(references.create, "technician", reference_document())
    later = reference_document(levelling=None)
    workshop.do(references.revise, "technician", reference.id, later)

    job = workshop.do(jobs.fix_reference, "technician", number, reference.id)
    assert job.reference is not None
    assert job.reference.number == 2
    job = workshop.do(jobs.fix_reference, "technician", number, reference.id, revision=1)
    assert job.reference is not None
    assert (job.reference.number, job.reference.used) == (1, True)


def test_fixing_the_same_again_changes_nothing(workshop: Workshop, number: str) -> None:
    reference = workshop.do(references.create, "technician", reference_document())
    arm = workshop.do(instruments.create, "inspector", ARM)
    first = workshop.do(jobs.fix_reference, "technician", number, reference.id)
    second = workshop.do(jobs.fix_instrument, "technician", number, arm.id)
    before = workshop.counts()

    workshop.do(jobs.fix_reference, "technician", number, reference.id)
    workshop.do(jobs.fix_instrument, "technician", number, arm.id)

    assert workshop.counts() == before
    after = workshop.see(jobs.read, "desk", number)
    assert (after.since, first.since < second.since) == (second.since, True)


def test_corrections_are_noted_in_order(workshop: Workshop, number: str) -> None:
    for text in ("pulled the head 6 mm forward", "let it rest, pulled 2 mm more"):
        job = workshop.do(jobs.note_correction, "technician", number, text)

    assert [note.text for note in job.corrections] == [
        "pulled the head 6 mm forward", "let it rest, pulled 2 mm more",
    ]  # fmt: skip
    assert {note.by for note in job.corrections} == {"Tove"}


def test_a_cancelled_job_says_why_and_takes_nothing_more(workshop: Workshop, number: str) -> None:
    reference = workshop.do(references.create, "technician", reference_document())
    arm = workshop.do(instruments.create, "inspector", ARM)

    cancelled = workshop.do(jobs.cancel, "desk", number, "total loss, insurer pays out")
    assert (cancelled.status, cancelled.waits_for, cancelled.still_here) == (
        "cancelled", "desk", True
    )  # fmt: skip
    gone = workshop.now
    job = workshop.do(jobs.hand_over, "desk", number, "Åse")

    assert (job.still_here, job.handed_over_to) == (False, "Åse")
    assert (job.status, job.closed, job.waits_for) == ("cancelled", True, None)
    assert job.cancelled_reason == "total loss, insurer pays out"
    assert job.cancelled_at == gone
    before = workshop.counts()
    refused: list[tuple[Callable[..., object], str, object]] = [
        (jobs.cancel, "desk", "again"),
        (jobs.hand_over, "desk", "Åse"),
        (jobs.fix_reference, "technician", reference.id),
        (jobs.fix_instrument, "technician", arm.id),
        (jobs.note_correction, "technician", "pulled"),
    ]
    for act, role, given in refused:
        with pytest.raises(Conflict, match="job_closed"):
            workshop.do(act, role, number, given)
    assert workshop.counts() == before


def test_a_job_closed_by_mistake_is_opened_again(workshop: Workshop, number: str) -> None:
    for close in (jobs.cancel, jobs.hand_over):
        workshop.do(close, "desk", number, "a mistake")
        job = workshop.do(jobs.reopen, "desk", number, "wrong machine")
        assert (job.status, job.closed) == ("checked_in", False)
        assert (job.cancelled_reason, job.handed_over_to) == (None, None)
    with pytest.raises(Conflict, match="job_not_closed"):
        workshop.do(jobs.reopen, "desk", number, "once more")


def test_to_whom_it_was_handed_over_stands_in_no_permanent_row(
    workshop: Workshop, number: str
) -> None:
    job = workshop.do(jobs.hand_over, "desk", number, "Åse's brother")

    assert (job.status, job.handed_over_to) == ("handed_over", "Åse's brother")
    assert job.handed_over_at == workshop.now
    with workshop.rows() as (session, actor):
        events = session.scalars(scoped(session, actor, Event)).all()
    assert not [event for event in events if "brother" in event.public + event.personal]


@pytest.mark.parametrize(
    ("act", "field"),
    [
        (jobs.cancel, "reason"), (jobs.hand_over, "handed_over_to"), (jobs.note_correction, "text")
    ],
)  # fmt: skip
@pytest.mark.parametrize("text", ["", "\n", "x" * 4001, "a\x07", 3, None])
def test_words_are_needed(
    workshop: Workshop, number: str, act: Callable[..., object], field: str, text: object
) -> None:
    role = "technician" if act is jobs.note_correction else "desk"

    with pytest.raises(BadInput) as refusal:
        workshop.do(act, role, number, text)

    assert [problem.field for problem in refusal.value.problems] == [field]
    assert workshop.see(jobs.read, "desk", number).status == "checked_in"


def test_refusals(workshop: Workshop, number: str) -> None:
    for unknown in ("J-2026-0002", "", "x" * 5000, "'; DROP TABLE job"):
        with pytest.raises(NotFound, match="no_such_job"):
            workshop.see(jobs.read, "desk", unknown)
    with pytest.raises(NotFound, match="no_such_reference"):
        workshop.do(jobs.fix_reference, "technician", number, 5)
    with pytest.raises(NotFound, match="no_such_instrument"):
        workshop.do(jobs.fix_instrument, "technician", number, 5)
    arm = workshop.do(instruments.create, "inspector", ARM)
    workshop.do(instruments.retire, "inspector", arm.id, "dropped")
    with pytest.raises(Conflict, match="instrument_retired"):
        workshop.do(jobs.fix_instrument, "technician", number, arm.id)


DENIED = [
    (jobs.cancel, "technician"), (jobs.cancel, "inspector"), (jobs.hand_over, "technician"),
    (jobs.reopen, "inspector"), (jobs.note_correction, "desk"), (jobs.note_correction, "owner"),
]  # fmt: skip


@pytest.mark.parametrize(("act", "role"), DENIED)
def test_roles_that_may_not(
    workshop: Workshop, number: str, act: Callable[..., object], role: str
) -> None:
    with pytest.raises(NotAllowed):
        workshop.do(act, role, number, "words")
