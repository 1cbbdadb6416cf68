"""Drafts: points as sent, taken back and measured again, submitted as a survey or discarded."""

from collections.abc import Callable
from typing import Any

import pytest

from app.errors import BadInput, Conflict, NotAllowed, NotFound, Refusal
from app.records.permanence import PermanentRecord
from app.records.tables import DraftPoint
from app.schemas.draft import HeadingIn
from app.schemas.survey import SurveyIn
from app.services import check_in, drafts, jobs, surveys
from app.services.drafts import DraftView
from tests.services.documents import SOUND, survey_document
from tests.services.forms import check_in_form
from tests.services.measuring import MEASURED_AT, Ready, ready
from tests.services.workshop import Workshop

POINTS: list[dict[str, Any]] = survey_document(SOUND)["points"]
UP = survey_document(SOUND)["up"]
HEADER = {"measured_at": MEASURED_AT, "mounting": "on stands", "up": UP, "part_temperature_c": 20.0}


@pytest.fixture
def job(workshop: Workshop) -> Ready:
    return ready(workshop)


@pytest.fixture
def draft(job: Ready) -> DraftView:
    return job.workshop.do(drafts.open_draft, "technician", job.number, "before", header=HEADER)


def add(job: Ready, draft: DraftView, points: Any, **kwargs: Any) -> DraftView:
    return job.workshop.do(drafts.add_points, "technician", job.number, draft.id, points, **kwargs)


def test_a_heading_says_what_a_survey_says_besides_its_points() -> None:
    assert set(HeadingIn.model_fields) == set(SurveyIn.model_fields) - {"format", "phase", "points"}


def test_points_are_kept_as_sent_and_as_typed(job: Ready, draft: DraftView) -> None:
    sent = {**POINTS[0], "as_entered": {"x": "412,5", "y": "3", "z": "0"}}

    grown = add(job, draft, [sent, POINTS[1]])

    assert [dict(point.sent) for point in grown.points] == POINTS[:2]
    assert grown.points[0].as_entered == {"x": "412,5", "y": "3", "z": "0"}
    assert (grown.points[1].as_entered, grown.points[1].added_by) == ({}, "Tove")
    assert [point.order for point in grown.points] == [1, 2]
    assert job.workshop.see(drafts.read, "technician", job.number, draft.id) == grown
    assert job.status() == "measuring"
    (line,) = job.workshop.see(jobs.read, "desk", job.number).drafts
    assert (line.id, line.points, line.changed_at) == (draft.id, 2, job.workshop.now)


def test_a_point_taken_back_is_kept_and_does_not_stand(job: Ready, draft: DraftView) -> None:
    add(job, draft, POINTS[:3])

    last = job.workshop.do(drafts.undo, "technician", job.number, draft.id)
    assert [point.stands for point in last.points] == [True, True, False]
    first = last.points[0].id
    chosen = job.workshop.do(drafts.undo, "technician", job.number, draft.id, point_id=first)
    assert [point.stands for point in chosen.points] == [False, True, False]
    with pytest.raises(NotFound, match="no_such_point"):
        job.workshop.do(drafts.undo, "technician", job.number, draft.id, point_id=first)
    job.workshop.do(drafts.undo, "technician", job.number, draft.id)
    with pytest.raises(NotFound, match="no_such_point"):
        job.workshop.do(drafts.undo, "technician", job.number, draft.id)
    assert job.workshop.counts()["draft_point"] == 3


def test_a_point_measured_again_takes_the_place_of_the_old(job: Ready, draft: DraftView) -> None:
    old = add(job, draft, POINTS[:1]).points[0].id

    again = add(job, draft, [{**POINTS[0], "x": 1.0, "supersedes": old}])

    assert [point.stands for point in again.points] == [False, True]
    assert again.points[1].supersedes == old
    assert [point.sent["x"] for point in again.standing] == [1.0]
    for superseded in (old, 99):
        with pytest.raises(BadInput, match="no_such_point"):
            add(job, draft, [{**POINTS[0], "supersedes": superseded}])


def test_a_reading_never_changes(job: Ready, draft: DraftView) -> None:
    point = add(job, draft, POINTS[:1]).points[0]

    with pytest.raises(PermanentRecord):
        job.workshop.tamper(DraftPoint, point.id, x=0.0)


def test_another_persons_change_is_noticed(job: Ready, draft: DraftView) -> None:
    grown = add(job, draft, POINTS[:1], version=draft.version)
    assert grown.version > draft.version
    before = job.workshop.counts()

    stale: list[tuple[Callable[..., object], tuple[object, ...]]] = [
        (drafts.add_points, (POINTS[:1],)),
        (drafts.set_header, (HEADER,)),
        (drafts.undo, ()),
        (drafts.discard, ()),
        (drafts.submit, ()),
    ]
    for act, given in stale:
        with pytest.raises(Conflict, match="draft_changed"):
            job.workshop.do(act, "technician", job.number, draft.id, *given, version=draft.version)
    assert job.workshop.counts() == before


BAD_POINTS: dict[str, tuple[Any, tuple[str, str]]] = {
    "a text for a number": ({**POINTS[0], "x": "412,5"}, ("points.1.x", "wrong_type")),
    "not a number": ({**POINTS[0], "y": float("nan")}, ("points.1.y", "not_finite")),
    "beyond all numbers": ({**POINTS[0], "z": float("1e999")}, ("points.1.z", "not_finite")),
    "no coordinate": ({"feature": "pivot", "x": 1.0, "y": 2.0}, ("points.1.z", "missing")),
    "an unknown feature": (
        {**POINTS[0], "feature": "knob"}, ("points.1.feature", "unknown_feature")
    ),
    "an unknown key": ({**POINTS[0], "w": 1}, ("points.1.w", "unknown_key")),
    "an offset where there is no surface": (
        {**POINTS[0], "offset": 3.0}, ("points.1.offset", "offset_without_normal")
    ),
    "a megabyte": ({**POINTS[0], "label": "x" * 1_000_000}, ("points.1.label", "text_too_long")),
    "no point at all": (7, ("points.1", "wrong_type")),
    "a long story as reading": (
        {**POINTS[0], "as_entered": {"x": "4" * 41}}, ("points.1.as_entered.x", "text_too_long")
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD_POINTS)
def test_one_wrong_point_and_none_is_added(job: Ready, draft: DraftView, name: str) -> None:
    point, expected = BAD_POINTS[name]

    with pytest.raises(BadInput) as refusal:
        add(job, draft, [POINTS[0], point])

    assert expected in [(one.field, one.code) for one in refusal.value.problems]
    assert job.workshop.counts()["draft_point"] == 0


@pytest.mark.parametrize("points", [[], POINTS[:1] * 501])
def test_points_come_in_handfuls(job: Ready, draft: DraftView, points: list[Any]) -> None:
    with pytest.raises(BadInput):
        add(job, draft, points)


def test_the_points_so_far_say_what_they_give(job: Ready, draft: DraftView) -> None:
    def preview(role: str = "technician") -> drafts.Preview:
        return job.workshop.see(drafts.preview, role, job.number, draft.id)

    assert preview().result is None
    assert isinstance(preview().refusal, BadInput)
    add(job, draft, POINTS[:5])
    assert isinstance(preview().refusal, Refusal)
    add(job, draft, POINTS[5:])
    result = preview().result
    assert result is not None
    assert result["finding"]["verdict"] == "within"
    assert preview("owner").result == result
    assert job.workshop.counts()["survey"] == 0


def test_a_draft_becomes_a_survey(job: Ready, draft: DraftView) -> None:
    add(job, draft, [{**POINTS[0], "x": 9999.0}])
    job.workshop.do(drafts.undo, "technician", job.number, draft.id)
    add(job, draft, POINTS)

    stored = job.workshop.do(drafts.submit, "technician", job.number, draft.id)

    assert (stored.number, stored.phase, stored.sent_as) == (1, "before", "draft")
    assert len(stored.survey.points) == len(POINTS)
    assert (stored.survey.mounting, stored.result["finding"]["verdict"]) == ("on stands", "within")
    sent = job.submit({"format": "jigbook.survey/1", "phase": "before", **HEADER, "points": POINTS})
    assert sent.result == stored.result
    closed = job.workshop.see(drafts.read, "technician", job.number, draft.id)
    assert (closed.state, closed.survey_number) == ("submitted", 1)
    assert job.workshop.see(drafts.listing, "technician", job.number) == ()
    with pytest.raises(Conflict, match="draft_not_open"):
        job.workshop.do(drafts.submit, "technician", job.number, draft.id)


def test_a_refused_draft_stays_open_as_it_was(job: Ready, draft: DraftView) -> None:
    grown = add(job, draft, POINTS[:5])
    before = job.workshop.counts()

    with pytest.raises(Refusal):
        job.workshop.do(drafts.submit, "technician", job.number, draft.id)

    assert job.workshop.counts() == before
    assert job.workshop.see(drafts.read, "technician", job.number, draft.id) == grown


def test_a_draft_may_take_the_place_of_a_survey(job: Ready, draft: DraftView) -> None:
    job.submit()
    add(job, draft, POINTS)

    told = {"supersedes": 1, "because": "the rig had slipped"}
    job.workshop.do(drafts.submit, "technician", job.number, draft.id, **told)

    assert job.workshop.see(surveys.read, "desk", job.number, 1).superseded_by == 2


def test_a_draft_put_away_keeps_its_points(job: Ready, draft: DraftView) -> None:
    add(job, draft, POINTS[:2])

    away = job.workshop.do(drafts.discard, "technician", job.number, draft.id)

    assert (away.state, len(away.points)) == ("discarded", 2)
    assert job.status() == "checked_in"
    with pytest.raises(Conflict, match="draft_not_open"):
        add(job, draft, POINTS[:1])


def test_a_new_heading_takes_the_place_of_the_old(job: Ready, draft: DraftView) -> None:
    changed = job.workshop.do(
        drafts.set_header, "technician", job.number, draft.id, {"mounting": "hanging"}
    )

    assert changed.header == {"mounting": "hanging"}
    with pytest.raises(BadInput) as refusal:
        job.workshop.do(
            drafts.set_header, "technician", job.number, draft.id, {"part_temperature_c": "warm"}
        )
    assert [problem.field for problem in refusal.value.problems] == ["part_temperature_c"]


def test_one_measurement_of_a_phase_at_a_time(job: Ready, draft: DraftView) -> None:
    with pytest.raises(Conflict, match="draft_open"):
        job.workshop.do(drafts.open_draft, "technician", job.number, "before")
    second = job.workshop.do(drafts.open_draft, "inspector", job.number, "after")
    found = job.workshop.see(drafts.listing, "technician", job.number)
    assert [one.id for one in found] == [draft.id, second.id]


def test_a_machine_does_not_leave_in_the_middle_of_a_measurement(
    job: Ready, draft: DraftView
) -> None:
    with pytest.raises(Conflict, match="draft_still_open"):
        job.workshop.do(jobs.hand_over, "desk", job.number, "Åse")
    job.workshop.do(drafts.discard, "technician", job.number, draft.id)
    assert job.workshop.do(jobs.hand_over, "desk", job.number, "Åse").status == "handed_over"


def test_refusals(job: Ready, draft: DraftView) -> None:
    other = ready_again(job)
    with pytest.raises(NotFound, match="no_such_draft"):
        job.workshop.see(drafts.read, "technician", other, draft.id)
    with pytest.raises(NotFound, match="no_such_draft"):
        job.workshop.see(drafts.read, "technician", job.number, draft.id + 1)
    with pytest.raises(BadInput) as refusal:
        job.workshop.do(drafts.open_draft, "technician", other, "later", header={"colour": "red"})
    assert {problem.field for problem in refusal.value.problems} == {"phase", "colour"}
    with pytest.raises(NotAllowed):
        job.workshop.see(drafts.read, "desk", job.number, draft.id)
    for role in ("desk", "owner"):
        with pytest.raises(NotAllowed):
            job.workshop.do(drafts.open_draft, role, other, "before")
    job.workshop.do(jobs.cancel, "desk", job.number, "gone")
    with pytest.raises(Conflict, match="job_closed"):
        add(job, draft, POINTS[:1])


def ready_again(job: Ready) -> str:
    """The number of a second job."""
    machine = {"make": "Mosfell", "model": "Lom", "frame_number": "SECOND-1"}
    form = check_in_form(machine=machine)
    return job.workshop.do(check_in.check_in, "desk", form).job_number
